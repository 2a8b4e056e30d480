//! The exit codes that scripts rely on: 0, 1, 2, 69, 78.

use std::path::Path;

use crate::program::{DEMO, ELEMENTS, Home, STATION, beamhand};

const NEEDS_THE_DAEMON: [&[&str]; 8] = [
    &["start", "GANNET-1"],
    &["stop"],
    &["status"],
    &["point", "180", "10"],
    &["park"],
    &["halt"],
    &["resume"],
    &["trim", "+500"],
];

#[test]
fn help_and_version_are_done() {
    for arguments in [&["--help"][..], &["--version"], &["help", "rehearse"], &["point", "--help"]] {
        beamhand(arguments).assert_fits_the_screen();
    }
}

#[test]
fn help_of_what_may_move_the_beam_says_to_look_first() {
    for verb in ["start", "stop", "park", "point", "resume"] {
        let ran = beamhand(&[verb, "--help"]);
        ran.assert_fits_the_screen();
        assert!(ran.out.replace('\n', " ").contains("Look first that nobody is near"), "{}", ran.out);
    }
}

#[test]
fn what_can_not_be_meant_is_2() {
    let elements = ["--elements", ELEMENTS, "--station", STATION];
    for arguments in [
        &[][..],
        &["fly"],
        &["look", "--station", "54"],
        &["look", "--station", "91,0,0"],
        &["passes", "--hours", "nan"],
        &["passes", "--hours=-1"],
        &["passes", "--from", "tomorrow"],
        &["point", "180"],
        &["point", "180", "high"],
        &["point", "nan", "10"],
        &["trim", "a bit"],
        &["trim", "+500", "sideways"],
        &["rehearse", "--speed", "0"],
        &["rehearse", "--duration", "inf"],
        &["rehearse", "--equipment", "configured", "--speed", "2"],
    ] {
        assert_eq!(beamhand(arguments).code, Some(2), "{arguments:?}");
    }
    beamhand(&[&["look"], &elements[..], &["--at", "noon"]].concat())
        .assert_refused(2, &["noon", "RFC 3339"]);
}

#[test]
fn a_daemon_that_is_not_there_is_69_for_every_verb_that_needs_it() {
    let home = Home::empty();
    let socket = home.path().join("control");
    for verb in NEEDS_THE_DAEMON {
        let arguments = [verb, &["--socket", socket.to_str().unwrap()]].concat();
        home.run(&arguments).assert_refused(69, &[socket.to_str().unwrap(), "beamhand run"]);
    }
}

#[test]
fn a_socket_that_is_dead_is_69_too() {
    let home = Home::empty();
    let socket = home.path().join("control");
    drop(std::os::unix::net::UnixListener::bind(&socket).unwrap());
    home.run(&["status", "--socket", socket.to_str().unwrap()]).assert_refused(69, &["Connection refused"]);
}

#[test]
fn no_configuration_is_78_with_the_place_where_it_was_looked_for_and_a_remedy() {
    let home = Home::empty();
    let missing = home.path().join("missing.toml");
    let missing = missing.to_str().unwrap();
    for verb in ["check", "run", "look", "passes", "rehearse"] {
        home.run(&[verb, "--config", missing]).assert_refused(78, &[missing, "--config"]);
    }
    if Path::new("/etc/beamhand/beamhand.toml").exists() {
        println!("left out: this machine has a configuration of the system service");
        return;
    }
    for verb in ["check", "run", "look", "passes"] {
        home.run(&[verb]).assert_refused(78, &[".config/beamhand/beamhand.toml", "copy the examples"]);
    }
}

#[test]
fn a_configuration_that_is_wrong_is_78_for_every_verb_that_works_by_it() {
    let home = Home::empty();
    let file = home.file("wrong.toml", "format = 1\n[station]\nlatitude = 99\nlongitude = 0\n");
    for verb in ["check", "run", "look", "passes", "rehearse"] {
        home.run(&[verb, "--config", &file]).assert_refused(78, &[&format!("{file}:3:1: ")]);
    }
}

#[test]
fn what_fails_in_the_world_is_1() {
    let home = Home::empty();
    let missing = home.path().join("missing.txt");
    home.run(&["look", "--elements", missing.to_str().unwrap(), "--station", STATION])
        .assert_refused(1, &["missing.txt"]);
    let empty = home.file("empty.txt", "");
    home.run(&["passes", "--elements", &empty, "--station", STATION])
        .assert_refused(1, &["no usable element set"]);
    home.run(&["rehearse", "--config", DEMO, "--satellite", "AUK-1"])
        .assert_refused(1, &["AUK-1", "GANNET-1"]);
}

#[test]
fn a_remark_that_nobody_reads_hinders_nothing() {
    let home = Home::empty();
    let missing = home.path().join("finals2000A").to_str().unwrap().to_owned();
    let source = ["--elements", ELEMENTS, "--station", STATION, "--earth-orientation", &missing];
    let question = [&["look"], &source[..], &["--at", "2026-11-25T18:38:00Z", "--json"]].concat();
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let ran = home.command(&question).stderr(writer).output().unwrap();
    assert_eq!(ran.status.code(), Some(0));
    assert!(ran.stdout.starts_with(b"{"), "{ran:?}");
    // The remark is there where somebody reads.
    assert!(home.run(&question).err.contains("finals2000A"));
}
