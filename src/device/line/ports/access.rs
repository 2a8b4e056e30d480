//! Who may open a port, and what would let this user.

use std::os::unix::fs::MetadataExt as _;
use std::path::Path;

use nix::unistd::{AccessFlags, Gid, Group, Uid, eaccess, getgroups};

/// Read and write for others, as permission bits.
const READ_WRITE: u32 = 0o6;

/// Somebody who wants to open ports.
#[derive(Debug, Clone)]
pub struct User {
    /// The login name.
    pub name: String,
    /// The number.
    pub uid: u32,
    /// The groups that this session is in.
    pub groups: Vec<u32>,
    /// Whether it is whoever runs this program: then the system itself can be asked.
    pub is_me: bool,
}

impl User {
    /// Whoever runs this program.
    pub fn me() -> Self {
        let uid = Uid::effective();
        let name = nix::unistd::User::from_uid(uid).ok().flatten().map(|user| user.name);
        let groups = getgroups().unwrap_or_default().into_iter().chain([Gid::effective()]);
        Self {
            name: name.unwrap_or_else(|| uid.to_string()),
            uid: uid.as_raw(),
            groups: groups.map(Gid::as_raw).collect(),
            is_me: true,
        }
    }
}

/// Whom a port belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Access {
    /// The owner's name.
    pub owner: String,
    /// The group's name.
    pub group: String,
    /// The permission bits.
    pub mode: u32,
    /// What the user has to do before opening it; `None` if nothing.
    pub remedy: Option<Remedy>,
}

/// What would let a user open a port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Remedy {
    /// This command, and then a new session.
    JoinTheGroup(String),
    /// A new session: the user is in the group already.
    LogInAgain,
    /// This command; it lasts until the port is plugged in again.
    TakeIt(String),
}

impl std::fmt::Display for Remedy {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Remedy::JoinTheGroup(command) => write!(f, "{command} (then log out and in again)"),
            Remedy::LogInAgain => {
                f.write_str("log out and in again: you are in the group, but this session is not")
            }
            Remedy::TakeIt(command) => write!(f, "{command} (until it is plugged in again)"),
        }
    }
}

impl Access {
    /// `root:dialout, mode 0660`.
    pub fn describe(&self) -> String {
        format!("{}:{}, mode {:04o}", self.owner, self.group, self.mode)
    }
}

/// What the node of a port says; `None` if it has none.
pub(super) fn of(device: &Path, user: &User) -> Option<Access> {
    let node = device.metadata().ok()?;
    let (mode, gid) = (node.mode() & 0o7777, node.gid());
    let group = Group::from_gid(Gid::from_raw(gid)).ok().flatten();
    let owner = nix::unistd::User::from_uid(Uid::from_raw(node.uid())).ok().flatten();
    // An access list may allow more than the mode does.
    let system_allows = || user.is_me && eaccess(device, AccessFlags::R_OK | AccessFlags::W_OK).is_ok();
    let may_open = allows(mode, node.uid(), gid, user) || system_allows();
    let remedy = || {
        let group_helps = gid != 0 && (mode >> 3) & READ_WRITE == READ_WRITE;
        match &group {
            Some(group) if group_helps && group.mem.contains(&user.name) => Remedy::LogInAgain,
            Some(group) if group_helps => {
                Remedy::JoinTheGroup(format!("sudo usermod -aG {} {}", group.name, user.name))
            }
            _ => Remedy::TakeIt(format!("sudo chown {} {}", user.name, device.display())),
        }
    };
    Some(Access {
        remedy: if may_open { None } else { Some(remedy()) },
        owner: owner.map_or(node.uid().to_string(), |owner| owner.name),
        group: group.as_ref().map_or(gid.to_string(), |group| group.name.clone()),
        mode,
    })
}

/// Whether the mode lets the user read and write: the first class that fits decides.
fn allows(mode: u32, owner: u32, group: u32, user: &User) -> bool {
    let bits = match user {
        User { uid: 0, .. } => return true,
        User { uid, .. } if *uid == owner => mode >> 6,
        User { groups, .. } if groups.contains(&group) => mode >> 3,
        _ => mode,
    };
    bits & READ_WRITE == READ_WRITE
}

#[cfg(test)]
mod tests {
    use super::*;

    fn user(uid: u32, groups: &[u32]) -> User {
        User { name: "oper".to_owned(), uid, groups: groups.to_vec(), is_me: false }
    }

    #[test]
    fn the_first_class_that_fits_decides() {
        let port = |mode, user: &User| allows(mode, 0, 20, user);
        assert!(port(0o660, &user(1000, &[20])), "in the group");
        assert!(!port(0o660, &user(1000, &[100])), "a stranger");
        assert!(port(0o666, &user(1000, &[])), "anybody");
        assert!(!port(0o606, &user(1000, &[20])), "the group is kept out, others are not");
        assert!(!port(0o640, &user(1000, &[20])), "reading alone is not enough");
        assert!(port(0o000, &user(0, &[])), "root");
        assert!(allows(0o600, 1000, 20, &user(1000, &[])), "the owner");
    }
}
