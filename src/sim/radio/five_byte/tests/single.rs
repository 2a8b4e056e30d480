//! The radio with two dials.

use super::*;
use crate::terms::{Segment, Segments};

fn bench() -> Bench {
    Bench::of(FiveByte::new(RadioSettings::default(), Handles::default()))
}

#[test]
fn a_frequency_is_four_bytes_of_digits_and_is_read_back_with_the_mode() {
    let mut bench = bench();
    assert_eq!(bench.says("14 59 50 00 01"), "00");
    assert_eq!(bench.says("00 00 00 00 03"), "14 59 50 00 08");
    assert_eq!(bench.says("01 00 00 00 07"), "00");
    assert_eq!(bench.says("00 00 00 00 03"), "14 59 50 00 01");
    assert_eq!(bench.says("43 51 23 45 01"), "00");
    assert_eq!(bench.tuned(), [hz(435_123_450); 2]);
    assert_eq!(bench.handles().record.counts().commands, 5);
}

#[test]
fn what_is_so_already_is_answered_by_another_byte() {
    let mut bench = bench();
    let said = |bench: &mut Bench, bytes| [bench.says(bytes), bench.says(bytes)];
    for bytes in ["14 59 50 00 01", "00 00 00 00 02", "00 00 00 00 82", "02 00 00 00 07", "4A 00 00 00 0A"] {
        assert_eq!(said(&mut bench, bytes), ["00", "F0"], "{bytes}");
    }
    assert_eq!(said(&mut bench, "00 00 00 00 81"), ["00", "00"]);
    assert_eq!(bench.handles().record.counts().refused, 0);
}

#[test]
fn what_cannot_be_changes_nothing_and_what_is_unknown_says_nothing() {
    let mut bench = bench();
    for wrong in ["1A 59 50 00 01", "99 99 99 99 01", "55 00 00 00 07", "12 34 12 34 0B", "11 00 00 00 09"] {
        assert_eq!(bench.says(wrong), "F0", "{wrong}");
    }
    for unknown in ["00 00 00 00 21", "00 00 00 00 4E", "00 00 00 00 FF", "00 00 00 00 13"] {
        assert_eq!(bench.says(unknown), "", "{unknown}");
    }
    assert_eq!(bench.says("00 00 00 00 03"), "14 50 00 00 08");
    assert_eq!(bench.handles().record.counts().refused, 9);
}

#[test]
fn half_a_command_is_forgotten_after_a_fifth_of_a_second_and_not_before() {
    let mut bench = bench();
    assert_eq!(bench.sends("14 59 50", 0.25), "");
    assert_eq!(bench.says("00 00 00 00 03"), "14 50 00 00 08");
    assert_eq!(bench.sends("14 59 50", 0.15), "");
    assert_eq!(bench.says("00 01"), "00");
    assert_eq!(bench.says("00 00 00 00 03"), "14 59 50 00 08");
}

#[test]
fn the_dial_in_use_receives_and_in_split_the_other_one_transmits() {
    let mut bench = bench();
    bench.says("14 59 50 00 01");
    bench.says("00 00 00 00 81");
    bench.says("43 50 70 00 01");
    assert_eq!(bench.tuned(), [hz(435_070_000); 2]);
    bench.says("00 00 00 00 02");
    assert_eq!(bench.tuned(), [hz(435_070_000), hz(145_950_000)]);
    bench.says("00 00 00 00 81");
    assert_eq!(bench.tuned(), [hz(145_950_000), hz(435_070_000)]);
    bench.says("00 00 00 00 82");
    assert_eq!(bench.tuned(), [hz(145_950_000); 2]);
}

#[test]
fn a_tone_is_chosen_in_tenths_of_hertz_and_sent_when_the_encoder_is_on() {
    let mut bench = bench();
    assert_eq!(bench.says("08 85 08 85 0B"), "00");
    assert_eq!(bench.tone(), None);
    assert_eq!(bench.says("4A 00 00 00 0A"), "00");
    assert_eq!(bench.tone(), Some(885));
    bench.says("20 35 06 70 0B");
    assert_eq!(bench.tone(), Some(2_035));
    bench.says("01 00 00 00 07");
    assert_eq!(bench.tone(), None, "only FM carries one");
    bench.says("08 00 00 00 07");
    bench.says("8A 00 00 00 0A");
    assert_eq!(bench.tone(), None);
}

#[test]
fn a_shift_and_a_clarifier_that_were_left_on_are_switched_off() {
    let mut settings = RadioSettings::default();
    settings.opening_offsets.shift = Hertz(-600_000);
    settings.opening_offsets.rit = Hertz(350);
    let mut bench = Bench::of(FiveByte::new(settings, Handles::default()));
    bench.says("");
    assert_eq!(bench.tuned(), [hz(145_000_350), hz(144_400_000)]);
    assert_eq!(bench.says("89 00 00 00 09"), "00");
    assert_eq!(bench.says("00 00 00 00 85"), "00");
    assert_eq!(bench.tuned(), [hz(145_000_000); 2]);
    bench.says("49 00 00 00 09");
    assert_eq!(bench.tuned(), [hz(145_000_000), hz(145_600_000)]);
}

#[test]
fn the_transmit_status_is_low_on_the_air_and_nothing_is_set_there() {
    let mut bench = bench();
    assert_eq!(bench.says("00 00 00 00 F7"), "FF");
    bench.handles().script.at(bench.now, Act::Press);
    assert_eq!(bench.says("00 00 00 00 F7"), "0A");
    assert_eq!(bench.violations(), []);
    assert_eq!(bench.says("14 59 50 00 01"), "F0");
    assert_eq!(bench.tuned(), [hz(145_000_000); 2]);
    assert_eq!(bench.violations(), [Violation::SetOnAir]);
    bench.handles().script.at(bench.now, Act::Release);
    assert_eq!(bench.says("14 59 50 00 01"), "00");
}

#[test]
fn a_quiet_receiver_reads_one_unit_of_signal_and_a_closed_squelch_among_other_bits() {
    // S1 of nine: 9 x (1 - 48/54) = 1; bit 5 is none of the reader's business.
    assert_eq!(bench().says("00 00 00 00 E7"), "A1");
}

#[test]
fn the_opcodes_08_and_88_key_and_are_held_against_the_sender() {
    let mut bench = bench();
    assert_eq!(bench.says("00 00 00 00 08"), "00");
    assert!(bench.handles().record.keyed_at(bench.now));
    assert_eq!(bench.says("00 00 00 00 08"), "F0");
    assert_eq!(bench.says("12 34 56 78 88"), "00");
    assert!(!bench.handles().record.keyed_at(bench.now));
    let key = |bytes: [u8; 5]| Violation::KeyCommand(bytes.into());
    let pressed = key([0, 0, 0, 0, 0x08]);
    assert_eq!(bench.violations(), [pressed.clone(), pressed, key([0x12, 0x34, 0x56, 0x78, 0x88])]);
}

#[test]
fn one_lost_byte_makes_the_fm_of_the_next_command_a_key_command() {
    let mut bench = bench();
    bench.sends("14 59 50 00", 0.05);
    bench.sends("08 00 00 00 07", 0.05);
    assert!(bench.handles().record.keyed_at(bench.now));
}

#[test]
fn power_memory_and_reset_are_forbidden_and_not_answered() {
    let mut bench = bench();
    for opcode in [0x0F, 0x8F, 0xBC, 0xBE] {
        assert_eq!(bench.says(&format!("00 00 00 00 {opcode:02X}")), "");
        let forbidden = Violation::ForbiddenCommand(vec![0, 0, 0, 0, opcode]);
        assert_eq!(bench.violations().last(), Some(&forbidden));
    }
}

#[test]
fn five_zeros_take_the_knob_from_the_operator() {
    let mut bench = bench();
    assert_eq!(bench.says("00 00 00 00 00"), "00");
    assert_eq!(bench.violations(), [Violation::KnobLocked]);
    bench.handles().script.at(bench.now, Act::Turn(Hertz(500)));
    bench.says("");
    assert_eq!(bench.tuned(), [hz(145_000_000); 2]);
    assert_eq!(bench.says("00 00 00 00 80"), "00");
    bench.handles().script.at(bench.now, Act::Turn(Hertz(500)));
    bench.says("");
    assert_eq!(bench.tuned(), [hz(145_000_500); 2]);
}

#[test]
fn a_transmitter_outside_the_licence_is_a_violation() {
    let segment = Segment { from: Hertz(145_800_000), to: Hertz(146_000_000) };
    let segments = Some(Segments::new(vec![segment]));
    let settings = RadioSettings { segments, ..RadioSettings::default() };
    let mut bench = Bench::of(FiveByte::new(settings, Handles::default()));
    bench.says("14 59 50 00 01");
    assert_eq!(bench.violations(), []);
    bench.says("14 60 00 01 01");
    let hertz = Hertz(146_000_010);
    assert_eq!(bench.violations(), [Violation::OutsideSegments { hertz, keyed: false }]);
}

#[test]
fn a_radio_that_refuses_everything_acknowledges_and_answers_no_question() {
    let mut bench = bench();
    bench.handles().faults.switch_on(Fault::Refusals);
    assert_eq!(bench.says("14 59 50 00 01"), "F0");
    assert_eq!(bench.says("00 00 00 00 03"), "");
    bench.handles().faults.clear();
    assert_eq!(bench.says("00 00 00 00 03"), "14 50 00 00 08");
}

#[test]
fn in_split_it_shows_the_transmitting_dial_on_the_air_and_hears_nothing() {
    let range = std::sync::Arc::new(|_| Some(500.0));
    let signal = Some(crate::sim::radio::SignalSource::new(range, 60.0));
    let settings = RadioSettings { signal, ..RadioSettings::default() };
    let mut bench = Bench::of(FiveByte::new(settings, Handles::default()));
    bench.says("00 00 00 00 02");
    assert_eq!(bench.says("00 00 00 00 03"), "14 50 00 00 08");
    let open = bench.says("00 00 00 00 E7");
    bench.handles().script.at(bench.now, Act::Press);
    assert_eq!(bench.says("00 00 00 00 03"), "43 50 00 00 08");
    assert_eq!(bench.says("00 00 00 00 E7"), "A1");
    bench.handles().script.at(bench.now, Act::Release);
    assert_eq!(bench.says("00 00 00 00 03"), "14 50 00 00 08");
    // By hand: at 500 km and 145 MHz 129.6 dB are lost (P.525), and -69.6 dBm are 23 dB over S9:
    // 9 + 6 x 23.4 / 60 = 11, with the squelch open and bit 5 set.
    assert_eq!(open, "2B");
}
