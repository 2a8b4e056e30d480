//! A rehearsal on the equipment that the configuration names.

use beamhand::terms::Direction;
use chrono::Utc;
use serde_json::Value;

use crate::far_end::{RECEIVE_BEFORE, TRANSMIT_BEFORE};
use crate::station::Station;

#[test]
fn configured_equipment_is_driven_at_real_pace_and_gets_back_what_it_had() {
    let station = Station::in_mid_pass();
    let begin = Utc::now();
    let arguments = ["rehearse", "--equipment", "configured", "--yes", "--json"];
    let more = ["--satellite", "GANNET-1", "--speed", "1", "--duration", "25"];
    let ran = station.say(&[&arguments[..], &more].concat());
    let summary: Value = serde_json::from_str(ran.assert_done()).unwrap();
    let took = beamhand::terms::seconds_between(begin, Utc::now());
    assert!(took >= 24.0, "{took} s for 25 s of rehearsal");
    assert_eq!(summary["pass"]["satellite"], "GANNET-1");
    for device in summary["devices"].as_array().unwrap() {
        assert!(device["commands"].as_u64() > Some(0), "{device}");
        assert!(device["bytes"].is_null() && device["rms"].is_null(), "nobody counted: {device}");
    }
    let (record, now) = (station.radio.record(), Utc::now());
    assert_eq!(record.receive_at(now), Some(RECEIVE_BEFORE));
    assert_eq!(record.transmit_at(now), Some(TRANSMIT_BEFORE));
    let tuned = record.landings().iter().any(|landing| match landing.what {
        beamhand::sim::Change::Receive(hertz) => {
            (hertz.0 as f64 - station.wanted(Direction::Receive, landing.at)).abs() < 12_000.0
        }
        _ => false,
    });
    assert!(tuned && !station.mast.record().aims().is_empty());
    station.assert_no_violation();
}
