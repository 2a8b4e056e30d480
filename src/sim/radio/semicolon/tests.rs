//! Literal bytes, from the manuals' examples by memory.

use super::*;
use std::sync::Arc;

use crate::sim::radio::SignalSource;
use crate::sim::{Act, Change, Fault, Violation, Wire, WireSettings};
use crate::terms::{Segment, Segments, Tone, later, parse_time, seconds_between};

struct Bench {
    wire: Wire,
    now: Time,
}

impl Bench {
    fn new(settings: SemicolonSettings) -> Self {
        let radio = Semicolon::new(settings, Handles::default());
        let now = parse_time("2026-11-25T18:30:00Z").unwrap();
        Self { wire: Wire::new(radio, WireSettings::default()), now }
    }

    fn eleven() -> Self {
        Self::new(SemicolonSettings::new(Layout::Eleven))
    }

    fn nine() -> Self {
        Self::new(SemicolonSettings::new(Layout::Nine))
    }

    /// Sends, waits half a second, and gives what came back.
    fn says(&mut self, text: &str) -> String {
        self.wire.write(text.as_bytes(), self.now);
        self.now = later(self.now, 0.5);
        String::from_utf8(self.wire.read(self.now)).unwrap()
    }

    fn violations(&self) -> Vec<Violation> {
        self.wire.handles().record.violations().into_iter().map(|breach| breach.what).collect()
    }
}

#[test]
fn a_good_set_is_silent_and_is_read_back() {
    let mut bench = Bench::eleven();
    assert_eq!(bench.says("FA00145950000;"), "");
    assert_eq!(bench.says("FA;"), "FA00145950000;");
    assert_eq!(bench.says("FB00435500005;FB;"), "FB00435500010;");
    assert_eq!(bench.wire.handles().record.receive_at(bench.now), Some(Hertz(145_950_000)));
    assert_eq!(bench.wire.handles().record.counts().commands, 4);
}

#[test]
fn what_is_not_exactly_right_is_refused() {
    let mut bench = Bench::eleven();
    for wrong in [
        "FA0145950000;",
        "FA001459500000;",
        "FA0014595000x;",
        "ZZ;",
        ";",
        "FA+0145950000;",
        "MD9;",
        "TN39;",
        "TO2;",
        "FC;",
        "FA00999950000;",
        "\r;",
    ] {
        assert_eq!(bench.says(wrong), "?;", "{wrong}");
    }
    assert_eq!(bench.says("FA;"), "FA00145000000;");
    assert_eq!(bench.wire.handles().record.counts().refused, 12);
}

#[test]
fn bytes_without_end_are_a_communication_error() {
    assert_eq!(Bench::eleven().says(&"0".repeat(LONGEST + 1)), "E;");
}

#[test]
fn choosing_the_receiver_cancels_split_and_mode_and_tone_act_on_it() {
    let mut bench = Bench::eleven();
    bench.says("FB00145950000;FR0;FT1;");
    assert_eq!(bench.says("FR;FT;"), "FR0;FT1;");
    bench.says("FR1;FT1;MD4;TN32;TO1;FR0;FT1;");
    let record = bench.wire.handles().record.clone();
    assert_eq!(record.tone_at(bench.now), Tone::from_tenths(2035).ok());
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(145_950_000)));
    assert_eq!(record.receive_at(bench.now), Some(Hertz(145_000_000)));
    bench.says("FR0;");
    assert_eq!(bench.says("FT;"), "FT0;");
    assert_eq!(bench.says("MD2;MD;"), "MD2;");
}

#[test]
fn the_long_status_has_38_characters_with_transmit_flag_and_mode_in_place() {
    let mut bench = Bench::eleven();
    bench.says("MD4;");
    let receiving = bench.says("IF;");
    assert_eq!(receiving.len(), 38);
    assert_eq!(&receiving[..13], "IF00145000000");
    assert_eq!((&receiving[28..29], &receiving[29..30]), ("0", "4"));
    bench.wire.handles().script.at(bench.now, Act::Press);
    assert_eq!(&bench.says("IF;")[28..29], "1");
    assert!(bench.violations().is_empty());
}

#[test]
fn a_key_command_is_obeyed_and_held_against_the_sender() {
    let mut bench = Bench::eleven();
    bench.says("TX;");
    assert!(bench.wire.handles().record.keyed_at(bench.now));
    bench.says("RX;");
    assert!(!bench.wire.handles().record.keyed_at(bench.now));
    bench.says("KY CQ;");
    let seen = bench.violations();
    assert_eq!(
        seen,
        [
            Violation::KeyCommand(b"TX".into()),
            Violation::KeyCommand(b"RX".into()),
            Violation::ForbiddenCommand(b"KY CQ".into())
        ]
    );
}

#[test]
fn the_nine_digit_layout_names_the_receiver_first() {
    let mut bench = Bench::nine();
    assert_eq!(bench.says("FA145950000;FA;"), "FA145950000;");
    assert_eq!(bench.says("FA00145950000;"), "?;");
    assert_eq!(bench.says("MD02;MD0;"), "MD02;");
    assert_eq!(bench.says("FB145950000;MD14;CN10040;CT12;ST1;"), "");
    assert_eq!(bench.says("CN10;CT1;ST;"), "CN10040;CT12;ST1;");
    let record = bench.wire.handles().record.clone();
    assert_eq!(record.tone_at(bench.now), Tone::from_tenths(2035).ok());
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(145_950_000)));
    assert_eq!(bench.says("SM0;"), "SM0014;");
}

#[test]
fn asking_the_nine_digit_radio_whether_it_transmits_is_answered_but_noted() {
    let mut bench = Bench::nine();
    assert_eq!(bench.says("TX;"), "TX0;");
    assert_eq!(bench.violations(), [Violation::KeyCommand(b"TX".into())]);
    bench.says("TX1;");
    assert!(bench.wire.handles().record.keyed_at(bench.now));
}

#[test]
fn transmitting_outside_the_licence_is_a_violation_whoever_presses_the_key() {
    let mut settings = SemicolonSettings::new(Layout::Eleven);
    let segment = Segment { from: Hertz(145_800_000), to: Hertz(146_000_000) };
    settings.radio.segments = Some(Segments::new(vec![segment]));
    let mut bench = Bench::new(settings);
    bench.says("FB00145950000;FT1;");
    bench.wire.handles().script.at(bench.now, Act::Press);
    bench.says("FB00145960000;");
    assert!(bench.violations().is_empty());
    bench.says("FB00146000010;");
    let hertz = Hertz(146_000_010);
    assert_eq!(bench.violations(), [Violation::OutsideSegments { hertz, keyed: true }]);
    bench.wire.handles().script.at(bench.now, Act::Release);
    bench.says("FB00146000020;");
    let hertz = Hertz(146_000_020);
    assert_eq!(bench.violations()[1..], [Violation::OutsideSegments { hertz, keyed: false }]);
}

#[test]
fn changing_what_transmits_while_on_the_air_is_a_violation() {
    let mut bench = Bench::eleven();
    bench.wire.handles().script.at(bench.now, Act::Press);
    bench.says("FA00145960000;");
    assert!(bench.violations().is_empty());
    bench.says("FT1;");
    assert_eq!(bench.violations(), [Violation::RolesChangedOnAir]);
}

#[test]
fn a_radio_that_takes_nothing_while_it_transmits_refuses() {
    let mut settings = SemicolonSettings::new(Layout::Eleven);
    settings.radio.tunes_while_transmitting = false;
    let mut bench = Bench::new(settings);
    bench.wire.handles().script.at(bench.now, Act::Press);
    assert_eq!(bench.says("FA00145960000;FA;"), "?;FA00145000000;");
    assert_eq!(bench.violations(), [Violation::SetOnAir]);
}

#[test]
fn a_repeater_shift_moves_the_transmitter_until_it_is_switched_off() {
    let mut settings = SemicolonSettings::new(Layout::Eleven);
    settings.radio.opening_offsets.shift = Hertz(-600_000);
    let mut bench = Bench::new(settings);
    assert_eq!(bench.says("OS;"), "OS2;");
    assert_eq!(bench.wire.handles().record.transmit_at(bench.now), Some(Hertz(144_400_000)));
    bench.says("OS0;");
    assert_eq!(bench.wire.handles().record.transmit_at(bench.now), Some(Hertz(145_000_000)));
}

#[test]
fn clarifiers_move_both_directions_until_they_are_switched_off() {
    let mut settings = SemicolonSettings::new(Layout::Eleven);
    settings.radio.opening_offsets.rit = Hertz(-120);
    settings.radio.opening_offsets.xit = Hertz(50);
    let mut bench = Bench::new(settings);
    assert_eq!(bench.says("RT;XT;"), "RT1;XT1;");
    assert_eq!(&bench.says("IF;")[18..25], "-012011");
    let record = bench.wire.handles().record.clone();
    assert_eq!(record.receive_at(bench.now), Some(Hertz(144_999_880)));
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(145_000_050)));
    assert_eq!(bench.says("RT0;XT0;RT;XT;"), "RT0;XT0;");
    assert_eq!(record.receive_at(bench.now), Some(Hertz(145_000_000)));
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(145_000_000)));
}

#[test]
fn a_shift_that_takes_the_transmitter_out_of_the_licence_is_a_violation() {
    let mut settings = SemicolonSettings::new(Layout::Eleven);
    let segment = Segment { from: Hertz(144_300_000), to: Hertz(144_500_000) };
    settings.radio.segments = Some(Segments::new(vec![segment]));
    let mut bench = Bench::new(settings);
    bench.says("OS2;");
    assert!(bench.violations().is_empty());
    bench.says("OS1;");
    bench.says("RT0;OS0;");
    let hertz = Hertz(145_600_000);
    assert_eq!(bench.violations(), [Violation::OutsideSegments { hertz, keyed: false }]);
}

#[test]
fn an_act_written_too_late_is_done_at_once_and_the_record_stays_in_order() {
    let mut bench = Bench::eleven();
    bench.says("FA00145950000;");
    bench.wire.handles().script.at(later(bench.now, -0.4), Act::Turn(Hertz(500)));
    assert_eq!(bench.says("FA;"), "FA00145950500;");
    let landings = bench.wire.handles().record.landings();
    assert!(landings.is_sorted_by_key(|landing| landing.at));
    assert_eq!(landings[landings.len() - 1].at, later(bench.now, -0.5));
}

#[test]
fn a_turned_knob_is_reported_only_when_reports_are_on() {
    let mut bench = Bench::eleven();
    bench.wire.handles().script.at(bench.now, Act::Turn(Hertz(2_500)));
    assert_eq!(bench.says(""), "");
    bench.says("AI1;");
    bench.wire.handles().script.at(later(bench.now, 0.1), Act::Turn(Hertz(-500)));
    assert_eq!(bench.says(""), "FA00145002000;");
    let turned = bench.wire.handles().record.landings().into_iter().rev().nth(1).unwrap();
    assert_eq!((turned.cause, turned.what), (Cause::Operator, Change::Receive(Hertz(145_002_000))));
    assert_eq!(bench.says("AI0;AI;"), "AI0;");
}

#[test]
fn a_report_can_come_between_a_question_and_its_answer() {
    let mut settings = SemicolonSettings::new(Layout::Eleven);
    settings.radio.reports = true;
    let mut bench = Bench::new(settings);
    // The question is complete after 3.1 ms and answered 20 ms later.
    bench.wire.handles().script.at(later(bench.now, 0.010), Act::Turn(Hertz(500)));
    assert_eq!(bench.says("FB;"), "FA00145000500;FB00435000000;");
}

#[test]
fn a_second_receiver_is_the_one_listened_to_and_band_control_directs_mode_and_tone() {
    let mut settings = SemicolonSettings::new(Layout::Eleven);
    settings.second_receiver = true;
    let mut bench = Bench::new(settings);
    assert_eq!(bench.says("FA00145950000;FC00435500000;FC;"), "FC00435500000;");
    bench.says("DC01;MD2;DC00;MD4;TN32;TO1;FR0;");
    assert_eq!(bench.says("DC;MD;"), "DC00;MD4;");
    let record = bench.wire.handles().record.clone();
    assert_eq!(record.receive_at(bench.now), Some(Hertz(435_500_000)));
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(145_950_000)));
    assert_eq!(record.receive_mode_at(bench.now), Some(Mode::Usb));
    assert_eq!(record.tone_at(bench.now), Tone::from_tenths(2035).ok());
    bench.says("DC10;");
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(435_500_000)));
    assert_eq!(Bench::eleven().says("DC00;"), "?;");
}

#[test]
fn the_meter_follows_the_distance() {
    let mut settings = SemicolonSettings::new(Layout::Eleven);
    let start = parse_time("2026-11-25T18:30:00Z").unwrap();
    let range = move |time| (time > start).then(|| 4_000.0 - 3_000.0 * seconds_between(start, time));
    // 145 MHz over 1000 km lose 135.6 dB (by hand, P.525): 42.6 dBm become -93, which is S9.
    settings.radio.signal = Some(SignalSource::new(Arc::new(range), 42.6));
    let mut bench = Bench::new(settings);
    let far = bench.says("BY;SM0;");
    bench.now = later(start, 1.0);
    let near = bench.says("SM0;");
    assert_eq!((&far[..], &near[..]), ("BY1;SM00012;", "SM00015;"));
}

#[test]
fn a_radio_that_refuses_everything_says_so() {
    let mut bench = Bench::eleven();
    bench.wire.handles().faults.switch_on(Fault::Refusals);
    assert_eq!(bench.says("FA00145950000;FA;"), "?;?;");
    bench.wire.handles().faults.clear();
    assert_eq!(bench.says("FA;"), "FA00145000000;");
}

#[test]
fn with_one_receiver_the_transmitting_dial_is_the_one_in_use_on_the_air() {
    let mut settings = SemicolonSettings::new(Layout::Eleven);
    settings.radio.duplex = false;
    let mut bench = Bench::new(settings);
    bench.says("FR0;FT1;MD2;");
    bench.wire.handles().script.at(bench.now, Act::Press);
    let status = bench.says("IF;");
    assert_eq!((&status[..13], &status[28..33]), ("IF00435000000", "14101"));
    assert_eq!(bench.says("MD;FR;FT;FA;FB;"), "MD4;FR0;FT1;FA00145000000;FB00435000000;");
    bench.wire.handles().script.at(bench.now, Act::Release);
    let status = bench.says("IF;");
    assert_eq!((&status[..13], &status[28..33]), ("IF00145000000", "02001"));
}

#[test]
fn beside_a_second_receiver_main_transmits_until_band_control_says_otherwise() {
    let mut settings = SemicolonSettings::new(Layout::Eleven);
    settings.second_receiver = true;
    let mut bench = Bench::new(settings);
    let record = bench.wire.handles().record.clone();
    assert_eq!(bench.says("DC;FA00145950000;FC00435500000;"), "DC00;");
    assert_eq!(record.transmit_at(bench.now), Some(Hertz(145_950_000)));
    // Mode and tone go to the controlled band, whichever one transmits.
    assert_eq!(bench.says("DC11;MD2;MD;DC10;MD;"), "MD2;MD4;");
    assert_eq!(record.transmit_mode_at(bench.now), Some(Mode::Usb));
    for wrong in ["DC2;", "DC02;", "DC000;", "FC0435500000;"] {
        assert_eq!(bench.says(wrong), "?;", "{wrong}");
    }
}
