//! How the devices stand to each other: names, ports, and who receives and who transmits.

use super::equipment::{radio, rotator};
use crate::config::dialects::Dialects;
use crate::config::document::Section;
use crate::config::equipment::{Line, Radio, Rotator};
use crate::device::Use;

/// Reads the equipment, each device and all of them together.
pub(super) fn equipment(root: &mut Section<'_>, dialects: &Dialects) -> (Vec<Radio>, Option<Rotator>) {
    let mut heads = root.sections("radio", "[[radio]]");
    let radios: Vec<Option<Radio>> = heads.iter_mut().map(|head| radio(head, dialects)).collect();
    let mut mount = root.section("rotator", "[rotator]");
    let rotator = rotator(&mut mount, dialects);

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
    line: &'a Line,
    /// On a bus; a rotator has none.
    address: Option<u8>,
}

impl<'a> Device<'a> {
    fn radio(head: &'a Section<'a>, radio: &'a Radio) -> Self {
        Self { head, name: &radio.name, line: &radio.line, address: radio.address }
    }

    fn rotator(head: &'a Section<'a>, rotator: &'a Rotator) -> Self {
        Self { head, name: &rotator.name, line: &rotator.line, address: None }
    }
}

fn check_pair(earlier: &Device<'_>, device: &Device<'_>) {
    let (head, other) = (device.head, earlier.name);
    if device.name.eq_ignore_ascii_case(other) {
        let line = earlier.head.place().line;
        head.refuse("name", format!("the device on line {line} is called \"{other}\" too"));
    }
    if device.line.port != earlier.line.port {
        return;
    }
    let port = device.line.port.display();
    match (earlier.address, device.address) {
        (Some(first), Some(second)) if first != second => {
            if device.line.baud != earlier.line.baud {
                head.refuse("baud", format!("\"{other}\" is on {port} too: give both the same `baud`"));
            }
        }
        (Some(_), Some(same)) => {
            head.refuse("address", format!("\"{other}\" has the address {same:#04x} on {port} too"));
        }
        _ => {
            let what = format!("\"{other}\" is on {port} too");
            head.refuse("port", what + "; only radios on a bus share a port, each with its own `address`");
        }
    }
}

fn check_topology(heads: &[Section<'_>], radios: &[Radio]) {
    let uses: Vec<Use> = radios.iter().map(|radio| radio.uses).collect();
    let (radio, key, what) = match uses[..] {
        [] | [Use::Both | Use::HalfDuplex | Use::Receive] => return,
        [Use::Receive, Use::Transmit] | [Use::Transmit, Use::Receive] => return,
        [Use::Transmit] => (0, "use", "the only radio transmits: a station that can't listen works no pass"),
        [Use::Receive, Use::Receive] => (1, "use", "both radios receive, but a link has one downlink"),
        [Use::Transmit, Use::Transmit] => (1, "use", "both radios transmit, and none receives"),
        [_, _] => (1, "use", "there are two radios, and one of them is for both directions"),
        [_, _, _, ..] => (2, "name", "there are more than two radios"),
    };
    if let Some(head) = heads.get(radio) {
        head.refuse(key, format!("{what}; {TOPOLOGIES}"));
    }
}

const TOPOLOGIES: &str = "a station has one radio for both (at once, or half-duplex), one that receives, or one that receives and \
     one that transmits";
