//! What is plugged into a USB socket, in its own words.

use std::fs;
use std::path::{Path, PathBuf};

use super::System;

/// No word of an adapter about itself is longer (characters); it is hostile input.
const LONGEST: usize = 100;

/// An adapter, or a device with one inside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Adapter {
    /// Four hexadecimal digits, given out by the USB's own registry.
    pub vendor_id: String,
    /// Four hexadecimal digits, given by the vendor.
    pub product_id: String,
    /// The vendor's name.
    pub vendor: Option<String>,
    /// The product's name.
    pub product: Option<String>,
    /// What tells two of a kind apart.
    pub serial_number: Option<String>,
    /// Its folder: one adapter may have several ports.
    place: PathBuf,
}

impl Adapter {
    /// Whether the other is another piece of the same kind that can't be told apart from it.
    pub(super) fn is_twin_of(&self, other: &Adapter) -> bool {
        let kind = |adapter: &Adapter| {
            (adapter.vendor_id.clone(), adapter.product_id.clone(), adapter.serial_number.clone())
        };
        self.place != other.place && kind(self) == kind(other)
    }
}

/// What the terminal `name` belongs to, if that is on USB.
pub(super) fn adapter(system: &System, name: &str) -> Option<Adapter> {
    let sys = system.sys.canonicalize().ok()?;
    let device = system.sys.join("class/tty").join(name).join("device").canonicalize().ok()?;
    let above = device.ancestors().take_while(|folder| folder.starts_with(&sys));
    let place = above.into_iter().find(|folder| folder.join("idVendor").exists())?;
    Some(Adapter {
        vendor_id: word(place, "idVendor")?,
        product_id: word(place, "idProduct").unwrap_or_default(),
        vendor: word(place, "manufacturer"),
        product: word(place, "product"),
        serial_number: word(place, "serial"),
        place: place.to_owned(),
    })
}

/// One of the adapter's words, without what would disturb a screen; `None` if it says nothing.
fn word(place: &Path, name: &str) -> Option<String> {
    let bytes = fs::read(place.join(name)).ok()?;
    let text: String = String::from_utf8_lossy(&bytes).trim().chars().take(LONGEST).collect();
    let plain: String = text.chars().map(|c| if c.is_control() { '?' } else { c }).collect();
    (!plain.is_empty()).then_some(plain)
}
