//! The service manager's watchdog is fed while the daemon's own work goes on, and only then.

use nix::sys::ptrace;
use nix::sys::wait::waitpid;
use nix::unistd::Pid;

use crate::patience::within;
use crate::process::Daemon;
use crate::station::Station;

#[test]
fn the_watchdog_is_fed_only_while_the_loop_goes_on() {
    let station = Station::in_mid_pass();
    let mut command = station.command(&["run"]);
    // Three times a second.
    command.env("WATCHDOG_USEC", "1000000");
    let mut daemon = Daemon::start(command, &station.path(""));
    (0..3).for_each(|_| drop(daemon.hear_until("WATCHDOG=1")));

    // The loop's thread is the process's first; the others go on.
    let thread = Pid::from_raw(daemon.id().cast_signed());
    ptrace::seize(thread, ptrace::Options::empty()).unwrap();
    ptrace::interrupt(thread).unwrap();
    waitpid(thread, None).unwrap();
    within(20.0, "a watchdog that is left hungry", || {
        daemon.hear();
        std::thread::sleep(std::time::Duration::from_millis(900));
        daemon.hear().is_empty().then_some(())
    });
    let log = std::fs::read_to_string(station.path("log")).unwrap();
    assert!(log.contains(" does not go on; unless it does"), "{log}");

    ptrace::detach(thread, None).unwrap();
    daemon.hear_until("WATCHDOG=1");
    assert!(daemon.is_alive());
}
