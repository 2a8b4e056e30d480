//! The serial ports of this computer, as the system shows them in files. Nothing is opened: an
//! open raises DTR and RTS for an instant.

mod access;
mod holders;
mod naming;
mod usb;

use std::fs;
use std::path::{Path, PathBuf};

pub use access::{Access, Remedy, User};
pub use holders::{Holder, Holders, in_use_by};
pub use naming::{Basis, StableName};
pub use usb::Adapter;

/// The folders in which the system shows what it has; tests make up their own.
#[derive(Debug, Clone)]
pub struct System {
    /// Devices as the kernel sees them.
    pub sys: PathBuf,
    /// Their nodes, and the links that udev makes.
    pub dev: PathBuf,
    /// Processes, and the files that they hold.
    pub proc: PathBuf,
}

impl System {
    /// This computer's own.
    pub fn real() -> Self {
        Self { sys: "/sys".into(), dev: "/dev".into(), proc: "/proc".into() }
    }
}

/// One serial port.
#[derive(Debug, Clone)]
pub struct SerialPort {
    /// Its node under the kernel's name, which changes when a USB cable is pulled.
    pub device: PathBuf,
    /// The name to put into the configuration.
    pub name: StableName,
    /// What is plugged in; `None` for a port of the computer itself.
    pub adapter: Option<Adapter>,
    /// Who may open it.
    pub access: Option<Access>,
    /// Who has it open.
    pub holders: Holders,
}

/// Every serial port that there is, in the order of the kernel's names.
pub fn list(system: &System, user: &User) -> Vec<SerialPort> {
    let mut devices: Vec<String> = names_in(&system.sys.join("class/tty"))
        .into_iter()
        .filter(|name| is_port(&system.sys.join("class/tty").join(name)))
        .collect();
    devices.sort_by_key(|name| naming::in_order(name));
    let adapters: Vec<Option<Adapter>> = devices.iter().map(|name| usb::adapter(system, name)).collect();
    let port = |(at, name): (usize, &String)| {
        let device = system.dev.join(name);
        let adapter = adapters[at].clone();
        let twin = adapter.as_ref().is_some_and(|own| adapters.iter().flatten().any(|a| a.is_twin_of(own)));
        SerialPort {
            name: naming::stable(system, &device, adapter.as_ref(), twin),
            access: access::of(&device, user),
            holders: holders::of(system, &device),
            device,
            adapter,
        }
    };
    devices.iter().enumerate().map(port).collect()
}

/// Whom the port belongs to, and whether this user may open it; `None` if it is not there.
pub fn access(port: &Path) -> Option<Access> {
    access::of(&port.canonicalize().ok()?, &User::me())
}

/// Whether there is hardware behind a terminal: consoles have no `device`, and a port that the
/// kernel only keeps a place for is of type 0.
fn is_port(terminal: &Path) -> bool {
    let only_a_place = fs::read_to_string(terminal.join("type")).is_ok_and(|kind| kind.trim() == "0");
    terminal.join("device").exists() && !only_a_place
}

/// The names in a folder; none where it can't be read.
fn names_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    entries.filter_map(|entry| entry.file_name().into_string().ok()).collect()
}

#[cfg(test)]
mod tests;
