//! Memory and processor.

use crate::patience::{let_pass, until};
use crate::process::Daemon;
use crate::station::Station;
use crate::vital_signs::{memory_kb, open_files, processor_s};

/// How long everything is let settle, seconds.
const WARM_UP_S: f64 = 10.0;

/// Prints what a daemon costs, idle, in a session and while it listens, watched for so many seconds each.
pub(crate) fn run(seconds: f64) {
    let station = Station::in_mid_pass();
    let daemon = station.run();
    println!("{:10} {:>9} {:>11} {:>6}", "", "memory kB", "processor %", "files");
    watch("idle", &daemon, seconds);
    station.work();
    watch("in session", &daemon, seconds);
    drop(daemon);
    let station = Station::that_listens();
    let daemon = station.run();
    station.say(&["auto", "on"]).assert_done();
    until(20.0, "it is listened to", || station.status().listening.is_some());
    watch("listening", &daemon, seconds);
}

fn watch(what: &str, daemon: &Daemon, seconds: f64) {
    let_pass(WARM_UP_S);
    let busy = processor_s(daemon.id());
    let_pass(seconds);
    let percent = (processor_s(daemon.id()) - busy) / seconds * 100.0;
    println!("{what:10} {:>9} {percent:>11.2} {:>6}", memory_kb(daemon.id()), open_files(daemon.id()));
}
