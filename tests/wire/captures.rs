//! Every file of `tests/captures`, in one read, in two at every byte, and byte by byte.

use std::fs;
use std::path::{Path, PathBuf};

use beamhand::device::dialect::Dialect;

use crate::capture::Capture;
use crate::play::{Cut, cuts, play};

/// The fewest captures that a dialect must have.
const FEWEST: usize = 10;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/captures")
}

/// A dialect's captures: each file's name and text.
fn files_of(dialect: &str) -> Vec<(String, String)> {
    let entries = fs::read_dir(folder().join(dialect)).unwrap();
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let name = |path: &Path| path.strip_prefix(folder()).unwrap().display().to_string();
    files.iter().map(|path| (name(path), fs::read_to_string(path).unwrap())).collect()
}

#[test]
fn every_capture_gives_its_readings_however_the_line_cuts_it() {
    let mut faults = Vec::new();
    let mut played = 0;
    for dialect in Dialect::names() {
        for (name, text) in files_of(dialect) {
            let capture = Capture::read(dialect, &text).unwrap_or_else(|why| unreachable!("{name}: {why}"));
            let every: Vec<Cut> = [Cut::Nowhere, Cut::Everywhere].into_iter().chain(cuts(&capture)).collect();
            played += every.len();
            let fault = every.into_iter().map(|cut| play(&capture, cut)).find_map(Result::err);
            faults.extend(fault.map(|why| format!("{name}: {why}")));
        }
    }
    assert!(faults.is_empty(), "{} captures differ:\n{}", faults.len(), faults.join("\n"));
    assert!(played > 1000, "only {played} plays");
}

#[test]
fn every_dialect_has_its_captures_and_each_says_what_happened() {
    for dialect in Dialect::names() {
        let files = files_of(dialect);
        assert!(files.len() >= FEWEST, "{dialect} has {} captures", files.len());
        for (name, text) in files {
            assert!(text.starts_with("# "), "{name} begins with what happened");
            assert!(text.lines().any(|line| line.contains("> ") || line.contains("< ")), "{name}: no bytes");
        }
    }
    assert_eq!(fs::read_dir(folder()).unwrap().count(), Dialect::names().count() + 1, "and a README");
}

/// The comparison can fail: a capture with a wrong reading, a wrong moment, or one line too few.
#[test]
fn a_capture_that_is_wrong_is_found_out() {
    let good = "begin ask.rx_hz\n> FA;\n+40ms < FA00145950000;\n= done rx_hz 145950000\n";
    let plays = |text: &str| play(&Capture::read("semicolon-eleven", text).unwrap(), Cut::Nowhere);
    assert_eq!(plays(good), Ok(()));
    for (from, to) in [
        ("= done rx_hz 145950000", "= done rx_hz 145950010"),
        ("> FA;", "> FB;"),
        ("> FA;", "+20ms > FA;"),
        ("= done rx_hz 145950000\n", ""),
        ("< FA00145950000;", "< FA0014595000;"),
    ] {
        assert!(plays(&good.replace(from, to)).is_err(), "{from} -> {to}");
    }
}
