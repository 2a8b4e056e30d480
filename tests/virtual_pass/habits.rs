//! What the operator does at the radio in mid-pass, and what a careful second hand makes of it.

use beamhand::sim::{Act, Violation};
use beamhand::terms::{Direction, Hertz, Plan, seconds_between};

use crate::theatre::{Theatre, demo_with, radio};

/// How far a dial is from its plan now.
fn error(theatre: &Theatre, name: &str, direction: Direction) -> Hertz {
    let now = theatre.station.now();
    let plan = theatre.stage.job.tuning.at(now).unwrap().dial(direction).unwrap();
    let record = theatre.record(name);
    let dial = match direction {
        Direction::Receive => record.receive_at(now),
        Direction::Transmit => record.transmit_at(now),
    };
    dial.unwrap() - plan.hertz
}

#[test]
fn a_dial_turned_by_hand_in_mid_pass_is_corrected_within_three_seconds() {
    for dialect in ["five-byte", "semicolon-eleven"] {
        for equipment in [
            radio("receiver", dialect, "receive").replace("worthwhile_hz = 10\n", ""),
            radio("receiver", dialect, "receive"),
        ] {
            let mut theatre = Theatre::open(demo_with(&equipment));
            theatre.start();
            let script = theatre.device("receiver").handles.script.clone();
            for second in [100.0, 200.7, 290.0, 305.3, 411.0] {
                script.at(theatre.after_aos(second), Act::Turn(Hertz(3_000)));
                theatre.play_until(second + 0.01);
                assert!(error(&theatre, "receiver", Direction::Receive) > Hertz(2_400));
                theatre.play_until(second + 3.0);
                let error = error(&theatre, "receiver", Direction::Receive);
                assert!(error.abs() < Hertz(300), "{dialect}, {second} s: {error}");
            }
            theatre.assert_no_violation();
        }
    }
}

#[test]
fn a_transmitter_that_takes_nothing_on_the_air_waits_and_gets_one_fresh_value() {
    let equipment =
        radio("receiver", "five-byte", "receive") + &radio("transmitter", "five-byte", "transmit");
    let mut theatre = Theatre::open(demo_with(&equipment));
    theatre.start();
    let script = theatre.device("transmitter").handles.script.clone();
    script.at(theatre.after_aos(280.0), Act::Press);
    script.at(theatre.after_aos(320.0), Act::Release);
    theatre.play_until(319.9);
    let behind = -error(&theatre, "transmitter", Direction::Transmit).0;
    let said = |theatre: &Theatre| theatre.station.radios()[1].radio().unwrap().clone();
    let shown = said(&theatre).transmit.unwrap().behind.unwrap().0;
    assert!(behind.abs() > 500 && (shown - behind).abs() <= 20, "{behind} Hz behind, shown {shown}");
    theatre.play_until(320.3);
    let error = error(&theatre, "transmitter", Direction::Transmit);
    assert!(error.abs() <= Hertz(20), "{error} 300 ms after the over");
    let drift = said(&theatre).last_over.unwrap().transmit.unwrap().0;
    assert!((drift - behind).abs() <= 20, "drifted {drift}, behind {behind}");
    // A command that was on its way when the key was pressed is ignored by the radio; none follows.
    let pressed = theatre.after_aos(280.0);
    for breach in theatre.record("transmitter").violations() {
        let late = seconds_between(pressed, breach.at);
        assert!(breach.what == Violation::SetOnAir && late < 0.25, "{breach:?}, {late} s after the press");
    }
}
