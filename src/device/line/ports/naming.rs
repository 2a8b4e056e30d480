//! Which name of a port stays the same when cables are pulled and put back.

use std::path::{Path, PathBuf};

use super::usb::Adapter;
use super::{System, names_in};

/// What a name goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// The adapter's serial number: it may be plugged in anywhere.
    SerialNumber,
    /// The socket, because the adapter has no serial number.
    SocketWithoutNumber,
    /// The socket, because another adapter here calls itself the same.
    SocketOfTwins,
    /// The computer's own port: it is never anywhere else.
    BuiltIn,
    /// The order in which adapters were found: nothing better is there.
    Order,
}

/// The best name of a port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StableName {
    /// The name.
    pub path: PathBuf,
    /// What it goes by.
    pub basis: Basis,
}

/// The name to use for `device`; `twin` says that another adapter can't be told from this one.
pub(super) fn stable(system: &System, device: &Path, adapter: Option<&Adapter>, twin: bool) -> StableName {
    let Some(adapter) = adapter else {
        return StableName { path: device.to_owned(), basis: Basis::BuiltIn };
    };
    let numbered = adapter.serial_number.is_some();
    let by_number = if numbered && !twin { link(system, "serial/by-id", device) } else { None };
    if let Some(path) = by_number {
        return StableName { path, basis: Basis::SerialNumber };
    }
    let basis = if twin { Basis::SocketOfTwins } else { Basis::SocketWithoutNumber };
    match link(system, "serial/by-path", device) {
        Some(path) => StableName { path, basis },
        None => StableName { path: device.to_owned(), basis: Basis::Order },
    }
}

/// The first link in a folder that leads to the device.
fn link(system: &System, folder: &str, device: &Path) -> Option<PathBuf> {
    let folder = system.dev.join(folder);
    let real = device.canonicalize().ok()?;
    let mut names = names_in(&folder);
    names.sort();
    let links = names.into_iter().map(|name| folder.join(name));
    links.into_iter().find(|link| link.canonicalize().is_ok_and(|to| to == real))
}

/// What sorts `ttyUSB2` before `ttyUSB10`.
pub(super) fn in_order(name: &str) -> (String, u64) {
    let stem = name.trim_end_matches(|c: char| c.is_ascii_digit());
    (stem.to_owned(), name[stem.len()..].parse().unwrap_or(0))
}
