//! The flight record: what is kept of a session, and whether it can be played again.

use std::os::unix::fs::PermissionsExt as _;
use std::path::PathBuf;

use beamhand::control::State;
use beamhand::terms::later;
use chrono::Utc;
use serde_json::Value;

use crate::patience::{let_pass, until};
use crate::station::Station;

fn records(station: &Station) -> Vec<PathBuf> {
    let Ok(folder) = station.path("state/records").read_dir() else { return Vec::new() };
    let mut all: Vec<PathBuf> = folder.map(|entry| entry.unwrap().path()).collect();
    all.sort();
    all
}

/// A session in mid-pass, with an operator who trims, halts and resumes, from its start to its end.
fn worked() -> Station {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    station.work();
    station.say(&["trim", "+500"]).assert_done();
    let_pass(1.0);
    station.say(&["halt"]).assert_done();
    let_pass(0.5);
    station.say(&["resume"]).assert_done();
    let_pass(2.0);
    station.say(&["point", "0", "0"]).assert_refused(1, "stop it first");
    station.say(&["stop"]).assert_done();
    until(60.0, "the session is over", || station.status().state == State::Idle);
    until(5.0, "the record has ended", || station.status().record.is_none());
    daemon.signal("TERM");
    assert!(daemon.wait().0.success());
    station
}

#[test]
fn a_session_is_recorded_shown_and_plays_again_the_same() {
    let station = worked();
    let all = records(&station);
    assert_eq!(all.len(), 1, "{all:?}");
    assert_eq!(all[0].metadata().unwrap().permissions().mode() & 0o777, 0o600);

    let replay = station.say(&["record", "replay", "last"]);
    let out = replay.assert_done();
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    assert!(out.ends_with("the same\n"), "{out}");
    let machines = station.say(&["record", "replay", "last", "--json"]);
    let machines: Vec<Value> =
        machines.assert_done().lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let names: Vec<&str> = machines.iter().map(|machine| machine["machine"].as_str().unwrap()).collect();
    assert_eq!(names, ["the session", "duplex", "mast"]);
    for machine in &machines {
        assert!(machine["stopped"].is_null() && machine["from_s"].as_f64().unwrap() < 5.0, "{machine}");
        assert!(machine["compared"].as_u64().unwrap() > 10, "{machine}");
    }

    let shown = station.say(&["record", "show", "last"]);
    assert!(shown.assert_done().lines().all(|line| line.chars().count() <= 80), "{}", shown.out);
    let shown = shown.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for wanted in [
        "session GANNET-1 Q0TEST",
        "-> FA",
        "<- ",
        "is told: trim receive +500 Hz",
        "is told: halt",
        "refused: a session holds the beam",
        "\"method\":\"stop\"",
        "says: GANNET-1: done",
        "outcome idle",
    ] {
        assert!(shown.contains(wanted), "{wanted}: {shown}");
    }
    let short = station.say(&["record", "show", "last", "--decisions"]);
    assert!(!short.assert_done().contains("-> FA"), "{}", short.out);
    let list = station.say(&["record", "list"]);
    assert!(list.assert_done().contains("-GANNET-1 ") && list.out.contains("  idle"), "{}", list.out);
    let raw = station.say(&["record", "show", "last", "--json"]);
    assert_eq!(raw.assert_done(), std::fs::read_to_string(&all[0]).unwrap());
}

#[test]
fn a_frame_or_a_decision_that_was_another_one_then_is_shown_with_its_place() {
    let station = worked();
    let file = records(&station).remove(0);
    let text = std::fs::read_to_string(&file).unwrap();
    let other = station.path("other.jsonl");
    let name = other.to_str().unwrap();
    let differs = |changed: &str, machine: &str| {
        std::fs::write(&other, changed).unwrap();
        let ran = station.say(&["record", "replay", name]);
        ran.assert_refused(1, "not the same");
        let part = ran.out.split(machine).nth(1).unwrap_or_default();
        assert!(part.contains("DIFFERS at "), "{machine}: {}", ran.out);
        ran.out
    };
    // The last dial that was set while the pass was followed, by one hertz.
    let dial = "[\"FA004352";
    let at = text.rfind(dial).unwrap() + dial.len() + 3;
    let digit = if text.as_bytes()[at] == b'7' { "8" } else { "7" };
    let out = differs(&format!("{}{digit}{}", &text[..at], &text[at + 1..]), "duplex");
    assert!(out.contains("then FA004352") && out.contains("now FA004352"), "{out}");
    differs(&text.replacen("+500 Hz, transmit +0 Hz", "+501 Hz, transmit +0 Hz", 1), "the session");
}

#[test]
fn a_record_with_a_gap_is_played_up_to_it() {
    let station = worked();
    let text = std::fs::read_to_string(records(&station).remove(0)).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    let half = lines.len() / 2;
    let gap = "{\"kind\":\"lost\",\"entries\":7,\"why\":\"the card is full\"}";
    let other = station.path("other.jsonl");
    std::fs::write(&other, [&lines[..half], &[gap], &lines[half + 7..]].concat().join("\n")).unwrap();
    let ran = station.say(&["record", "replay", other.to_str().unwrap()]);
    ran.assert_done();
    assert!(ran.out.contains("a gap of 7") && ran.out.contains("the card is full"), "{}", ran.out);
    let shown = station.say(&["record", "show", other.to_str().unwrap()]);
    assert!(shown.err.contains("torn") && shown.out.contains("7 entries are missing"), "{}", shown.err);
}

#[test]
fn a_pass_that_is_only_waited_for_leaves_no_record_and_one_that_is_prepared_does() {
    let station = Station::with(&|config| config, later(Utc::now(), 1_500.0));
    let mut daemon = station.run();
    station.say(&["start", "GANNET-1"]).assert_done();
    let_pass(3.0);
    assert_eq!(station.status().state, State::Waiting);
    station.say(&["stop"]).assert_done();
    daemon.signal("TERM");
    daemon.wait();
    assert_eq!(records(&station), Vec::<PathBuf>::new());
}

#[test]
fn recording_can_be_switched_off() {
    let off = |config: String| config + "[record]\nenabled = false\n";
    let station = Station::with(&off, later(Utc::now(), 60.0));
    let _daemon = station.run();
    station.work();
    assert_eq!(station.status().record, None);
    assert!(!station.path("state/records").exists());
    station.say(&["record", "show", "last"]).assert_refused(1, "there is no record");
}

#[test]
fn a_full_or_broken_disk_is_said_once_and_the_pass_goes_on() {
    let station = Station::in_mid_pass();
    std::fs::create_dir_all(station.path("state")).unwrap();
    // A file where the folder should be stops even root.
    std::fs::write(station.path("state/records"), "no folder").unwrap();
    let _daemon = station.run();
    station.work();
    until(8.0, "the trouble is in the status", || {
        station.status().record.is_some_and(|record| record.trouble.is_some())
    });
    assert!(station.say(&["status"]).assert_done().contains("record"), "people see it too");
    let_pass(3.0);
    let log = std::fs::read_to_string(station.path("log")).unwrap();
    assert_eq!(log.matches("the record of this session has gaps").count(), 1, "{log}");
    station.assert_no_violation();
}

#[test]
fn a_daemon_that_is_killed_leaves_a_record_that_plays_up_to_there() {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    station.work();
    let_pass(5.0);
    daemon.signal("KILL");
    daemon.wait();
    let ran = station.say(&["record", "replay", "last"]);
    assert!(ran.assert_done().ends_with("the same\n"), "{}", ran.out);
}

#[test]
fn a_report_gathers_what_is_needed_and_hides_place_and_callsign_unless_asked() {
    let change = |config: String| {
        config
            .replace("latitude = 54", "# q0test lives here\nlatitude = 54.0312")
            .replace("longitude = -2.5", "longitude = -2.5487")
    };
    let station = Station::with(&change, later(Utc::now(), 60.0));
    let _daemon = station.run();
    station.say(&["start", "GANNET-1"]).assert_done();
    until(10.0, "it follows", || station.status().state == State::Following);
    let_pass(5.0);
    let status = station.status();
    let (pass, aim) = (status.pass.unwrap(), status.look.unwrap());
    let los = pass.los.unwrap().format("%H:%M:%S").to_string();

    let ran = station.say(&["report"]);
    let told = ran.assert_done();
    for wanted in [
        env!("CARGO_PKG_VERSION"),
        "== program",
        "latitude = 54.0",
        "longitude = -3.0",
        "\"state\": \"following\"",
        "== ports",
        "xx-xxZ-GANNET-1",
        "played again it is the same",
        "journalctl",
    ] {
        assert!(told.contains(wanted), "{wanted}: {told}");
    }
    let lower = told.to_lowercase();
    let azimuth = format!("{:.2}", aim.azimuth_deg);
    for hidden in ["q0test", "54.03", "2.54", &los, &azimuth, "fa00435"] {
        assert!(!lower.contains(hidden), "{hidden}: {told}");
    }

    let file = station.path("fault.txt");
    let all = ["report", "--with-position", "--with-callsign", file.to_str().unwrap()];
    assert!(station.say(&all).err.contains("read it before you send it"));
    let told = std::fs::read_to_string(&file).unwrap();
    for wanted in ["Q0TEST", "54.0312", "-2.5487", &los, "-> FA00435"] {
        assert!(told.contains(wanted), "{wanted}: {told}");
    }
    assert!(!told.contains("lives here"), "a comment: {told}");
    assert_eq!(file.metadata().unwrap().permissions().mode() & 0o777, 0o600);
}

#[test]
fn a_report_is_made_of_a_refused_configuration_without_a_daemon_too() {
    let station = Station::with(&|config| config.replace("use = \"both\"", "use = \"bath\""), Utc::now());
    let ran = station.say(&["report"]);
    let told = ran.assert_done();
    assert!(told.contains("`use` is the text \"bath\"") && !told.contains("Q0TEST"), "{told}");
    assert!(told.contains("the daemon can't be reached"), "{told}");
}
