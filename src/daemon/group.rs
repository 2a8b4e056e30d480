//! Giving the socket to a group.

use std::io;
use std::path::Path;

use nix::unistd::Group;

/// Makes `group` the group of the file.
pub(super) fn give_to(path: &Path, group: &str) -> io::Result<()> {
    let found = Group::from_name(group).map_err(io::Error::from)?;
    let Some(found) = found else {
        let what = format!("there is no group \"{group}\" for the control socket");
        return Err(io::Error::new(io::ErrorKind::NotFound, what));
    };
    std::os::unix::fs::chown(path, None, Some(found.gid.as_raw()))
}
