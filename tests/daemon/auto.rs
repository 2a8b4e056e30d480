//! The agenda with the real program: switched on by a verb, killed, and back.

use beamhand::control::{State, Status};
use beamhand::terms::{Direction, later};
use chrono::Utc;

use crate::patience::{let_pass, until};
use crate::station::Station;

const AGENDA: &str = "[agenda]\nsatellites = [\"GANNET-1\"]\n";

/// The satellite is in mid-pass, and the agenda names it.
fn station() -> Station {
    Station::with(&|config| format!("{config}{AGENDA}"), later(Utc::now(), 60.0))
}

fn follows(status: &Status) -> bool {
    status.state == State::Following && status.satellite.as_deref() == Some("GANNET-1")
}

#[test]
fn auto_takes_the_pass_in_progress_and_is_killed_and_takes_it_again() {
    let station = station();
    let mut daemon = station.run();
    station.say(&["auto", "on"]).assert_done();
    until(60.0, "the pass is followed", || follows(&station.status()));
    daemon.signal("KILL");
    daemon.wait();
    let _daemon = station.run();
    until(60.0, "the pass is followed again", || {
        follows(&station.status())
            && station.off(Direction::Receive, Utc::now()).is_some_and(|off| off < 60.0)
    });
    let page = station.say(&["status"]);
    assert!(page.assert_done().contains("auto: GANNET-1 repeater has the station"), "{}", page.out);
    assert!(page.out.lines().all(|line| line.chars().count() <= 80), "{}", page.out);
    station.assert_no_violation();
}

#[test]
fn auto_off_is_remembered_and_a_stop_is_not_undone() {
    let station = station();
    let daemon = station.run();
    station.say(&["auto", "on"]).assert_done();
    until(60.0, "the pass is followed", || follows(&station.status()));
    station.say(&["stop"]).assert_done();
    until(60.0, "the session is over", || station.status().state == State::Idle);
    let_pass(3.0);
    assert_eq!(station.status().state, State::Idle);
    station.say(&["auto", "off"]).assert_done();
    let mark = station.path("state/auto.json");
    until(10.0, "that it is off is stored", || !mark.exists());
    drop(daemon);
    let _daemon = station.run();
    let_pass(2.0);
    assert_eq!((station.status().state, station.status().agenda), (State::Idle, None));
}

#[test]
fn reload_is_refused_with_every_error_and_its_place() {
    let station = station();
    let _daemon = station.run();
    let good = std::fs::read_to_string(station.path("beamhand.toml")).unwrap();
    std::fs::write(station.path("beamhand.toml"), format!("{good}minimum_elevation = 99\nquite = 1\n"))
        .unwrap();
    let ran = station.say(&["reload", "--socket", station.path("control").to_str().unwrap()]);
    ran.assert_refused(1, "`minimum_elevation` is 99");
    ran.assert_refused(1, "unknown key `quite` in [agenda]");
    std::fs::write(station.path("beamhand.toml"), good).unwrap();
    assert!(station.say(&["reload"]).assert_done().contains("the files are read again"));
}
