//! The service manager's watchdog is fed while the daemon's own work goes on, and only then.

use std::fs::DirEntry;

use nix::sys::ptrace;
use nix::sys::wait::waitpid;
use nix::unistd::Pid;

use crate::patience::within;
use crate::process::Daemon;
use crate::station::Station;

#[test]
fn the_watchdog_is_fed_only_while_the_loop_goes_on() {
    // The loop's thread is the process's first; the others go on.
    left_hungry_by(|daemon| daemon.id().cast_signed(), 20.0, " does not go on; unless it does");
}

#[test]
fn the_watchdog_is_fed_only_while_what_is_stored_gets_to_the_disk() {
    left_hungry_by(
        |daemon| thread(daemon, "keepsake"),
        60.0,
        "what is stored does not go on; unless it does",
    );
}

fn thread(daemon: &Daemon, name: &str) -> i32 {
    let tasks = std::fs::read_dir(format!("/proc/{}/task", daemon.id())).unwrap();
    let mut tasks = tasks.map(|task| task.unwrap());
    let is_it = |task: &DirEntry| std::fs::read_to_string(task.path().join("comm")).unwrap().trim() == name;
    tasks.find(is_it).unwrap().file_name().to_str().unwrap().parse().unwrap()
}

/// Stops one thread from outside, as if it were stuck, and looks for what the service manager is told.
fn left_hungry_by(which: impl Fn(&Daemon) -> i32, seconds: f64, said: &str) {
    let station = Station::in_mid_pass();
    let mut command = station.command(&["run"]);
    // Three times a second.
    command.env("WATCHDOG_USEC", "1000000");
    let mut daemon = Daemon::start(command, &station.path(""));
    (0..3).for_each(|_| drop(daemon.hear_until("WATCHDOG=1")));

    let thread = Pid::from_raw(which(&daemon));
    ptrace::seize(thread, ptrace::Options::empty()).unwrap();
    ptrace::interrupt(thread).unwrap();
    waitpid(thread, None).unwrap();
    within(seconds, "a watchdog that is left hungry", || {
        daemon.hear();
        std::thread::sleep(std::time::Duration::from_millis(900));
        daemon.hear().is_empty().then_some(())
    });
    let log = std::fs::read_to_string(station.path("log")).unwrap();
    assert!(log.contains(said), "{log}");

    ptrace::detach(thread, None).unwrap();
    daemon.hear_until("WATCHDOG=1");
    assert!(daemon.is_alive());
}
