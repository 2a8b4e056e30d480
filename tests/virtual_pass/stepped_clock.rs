//! The computer's clock is stepped, as a time service does when the network comes: what is tuned and
//! where the beam points is right by the new time within a second, as far as the motors can.

use beamhand::session::{Command, Phase};
use beamhand::terms::{AzEl, Direction, later};

use crate::theatre::Theatre;
use crate::{STOOD_ON, duplex};

const HOUR_S: f64 = 3600.0;
const YEAR_S: f64 = 365.25 * 24.0 * HOUR_S;

/// The largest error of a dial against the true plan in a stretch of seconds after AOS, hertz.
fn worst(theatre: &Theatre, direction: Direction, from: f64, until: f64) -> f64 {
    let steps = ((until - from) / 0.1) as u32;
    let record = theatre.record("duplex");
    let errors = (0..steps).map(|step| {
        let at = theatre.after_aos(from + 0.1 * f64::from(step));
        let dial = match direction {
            Direction::Receive => record.receive_at(at),
            Direction::Transmit => record.transmit_at(at),
        };
        let wanted = beamhand::terms::Plan::at(&*theatre.stage.job.tuning, at).unwrap();
        (dial.unwrap().as_f64() - wanted.dial(direction).unwrap().hertz.as_f64()).abs()
    });
    errors.fold(0.0, f64::max)
}

fn assert_tuned(theatre: &Theatre, from: f64, until: f64, step: f64) {
    for direction in Direction::BOTH {
        let off = worst(theatre, direction, from, until);
        // Half a step, the rate, and what the line needs for its turns; see the score of a calm pass.
        assert!(off < 40.0, "stepped by {step} s: {direction} is off by {off} Hz");
    }
}

/// How far the mount is from the satellite, degrees.
fn beam_off(theatre: &Theatre, after_aos: f64) -> f64 {
    let at = theatre.after_aos(after_aos);
    let wanted = theatre.stage.job.track.at(at).unwrap().direction();
    theatre.record("mast").position_at(at).unwrap().angle_to(wanted)
}

#[test]
fn steps_within_a_pass_are_followed_within_a_second_and_by_the_beam_as_fast_as_it_turns() {
    for step in [0.5, -0.5, 3.0, -3.0, 45.0, -45.0, 100.0, -100.0] {
        let mut theatre = duplex();
        theatre.start();
        theatre.play_until(150.0);
        theatre.station.step_clock(step);
        theatre.play_until(170.0);
        theatre.station.step_clock(-step);
        theatre.play_until(220.0);
        assert_tuned(&theatre, 171.0, 220.0, step);
        // A tenth of the way round in 6 s, from at most 60 degrees away.
        for after in [190.0, 200.0, 210.0] {
            assert!(beam_off(&theatre, after) < 3.0, "stepped by {step} s: {}", beam_off(&theatre, after));
        }
        assert_eq!(theatre.station.session().phase(), Phase::Following);
        theatre.assert_no_violation();
    }
}

#[test]
fn a_step_beyond_the_pass_ends_it_and_one_that_comes_back_lets_it_be_started_again() {
    for step in [HOUR_S, YEAR_S, 30.0 * YEAR_S] {
        let mut theatre = duplex();
        theatre.start();
        theatre.play_until(150.0);
        theatre.station.step_clock(step);
        theatre.play_until(200.0);
        assert_eq!(theatre.station.session().phase(), Phase::Idle, "{step}");
        assert_eq!(theatre.record("duplex").transmit_at(theatre.after_aos(200.0)), Some(STOOD_ON));
        assert!(theatre.record("mast").position_at(theatre.after_aos(200.0)).unwrap().azimuth.abs() < 1.0);
        theatre.station.step_clock(-step);
        theatre.start();
        theatre.play_until(260.0);
        assert_tuned(&theatre, 230.0, 260.0, step);
        theatre.assert_no_violation();
    }
}

#[test]
fn a_step_back_before_the_pass_waits_for_it_and_one_that_comes_back_follows_within_a_second() {
    for step in [-HOUR_S, -YEAR_S, -30.0 * YEAR_S] {
        let mut theatre = duplex();
        theatre.start();
        theatre.play_until(150.0);
        theatre.station.step_clock(step);
        theatre.play_until(160.0);
        let aims = theatre.record("mast").aims().len();
        theatre.play_until(200.0);
        assert!(theatre.record("mast").aims().len() - aims < 3, "{step}: the mount is at rest");
        theatre.station.step_clock(-step);
        theatre.play_until(260.0);
        assert_tuned(&theatre, 201.0, 260.0, step);
        assert!(beam_off(&theatre, 250.0) < 3.0, "{step}: {}", beam_off(&theatre, 250.0));
        theatre.assert_no_violation();
    }
}

#[test]
fn a_step_while_nothing_is_worked_moves_nothing_and_a_pass_after_it_is_worked() {
    for step in [0.5, -0.5, HOUR_S, -HOUR_S, YEAR_S, -30.0 * YEAR_S] {
        let mut theatre = duplex();
        // The clock is wrong from the start, and put right before the pass.
        theatre.station.step_clock(step);
        theatre.play_until(-60.0);
        let (radio, now) = (theatre.record("duplex"), theatre.station.now());
        let stood = [radio.receive_at(now), radio.transmit_at(now)];
        theatre.station.step_clock(-step);
        theatre.play_until(-50.0);
        let (radio, now) = (theatre.record("duplex"), theatre.station.now());
        // What is read off the dials counts as their first event; nothing is set.
        let stands = [radio.receive_at(now), radio.transmit_at(now)];
        assert_eq!(stands, stood, "{step}");
        assert!(theatre.record("mast").aims().is_empty(), "{step}");
        theatre.station.command(Command::Start(Box::new(theatre.stage.job.clone()))).unwrap();
        theatre.station.run_until(later(theatre.stage.job.span.until, 190.0));
        for direction in Direction::BOTH {
            let score = theatre.dial("duplex", direction);
            assert!(score.within >= 0.99, "{step}: {direction}: {score:?}");
        }
        let rest = AzEl::new(0.0, 0.0);
        assert!(theatre.record("mast").position_at(theatre.station.now()).unwrap().angle_to(rest) < 0.2);
        theatre.assert_no_violation();
    }
}
