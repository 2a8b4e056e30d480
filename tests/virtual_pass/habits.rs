//! What the operator does at the radio in mid-pass, and what a careful second hand makes of it.

use beamhand::device::Contact;
use beamhand::sim::{Act, Fault, Violation};
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

/// In FM a command that the plan needs would come too late to set it back.
#[test]
fn on_a_duplex_radio_a_turned_dial_is_corrected_within_three_seconds() {
    for dialect in ["semicolon-eleven", "semicolon-nine", "five-byte-duplex"] {
        let equipment = radio("duplex", dialect, "both").replace("worthwhile_hz = 10\n", "");
        let mut theatre = Theatre::open(demo_with(&equipment));
        theatre.start();
        let script = theatre.device("duplex").handles.script.clone();
        for second in (0..40).map(|turn| 100.0 + 7.3 * f64::from(turn)) {
            script.at(theatre.after_aos(second), Act::Turn(Hertz(3_000)));
            theatre.play_until(second + 3.0);
            let error = error(&theatre, "duplex", Direction::Receive);
            assert!(error.abs() < Hertz(300), "{dialect}, {second} s: {error}");
        }
        theatre.assert_no_violation();
    }
}

#[test]
fn an_over_of_two_seconds_is_seen_on_a_radio_that_is_tuned_on_the_air() {
    for dialect in ["semicolon-eleven", "fe-frames", "five-byte-duplex"] {
        let address = if dialect == "fe-frames" { "address = 0x5A\nstep_hz" } else { "step_hz" };
        let equipment = radio("duplex", dialect, "both").replace("step_hz", address);
        let mut theatre = Theatre::open(demo_with(&equipment));
        theatre.start();
        let script = theatre.device("duplex").handles.script.clone();
        for second in [100.0, 200.7, 290.0, 305.3, 320.9, 411.0] {
            script.at(theatre.after_aos(second), Act::Press);
            script.at(theatre.after_aos(second + 2.0), Act::Release);
            let mut seen = false;
            for tenth in 0..25 {
                theatre.play_until(second + f64::from(tenth) / 10.0);
                seen |= theatre.station.radios()[0].radio().unwrap().transmitting == Some(true);
            }
            assert!(seen, "{dialect}, {second} s");
        }
    }
}

#[test]
fn a_dial_that_takes_commands_and_stays_is_named_within_three_seconds() {
    for uses in ["receive", "both"] {
        for second in [200.0, 290.3, 320.7] {
            let mut theatre = Theatre::open(demo_with(&radio("radio", "semicolon-eleven", uses)));
            theatre.start();
            theatre.play_until(second);
            let contact = |theatre: &Theatre| theatre.station.radios()[0].contact.clone();
            assert_eq!(contact(&theatre), Contact::Good);
            theatre.device("radio").handles.faults.switch_on(Fault::DialStuck);
            theatre.play_until(second + 3.2);
            let Contact::Odd(why) = contact(&theatre) else { panic!("{uses}, {:?}", contact(&theatre)) };
            assert!(why.contains("receive dial stays at"), "{uses}, {second} s: {why}");
        }
    }
}
