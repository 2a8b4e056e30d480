//! The control socket's place in the file system.

use std::os::unix::fs::PermissionsExt as _;
use std::os::unix::net::UnixListener;

use beamhand::control::State;

use crate::process::Ran;
use crate::station::Station;

fn mode(station: &Station) -> u32 {
    std::fs::symlink_metadata(station.path("control")).unwrap().permissions().mode() & 0o7777
}

/// Runs a second daemon to its end, which must come by itself.
fn run_in_vain(station: &Station) -> Ran {
    station.say(&["run"])
}

#[test]
fn owner_and_group_may_use_the_socket_and_nobody_else() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    assert_eq!(mode(&station), 0o660);
}

#[test]
fn the_sockets_permissions_are_those_of_the_configuration() {
    let private = |config: String| config.replace("[control]\n", "[control]\nmode = \"0600\"\n");
    let station = Station::with(&private, chrono::Utc::now());
    let _daemon = station.run();
    assert_eq!(mode(&station), 0o600);
}

#[test]
fn a_socket_that_nobody_listens_on_is_replaced() {
    let station = Station::in_mid_pass();
    drop(UnixListener::bind(station.path("control")).unwrap());
    let _daemon = station.run();
    assert_eq!(station.status().state, State::Idle);
}

#[test]
fn a_socket_that_answers_is_left_to_the_daemon_that_listens_there() {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    run_in_vain(&station).assert_refused(1, "another daemon answers there");
    assert!(daemon.is_alive());
    assert_eq!(station.status().state, State::Idle);
    daemon.signal("TERM");
    assert_eq!(daemon.wait().0.code(), Some(0));
    assert!(!station.path("control").exists());
}

#[test]
fn a_file_that_is_no_socket_is_left_as_it_is() {
    let station = Station::in_mid_pass();
    std::fs::write(station.path("control"), "a letter").unwrap();
    run_in_vain(&station).assert_refused(1, "a file that is no socket");
    assert_eq!(std::fs::read_to_string(station.path("control")).unwrap(), "a letter");
}
