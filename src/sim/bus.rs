//! Several devices on one bus, told apart by their addresses.

use super::{Device, Fault, Handles, Utterance};
use crate::terms::Time;

/// Devices that share one wire: each hears every byte of the station. What one says to the
/// station is kept from the others, for whom it would not be meant anyway.
///
/// Faults of the cable and the count of bytes belong to the bus's own handles; each device keeps
/// its record, its script, and what is wrong with it alone: mute, off, refusals and its like.
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
        for device in self.devices.iter_mut().filter(|device| !is_on(&***device, Fault::Off)) {
            device.hear(byte, at);
        }
    }

    fn advance(&mut self, now: Time) {
        for device in &mut self.devices {
            device.handles().faults.advance(now);
            device.advance(now);
        }
    }

    fn next_event(&self) -> Option<Time> {
        let devices = self.devices.iter();
        devices.flat_map(|one| [one.next_event(), one.handles().faults.next_event()]).flatten().min()
    }

    fn say(&mut self) -> Vec<Utterance> {
        let said = |device: &mut Box<dyn Device>| {
            let silent = is_on(&**device, Fault::Mute) || is_on(&**device, Fault::Off);
            let said = device.say();
            if silent { Vec::new() } else { said }
        };
        self.devices.iter_mut().flat_map(said).collect()
    }

    fn handles(&self) -> &Handles {
        &self.handles
    }
}

fn is_on(device: &dyn Device, fault: Fault) -> bool {
    device.handles().faults.is_on(fault)
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

    #[test]
    fn a_device_that_falls_silent_leaves_the_others_their_voice() {
        let handles = [Handles::default(), Handles::default()];
        let radio = |address, handles: &Handles| -> Box<dyn Device> {
            Box::new(Frames::new(FramesSettings { address, ..FramesSettings::default() }, handles.clone()))
        };
        let devices = vec![radio(0x42, &handles[0]), radio(0x43, &handles[1])];
        let mut wire = Wire::new(Bus::new(devices, Handles::default()), WireSettings::default());
        let start = parse_time("2026-11-25T18:30:00Z").unwrap();
        handles[0].faults.plan(Fault::Mute, later(start, 1.0), None);
        let mut answers = |seconds| {
            let now = later(start, seconds);
            let asks = [0x42, 0x43].map(|to| [0xFE, 0xFE, to, 0xE0, 0x1C, 0x00, 0xFD]);
            wire.write(&asks.concat(), now);
            wire.read(later(now, 0.5)).chunks(8).map(|answer| answer[3]).collect::<Vec<u8>>()
        };
        assert_eq!(answers(0.0), [0x42, 0x43]);
        assert_eq!(answers(2.0), [0x43]);
    }
}
