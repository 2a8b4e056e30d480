//! Three overs of the operator: where a radio stands when the key is pressed and right after, if it
//! works by turns or takes nothing on the air.

use beamhand::sim::{Act, Violation};
use beamhand::terms::{Direction, Hertz, Plan, Time, later, seconds_between};

use crate::stations::{self, Station};
use crate::theatre::{Theatre, demo_with};

/// Press and release, seconds after AOS. The second over spans the closest approach, where in half a
/// minute the downlink moves by five kilohertz.
const OVERS: [(f64, f64); 3] = [(100.0, 115.0), (320.0, 355.0), (480.3, 489.7)];
/// The overs begin at different moments of the player's round, seconds.
const SHIFTS: [f64; 4] = [0.0, 0.13, 0.29, 0.47];
/// What is worth a command in FM.
const WORTHWHILE: Hertz = Hertz(500);
/// A dial that was set is half of that ahead of its plan, and a step of 10 Hz.
const JUST_SET: Hertz = Hertz(260);

/// The radio is asked every half second whether it still transmits; then come the answer and the
/// dials, seconds.
const ROUND_S: f64 = 0.6;
/// A command that is on its way when the key is pressed reaches a radio that ignores it, seconds.
const ON_ITS_WAY_S: f64 = 0.25;

/// A pass with the overs, the first of them `shift_s` later.
fn spoken(station: &Station, name: &str, shift_s: f64) -> Theatre {
    let mut theatre = Theatre::open_for(demo_with(&station.equipment), station.satellite, None);
    theatre.start();
    let script = theatre.device(name).handles.script.clone();
    for (press, release) in OVERS {
        script.at(theatre.after_aos(press + shift_s), Act::Press);
        script.at(theatre.after_aos(release + shift_s), Act::Release);
    }
    theatre.play_out();
    theatre
}

/// How far a direction was from its plan.
fn error(theatre: &Theatre, name: &str, direction: Direction, at: Time) -> Hertz {
    let wanted = theatre.stage.job.tuning.at(at).unwrap().dial(direction).unwrap().hertz;
    let record = theatre.record(name);
    let stood = match direction {
        Direction::Receive => record.receive_at(at),
        Direction::Transmit => record.transmit_at(at),
    };
    (stood.unwrap() - wanted).abs()
}

/// Seconds from the end of the worst over until the direction was as if just set.
fn until_right(theatre: &Theatre, name: &str, direction: Direction, shift_s: f64) -> f64 {
    let after = |release: f64| {
        let error_after = |ms: u32| {
            let at = later(theatre.after_aos(release + shift_s), f64::from(ms) * 1e-3);
            error(theatre, name, direction, at)
        };
        let right = (0..5_000).find(|ms| error_after(*ms) <= JUST_SET);
        f64::from(right.unwrap()) * 1e-3
    };
    OVERS.into_iter().map(|(_, release)| after(release)).fold(0.0, f64::max)
}

/// Nothing forbidden reached the radio but what was on its way at a press.
#[track_caller]
fn assert_left_in_peace(theatre: &Theatre, name: &str, shift_s: f64) {
    for breach in theatre.record(name).violations() {
        let late = |(press, _): (f64, f64)| seconds_between(theatre.after_aos(press + shift_s), breach.at);
        let on_its_way = OVERS.into_iter().map(late).any(|late| (0.0..ON_ITS_WAY_S).contains(&late));
        assert!(breach.what == Violation::SetOnAir && on_its_way, "{name}: {breach:?}");
    }
}

#[test]
fn a_radio_that_works_by_turns_is_right_at_each_press_and_again_right_after_each_over() {
    for dialect in stations::BY_SPLIT {
        for shift_s in SHIFTS {
            let theatre = spoken(&stations::half_duplex(dialect), "set", shift_s);
            for (press, _) in OVERS {
                let at = theatre.after_aos(press + shift_s);
                let error = error(&theatre, "set", Direction::Transmit, at);
                assert!(error <= WORTHWHILE, "{dialect}: {error} off when the key was pressed");
            }
            let took = until_right(&theatre, "set", Direction::Receive, shift_s);
            assert!(took <= ROUND_S, "{dialect}: the receiver is right {took} s after an over");
            assert_left_in_peace(&theatre, "set", shift_s);
        }
    }
}

#[test]
fn an_uplink_that_waits_for_the_end_of_an_over_is_right_again_right_after_it() {
    let held = |dialect: &str| {
        let equipment = stations::fm_radio("set", dialect, "both") + "hold_uplink = true\n";
        (Station { equipment, ..stations::crossed(dialect) }, "set")
    };
    let mut cases = vec![(stations::pair("five-byte", "five-byte"), "transmitter")];
    cases.extend(["semicolon-eleven", "fe-frames", "five-byte-duplex"].map(held));
    for (station, name) in cases {
        for shift_s in SHIFTS {
            let theatre = spoken(&station, name, shift_s);
            let took = until_right(&theatre, name, Direction::Transmit, shift_s);
            assert!(took <= ROUND_S, "{}: right {took} s after an over", station.name);
            assert_left_in_peace(&theatre, name, shift_s);
        }
    }
}
