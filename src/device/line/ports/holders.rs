//! Who has a port open, as far as this user may see it: open files, locks, and terminals that
//! somebody can log in on.

use std::fs;
use std::os::unix::fs::MetadataExt as _;
use std::path::Path;

use super::{System, names_in};

/// A process that has a port open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holder {
    /// Its number.
    pub pid: u32,
    /// The program's name.
    pub name: String,
}

impl std::fmt::Display for Holder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} (pid {})", self.name, self.pid)
    }
}

/// What can be said of who has a port open.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Holders {
    /// The processes.
    pub processes: Vec<Holder>,
    /// The kernel writes its own messages to it.
    pub console: bool,
    /// Some processes belong to others, and this user may not see what they have open.
    pub some_hidden: bool,
}

impl Holders {
    /// `beamhand (pid 812), the kernel's console`; `None` if nobody is seen.
    pub fn describe(&self) -> Option<String> {
        let console = self.console.then(|| "the kernel's console".to_owned());
        let all: Vec<String> = self.processes.iter().map(Holder::to_string).chain(console).collect();
        (!all.is_empty()).then(|| all.join(", "))
    }
}

/// Whoever would be disturbed if the port were opened. Beside a pseudo-terminal's user its other
/// end may have it open too, so there only locks count.
pub fn in_use_by(system: &System, port: &Path) -> Option<String> {
    let device = port.canonicalize().ok()?;
    if !device.starts_with(system.dev.join("pts")) {
        return of(system, &device).describe();
    }
    let processes = lockers(system, &device).into_iter().map(|pid| named(system, pid)).collect();
    Holders { processes, ..Holders::default() }.describe()
}

pub(super) fn of(system: &System, device: &Path) -> Holders {
    let node = device.canonicalize().unwrap_or_else(|_| device.to_owned());
    let name = device.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let terminal = terminal_number(system, &name);
    let mut some_hidden = false;
    let mut pids = lockers(system, &node);
    for pid in names_in(&system.proc).iter().filter_map(|name| name.parse().ok()) {
        let opened = has_open(system, pid, &node);
        some_hidden |= opened.is_none();
        if opened == Some(true) || terminal.is_some_and(|number| logs_in_on(system, pid, number)) {
            pids.push(pid);
        }
    }
    pids.sort_unstable();
    pids.dedup();
    Holders {
        processes: pids.into_iter().map(|pid| named(system, pid)).collect(),
        console: consoles(system).contains(&name),
        some_hidden,
    }
}

fn named(system: &System, pid: u32) -> Holder {
    let name = fs::read_to_string(system.proc.join(pid.to_string()).join("comm")).unwrap_or_default();
    let name: String = name.trim().chars().map(|c| if c.is_control() { '?' } else { c }).collect();
    Holder { pid, name: if name.is_empty() { "a process".to_owned() } else { name } }
}

/// Whether a process has the node open; `None` if this user may not see it.
fn has_open(system: &System, pid: u32, node: &Path) -> Option<bool> {
    match fs::read_dir(system.proc.join(pid.to_string()).join("fd")) {
        Ok(files) => {
            Some(files.flatten().any(|file| fs::read_link(file.path()).is_ok_and(|open| open == node)))
        }
        Err(error) if error.kind() == std::io::ErrorKind::PermissionDenied => None,
        // It has ended meanwhile.
        Err(_) => Some(false),
    }
}

/// Who holds a lock on the node: everybody may see that, of processes of others too.
fn lockers(system: &System, node: &Path) -> Vec<u32> {
    let (Ok(locks), Ok(node)) = (fs::read_to_string(system.proc.join("locks")), node.metadata()) else {
        return Vec::new();
    };
    let (major, minor) = (libc::major(node.dev()), libc::minor(node.dev()));
    let place = format!("{major:02x}:{minor:02x}:{}", node.ino());
    // "1: FLOCK  ADVISORY  WRITE 812 00:06:424 0 EOF"
    let holder = |line: &str| {
        let words: Vec<&str> = line.split_whitespace().collect();
        let at = words.iter().position(|word| *word == place)?;
        words.get(at.checked_sub(1)?)?.parse().ok()
    };
    locks.lines().filter_map(holder).collect()
}

/// The terminal's number in the form of the kernel's process table.
fn terminal_number(system: &System, name: &str) -> Option<i64> {
    let text = fs::read_to_string(system.sys.join("class/tty").join(name).join("dev")).ok()?;
    let (major, minor) = text.trim().split_once(':')?;
    let (major, minor): (i64, i64) = (major.parse().ok()?, minor.parse().ok()?);
    // proc(5): the minor number is in bits 31 to 20 and 7 to 0, the major in bits 15 to 8.
    Some((minor & 0xFF) | (major << 8) | ((minor & !0xFF) << 12))
}

/// Whether the process leads a session on the terminal, as a login prompt does.
fn logs_in_on(system: &System, pid: u32, terminal: i64) -> bool {
    let stat = fs::read_to_string(system.proc.join(pid.to_string()).join("stat")).unwrap_or_default();
    // The name, in brackets, may hold anything; behind it come state, parent, group, session, terminal.
    let behind = stat.rsplit_once(')').map_or("", |(_, behind)| behind);
    let words: Vec<i64> = behind.split_whitespace().skip(1).map_while(|word| word.parse().ok()).collect();
    words.get(2) == Some(&i64::from(pid)) && words.get(3) == Some(&terminal)
}

/// The terminals that the kernel writes its messages to.
fn consoles(system: &System) -> Vec<String> {
    let active = fs::read_to_string(system.sys.join("class/tty/console/active")).unwrap_or_default();
    active.split_whitespace().map(str::to_owned).collect()
}
