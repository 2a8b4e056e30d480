//! A contact written down while the daemon follows a satellite.

use std::time::Instant;

use beamhand::terms::{Direction, parse_time};
use serde_json::Value;

use crate::station::Station;

fn listed(station: &Station) -> Vec<Value> {
    let log = station.path("log.jsonl");
    let ran = station.say(&["contacts", "list", "--json", "--log", log.to_str().unwrap()]);
    ran.assert_done().lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

#[test]
fn in_a_pass_a_contact_has_the_satellite_and_the_dials_as_they_are() {
    let station = Station::in_mid_pass();
    let daemon = station.run();
    station.work();
    let log = station.path("log.jsonl");
    let log = log.to_str().unwrap();
    let ran = station.say(&["contact", "Q1ABC", "--locator", "IO84SA", "--log", log]);
    let said = ran.assert_done();
    assert!(said.starts_with("contact 1: Q1ABC on ") && said.contains("GANNET-1 repeater FM"), "{said}");
    assert_eq!(ran.err, "beamhand: IO84 is a new locator in this log\n");
    let contact = &listed(&station)[0];
    let time = parse_time(contact["time"].as_str().unwrap()).unwrap();
    for (field, direction) in [("receive_hz", Direction::Receive), ("transmit_hz", Direction::Transmit)] {
        let dial = contact[field].as_f64().unwrap();
        // Ten hertz of the dial, and Doppler of 150 Hz a second for the age of a reading.
        let off = (dial - station.wanted(direction, time)).abs();
        assert!(off < 100.0, "{direction}: {off} Hz from where the dial belonged: {contact}");
    }
    let texts = ["satellite", "link", "mode", "own_callsign", "own_locator"]
        .map(|key| contact[key].as_str().unwrap());
    assert_eq!(texts, ["GANNET-1", "repeater", "FM", "Q0TEST", "IO84SA"]);
    let again = station.say(&["contact", "q1abc", "--log", log]);
    again.assert_done();
    assert!(again.err.contains("the same station in the same pass as contact 1"), "{}", again.err);
    // A station on the other side of the Earth.
    let far = station.say(&["contact", "Q1FAR", "--locator", "RE66", "--log", log]);
    far.assert_done();
    assert!(far.err.contains("degrees below the horizon in RE66"), "{}", far.err);
    // Another satellite than the one that is followed has its own frequencies, as published.
    let other = station.say(&["contact", "Q1ABC", "--satellite", "PETREL-1", "--log", log]);
    other.assert_done();
    assert!(
        other.err.contains("whether it was up can't be told: no element set of PETREL-1"),
        "{}",
        other.err
    );
    assert_eq!(listed(&station)[3]["transmit_hz"], 435_347_000);
    // A daemon that hangs is not waited for.
    daemon.signal("STOP");
    let begin = Instant::now();
    let hung = station.say(&["contact", "Q1HUN", "--log", log]);
    assert!(begin.elapsed().as_secs_f64() < 5.0);
    daemon.signal("CONT");
    hung.assert_done();
    assert!(hung.err.contains("without the daemon's help: it is there and does not answer"), "{}", hung.err);
    let contact = &listed(&station)[4];
    assert_eq!((&contact["satellite"], &contact["receive_hz"]), (&"GANNET-1".into(), &435_217_000.into()));
}
