//! What the system says of a running process.

use std::path::PathBuf;

/// Resident memory, kB.
pub(crate) fn memory_kb(process: u32) -> i64 {
    let statm = std::fs::read_to_string(of(process, "statm")).unwrap();
    let pages: i64 = statm.split(' ').nth(1).unwrap().parse().unwrap();
    pages * 4
}

/// Processor time so far, seconds.
pub(crate) fn processor_s(process: u32) -> f64 {
    let stat = std::fs::read_to_string(of(process, "stat")).unwrap();
    let fields: Vec<&str> = stat.rsplit(')').next().unwrap().split_ascii_whitespace().collect();
    // User and system time, in hundredths: fields 14 and 15 of the whole line.
    (fields[11].parse::<f64>().unwrap() + fields[12].parse::<f64>().unwrap()) / 100.0
}

/// How many files it holds open.
pub(crate) fn open_files(process: u32) -> usize {
    std::fs::read_dir(of(process, "fd")).unwrap().count()
}

fn of(process: u32, name: &str) -> PathBuf {
    PathBuf::from(format!("/proc/{process}/{name}"))
}
