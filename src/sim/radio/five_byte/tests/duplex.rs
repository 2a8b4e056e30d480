//! The radio with two bands.

use super::*;
use crate::terms::{Mode, Segment, Segments};

/// Deaf, as it is when it is switched on.
fn deaf() -> Bench {
    Bench::of(FiveByteDuplex::new(RadioSettings::default(), Handles::default()))
}

/// Control and duplex on.
fn bench() -> Bench {
    let mut bench = deaf();
    assert_eq!(bench.says("00 00 00 00 00") + &bench.says("00 00 00 00 4E"), "");
    bench
}

#[test]
fn it_is_deaf_until_control_is_on_and_again_when_it_is_off() {
    let mut bench = deaf();
    assert_eq!(bench.says("00 00 00 00 03"), "");
    bench.says("14 59 50 00 01");
    bench.says("00 00 00 00 00");
    assert_eq!(bench.says("00 00 00 00 03"), "14 50 00 00 08");
    bench.says("00 00 00 00 80");
    assert_eq!(bench.says("00 00 00 00 03"), "");
    assert_eq!(bench.violations(), []);
}

#[test]
fn each_band_has_its_own_opcodes_and_no_set_is_answered() {
    let mut bench = bench();
    assert_eq!(bench.says("43 51 23 45 11"), "");
    assert_eq!(bench.says("14 59 50 00 21"), "");
    assert_eq!(bench.tuned(), [hz(435_123_450), hz(145_950_000)]);
    assert_eq!(bench.says("00 00 00 00 13"), "43 51 23 45 08");
    assert_eq!(bench.says("00 00 00 00 23"), "14 59 50 00 08");
    assert_eq!(bench.says("01 00 00 00 17") + &bench.says("00 00 00 00 27"), "");
    let record = &bench.handles().record;
    assert_eq!(record.receive_mode_at(bench.now), Some(Mode::Usb));
    assert_eq!(record.transmit_mode_at(bench.now), Some(Mode::Lsb));
    assert_eq!(bench.says("00 00 00 00 13"), "43 51 23 45 01");
    assert_eq!(bench.says("00 00 00 00 23"), "14 59 50 00 00");
}

#[test]
fn without_duplex_one_dial_does_both_and_has_opcodes_of_its_own() {
    let mut bench = bench();
    bench.says("14 59 50 00 21");
    bench.says("00 00 00 00 8E");
    bench.says("14 58 00 00 01");
    assert_eq!(bench.tuned(), [hz(145_800_000); 2]);
    bench.says("01 00 00 00 07");
    assert_eq!(bench.says("00 00 00 00 03"), "14 58 00 00 01");
    bench.says("00 00 00 00 4E");
    assert_eq!(bench.tuned(), [hz(435_000_000), hz(145_950_000)]);
}

#[test]
fn a_tone_is_a_code_of_the_chip_and_sent_when_it_is_on() {
    let mut bench = bench();
    for (code, tenths) in [("3F", 670), ("0E", 885), ("0D", 1_000)] {
        bench.says(&format!("{code} 00 00 00 2B"));
        bench.says("4A 00 00 00 2A");
        assert_eq!(bench.tone(), Some(tenths), "{code}");
        bench.says("8A 00 00 00 2A");
        assert_eq!(bench.tone(), None);
    }
    bench.says("4A 00 00 00 1A");
    assert_eq!(bench.tone(), None, "that is the receiving band's");
    assert_eq!(bench.handles().record.counts().refused, 0);
}

#[test]
fn the_chips_codes_are_all_different_and_so_are_their_tones() {
    let tones: std::collections::BTreeSet<u16> =
        (0..=0xFF).filter_map(super::super::duplex::tone).map(Tone::tenths).collect();
    assert_eq!(tones.len(), 38);
}

#[test]
fn half_a_command_is_forgotten_after_a_fifth_of_a_second() {
    let mut bench = bench();
    bench.sends("14 59 50", 0.25);
    assert_eq!(bench.says("00 00 00 00 13"), "43 50 00 00 08");
    bench.sends("43 51", 0.15);
    bench.says("23 45 11");
    assert_eq!(bench.says("00 00 00 00 13"), "43 51 23 45 08");
}

#[test]
fn what_cannot_be_changes_nothing_and_is_counted() {
    let mut bench = bench();
    for wrong in [
        "1A 59 50 00 11",
        "99 99 99 99 21",
        "55 00 00 00 17",
        "20 00 00 00 2B",
        "11 00 00 00 2A",
        "00 00 00 00 31",
    ] {
        assert_eq!(bench.says(wrong), "", "{wrong}");
    }
    assert_eq!(bench.tuned(), [hz(435_000_000), hz(145_000_000)]);
    assert_eq!(bench.handles().record.counts().refused, 6);
}

#[test]
fn the_opcodes_08_and_88_key_and_are_held_against_the_sender_even_while_it_is_deaf() {
    for mut bench in [bench(), deaf()] {
        assert_eq!(bench.says("00 00 00 00 08"), "");
        assert!(bench.handles().record.keyed_at(bench.now));
        bench.says("00 00 00 00 88");
        assert!(!bench.handles().record.keyed_at(bench.now));
        let key = |opcode| Violation::KeyCommand(vec![0, 0, 0, 0, opcode]);
        assert_eq!(bench.violations(), [key(0x08), key(0x88)]);
    }
}

#[test]
fn it_follows_while_it_transmits_and_says_that_it_does() {
    let mut bench = bench();
    assert_eq!(bench.says("00 00 00 00 F7"), "FF");
    bench.handles().script.at(bench.now, Act::Press);
    assert_eq!(bench.says("00 00 00 00 F7"), "0A");
    bench.says("14 59 50 00 21");
    assert_eq!(bench.tuned()[1], hz(145_950_000));
    assert_eq!(bench.violations(), []);
    bench.says("00 00 00 00 8E");
    assert_eq!(bench.violations(), [Violation::RolesChangedOnAir]);
}

#[test]
fn a_shift_moves_the_transmitter_without_duplex_only() {
    let mut bench = bench();
    bench.says("49 00 00 00 09");
    assert_eq!(bench.tuned()[1], hz(145_000_000));
    bench.says("00 00 00 00 8E");
    assert_eq!(bench.tuned()[1], hz(145_600_000));
    bench.says("89 00 00 00 09");
    assert_eq!(bench.tuned()[1], hz(145_000_000));
}

#[test]
fn a_transmitter_outside_the_licence_is_a_violation() {
    let segment = Segment { from: Hertz(145_800_000), to: Hertz(146_000_000) };
    let segments = Some(Segments::new(vec![segment]));
    let settings = RadioSettings { segments, ..RadioSettings::default() };
    let mut bench = Bench::of(FiveByteDuplex::new(settings, Handles::default()));
    bench.says("00 00 00 00 00");
    bench.says("00 00 00 00 4E");
    bench.says("14 59 50 00 21");
    assert_eq!(bench.violations(), []);
    bench.says("14 60 00 01 21");
    let hertz = Hertz(146_000_010);
    assert_eq!(bench.violations(), [Violation::OutsideSegments { hertz, keyed: false }]);
}

#[test]
fn a_radio_that_refuses_everything_answers_nothing() {
    let mut bench = bench();
    bench.handles().faults.switch_on(Fault::Refusals);
    assert_eq!(bench.says("43 51 23 45 11") + &bench.says("00 00 00 00 13"), "");
    bench.handles().faults.clear();
    assert_eq!(bench.says("00 00 00 00 13"), "43 50 00 00 08");
}
