//! What the operator wishes beyond the plain verbs.

use beamhand::control::{DeviceState, State};
use beamhand::terms::{Direction, Hertz};
use chrono::Utc;

use crate::patience::{let_pass, until};
use crate::station::Station;

fn tone(station: &Station) -> Option<u16> {
    station.radio.record().tone_at(Utc::now()).map(|tone| tone.tenths())
}

#[test]
fn tone_arm_returns_when_the_radio_has_the_arming_tone_and_tone_normal_takes_it_back() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.say(&["tone", "arm"]).assert_refused(1, "no session is running");
    station.say(&["tone", "up"]).assert_refused(2, "write arm, normal or off");
    station.work();
    let armed = station.say(&["tone", "arm"]);
    assert!(armed.assert_done().contains("74.4 Hz is set: press your key for two seconds"), "{}", armed.out);
    assert_eq!(tone(&station), Some(744));
    let status = station.status();
    assert!(status.tone.unwrap().until.unwrap() > status.time);
    assert!(station.say(&["status"]).assert_done().contains("67.0 Hz comes back"));
    let back = station.say(&["tone", "normal"]);
    assert!(back.assert_done().contains("the radio gets 67.0 Hz again"), "{}", back.out);
    until(5.0, "the access tone is back", || tone(&station) == Some(670));
    assert_eq!(station.status().tone, None);
    station.say(&["tone", "off"]).assert_done();
    assert_eq!(tone(&station), None);
    station.assert_no_violation();
}

#[test]
fn the_arming_tone_goes_back_by_itself() {
    let shorter = |config: String| config.replace("[session]", "[session]\narming_s = 5");
    let station = Station::with(&shorter, beamhand::terms::later(Utc::now(), 60.0));
    let _daemon = station.run();
    station.work();
    station.say(&["tone", "arm"]).assert_done();
    assert_eq!(tone(&station), Some(744));
    until(8.0, "the access tone is back", || tone(&station) == Some(670));
    let log = std::fs::read_to_string(station.path("log")).unwrap();
    assert!(log.contains("the radio gets 67.0 Hz again: its time is up"), "{log}");
}

#[test]
fn a_trim_that_is_kept_is_there_after_a_restart_until_it_is_forgotten() {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    station.say(&["trim", "keep"]).assert_refused(1, "no session is running");
    station.work();
    station.say(&["trim", "+500"]).assert_done();
    station.say(&["trim", "-200", "transmit"]).assert_done();
    let kept = station.say(&["trim", "keep"]);
    let words = "trim receive +500 Hz, transmit -200 Hz is kept for GANNET-1 repeater";
    assert!(kept.assert_done().contains(words), "{}", kept.out);
    daemon.signal("TERM");
    daemon.wait();

    let _daemon = station.run();
    let started = station.say(&["start", "GANNET-1"]);
    assert!(
        started.assert_done().contains("receive +500 Hz, transmit -200 Hz as kept on "),
        "{}",
        started.out
    );
    assert_eq!(station.status().trims.receive, Hertz(500));
    until(20.0, "the receiver stands 500 Hz up", || {
        let now = Utc::now();
        let dial = station.radio.record().receive_at(now).map_or(0.0, |hertz| hertz.0 as f64);
        (dial - station.wanted(Direction::Receive, now) - 500.0).abs() < 60.0
    });
    assert!(station.say(&["trim", "forget"]).assert_done().contains("nothing is kept"));
    assert_eq!(station.status().trims.receive, Hertz(500), "this session's stays");
    station.say(&["trim", "reset"]).assert_done();
    assert_eq!((station.status().trims.receive, station.status().trims.transmit), (Hertz(0), Hertz(0)));
    assert!(!station.say(&["start", "GANNET-1"]).assert_done().contains("as kept on"));
    station.say(&["trim", "keep", "transmit"]).assert_refused(2, "both directions");
}

#[test]
fn a_damaged_file_of_kept_trims_is_named_at_the_start_of_a_pass_and_set_aside() {
    let station = Station::in_mid_pass();
    std::fs::create_dir_all(station.path("state")).unwrap();
    std::fs::write(station.path("state/trims.json"), "{\"format\": 1, \"tri").unwrap();
    let _daemon = station.run();
    let started = station.say(&["start", "GANNET-1"]);
    let out = started.assert_done().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains("no trim is kept any more") && out.contains("trims.damaged-1"), "{out}");
    assert!(station.path("state/trims.damaged-1").exists());
}

#[test]
fn an_uplink_can_be_left_where_it_is_for_one_pass() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.say(&["start", "GANNET-1", "beacon", "--fixed-uplink"]).assert_refused(1, "no FM uplink");
    station.say(&["start", "GANNET-1", "--fixed-uplink"]).assert_done();
    let stands = || station.radio.record().transmit_at(Utc::now()) == Some(Hertz(145_927_000));
    // While the radio is prepared, its split is off for a moment.
    until(20.0, "the receiver follows", || {
        station.status().radios[0].state == DeviceState::Following
            && station.off(Direction::Receive, Utc::now()).is_some_and(|off| off < 60.0)
    });
    until(5.0, "the last bytes of the preparation have arrived", stands);
    for _ in 0..20 {
        assert!(stands(), "the uplink stands");
        let_pass(0.1);
    }
    let page = station.say(&["status"]);
    let line = page.assert_done().lines().find(|line| line.trim_start().starts_with("transmit ")).unwrap();
    assert!(page.out.contains("fixed"), "{line}");
    station.assert_no_violation();
}

#[test]
fn a_radio_that_transmits_is_left_alone_if_so_wished() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.radio.handles.script.at(Utc::now(), beamhand::sim::Act::Press);
    // An idle radio is asked every few seconds, one thing at a time.
    until(25.0, "the key was seen", || station.status().radios[0].why.contains("transmitting"));
    let stood = station.radio.record().receive_at(Utc::now());
    let started = station.say(&["start", "GANNET-1", "--when-free"]);
    assert!(
        started.assert_done().contains("left alone: duplex is in use: it is transmitting"),
        "{}",
        started.out
    );
    assert_eq!(station.status().state, State::Waiting);
    let_pass(2.0);
    assert_eq!(station.radio.record().receive_at(Utc::now()), stood, "no dial was touched");
    let stopped = station.say(&["stop"]);
    assert!(stopped.assert_done().contains("stopped before the pass"), "{}", stopped.out);
}
