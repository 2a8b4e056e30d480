//! A line's thread that does not come back from the system: stopped from outside, as if it hung there.

use beamhand::control::DeviceState;
use beamhand::terms::Direction;
use chrono::Utc;
use nix::sys::ptrace;
use nix::sys::wait::waitpid;
use nix::unistd::Pid;

use crate::patience::{let_pass, until, within};
use crate::process::Daemon;
use crate::station::Station;

/// The thread of the first line that the configuration names: the radio's.
fn line_thread(daemon: &Daemon) -> Pid {
    let tasks = std::fs::read_dir(format!("/proc/{}/task", daemon.id())).unwrap();
    let mut lines: Vec<i32> = tasks
        .map(|task| task.unwrap())
        .filter(|task| std::fs::read_to_string(task.path().join("comm")).unwrap().starts_with("line "))
        .map(|task| task.file_name().to_str().unwrap().parse().unwrap())
        .collect();
    lines.sort_unstable();
    assert_eq!(lines.len(), 2);
    Pid::from_raw(lines[0])
}

#[test]
fn a_hung_line_is_named_and_replaced_and_serves_again_once_the_adapter_is_plugged_in_anew() {
    let mut station = Station::in_mid_pass();
    let daemon = station.run();
    station.work();
    let thread = line_thread(&daemon);
    ptrace::seize(thread, ptrace::Options::empty()).unwrap();
    ptrace::interrupt(thread).unwrap();
    waitpid(thread, None).unwrap();
    let hung = Utc::now();
    let why = || station.status().radios[0].why.clone();
    until(4.0, "it is named", || why().contains("its line has hung for"));
    until(6.0, "another thread tries", || why().contains("the system has not let go of it"));
    let log = std::fs::read_to_string(station.path("log")).unwrap();
    assert!(log.contains("another thread goes on with it"), "{log}");
    // The stopped thread holds its port as long as it is stopped.
    assert_eq!(station.status().radios[0].state, DeviceState::Lost);
    station.radio.outlet.pull().unwrap();
    let_pass(0.5);
    station.radio.outlet.put_back().unwrap();
    within(5.0, "the radio follows again", || {
        let off = station.off(Direction::Receive, Utc::now())?;
        (off < 40.0 && station.status().radios[0].state == DeviceState::Following).then_some(())
    });
    let pauses: Vec<_> = station.mast.frames_after(hung, |_| true);
    let longest =
        pauses.windows(2).map(|pair| (pair[1].at - pair[0].at).as_seconds_f64()).fold(0.0, f64::max);
    assert!(longest < 1.6, "the mount's longest pause: {longest} s");
    ptrace::detach(thread, None).unwrap();
    let_pass(1.0);
    assert_eq!(station.status().radios[0].state, DeviceState::Following);
    station.assert_no_violation();
}
