//! The control socket: JSON-RPC 2.0, one object a line, many clients.

mod client;
mod clients;

use std::fs::Permissions;
use std::io;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use nix::sys::socket::Backlog;
use tokio::net::UnixListener;

use super::engine::Handle;
use super::lasting::LastingFault;
use super::vitals::{Patience, Vitals};
use clients::{Clients, Entry};

/// How often the socket shows that it is alive, at least.
const BEAT: Duration = Duration::from_secs(1);
/// How many may stand at the door. Nobody can see who they are before it is their turn, so the
/// owner stands behind a crowd too; more than these wait outside, where the system keeps them.
const AT_THE_DOOR: i32 = 64;
/// While others are sent away for who comes, or nobody is let in, so many are seen to at a time, and
/// then everybody inside is served: with [`AT_THE_DOOR`], the owner waits for four such pauses.
const CROWD: usize = 16;
const CROWD_PAUSE: Duration = Duration::from_millis(4);

/// The socket's place in the file system, removed with it.
pub(super) struct Socket {
    listener: UnixListener,
    path: PathBuf,
}

impl Socket {
    /// Listens at `path` with these permission bits. A socket that nobody listens on any more is
    /// replaced; one that answers is not, and neither is a file of any other kind.
    pub(super) fn listen(path: &Path, mode: u32, group: Option<&str>) -> io::Result<Self> {
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder)?;
        }
        make_room(path)?;
        let listener = UnixListener::bind(path)?;
        nix::sys::socket::listen(&listener, Backlog::new(AT_THE_DOOR)?)?;
        std::fs::set_permissions(path, Permissions::from_mode(mode))?;
        if let Some(group) = group {
            super::group::give_to(path, group)?;
        }
        Ok(Self { listener, path: path.to_owned() })
    }

    /// Serves clients until the future is dropped.
    pub(super) async fn serve(&self, engine: Handle, vitals: &Vitals) {
        let clients = Clients::default();
        let pulse = vitals.begin("the control socket", Patience::STEADY);
        let mut crowd = 0;
        let mut refusing = LastingFault::default();
        loop {
            let accepted = tokio::time::timeout(BEAT, self.listener.accept()).await;
            pulse.beat();
            // Nobody came for a while.
            let Ok(accepted) = accepted else { continue };
            match accepted {
                Ok((stream, _)) => {
                    if let Some(said) = refusing.is_over("the control socket accepts clients again") {
                        tracing::info!("{said}");
                    }
                    match clients.enter(client::is_own(&stream)) {
                        Entry::Free(guest) => client::begin(stream, &engine, guest),
                        Entry::MadeFree(guest) => {
                            client::begin(stream, &engine, guest);
                            crowd += 1;
                        }
                        Entry::None => crowd += 1,
                    }
                }
                Err(error) => {
                    let what = format!("the control socket can't accept a client: {error}");
                    if let Some(said) = refusing.came(&what, Instant::now()) {
                        tracing::warn!("{said}");
                    }
                    tokio::time::sleep(Duration::from_millis(100)).await;
                }
            }
            if crowd == CROWD {
                crowd = 0;
                tokio::time::sleep(CROWD_PAUSE).await;
            }
        }
    }
}

impl Drop for Socket {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.path);
    }
}

fn make_room(path: &Path) -> io::Result<()> {
    use std::os::unix::fs::FileTypeExt;
    let Ok(found) = std::fs::symlink_metadata(path) else { return Ok(()) };
    let refuse =
        |what: &str| Err(io::Error::new(io::ErrorKind::AddrInUse, format!("{}: {what}", path.display())));
    if !found.file_type().is_socket() {
        return refuse("there is a file that is no socket; remove it or name another place");
    }
    if std::os::unix::net::UnixStream::connect(path).is_ok() {
        return refuse("another daemon answers there; stop it first, or name another place");
    }
    std::fs::remove_file(path)
}
