//! `beamhand rehearse`, on real pseudo-terminals.

use serde_json::Value;

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

/// What was seen of a device: its states in order of time.
fn states<'s>(summary: &'s Value, device: &str) -> Vec<&'s str> {
    let seen = summary["seen"].as_array().unwrap().iter().filter(|seen| seen["device"] == device);
    seen.map(|seen| seen["state"].as_str().unwrap()).collect()
}

#[test]
fn faults_come_and_go_at_their_time_and_the_summary_says_what_was_seen() {
    // AOS is 122 s after the clock's start.
    let arguments = ["rehearse", "--json", "--speed", "60", "--duration", "260"];
    let faults = ["--fault", "duplex:mute@140s-180s", "--fault=rotator:pulled@150s-170s"];
    let objects = beamhand(&[&arguments[..], &faults].concat()).objects();
    let summary = &objects[0];
    assert_eq!(keys(summary), ["devices", "faults", "pass", "seen"]);
    assert_eq!(summary["faults"][0], "duplex:mute@140s-180s");
    assert_eq!(summary["faults"][1], "rotator:pulled@150s-170s");
    for (device, trouble) in [("duplex", "silent"), ("mast", "lost")] {
        let states = states(summary, device);
        let healthy = states.iter().rposition(|state| *state == "following").unwrap();
        assert!(states[..healthy].contains(&trouble), "{device}: {states:?}");
        assert!(!states[healthy..].contains(&trouble), "{device}: {states:?}");
    }
    for device in summary["devices"].as_array().unwrap() {
        assert_eq!(device["violations"], 0);
    }
}

#[test]
fn a_scripted_operator_is_noticed_and_told_of_on_a_screens_width() {
    let arguments = ["rehearse", "--speed", "60", "--duration", "240"];
    let acts = ["--operator", "key@150s-200s", "--operator", "turn=+3000@210s"];
    let ran = beamhand(&[&arguments[..], &acts].concat());
    ran.assert_fits_the_screen();
    for told in ["  operator key@150s-200s", "  operator turn=+3000@210s", "duplex following"] {
        assert!(ran.out.contains(told), "{}", ran.out);
    }
    assert!(ran.out.contains("transmitting"), "{}", ran.out);
    assert!(ran.out.contains("Nothing was keyed"), "a key that the operator pressed is none of Beamhand's");
}

#[test]
fn what_cannot_be_ordered_is_refused_with_all_that_can() {
    let words =
        ["there is no fault \"tired\"", "mute", "stalled", "pulled", "takes commands, but motors stand"];
    beamhand(&["rehearse", "--fault", "radio:tired@1s"]).assert_refused(2, &words);
    beamhand(&["rehearse", "--fault", "yagi:mute@1s"]).assert_refused(2, &["there are duplex, mast"]);
    beamhand(&["rehearse", "--operator", "sing@1s"]).assert_refused(2, &["key@SECONDSs-SECONDSs"]);
    for order in [["--fault", "radio:mute@1s"], ["--operator", "key@1s-2s"]] {
        let configured = ["rehearse", "--equipment", "configured"];
        beamhand(&[&configured[..], &order].concat()).assert_refused(2, &["simulated equipment"]);
    }
    let help = beamhand(&["rehearse", "--help"]);
    help.assert_fits_the_screen();
    assert!(words[1..].iter().all(|word| help.out.contains(word)), "{}", help.out);
}

/// The demo with other equipment.
fn demo_with(home: &Home, equipment: &str) -> String {
    let demo = std::fs::read_to_string(DEMO).unwrap();
    let folder = std::path::Path::new(DEMO).parent().unwrap();
    for name in ["elements.txt", "satellites.toml"] {
        home.file(name, &std::fs::read_to_string(folder.join(name)).unwrap());
    }
    home.file("beamhand.toml", &format!("{}\n{equipment}", demo.split("[[radio]]").next().unwrap()))
}

fn radio(name: &str, dialect: &str, uses: &str) -> String {
    let port = format!("/dev/{name}");
    format!("[[radio]]\nname = \"{name}\"\nport = \"{port}\"\ndialect = \"{dialect}\"\nuse = \"{uses}\"\n")
}

fn mast(dialect: &str) -> String {
    format!(
        "[rotator]\nname = \"mast\"\nport = \"/dev/mast\"\ndialect = \"{dialect}\"\n\
         azimuth = {{ from = 0, to = 450 }}\nelevation = {{ from = 0, to = 180 }}\n\
         slew_deg_s = {{ azimuth = 6, elevation = 6 }}\n"
    )
}

#[test]
fn the_languages_of_a_configuration_have_their_simulated_equipment() {
    let duplex = |dialect: &str| radio("duplex", dialect, "both");
    let pair = |dialect: &str| radio("ear", dialect, "receive") + &radio("mouth", dialect, "transmit");
    let stations = [
        duplex("semicolon-nine") + &mast("w-lines"),
        duplex("fe-frames").replace("use =", "address = 0x5A\nuse =") + &mast("thirteen-byte"),
        pair("five-byte") + &mast("az-el-words"),
    ];
    for equipment in stations {
        let home = Home::empty();
        let config = demo_with(&home, &equipment);
        let at = ["--satellite", "GANNET-1", "--at", "2026-11-25T18:00:00Z"];
        let run = ["--json", "--speed", "60", "--duration", "160"];
        let summary = &home.run(&[&["rehearse", "--config", &config], &at[..], &run].concat()).objects()[0];
        for device in summary["devices"].as_array().unwrap() {
            assert!(device["commands"].as_u64() > Some(2), "{equipment}: {device}");
            assert_eq!((&device["violations"], &device["refused"]), (&0.into(), &0.into()), "{device}");
        }
    }
}

#[test]
fn what_must_never_happen_is_named_with_its_time_and_ends_with_exit_code_1() {
    // The operator keys before the radio is prepared, where the demo's dial is outside the segments.
    let arguments = ["rehearse", "--speed", "60", "--duration", "60", "--operator", "key@0s-1s"];
    let ran = beamhand(&arguments);
    ran.assert_refused(1, &["what must never happen, happened"]);
    for told in ["1 VIOLATIONS", "on the air at ", "outside the segments", "s after the clock's start"] {
        assert!(ran.out.contains(told), "no {told:?} in {}", ran.out);
    }
    assert!(ran.out.lines().all(|line| line.chars().count() <= 80), "{}", ran.out);
    let ran = beamhand(&[&arguments[..], &["--json"]].concat());
    assert_eq!(ran.code, Some(1), "{}", ran.err);
    let summary: Value = serde_json::from_str(&ran.out).unwrap();
    let broken = &summary["devices"][0]["broken"][0];
    assert_eq!(keys(broken), ["after_s", "bytes", "first", "kind", "times", "what"]);
    assert_eq!((&broken["kind"], &broken["times"]), (&"on_air_outside_segments".into(), &1.into()));
}

#[test]
fn configured_equipment_moves_only_for_somebody_who_has_confirmed_the_cautions() {
    let arguments = ["rehearse", "--config", DEMO, "--equipment", "configured"];
    let ran = beamhand(&arguments);
    ran.assert_refused(2, &["nobody can confirm that here", "--yes"]);
    for told in ["CAUTION", "nobody and nothing near", "Ctrl-C stops the motors; `beamhand halt` does not"] {
        assert!(ran.out.contains(told), "no {told:?} in {}", ran.out);
    }
    let ran = beamhand(&[&arguments[..], &["--json"]].concat());
    ran.assert_refused(2, &["--yes"]);
    assert_eq!(ran.out, "");
    // Its ports are not there, so this is as far as it gets.
    beamhand(&[&arguments[..], &["--yes"]].concat()).assert_refused(1, &["duplex"]);
}
