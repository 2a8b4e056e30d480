//! What the service manager hears.

use beamhand::control::State;

use crate::station::Station;

#[test]
fn the_service_manager_hears_that_the_daemon_is_ready_what_it_does_and_that_it_stops() {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    assert_eq!(daemon.greeting.iter().filter(|line| *line == "READY=1").count(), 1);
    assert_eq!(station.status().state, State::Idle, "it answers once it is ready");
    station.work();
    let heard = daemon.hear_until("STATUS=GANNET-1 is up");
    assert!(heard.iter().all(|line| line.starts_with("STATUS=")), "{heard:?}");
    daemon.signal("TERM");
    daemon.hear_until("STOPPING=1");
    assert_eq!(daemon.wait().0.code(), Some(0));
}

#[test]
fn a_service_manager_that_does_not_listen_holds_nothing_up() {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    // Each of them changes the state, and the manager's socket takes only so many datagrams.
    for _ in 0..20 {
        station.say(&["halt"]).assert_done();
        station.say(&["resume"]).assert_done();
    }
    assert_eq!(station.status().state, State::Idle);
    daemon.signal("TERM");
    assert_eq!(daemon.wait().0.code(), Some(0));
}

#[test]
fn without_a_service_manager_the_daemon_runs_all_the_same() {
    let station = Station::in_mid_pass();
    let mut child = station.command(&["run"]).stderr(std::process::Stdio::null()).spawn().unwrap();
    crate::patience::until(10.0, "the daemon answers", || station.say(&["status"]).code == Some(0));
    child.kill().unwrap();
    child.wait().unwrap();
}
