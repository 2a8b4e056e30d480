//! What the operator does with the daemon's verbs in the course of a pass.

use std::io::{BufRead as _, BufReader};
use std::process::Stdio;

use beamhand::control::{DeviceState, State};
use beamhand::terms::{AzEl, Direction, Mode};
use chrono::Utc;
use serde_json::Value;

use crate::far_end::{RECEIVE_BEFORE, TRANSMIT_BEFORE, is_aim};
use crate::patience::{let_pass, until, within};
use crate::station::Station;

#[test]
fn a_pass_in_progress_is_followed_on_both_dials_and_by_the_beam() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.work();
    let record = station.radio.record();
    assert_eq!(record.tone_at(Utc::now()).map(|tone| tone.tenths()), Some(670));
    assert_eq!(record.receive_mode_at(Utc::now()), Some(Mode::Fm));
    until(40.0, "the beam is on the satellite", || {
        station.mast.position().angle_to(station.look(Utc::now()).direction()) < 3.0
    });
    let round = |_| {
        let_pass(0.1);
        Direction::BOTH.map(|direction| station.off(direction, Utc::now()).unwrap())
    };
    let rounds: Vec<[f64; 2]> = (0..11).map(round).collect();
    for direction in 0..2 {
        let mut off: Vec<f64> = rounds.iter().map(|off| off[direction]).collect();
        off.sort_by(f64::total_cmp);
        // The Doppler shift changes by up to 150 Hz a second here, and a round takes a fifth; a busy computer may
        // hold up some.
        assert!(off[5] < 60.0 && off[10] < 200.0, "{:?}: {off:.0?} Hz off", Direction::BOTH[direction]);
    }
    station.assert_no_violation();
}

#[test]
fn status_says_what_each_device_was_told_and_last_said_and_how_long_ago() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.work();
    let status = within(5.0, "the mount was read", || {
        Some(station.status()).filter(|status| status.rotator.as_ref().unwrap().last_read.is_some())
    });
    assert_eq!((status.station.as_deref(), status.rehearsal), (Some("Q0TEST"), false));
    assert_eq!((status.satellite.as_deref(), status.link.as_deref()), (Some("GANNET-1"), Some("repeater")));
    assert!(status.why.contains("GANNET-1 is up; LOS in "), "{}", status.why);
    let radio = &status.radios[0];
    assert_eq!((radio.name.as_str(), radio.state), ("duplex", DeviceState::Following));
    let dial = radio.receive.unwrap();
    assert!((dial.dial_hz.unwrap() - dial.plan_hz.unwrap()).abs().0 < 100);
    for said in [&radio.last_sent, &radio.last_read] {
        assert!((0.0..3.0).contains(&said.as_ref().unwrap().age_s), "{radio:?}");
    }
    let mast = status.rotator.unwrap();
    assert_eq!((mast.name.as_str(), mast.state), ("mast", DeviceState::Following));
    assert!(mast.commands > 0 && mast.last_sent.is_some() && mast.position.is_some());
}

#[test]
fn status_for_people_fits_the_screen_and_for_programs_is_one_object() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.work();
    let page = station.say(&["status"]);
    assert!(page.assert_done().lines().all(|line| line.chars().count() <= 80), "{}", page.out);
    for shown in ["Q0TEST", "following", "GANNET-1", "duplex", "mast", "receive", "azimuth"] {
        assert!(page.out.contains(shown), "{shown}: {}", page.out);
    }
    let ran = station.say(&["status", "--json"]);
    let object: Value = serde_json::from_str(ran.assert_done()).unwrap();
    assert_eq!((&object["state"], &object["satellite"]), (&"following".into(), &"GANNET-1".into()));
}

#[test]
fn status_can_be_followed_as_it_changes() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let mut child =
        station.command(&["status", "--follow", "--json"]).stdout(Stdio::piped()).spawn().unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut state = || {
        let object: Value = serde_json::from_str(&lines.next().unwrap().unwrap()).unwrap();
        object["state"].as_str().unwrap().to_owned()
    };
    assert_eq!(state(), "idle");
    station.say(&["start", "GANNET-1"]).assert_done();
    until(5.0, "the change is shown", || state() == "following");
    child.kill().unwrap();
    child.wait().unwrap();
}

#[test]
fn stop_parks_the_beam_and_gives_the_radio_back_what_it_had() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.work();
    station.say(&["stop"]).assert_done();
    until(60.0, "the session is over", || station.status().state == State::Idle);
    let (record, now) = (station.radio.record(), Utc::now());
    assert_eq!(record.receive_at(now), Some(RECEIVE_BEFORE));
    assert_eq!(record.transmit_at(now), Some(TRANSMIT_BEFORE));
    assert_eq!(record.tone_at(now), None);
    assert!(station.mast.position().angle_to(AzEl::new(0.0, 0.0)) < 3.0, "{:?}", station.mast.position());
    assert!(!station.keepsake().exists());
    station.say(&["stop"]).assert_refused(1, "no session is running");
    station.assert_no_violation();
}

#[test]
fn trim_shifts_the_receiver_by_the_whole_amount_and_reset_takes_it_off() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.say(&["trim", "+500"]).assert_refused(1, "nothing to trim");
    station.work();
    let shift = || {
        let now = Utc::now();
        station.radio.record().receive_at(now).unwrap().0 as f64 - station.wanted(Direction::Receive, now)
    };
    for _ in 0..2 {
        station.say(&["trim", "+500"]).assert_done();
        until(5.0, "the receiver is 500 Hz up", || (shift() - 500.0).abs() < 40.0);
    }
    assert_eq!(station.status().trims.receive.0, 500);
    station.say(&["trim", "-200", "transmit"]).assert_done();
    assert_eq!(station.status().trims.transmit.0, -200);
    station.say(&["trim", "reset"]).assert_done();
    until(5.0, "the receiver is back", || shift().abs() < 40.0);
    assert_eq!(station.status().trims.transmit.0, 0);
}

#[test]
fn the_beam_can_be_pointed_and_parked_outside_a_session_within_its_limits() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.say(&["point", "10", "5"]).assert_done();
    until(10.0, "the beam is there", || station.mast.position().angle_to(AzEl::new(10.0, 5.0)) < 0.2);
    station.say(&["point", "370", "5"]).assert_done();
    until(5.0, "the far turn is taken", || {
        station.mast.record().aims().last().unwrap().aim == AzEl::new(370.0, 5.0)
    });
    station.say(&["park"]).assert_done();
    until(5.0, "it is sent home", || station.mast.record().aims().last().unwrap().aim == AzEl::new(0.0, 0.0));
    let aims = station.mast.record().aims().len();
    for (azimuth, elevation) in [("460", "0"), ("10", "-5"), ("10", "181")] {
        station.say(&["point", azimuth, elevation]).assert_refused(1, "does not reach");
    }
    let_pass(0.5);
    assert_eq!(station.mast.record().aims().len(), aims);
    station.assert_no_violation();
}

#[test]
fn a_session_holds_the_beam() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.work();
    let before = Utc::now();
    station.say(&["point", "0", "0"]).assert_refused(1, "stop it first");
    station.say(&["park"]).assert_refused(1, "stop it first");
    let_pass(1.0);
    assert!(
        station.mast.frames_after(before, |frame| is_aim(frame) && frame.starts_with("AZ0.0")).is_empty()
    );
}

#[test]
fn what_is_not_known_is_refused_with_what_is() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.say(&["start", "AUK-1"]).assert_refused(1, "GANNET-1");
    station.say(&["start", "GANNET-1", "telemetry"]).assert_refused(1, "repeater, beacon");
    station.say(&["start", "SKUA-1"]).assert_refused(1, "no element set of SKUA-1");
    assert_eq!(station.status().state, State::Idle);
}
