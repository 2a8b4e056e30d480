//! Literal bytes, from the manuals' examples by memory.

use super::*;
use crate::sim::{Act, Fault, Violation, Wire, WireSettings};
use crate::terms::{Hertz, Mode, Tone, later, parse_time};

struct Bench {
    wire: Wire,
    now: Time,
}

const DONE: &str = "FE FE E0 5A FB FD";
const REFUSED: &str = "FE FE E0 5A FA FD";

impl Bench {
    fn with(settings: FramesSettings, one_wire: bool) -> Self {
        let radio = Frames::new(settings, Handles::default());
        let now = parse_time("2026-11-25T18:30:00Z").unwrap();
        let settings = WireSettings { baud: 19_200, one_wire, ..WireSettings::default() };
        Self { wire: Wire::new(radio, settings), now }
    }

    fn new() -> Self {
        Self::with(FramesSettings::default(), false)
    }

    /// Sends hexadecimal bytes, waits half a second, gives what came back.
    fn hears(&mut self, bytes: &str) -> String {
        let bytes: Vec<u8> =
            bytes.split_whitespace().map(|byte| u8::from_str_radix(byte, 16).unwrap()).collect();
        self.wire.write(&bytes, self.now);
        self.now = later(self.now, 0.5);
        let back: Vec<String> =
            self.wire.read(self.now).into_iter().map(|byte| format!("{byte:02X}")).collect();
        back.join(" ")
    }

    /// The same for the content of a frame to the radio.
    fn says(&mut self, content: &str) -> String {
        self.hears(&format!("FE FE 5A E0 {content} FD"))
    }

    fn violations(&self) -> Vec<Violation> {
        self.wire.handles().record.violations().into_iter().map(|breach| breach.what).collect()
    }
}

#[test]
fn the_dial_is_set_and_read_in_decimal_digits() {
    let mut bench = Bench::new();
    assert_eq!(bench.says("05 00 00 95 45 01"), DONE);
    assert_eq!(bench.says("03"), "FE FE E0 5A 03 00 00 95 45 01 FD");
    assert_eq!(bench.says("06 05"), DONE);
    assert_eq!(bench.says("04"), "FE FE E0 5A 04 05 01 FD");
    assert_eq!(bench.wire.handles().record.transmit_at(bench.now), Some(Hertz(145_950_000)));
}

#[test]
fn what_it_does_not_know_is_refused() {
    let mut bench = Bench::new();
    for wrong in ["05 00 00 95 45", "05 0A 00 95 45 01", "06 77", "7F", "07 55", "1B 00 00 08 86", "16 42 02"]
    {
        assert_eq!(bench.says(wrong), REFUSED, "{wrong}");
    }
    assert_eq!(bench.wire.handles().record.counts().refused, 7);
}

#[test]
fn frames_for_others_are_none_of_its_business() {
    let mut bench = Bench::new();
    assert_eq!(bench.hears("FE FE 58 E0 03 FD"), "");
    assert_eq!(bench.hears("FE FE E0 5A 03 FD"), "");
    assert_eq!(bench.hears("FE FE 00 E0 05 00 00 95 45 01 FD"), "");
    assert_eq!(bench.wire.handles().record.transmit_at(bench.now), Some(Hertz(145_950_000)));
    assert_eq!(bench.hears("FE FE 5A E1 1C 00 FD"), "FE FE E1 5A 1C 00 00 FD");
}

#[test]
fn on_one_wire_ones_own_bytes_come_back_before_the_answer() {
    let mut bench = Bench::with(FramesSettings::default(), true);
    assert_eq!(bench.says("1C 00"), "FE FE 5A E0 1C 00 FD FE FE E0 5A 1C 00 00 FD");
}

#[test]
fn main_transmits_and_sub_receives_until_the_satellite_function_turns_them_round() {
    let mut bench = Bench::new();
    let record = bench.wire.handles().record.clone();
    bench.says("07 D1");
    assert_eq!(bench.says("05 00 00 50 35 04"), DONE);
    bench.says("07 D0");
    assert_eq!(bench.says("05 00 00 95 45 01"), DONE);
    assert_eq!(record.receive_at(bench.now), Some(Hertz(435_500_000)));
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(145_950_000)));
    assert_eq!(bench.says("16 5A 01"), DONE);
    assert_eq!(record.receive_at(bench.now), Some(Hertz(145_950_000)));
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(435_500_000)));
    assert_eq!(bench.says("16 5A"), "FE FE E0 5A 16 5A 01 FD");
}

#[test]
fn both_bands_cannot_sit_in_one_and_the_exchange_is_the_way_round() {
    let mut bench = Bench::new();
    let record = bench.wire.handles().record.clone();
    assert_eq!(bench.says("05 00 00 00 35 04"), REFUSED);
    assert_eq!(bench.says("07 B0"), DONE);
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(435_000_000)));
    assert_eq!(bench.says("05 00 00 10 35 04"), DONE);
    assert_eq!(bench.says("05 00 00 95 45 01"), REFUSED);
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(435_100_000)));
    assert_eq!(record.receive_at(bench.now), Some(Hertz(145_000_000)));
}

#[test]
fn a_radio_with_one_band_transmits_on_its_other_dial_in_split() {
    let mut settings = FramesSettings::default();
    settings.radio.duplex = false;
    let mut bench = Bench::with(settings, false);
    let record = bench.wire.handles().record.clone();
    assert_eq!(bench.says("07 D1"), REFUSED);
    bench.says("07 01");
    bench.says("05 00 00 95 45 01");
    bench.says("07 00");
    bench.says("05 00 00 50 35 04");
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(435_500_000)));
    assert_eq!(bench.says("0F 01"), DONE);
    assert_eq!(bench.says("0F"), "FE FE E0 5A 0F 01 FD");
    assert_eq!(record.receive_at(bench.now), Some(Hertz(435_500_000)));
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(145_950_000)));
}

#[test]
fn the_tone_is_set_in_tenths_of_hertz_and_sent_in_fm_only() {
    let mut bench = Bench::new();
    let record = bench.wire.handles().record.clone();
    assert_eq!(bench.says("1B 00 00 08 85"), DONE);
    assert_eq!(record.tone_at(bench.now), None);
    assert_eq!(bench.says("16 42 01"), DONE);
    assert_eq!(record.tone_at(bench.now), Tone::from_tenths(885).ok());
    assert_eq!(bench.says("1B 00"), "FE FE E0 5A 1B 00 00 08 85 FD");
    bench.says("06 01");
    assert_eq!(record.transmit_mode_at(bench.now), Some(Mode::Usb));
    assert_eq!(record.tone_at(bench.now), None);
}

#[test]
fn a_turned_knob_is_told_to_everybody() {
    let mut settings = FramesSettings::default();
    settings.radio.reports = true;
    let mut bench = Bench::with(settings, false);
    bench.wire.handles().script.at(later(bench.now, 0.2), Act::Turn(Hertz(1_500)));
    assert_eq!(bench.hears(""), "FE FE 00 5A 00 00 15 00 35 04 FD");
}

#[test]
fn a_quiet_receiver_reads_one_unit_of_signal_and_a_closed_squelch() {
    let mut bench = Bench::new();
    // S1 of nine, on a scale whose S9 is 120: 120 x (1 - 48/54) = 13.
    assert_eq!(bench.says("15 02"), "FE FE E0 5A 15 02 00 13 FD");
    assert_eq!(bench.says("15 01"), "FE FE E0 5A 15 01 00 FD");
}

#[test]
fn asking_whether_it_transmits_is_fine_and_telling_it_to_is_a_violation() {
    let mut bench = Bench::new();
    assert_eq!(bench.says("1C 00"), "FE FE E0 5A 1C 00 00 FD");
    bench.wire.handles().script.at(bench.now, Act::Press);
    assert_eq!(bench.says("1C 00"), "FE FE E0 5A 1C 00 01 FD");
    assert!(bench.violations().is_empty());
    bench.says("1C 00 00");
    bench.says("17 43 51");
    let seen = bench.violations();
    let forbidden = Violation::ForbiddenCommand(vec![0x17, 0x43, 0x51]);
    assert_eq!(seen, [Violation::KeyCommand(vec![0x1C, 0x00, 0x00]), forbidden]);
}

#[test]
fn exchanging_the_bands_while_on_the_air_is_a_violation() {
    let mut bench = Bench::new();
    bench.wire.handles().script.at(bench.now, Act::Press);
    bench.says("05 00 00 95 45 01");
    assert!(bench.violations().is_empty());
    bench.says("07 B0");
    assert_eq!(bench.violations(), [Violation::RolesChangedOnAir]);
}

#[test]
fn a_radio_that_refuses_everything_says_so() {
    let mut bench = Bench::new();
    bench.wire.handles().faults.switch_on(Fault::Refusals);
    assert_eq!(bench.says("03"), REFUSED);
}

#[test]
fn with_one_receiver_commands_go_to_the_transmitting_dial_on_the_air() {
    let mut settings = FramesSettings::default();
    settings.radio.duplex = false;
    let mut bench = Bench::with(settings, false);
    bench.says("0F 01");
    assert_eq!(bench.says("03"), "FE FE E0 5A 03 00 00 00 45 01 FD");
    bench.wire.handles().script.at(bench.now, Act::Press);
    assert_eq!(bench.says("03"), "FE FE E0 5A 03 00 00 00 35 04 FD");
    assert_eq!(bench.says("05 00 00 50 35 04"), DONE);
    let record = &bench.wire.handles().record;
    assert_eq!(record.receive_at(bench.now), Some(Hertz(145_000_000)));
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(435_500_000)));
}

#[test]
fn the_exchange_takes_both_dials_of_each_band_along_and_leaves_the_selected_band() {
    let mut bench = Bench::new();
    // Main's dial B.
    bench.says("07 01");
    bench.says("05 00 00 95 45 01");
    assert_eq!(bench.says("07 B0"), DONE);
    // Main is what sub was, and its dial A.
    assert_eq!(bench.says("03"), "FE FE E0 5A 03 00 00 00 35 04 FD");
    assert_eq!(bench.says("07 D1"), DONE);
    assert_eq!(bench.says("03"), "FE FE E0 5A 03 00 00 95 45 01 FD");
    assert_eq!(bench.says("05 00 00 50 35 04"), REFUSED);
    assert_eq!(bench.says("07 00"), DONE);
    assert_eq!(bench.says("03"), "FE FE E0 5A 03 00 00 00 45 01 FD");
}

#[test]
fn a_radio_can_answer_with_an_address_that_is_not_its_own() {
    let mut bench = Bench::new();
    bench.wire.handles().faults.switch_on(Fault::OtherAddress);
    assert_eq!(bench.says("1C 00"), "FE FE E0 5B 1C 00 00 FD");
    bench.wire.handles().faults.clear();
    assert_eq!(bench.says("1C 00"), "FE FE E0 5A 1C 00 00 FD");
}

#[test]
fn a_dial_can_stay_where_it_is_though_the_frequency_is_taken() {
    let mut bench = Bench::new();
    bench.wire.handles().faults.switch_on(Fault::DialStuck);
    assert_eq!(bench.says("05 00 00 95 45 01"), DONE);
    assert_eq!(bench.says("03"), "FE FE E0 5A 03 00 00 00 45 01 FD");
    assert_eq!(bench.says("05 00 00 95 45 02"), REFUSED);
}
