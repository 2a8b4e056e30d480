//! A plug that is pulled: state files that are cut short or full of something else. The next daemon
//! starts, says so, and tunes and moves nothing by what it can't read.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use chrono::Utc;

use crate::far_end::is_aim;
use crate::patience::{let_pass, until};
use crate::station::Station;

/// What is read when a daemon starts, and named when it is damaged.
const READ_AT_START: [&str; 4] =
    ["radios-before-session.json", "session.json", "nudge.json", "elements/sets.json"];
/// Read when a pass is planned, by the program that fetches elements, or only looked for.
const OTHERS: [&str; 3] = ["trims.json", "elements/sources.json", "cautioned.json"];

/// So long after its start a daemon has asked its devices and could have told them something, seconds.
const WATCHED_S: f64 = 0.4;

/// A station whose daemon was killed in a pass, and the state files that it left.
struct Left {
    station: Station,
    files: BTreeMap<PathBuf, Vec<u8>>,
    /// How much its devices had been told by then.
    told: (usize, usize),
}

impl Left {
    fn behind() -> Self {
        let station = Station::in_mid_pass();
        station.say(&["elements", "import", "elements.txt"]).assert_done();
        let mut daemon = station.run();
        station.work();
        for words in [&["trim", "+700"][..], &["trim", "keep"], &["nudge", "1", "1"], &["nudge", "keep"]] {
            station.say(words).assert_done();
        }
        until(5.0, "all is stored", || {
            let text = std::fs::read_to_string(station.path("state/session.json")).unwrap_or_default();
            text.contains("700") && station.path("state/nudge.json").exists()
        });
        daemon.signal("KILL");
        daemon.wait();
        // A fetch leaves this one.
        std::fs::write(station.path("state/elements/sources.json"), "{\"format\":1,\"entries\":[]}").unwrap();
        let files: BTreeMap<PathBuf, Vec<u8>> = READ_AT_START
            .iter()
            .chain(&OTHERS)
            .map(|name| station.path("state").join(name))
            .map(|path| (path.clone(), std::fs::read(path).unwrap()))
            .collect();
        // What had left for a device takes effect a moment later.
        let_pass(0.5);
        let told = told(&station);
        Self { station, files, told }
    }

    /// Starts a daemon with each file as `make` has it, and looks what it does.
    fn start_with(&self, what: &str, make: &dyn Fn(&[u8]) -> Vec<u8>) {
        self.files.iter().for_each(|(path, whole)| std::fs::write(path, make(whole)).unwrap());
        let _ = std::fs::remove_file(self.station.path("log"));
        let mut daemon = self.station.run();
        assert!(self.station.status().satellite.is_none(), "{what}");
        let_pass(WATCHED_S);
        assert!(daemon.is_alive(), "{what}");
        let log = std::fs::read_to_string(self.station.path("log")).unwrap();
        let unnamed: Vec<_> = READ_AT_START.iter().filter(|name| !log.contains(**name)).collect();
        assert!(unnamed.is_empty(), "{what}: nothing is said of {unnamed:?}:\n{log}");
        assert_eq!(told(&self.station), self.told, "{what}: a device was told something:\n{log}");
        daemon.signal("KILL");
        daemon.wait();
        remove_what_was_set_aside(&self.station.path("state"));
    }

    fn longest(&self) -> usize {
        self.files.values().map(Vec::len).max().unwrap()
    }
}

/// How often the radio was tuned and the mount sent somewhere.
fn told(station: &Station) -> (usize, usize) {
    let since = Utc::now() - chrono::Duration::hours(1);
    (station.radio.record().landings().len(), station.mast.frames_after(since, is_aim).len())
}

fn remove_what_was_set_aside(state: &Path) {
    for entry in std::fs::read_dir(state).unwrap() {
        let path = entry.unwrap().path();
        if path.to_str().unwrap().contains(".damaged-") {
            std::fs::remove_file(path).unwrap();
        }
    }
}

/// Cuts all files after 0, `step`, 2 `step`... bytes, each by one byte at least. Says how many starts
/// that were.
pub(crate) fn cut(step: usize) -> usize {
    let left = Left::behind();
    let cuts: Vec<usize> = (0..left.longest()).step_by(step).collect();
    for cut in &cuts {
        let short = |whole: &[u8]| whole[..(*cut).min(whole.len() - 1)].to_vec();
        left.start_with(&format!("cut after {cut} bytes"), &short);
    }
    left.station.assert_no_violation();
    cuts.len()
}

#[test]
fn state_that_is_cut_anywhere_starts_a_daemon_that_names_it_and_tunes_nothing() {
    assert!(cut(61) > 5);
}

#[test]
fn state_that_is_something_else_starts_a_daemon_that_names_it_and_can_work() {
    let left = Left::behind();
    // What a file system may leave of a file whose bytes had not reached the disk.
    left.start_with("zeros", &|whole| vec![0; whole.len()]);
    left.start_with("another file's bytes", &|whole| whole.iter().rev().copied().collect());
    left.start_with("no text", &|whole| vec![0xFF; whole.len()]);
    left.start_with("far too long", &|_| vec![b' '; 3 << 20]);
    left.start_with("an array", &|_| b"[]".to_vec());
    let _daemon = left.station.run();
    left.station.work();
    left.station.assert_no_violation();
}
