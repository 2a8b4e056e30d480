//! Literal bytes, from the manuals' examples by memory.

use super::*;
use crate::sim::radio::RadioSettings;
use crate::sim::{Act, Device, Fault, Handles, Violation, Wire, WireSettings};
use crate::terms::{Tone, later, parse_time};

mod duplex;
mod single;

/// A radio on a bench: hexadecimal bytes in, hexadecimal bytes out.
struct Bench {
    wire: Wire,
    now: Time,
}

impl Bench {
    fn of(radio: impl Device + 'static) -> Self {
        let settings = WireSettings { bits_per_byte: 11, ..WireSettings::default() };
        let now = parse_time("2026-11-25T18:30:00Z").unwrap();
        Self { wire: Wire::new(radio, settings), now }
    }

    /// Sends, waits so many seconds, and gives what came back.
    fn sends(&mut self, bytes: &str, wait_s: f64) -> String {
        let bytes: Vec<u8> =
            bytes.split_whitespace().map(|byte| u8::from_str_radix(byte, 16).unwrap()).collect();
        self.wire.write(&bytes, self.now);
        self.now = later(self.now, wait_s);
        let back = self.wire.read(self.now).into_iter().map(|byte| format!("{byte:02X}"));
        back.collect::<Vec<String>>().join(" ")
    }

    /// The same with half a second of silence behind it.
    fn says(&mut self, bytes: &str) -> String {
        self.sends(bytes, 0.5)
    }

    fn handles(&self) -> &Handles {
        self.wire.handles()
    }

    fn violations(&self) -> Vec<Violation> {
        self.handles().record.violations().into_iter().map(|breach| breach.what).collect()
    }

    /// Receiver and transmitter.
    fn tuned(&self) -> [Option<Hertz>; 2] {
        let record = &self.handles().record;
        [record.receive_at(self.now), record.transmit_at(self.now)]
    }

    fn tone(&self) -> Option<u16> {
        self.handles().record.tone_at(self.now).map(Tone::tenths)
    }
}

fn hz(hertz: i64) -> Option<Hertz> {
    Some(Hertz(hertz))
}

#[test]
fn a_command_is_five_bytes_however_long_each_takes_up_to_a_fifth_of_a_second() {
    let start = parse_time("2026-11-25T18:30:00Z").unwrap();
    let hear = |gap_s: f64| {
        let mut counting = Counting::default();
        let heard: Vec<Option<Command>> = (0..5u8)
            .map(|byte| counting.hear(byte, later(start, if byte < 3 { 0.0 } else { gap_s })))
            .collect();
        heard[4]
    };
    assert_eq!(hear(0.199), Some([0, 1, 2, 3, 4]));
    assert_eq!(hear(0.200), None);
}
