//! `beamhand rehearse --config` with every shape of station: the built program, real
//! pseudo-terminals, simulated equipment. Short, and many times faster than real.
#![allow(clippy::unwrap_used)]
#![allow(dead_code)]

#[path = "../command_line/program.rs"]
mod program;
#[path = "../virtual_pass/stations.rs"]
mod stations;

use program::{DEMO, Home, Ran, keys, sorted};
use serde_json::Value;
use stations::Station;

/// The radio is prepared so long before AOS, seconds; the clock starts two seconds earlier.
const PREPARED_S: u32 = 20;
/// The first good passes of an evening.
const EVENING: &str = "2026-11-25T18:00:00Z";

/// Plays the station's pass to `duration` seconds after the clock's start.
fn rehearse(station: &Station, speed: &str, duration: &str, more: &[&str]) -> Ran {
    let home = Home::empty();
    let demo = std::fs::read_to_string(DEMO).unwrap();
    let folder = std::path::Path::new(DEMO).parent().unwrap();
    for name in ["elements.txt", "satellites.toml"] {
        home.file(name, &std::fs::read_to_string(folder.join(name)).unwrap());
    }
    let head = demo.split("[[radio]]").next().unwrap();
    let session = format!("[session]\nprepare_before_s = {PREPARED_S}\n");
    let config = home.file("beamhand.toml", &format!("{head}{session}{}", station.equipment));
    let what = ["rehearse", "--config", &config, "--satellite", station.satellite, "--at", EVENING];
    home.run(&[&what[..], &["--speed", speed, "--duration", duration], more].concat())
}

fn summary(station: &Station, speed: &str, duration: &str, more: &[&str]) -> Value {
    let objects = rehearse(station, speed, duration, &[&["--json"], more].concat()).objects();
    let [summary] = <[Value; 1]>::try_from(objects).unwrap();
    summary
}

fn devices(summary: &Value) -> &Vec<Value> {
    summary["devices"].as_array().unwrap()
}

/// Was set, refused nothing, met nothing forbidden, and is near its plan in these directions.
#[track_caller]
fn assert_works(station: &Station, summary: &Value, directions: &[&[&str]]) {
    let name = &station.name;
    assert_eq!(devices(summary).len(), directions.len(), "{name}");
    for (device, directions) in devices(summary).iter().zip(directions) {
        assert!(device["commands"].as_u64() > Some(2), "{name}: {device}");
        assert_eq!((&device["violations"], &device["refused"]), (&0.into(), &0.into()), "{name}: {device}");
        let judged = device["directions"].as_array().unwrap();
        let named: Vec<&str> = judged.iter().map(|one| one["direction"].as_str().unwrap()).collect();
        assert_eq!(named, *directions, "{name}");
        // A dial that was never tuned is hundreds of kilohertz away, one that stands still at AOS
        // soon some kilohertz.
        assert!(device["p95"].as_f64().unwrap() < 2_000.0, "{name}: {device}");
    }
}

const BOTH: &[&str] = &["receive", "transmit"];

#[test]
fn half_duplex_radios_are_prepared_and_follow_in_each_language() {
    for dialect in stations::BY_SPLIT {
        let station = stations::half_duplex(dialect);
        assert_works(&station, &summary(&station, "20", "80", &[]), &[BOTH]);
    }
}

#[test]
fn crossed_bands_are_exchanged_and_two_radios_share_the_work() {
    for dialect in ["fe-frames", "semicolon-two-bands"] {
        let station = stations::crossed(dialect);
        assert_works(&station, &summary(&station, "20", "60", &[]), &[BOTH]);
    }
    for station in [stations::pair("semicolon-nine", "five-byte"), stations::shared_bus()] {
        assert_works(&station, &summary(&station, "20", "80", &[]), &[&["receive"], &["transmit"]]);
    }
}

#[test]
fn a_receiver_and_a_mount_that_only_turns_work_by_themselves() {
    let station = stations::receive_only("fe-frames");
    assert_works(&station, &summary(&station, "20", "60", &[]), &[&["receive"]]);
    for dialect in ["w-lines", "az-el-words"] {
        let station = stations::azimuth_only(dialect);
        // It is sent twenty seconds before AOS and needs half a minute to get there.
        let summary = summary(&station, "20", "220", &[]);
        assert_works(&station, &summary, &[&[]]);
        // Half of the usual beam's 30 degrees, above some of which the satellite moves too fast.
        assert!(devices(&summary)[0]["p95"].as_f64().unwrap() < 15.0, "{summary}");
    }
}

#[test]
fn a_calibrated_radio_is_judged_by_its_true_frequency() {
    let mut station = stations::calibrated("semicolon-eleven");
    station.equipment += "worthwhile_hz = 10\n";
    let summary = summary(&station, "10", "50", &[]);
    assert_works(&station, &summary, &[BOTH]);
    // The receiving dial shows 700 Hz too much.
    assert!(devices(&summary)[0]["p95"].as_f64().unwrap() < 350.0, "{summary}");
}

#[test]
fn a_radio_of_the_bus_that_is_off_is_named_and_its_neighbour_follows() {
    let station = stations::shared_bus();
    let summary = summary(&station, "20", "80", &["--fault", "transmitter:off@0s"]);
    assert_eq!(keys(&summary), sorted(&["devices", "faults", "pass", "seen"]));
    let [receiver, transmitter] = &devices(&summary)[..] else { panic!("{summary}") };
    assert!(receiver["p95"].as_f64().unwrap() < 2_000.0, "{receiver}");
    assert_eq!(transmitter["commands"], 0);
    let seen = summary["seen"].as_array().unwrap();
    let silent = seen.iter().any(|seen| seen["device"] == "transmitter" && seen["state"] == "silent");
    assert!(silent, "{summary}");
}

#[test]
fn people_read_of_each_direction_and_of_an_over_on_a_screens_width() {
    let over = ["--operator", "key@40s-60s"];
    let ran = rehearse(&stations::half_duplex("semicolon-eleven"), "8", "80", &over);
    ran.assert_fits_the_screen();
    for told in ["  receive", "  transmit", "  operator key@40s-60s", "transmitting", "Nothing was keyed"] {
        assert!(ran.out.contains(told), "no {told:?} in {}", ran.out);
    }
    let ran = rehearse(&stations::azimuth_only("w-lines"), "40", "60", &[]);
    ran.assert_fits_the_screen();
    assert!(ran.out.contains("judged in azimuth alone") && !ran.out.contains("receive"), "{}", ran.out);
}
