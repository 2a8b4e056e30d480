//! Faults of the computer that last: each is said, counted and ended in the log, and fills none.

use std::fs;
use std::os::unix::net::UnixStream;
use std::process::Command;

use beamhand::control::Client;

use crate::patience::{let_pass, until};
use crate::process::Daemon;
use crate::station::Station;

/// The log's lines that have a text in them.
fn lines(station: &Station, text: &str) -> Vec<String> {
    let log = fs::read_to_string(station.path("log")).unwrap();
    log.lines().filter(|line| line.contains(text)).map(str::to_owned).collect()
}

/// The same command in a shell that lets it have so many files open.
fn with_files(command: &Command, most: u32) -> Command {
    let mut limited = Command::new("/bin/sh");
    limited.arg("-c").arg(format!("ulimit -n {most} && exec \"$0\" \"$@\""));
    limited.arg(command.get_program()).args(command.get_args()).env_clear();
    limited.envs(command.get_envs().filter_map(|(name, value)| Some((name, value?))));
    limited.current_dir(command.get_current_dir().unwrap());
    limited
}

/// It tries ten times a second.
#[test]
fn a_socket_that_can_accept_nobody_says_so_once_and_when_it_is_over() {
    let station = Station::in_mid_pass();
    let _daemon = Daemon::start(with_files(&station.command(&["run"]), 40), &station.path(""));
    let crowd: Vec<UnixStream> =
        (0..60).map_while(|_| UnixStream::connect(station.path("control")).ok()).collect();
    until(5.0, "it is said", || !lines(&station, "can't accept a client").is_empty());
    let_pass(3.0);
    let said = lines(&station, "control socket");
    assert_eq!(said.iter().filter(|line| line.contains("can't accept a client")).count(), 1, "{said:#?}");
    drop(crowd);
    until(10.0, "somebody is let in", || {
        Client::connect(&station.path("control")).is_ok_and(|mut client| client.status().is_ok())
    });
    let over = lines(&station, "the control socket accepts clients again");
    assert!(over.len() == 1 && over[0].contains(" times more before)"), "{over:#?}");
}

/// The state's folder is gone and something else is in its place, as on a card that has failed.
#[test]
fn a_disk_that_takes_nothing_says_so_once_and_when_it_is_over() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.work();
    let (state, aside) = (station.path("state"), station.path("aside"));
    fs::rename(&state, &aside).unwrap();
    fs::write(&state, "").unwrap();
    for trim in ["+100", "+200", "+300", "+400", "+500", "+600"] {
        station.say(&["trim", trim]).assert_done();
        let_pass(0.3);
    }
    let said = lines(&station, "the state on the disk can't be changed");
    assert_eq!(said.len(), 1, "{said:#?}");
    fs::remove_file(&state).unwrap();
    fs::rename(&aside, &state).unwrap();
    station.say(&["trim", "+700"]).assert_done();
    until(5.0, "the end is said", || {
        !lines(&station, "the state on the disk can be changed again").is_empty()
    });
    let over = lines(&station, "the state on the disk can be changed again");
    assert!(over[0].contains(" times more before)"), "{over:#?}");
}
