//! The service manager's watchdog is fed while the daemon's own work goes on; else it is set on the daemon.

use std::fs::DirEntry;

use nix::sys::ptrace;
use nix::sys::wait::waitpid;
use nix::unistd::Pid;

use crate::patience::within;
use crate::process::Daemon;
use crate::station::Station;

#[test]
fn the_watchdog_is_set_on_a_daemon_whose_loop_is_stuck() {
    // The loop's thread is the process's first; the others go on.
    set_on_one_without(|daemon| daemon.id().cast_signed(), " does not go on; unless it does");
}

#[test]
fn the_watchdog_is_set_on_a_daemon_that_stores_nothing_any_more() {
    set_on_one_without(|daemon| thread(daemon, "keepsake"), "what is stored does not go on; unless it does");
}

fn thread(daemon: &Daemon, name: &str) -> i32 {
    let tasks = std::fs::read_dir(format!("/proc/{}/task", daemon.id())).unwrap();
    let mut tasks = tasks.map(|task| task.unwrap());
    let is_it = |task: &DirEntry| std::fs::read_to_string(task.path().join("comm")).unwrap().trim() == name;
    tasks.find(is_it).unwrap().file_name().to_str().unwrap().parse().unwrap()
}

/// Stops one thread from outside, as if it were stuck, and looks for what the service manager is told.
fn set_on_one_without(which: impl Fn(&Daemon) -> i32, said: &str) {
    let station = Station::in_mid_pass();
    let mut command = station.command(&["run"]);
    // As the unit has it.
    command.env("WATCHDOG_USEC", "10000000");
    let mut daemon = Daemon::start(command, &station.path(""));
    daemon.hear_until("WATCHDOG=1");

    let thread = Pid::from_raw(which(&daemon));
    ptrace::seize(thread, ptrace::Options::empty()).unwrap();
    ptrace::interrupt(thread).unwrap();
    waitpid(thread, None).unwrap();
    // Two seconds are left for the new one to come.
    within(13.0, "the watchdog that is set on it", || {
        daemon.hear().iter().any(|heard| heard == "WATCHDOG=trigger").then_some(())
    });
    let log = std::fs::read_to_string(station.path("log")).unwrap();
    assert!(log.contains(said), "{log}");

    ptrace::detach(thread, None).unwrap();
    daemon.hear_until("WATCHDOG=1");
    assert!(daemon.is_alive());
}
