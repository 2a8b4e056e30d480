//! Several devices on one bus, told apart by their addresses.

use super::{Device, Handles, Utterance};
use crate::terms::Time;

/// Devices that share one wire: each hears every byte of the station. What one says to the
/// station is kept from the others, for whom it would not be meant anyway.
///
/// Faults of the cable and the count of bytes belong to the bus's own handles; each device keeps
/// its record, its script and its refusals.
pub struct Bus {
    devices: Vec<Box<dyn Device>>,
    handles: Handles,
}

impl Bus {
    /// A bus with these devices on it.
    pub fn new(devices: Vec<Box<dyn Device>>, handles: Handles) -> Self {
        Self { devices, handles }
    }
}

impl Device for Bus {
    fn hear(&mut self, byte: u8, at: Time) {
        self.devices.iter_mut().for_each(|device| device.hear(byte, at));
    }

    fn advance(&mut self, now: Time) {
        self.devices.iter_mut().for_each(|device| device.advance(now));
    }

    fn next_event(&self) -> Option<Time> {
        self.devices.iter().filter_map(|device| device.next_event()).min()
    }

    fn say(&mut self) -> Vec<Utterance> {
        self.devices.iter_mut().flat_map(|device| device.say()).collect()
    }

    fn handles(&self) -> &Handles {
        &self.handles
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sim::radio::frames::{Frames, FramesSettings};
    use crate::sim::{Wire, WireSettings};
    use crate::terms::{Hertz, later, parse_time};

    #[test]
    fn two_radios_on_one_bus_answer_to_their_own_address_only() {
        let handles = [Handles::default(), Handles::default()];
        let radio = |address, handles: &Handles| -> Box<dyn Device> {
            Box::new(Frames::new(FramesSettings { address, ..FramesSettings::default() }, handles.clone()))
        };
        let devices = vec![radio(0x42, &handles[0]), radio(0x43, &handles[1])];
        let settings = WireSettings { one_wire: true, ..WireSettings::default() };
        let mut wire = Wire::new(Bus::new(devices, Handles::default()), settings);
        let start = parse_time("2026-11-25T18:30:00Z").unwrap();
        let set = [0xFE, 0xFE, 0x43, 0xE0, 0x05, 0x00, 0x00, 0x95, 0x45, 0x01, 0xFD];
        wire.write(&set, start);
        let back = wire.read(later(start, 1.0));
        assert_eq!(back, [&set[..], &[0xFE, 0xFE, 0xE0, 0x43, 0xFB, 0xFD]].concat());
        let tuned = handles.map(|handles| handles.record.transmit_at(later(start, 1.0)));
        assert_eq!(tuned, [Some(Hertz(145_000_000)), Some(Hertz(145_950_000))]);
    }
}
