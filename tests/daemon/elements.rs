//! New element sets while the daemon runs.

use std::fs;

use beamhand::control::State;
use beamhand::sky::read_elements;
use beamhand::terms::{Direction, later, seconds_between};
use chrono::Utc;
use serde_json::json;

use crate::patience::until;
use crate::rpc::Raw;
use crate::station::Station;

/// How many passes of the satellite the daemon knows of.
fn passes(station: &Station) -> usize {
    let answer = Raw::connect(station).call("passes", json!({"satellite": "GANNET-1"}));
    answer["result"]["passes"].as_array().map_or(0, Vec::len)
}

#[test]
fn what_is_taken_in_while_the_daemon_runs_is_used_without_a_restart() {
    let station = Station::in_mid_pass();
    let elements = station.path("elements.txt");
    let orbit = fs::read_to_string(&elements).unwrap();
    fs::write(&elements, "").unwrap();
    let _daemon = station.run();
    assert_eq!(passes(&station), 0);
    station.say(&["start", "GANNET-1"]).assert_refused(1, "no element set of GANNET-1");
    fs::write(station.path("new.txt"), orbit).unwrap();
    let new = station.path("new.txt");
    station.say(&["elements", "import", new.to_str().unwrap()]).assert_done();
    assert!(passes(&station) > 0);
    station.work();
    let status = station.status();
    assert_eq!(status.state, State::Following);
    let errors = status.look.unwrap().errors.unwrap();
    assert!(errors.pointing_error_deg > 0.0 && errors.timing_error_s > 0.0, "{errors:?}");
    assert!(errors.frequency_error_hz > 0.0, "{errors:?}");
}

/// The orbit does not jump under a beam that follows it; the next start takes what came meanwhile.
#[test]
fn a_session_keeps_its_orbit_and_the_next_one_takes_the_new() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.work();
    let pass = station.status().pass.unwrap();
    // The same satellite, said to be a quarter of an hour later.
    let elements = fs::read_to_string(station.path("elements.txt")).unwrap();
    let mut set = read_elements(&elements).sets.remove(0);
    set.mean_anomaly_deg = (set.mean_anomaly_deg + 300.0) % 360.0;
    let omm = json!({
        "OBJECT_NAME": "GANNET-1", "NORAD_CAT_ID": set.catalog_number, "BSTAR": set.drag_term,
        "EPOCH": later(set.epoch, 0.001).format("%Y-%m-%dT%H:%M:%S%.6f").to_string(),
        "MEAN_MOTION": set.mean_motion_rev_day, "ECCENTRICITY": set.eccentricity,
        "INCLINATION": set.inclination_deg, "RA_OF_ASC_NODE": set.right_ascension_deg,
        "ARG_OF_PERICENTER": set.argument_of_perigee_deg, "MEAN_ANOMALY": set.mean_anomaly_deg,
    });
    fs::write(station.path("new.json"), omm.to_string()).unwrap();
    let new = station.path("new.json");
    station.say(&["elements", "import", new.to_str().unwrap()]).assert_done();
    assert!(passes(&station) > 0);
    let status = station.status();
    assert_eq!((status.state, status.pass.as_ref()), (State::Following, Some(&pass)));
    assert!(station.off(Direction::Receive, Utc::now()).is_some_and(|off| off < 30.0));
    station.say(&["stop"]).assert_done();
    until(20.0, "the session is over", || station.status().state == State::Idle);
    station.say(&["start", "GANNET-1"]).assert_done();
    let next = station.status().pass.unwrap();
    assert!(seconds_between(pass.aos.unwrap(), next.aos.unwrap()) > 600.0, "{pass:?} {next:?}");
    station.assert_no_violation();
}

#[test]
fn a_store_that_is_damaged_leaves_the_files_in_use() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let before = passes(&station);
    fs::create_dir_all(station.path("state/elements")).unwrap();
    fs::write(station.path("state/elements/sets.json"), "{\"format\":").unwrap();
    assert!(before > 0);
    assert_eq!(passes(&station), before);
}
