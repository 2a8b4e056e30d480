//! What the flight record of a session takes.

use std::time::Instant;

use beamhand::terms::later;
use chrono::Utc;

use crate::patience::let_pass;
use crate::station::Station;
use crate::vital_signs::processor_s;

/// How long everything is let settle, seconds.
const WARM_UP_S: f64 = 20.0;

/// Prints what recording costs in a session that is watched for so many minutes, with steps of a
/// sideband's and of FM's, and without a record.
pub(crate) fn run(minutes: f64) {
    let off = |config: String| config + "[record]\nenabled = false\n";
    let fm = |config: String| config.replace("step_hz = 10\nworthwhile_hz = 10\n", "");
    for (name, change) in [
        ("10 Hz steps", &(|config| config) as &dyn Fn(String) -> String),
        ("10 Hz steps, no record", &off),
        ("FM", &fm),
        ("FM, no record", &|config| off(fm(config))),
    ] {
        session(name, &Station::with(change, later(Utc::now(), 60.0)), minutes);
    }
}

fn session(name: &str, station: &Station, minutes: f64) {
    let daemon = station.run();
    station.say(&["start", "GANNET-1"]).assert_done();
    let_pass(WARM_UP_S);
    let look = || (processor_s(daemon.id()), bytes(station), writes(daemon.id()));
    let before = look();
    let_pass(60.0 * minutes);
    let after = look();
    println!(
        "{name}: {:.1} kB/min, {:.1} writes/min, {:.2} % of a core",
        (after.1 - before.1) as f64 / minutes / 1000.0,
        (after.2 - before.2) as f64 / minutes,
        (after.0 - before.0) / minutes / 60.0 * 100.0,
    );
    drop(daemon);
    if bytes(station) > 0 {
        let begun = Instant::now();
        let ran = station.say(&["record", "replay", "last"]);
        println!("{name}: replayed in {:.2} s: {}", begun.elapsed().as_secs_f64(), ran.assert_done());
    }
}

/// How large the station's records are.
fn bytes(station: &Station) -> u64 {
    let Ok(folder) = station.path("state/records").read_dir() else { return 0 };
    folder.map(|entry| entry.unwrap().metadata().unwrap().len()).sum()
}

/// How often the record's thread has written.
fn writes(process: u32) -> u64 {
    let tasks = std::fs::read_dir(format!("/proc/{process}/task")).unwrap();
    let of = |task: std::fs::DirEntry| {
        let name = std::fs::read_to_string(task.path().join("comm")).ok()?;
        let io = std::fs::read_to_string(task.path().join("io")).ok().filter(|_| name.trim() == "record")?;
        io.lines().find_map(|line| line.strip_prefix("syscw: ")?.parse::<u64>().ok())
    };
    tasks.filter_map(|task| of(task.unwrap())).sum()
}
