//! Literal lines, from the manuals' examples by memory.

use super::*;
use crate::sim::{Wire, WireSettings};
use crate::terms::{AzEl, later, parse_time};

struct Bench {
    wire: Wire,
    now: Time,
}

impl Bench {
    fn with(settings: WLinesSettings) -> Self {
        let now = parse_time("2026-11-25T18:30:00Z").unwrap();
        Self { wire: Wire::new(WLines::new(settings, Handles::default()), WireSettings::default()), now }
    }

    fn new() -> Self {
        Self::with(WLinesSettings::default())
    }

    /// Sends a line, waits so many seconds, and gives what came back.
    fn says(&mut self, line: &str, wait_s: f64) -> String {
        self.wire.write(format!("{line}\r").as_bytes(), self.now);
        self.now = later(self.now, wait_s);
        String::from_utf8(self.wire.read(self.now)).unwrap()
    }

    /// To the millionth of a degree.
    fn position(&self) -> AzEl {
        let position = self.wire.handles().record.position_at(self.now).unwrap();
        let round = |degrees: f64| (degrees * 1e6).round() / 1e6;
        AzEl::new(round(position.azimuth), round(position.elevation))
    }
}

#[test]
fn it_goes_silently_and_answers_with_signed_numbers() {
    let mut bench = Bench::new();
    assert_eq!(bench.says("W180 045", 60.0), "");
    assert_eq!(bench.says("C2", 0.2), "+0180+0045\r\n");
    assert_eq!(bench.says("C", 0.2), "+0180\r\n");
    assert_eq!(bench.position(), AzEl::new(180.0, 45.0));
    assert_eq!(bench.wire.handles().record.counts().commands, 3);
}

#[test]
fn the_other_form_names_its_numbers() {
    let mut bench = Bench::with(WLinesSettings { answer: WAnswer::Named, ..WLinesSettings::default() });
    bench.says("W180 045", 60.0);
    assert_eq!(bench.says("C2", 0.2), "AZ=180  EL=045\r\n");
    assert_eq!(bench.says("C", 0.2), "AZ=180\r\n");
}

#[test]
fn a_read_out_is_in_whole_degrees() {
    let mut mount = MountSettings { start: AzEl::new(12.6, -0.4), ..MountSettings::default() };
    mount.elevation.from = -5.0;
    let mut bench = Bench::with(WLinesSettings { mount, answer: WAnswer::Signed });
    assert_eq!(bench.says("C2", 0.2), "+0013+0000\r\n");
}

#[test]
fn degrees_are_taken_literally_on_a_mount_of_450() {
    let mut bench = Bench::new();
    bench.says("W370 000", 90.0);
    assert_eq!(bench.position().azimuth, 370.0);
    bench.says("M010", 90.0);
    assert_eq!(bench.position(), AzEl::new(10.0, 0.0));
    assert_eq!(bench.wire.handles().record.violations(), []);
}

#[test]
fn one_letter_stops_both_axes_and_two_others_stop_one_each() {
    // 4 s give 18.75 degrees of azimuth and 1.25 more to brake; elevation has 11.55 + 0.45.
    for (letter, azimuth, elevation) in [("S", 20.0, 12.0), ("A", 20.0, 45.0), ("E", 180.0, 12.0)] {
        let mut bench = Bench::new();
        bench.says("W180 045", 4.0);
        bench.says(letter, 60.0);
        let end = bench.position();
        assert!((end.azimuth - azimuth).abs() < 0.1, "{letter}: {end:?}");
        assert!((end.elevation - elevation).abs() < 0.1, "{letter}: {end:?}");
    }
}

#[test]
fn what_it_does_not_know_is_refused_aloud_and_moves_nothing() {
    let mut bench = Bench::new();
    let wrong = ["W18 045", "W180045", "W180 45", "W451 000", "W180 181", "M1x0", "M", "C3", "X", "W+80 045"];
    for line in wrong {
        assert_eq!(bench.says(line, 0.2), "?>\r\n", "{line}");
    }
    let record = &bench.wire.handles().record;
    assert_eq!((record.counts().refused, record.aims().len()), (10, 0));
}

#[test]
fn letters_that_start_motors_or_calibrate_are_held_against_the_sender() {
    let mut bench = Bench::new();
    for letter in ["R", "L", "U", "D", "O", "F", "O2", "F2"] {
        bench.says(letter, 0.2);
        let forbidden = Violation::ForbiddenCommand(letter.into());
        assert_eq!(bench.wire.handles().record.violations().last().unwrap().what, forbidden);
    }
    assert_eq!(bench.position(), AzEl::new(0.0, 0.0));
}

#[test]
fn an_aim_beyond_the_mount_is_a_violation() {
    let mut mount = MountSettings::default();
    mount.azimuth.to = 360.0;
    let mut bench = Bench::with(WLinesSettings { mount, answer: WAnswer::Signed });
    bench.says("W370 000", 0.2);
    let outside = Violation::OutsideRange(AzEl::new(370.0, 0.0));
    assert_eq!(bench.wire.handles().record.violations().last().unwrap().what, outside);
}

#[test]
fn a_controller_that_refuses_everything_says_so() {
    let mut bench = Bench::new();
    bench.wire.handles().faults.switch_on(Fault::Refusals);
    assert_eq!(bench.says("W180 045", 0.2), "?>\r\n");
    assert_eq!(bench.says("C2", 0.2), "?>\r\n");
    assert_eq!(bench.position(), AzEl::new(0.0, 0.0));
}

#[test]
fn a_mount_that_only_turns_knows_no_words_for_the_other_motor() {
    let mount = MountSettings { azimuth_only: true, ..MountSettings::default() };
    let mut bench = Bench::with(WLinesSettings { mount, answer: WAnswer::Signed });
    for line in ["W180 045", "C2", "E"] {
        assert_eq!(bench.says(line, 0.2), "?>\r\n", "{line}");
    }
    bench.says("M180", 60.0);
    assert_eq!(bench.says("C", 0.2), "+0180\r\n");
}
