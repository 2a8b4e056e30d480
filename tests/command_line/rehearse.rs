//! `beamhand rehearse`, on real pseudo-terminals.

use crate::program::{DEMO, Home, beamhand, keys, sorted};

const ERRORS: [&str; 5] = ["floor", "max", "p95", "rms", "within"];

#[test]
fn the_summary_is_one_object_with_the_promised_keys_and_nothing_was_keyed() {
    // Two minutes before AOS and one minute of the pass.
    let objects = beamhand(&["rehearse", "--json", "--speed", "60", "--duration", "180"]).objects();
    let [summary] = objects.as_slice() else { panic!("{objects:?}") };
    assert_eq!(keys(summary), ["devices", "pass"]);
    assert_eq!(summary["pass"]["satellite"], "GANNET-1");
    let devices = summary["devices"].as_array().unwrap();
    let kinds: Vec<&str> = devices.iter().map(|device| device["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["radio", "rotator"]);
    let counts = ["device", "kind", "unit", "commands", "bytes", "refused", "violations", "directions"];
    for device in devices {
        assert_eq!(keys(device), sorted(&[&counts[..], &ERRORS].concat()));
        assert!(device["commands"].as_u64() > Some(0) && device["bytes"].as_u64() > Some(0), "{device}");
        assert_eq!(device["violations"], 0);
        assert!(ERRORS.iter().all(|error| device[error].is_number()), "{device}");
    }
    let directions = devices[0]["directions"].as_array().unwrap();
    let named: Vec<&str> = directions.iter().map(|one| one["direction"].as_str().unwrap()).collect();
    assert_eq!(named, ["receive", "transmit"]);
    for direction in directions {
        assert_eq!(keys(direction), sorted(&[&["direction"], &ERRORS[..]].concat()));
    }
}

#[test]
fn a_configuration_of_ones_own_is_played_from_the_time_that_is_named() {
    let arguments = ["rehearse", "--config", DEMO, "--satellite", "TERN-1", "--json"];
    let when = ["--at", "2026-11-25T00:00:00Z", "--speed", "100", "--duration", "60.5"];
    let objects = beamhand(&[&arguments[..], &when].concat()).objects();
    assert_eq!(objects[0]["pass"]["satellite"], "TERN-1");
    assert!(objects[0]["pass"]["aos"].as_str().unwrap().starts_with("2026-11-25T"));
}

#[test]
fn what_people_see_is_labelled_a_rehearsal_and_fits_the_screen() {
    let ran = beamhand(&["rehearse", "--speed", "100", "--duration", "150"]);
    ran.assert_fits_the_screen();
    let (live, summary) = ran.out.split_once("\n\n").unwrap();
    assert!(live.lines().filter(|line| !line.starts_with(' ')).all(|line| line.starts_with("REHEARSAL")));
    assert!(live.contains("preparing") && live.contains("ready"), "{live}");
    assert!(
        summary.contains("as heard at the far end") && summary.contains("Nothing was keyed"),
        "{summary}"
    );
}

#[test]
fn a_rehearsal_leaves_nothing_behind_in_the_home() {
    let home = Home::empty();
    let ran = home.run(&["rehearse", "--json", "--speed", "100", "--duration", "130"]);
    assert_eq!(ran.objects().len(), 1);
    assert_eq!(std::fs::read_dir(home.path()).unwrap().count(), 0);
}
