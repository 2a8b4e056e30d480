//! Literal blocks, from the manuals' examples by memory.

use super::*;
use crate::sim::{Wire, WireSettings};
use crate::terms::{AzEl, later, parse_time};

const ASK: &str = "57 00 00 00 00 00 00 00 00 00 00 1F 20";
const STOP: &str = "57 00 00 00 00 00 00 00 00 00 00 0F 20";
/// By hand, at two pulses a degree: (180 + 360) x 2 = 1080 and (45 + 360) x 2 = 810.
const GO: &str = "57 31 30 38 30 02 30 38 31 30 02 2F 20";

struct Bench {
    wire: Wire,
    now: Time,
}

impl Bench {
    fn with(change: impl FnOnce(&mut ThirteenByteSettings)) -> Self {
        let mut settings = ThirteenByteSettings { answers_one_in: 0, ..ThirteenByteSettings::default() };
        change(&mut settings);
        let wire = WireSettings { baud: 600, ..WireSettings::default() };
        let now = parse_time("2026-11-25T18:30:00Z").unwrap();
        Self { wire: Wire::new(ThirteenByte::new(settings, Handles::default()), wire), now }
    }

    fn new() -> Self {
        Self::with(|_| ())
    }

    /// Sends, waits so many seconds, and gives what came back.
    fn says(&mut self, bytes: &str, wait_s: f64) -> String {
        let bytes: Vec<u8> =
            bytes.split_whitespace().map(|byte| u8::from_str_radix(byte, 16).unwrap()).collect();
        self.wire.write(&bytes, self.now);
        self.now = later(self.now, wait_s);
        let back = self.wire.read(self.now).into_iter().map(|byte| format!("{byte:02X}"));
        back.collect::<Vec<String>>().join(" ")
    }

    /// To the millionth of a degree.
    fn position(&self) -> AzEl {
        let position = self.wire.handles().record.position_at(self.now).unwrap();
        let round = |degrees: f64| (degrees * 1e6).round() / 1e6;
        AzEl::new(round(position.azimuth), round(position.elevation))
    }
}

#[test]
fn it_goes_silently_and_answers_with_raw_digits_and_tenths() {
    let mut bench = Bench::new();
    assert_eq!(bench.says(GO, 60.0), "");
    assert_eq!(bench.position(), AzEl::new(180.0, 45.0));
    // 540.0 and 405.0.
    assert_eq!(bench.says(ASK, 1.0), "57 05 04 00 00 02 04 00 05 00 02 20");
    assert_eq!(bench.wire.handles().record.counts().commands, 2);
}

#[test]
fn a_question_and_its_answer_take_nearly_half_a_second_at_600_baud() {
    // 25 bytes of 10 bits at 600 bits a second are 416.7 ms, and 20 ms to think.
    assert_eq!(Bench::new().says(ASK, 0.430).split(' ').count(), 11);
    assert_eq!(Bench::new().says(ASK, 0.438).split(' ').count(), 12);
}

#[test]
fn it_counts_in_its_own_pulses_whatever_the_command_says() {
    let mut bench = Bench::with(|settings| settings.pulses = [1, 4]);
    // By hand: (180 + 360) x 1 = 0540 and (45 + 360) x 4 = 1620; the command claims 2 and 2.
    bench.says("57 30 35 34 30 02 31 36 32 30 02 2F 20", 60.0);
    assert_eq!(bench.position(), AzEl::new(180.0, 45.0));
    assert_eq!(bench.says(ASK, 1.0), "57 05 04 00 00 01 04 00 05 00 04 20");
}

#[test]
fn the_read_out_is_in_whole_pulses() {
    let mut bench = Bench::with(|settings| settings.mount.start = AzEl::new(12.3, 0.2));
    // 372.3 lies nearest to 372.5, and 360.2 to 360.0.
    assert_eq!(bench.says(ASK, 1.0), "57 03 07 02 05 02 03 06 00 00 02 20");
}

#[test]
fn a_stop_is_answered_and_stops_both_axes() {
    let mut bench = Bench::new();
    bench.says(GO, 4.0);
    assert_eq!(bench.says(STOP, 60.0).split(' ').count(), 12);
    let end = bench.position();
    assert!((18.0..22.0).contains(&end.azimuth) && (10.0..14.0).contains(&end.elevation), "{end:?}");
}

#[test]
fn a_command_to_go_is_answered_now_and_then() {
    let mut bench = Bench::with(|settings| settings.answers_one_in = 3);
    let answered = (0..30).filter(|_| !bench.says(GO, 1.0).is_empty()).count();
    assert!((5..=15).contains(&answered), "{answered}");
}

#[test]
fn after_a_lost_or_a_stray_byte_the_next_block_is_understood() {
    let mut bench = Bench::new();
    bench.says("57 31 30 38 30 02 30 38 31 02 2F 20", 1.0);
    bench.says("00 00 FF", 1.0);
    assert_eq!(bench.says(ASK, 1.0).split(' ').count(), 12);
    let record = &bench.wire.handles().record;
    assert_eq!((record.aims().len(), record.counts().refused), (0, 1));
}

#[test]
fn digits_that_are_none_and_unknown_commands_move_nothing() {
    let mut bench = Bench::new();
    bench.says("57 31 3A 38 30 02 30 38 31 30 02 2F 20", 1.0);
    bench.says("57 00 00 00 00 00 00 00 00 00 00 F8 20", 1.0);
    let record = &bench.wire.handles().record;
    assert_eq!((record.aims().len(), record.counts().refused), (0, 1));
    let [breach] = &record.violations()[..] else { panic!("{:?}", record.violations()) };
    assert!(matches!(&breach.what, Violation::ForbiddenCommand(block) if block[11] == 0xF8));
}

#[test]
fn an_aim_beyond_the_mount_is_a_violation() {
    let mut bench = Bench::new();
    // (-10 + 360) x 2 = 700.
    bench.says("57 30 37 30 30 02 30 37 32 30 02 2F 20", 1.0);
    let outside = Violation::OutsideRange(AzEl::new(-10.0, 0.0));
    assert_eq!(bench.wire.handles().record.violations()[0].what, outside);
}

#[test]
fn a_controller_that_refuses_everything_says_nothing() {
    let mut bench = Bench::new();
    bench.wire.handles().faults.switch_on(Fault::Refusals);
    assert_eq!(bench.says(GO, 1.0) + &bench.says(ASK, 1.0), "");
    assert_eq!(bench.wire.handles().record.counts().refused, 2);
}
