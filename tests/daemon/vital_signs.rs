//! What the system says of a running process.

use std::path::PathBuf;
use std::time::Duration;

use nix::time::clock_getcpuclockid;
use nix::unistd::Pid;

/// Resident memory, kB.
pub(crate) fn memory_kb(process: u32) -> i64 {
    let statm = std::fs::read_to_string(of(process, "statm")).unwrap();
    let pages: i64 = statm.split(' ').nth(1).unwrap().parse().unwrap();
    pages * 4
}

/// Processor time of all its threads so far, those that have ended too, seconds: exact, where the figures in
/// `stat` go by hundredths.
pub(crate) fn processor_s(process: u32) -> f64 {
    let clock = clock_getcpuclockid(Pid::from_raw(process.cast_signed())).unwrap();
    Duration::from(clock.now().unwrap()).as_secs_f64()
}

/// How many files it holds open.
pub(crate) fn open_files(process: u32) -> usize {
    std::fs::read_dir(of(process, "fd")).unwrap().count()
}

fn of(process: u32, name: &str) -> PathBuf {
    PathBuf::from(format!("/proc/{process}/{name}"))
}
