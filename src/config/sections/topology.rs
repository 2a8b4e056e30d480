//! How the devices stand to each other: names, ports, and who receives and who transmits.

use std::path::PathBuf;

use super::equipment::{radio, rotator};
use crate::config::document::Section;
use crate::config::equipment::{Radio, Rotator, Serves};

/// Reads the equipment, each device and all of them together.
pub(super) fn equipment(root: &mut Section<'_>) -> (Vec<Radio>, Option<Rotator>) {
    let mut heads = root.sections("radio", "[[radio]]");
    let radios: Vec<Option<Radio>> = heads.iter_mut().map(radio).collect();
    let mut mount = root.section("rotator", "[rotator]");
    let rotator = rotator(&mut mount);

    let mut devices: Vec<Device<'_>> = Vec::new();
    devices.extend(
        heads.iter().zip(&radios).filter_map(|(head, radio)| Some(Device::radio(head, radio.as_ref()?))),
    );
    devices.extend(rotator.iter().map(|rotator| Device::rotator(&mount, rotator)));
    for (i, device) in devices.iter().enumerate() {
        for earlier in &devices[..i] {
            check_pair(earlier, device);
        }
    }
    // With one radio misread, what is said of the number of radios would be wrong.
    let radios: Option<Vec<Radio>> = radios.into_iter().collect();
    if let Some(radios) = &radios {
        check_topology(&heads, radios);
    }
    (radios.unwrap_or_default(), rotator)
}

/// What has to differ between two devices.
struct Device<'a> {
    head: &'a Section<'a>,
    name: &'a str,
    port: &'a PathBuf,
    /// On a bus; a rotator has none.
    address: Option<u8>,
    baud: Option<u32>,
}

impl<'a> Device<'a> {
    fn radio(head: &'a Section<'a>, radio: &'a Radio) -> Self {
        Self { head, name: &radio.name, port: &radio.port, address: radio.address, baud: radio.baud }
    }

    fn rotator(head: &'a Section<'a>, rotator: &'a Rotator) -> Self {
        Self { head, name: &rotator.name, port: &rotator.port, address: None, baud: rotator.baud }
    }
}

fn check_pair(earlier: &Device<'_>, device: &Device<'_>) {
    let line = earlier.head.place().line;
    if device.name.eq_ignore_ascii_case(earlier.name) {
        device.head.refuse("name", format!("the device on line {line} is called \"{}\" too", earlier.name));
    }
    if device.port != earlier.port {
        return;
    }
    let port = device.port.display();
    match (earlier.address, device.address) {
        (Some(first), Some(second)) if first != second => {
            if device.baud != earlier.baud {
                device
                    .head
                    .refuse("baud", format!("\"{}\" is on the same port with another `baud`", earlier.name));
            }
        }
        (Some(_), Some(second)) => device
            .head
            .refuse("address", format!("\"{}\" has the address {second:#04x} on {port} too", earlier.name)),
        _ => device.head.refuse(
            "port",
            format!(
                "\"{}\" is on {port} too; only radios on a bus share a port, each with its own `address`",
                earlier.name
            ),
        ),
    }
}

/// One duplex radio, a receiver, or a receiver and a transmitter.
fn check_topology(heads: &[Section<'_>], radios: &[Radio]) {
    let refuse = |index: usize, what: &str| {
        if let Some(head) = heads.get(index) {
            head.refuse("use", what);
        }
    };
    let uses: Vec<Serves> = radios.iter().map(|radio| radio.serves).collect();
    match uses[..] {
        [] | [Serves::Both | Serves::Receive] => {}
        [Serves::Receive, Serves::Transmit] | [Serves::Transmit, Serves::Receive] => {}
        [Serves::Transmit] => {
            refuse(
                0,
                "the only radio is for transmitting: a station that can't listen works no pass; use = \"both\", or add a receiver",
            );
        }
        [Serves::Receive, Serves::Receive] => {
            refuse(
                1,
                "both radios are for receiving: a link has one downlink; one of two radios receives, the other transmits",
            );
        }
        [Serves::Transmit, Serves::Transmit] => {
            refuse(1, "both radios are for transmitting; one of two radios receives, the other transmits");
        }
        [_, _] => {
            refuse(
                1,
                "a duplex radio (use = \"both\") does everything alone; one of two radios receives, the other transmits",
            );
        }
        [_, _, _, ..] => {
            if let Some(head) = heads.get(2) {
                head.refuse("name", "a station has two radios at most: one receives, the other transmits");
            }
        }
    }
}
