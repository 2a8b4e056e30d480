//! More connections at the control socket than anybody needs, and what they say.

use std::io::{Read as _, Write as _};
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use beamhand::control::Client;
use beamhand::terms::{Time, seconds_between};
use chrono::Utc;

use crate::far_end::FarEnd;
use crate::patience::let_pass;
use crate::station::Station;
use crate::vital_signs::memory_kb;
use crate::{Chance, spread};

const IDLE: usize = 1000;
const TALKERS: usize = 1000;
/// A thread has so many of the talkers.
const EACH: usize = 50;
/// How long the players are watched without a flood, seconds.
const CALM_S: f64 = 60.0;
const WARM_UP_S: f64 = 10.0;
/// How often somebody asks for the status, seconds.
const ASKED_EVERY_S: f64 = 0.1;

/// What is mutated: requests that move nothing as they stand.
const SEEDS: [&str; 6] = [
    r#"{"jsonrpc":"2.0","id":1,"method":"status"}"#,
    r#"{"jsonrpc":"2.0","id":"a","method":"passes","params":{"hours":2}}"#,
    r#"{"jsonrpc":"2.0","id":2,"method":"trim","params":{"direction":"receive","hertz":0}}"#,
    r#"{"jsonrpc":"2.0","id":3,"method":"subscribe"}"#,
    r#"{"jsonrpc":"2.0","id":4,"method":"start","params":{"satellite":"NODDY-9"}}"#,
    r#"{"jsonrpc":"2.0","id":5,"method":"point","params":{"azimuth":"x","elevation":0}}"#,
];

/// Prints what a calm daemon and a flooded one do.
pub(crate) fn run(frames: usize) {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    station.work();
    let_pass(WARM_UP_S);
    let memory = memory_kb(daemon.id());
    let calm = watch(&station, || seconds_between_now(CALM_S));
    let flood =
        Flood { socket: station.path("control"), sent: AtomicUsize::new(0), over: AtomicBool::new(false) };
    let (mut flooded, mut most) = (None, memory);
    std::thread::scope(|scope| {
        let idle: Vec<UnixStream> =
            (0..IDLE).filter_map(|_| UnixStream::connect(&flood.socket).ok()).collect();
        for group in 0..TALKERS / EACH {
            let flood = &flood;
            scope.spawn(move || flood.talk(Chance(group as u64 + 1)));
        }
        flooded = Some(watch(&station, || {
            let more = || {
                most = most.max(memory_kb(daemon.id()));
                flood.sent.load(Ordering::Relaxed) < frames
            };
            Box::new(more)
        }));
        flood.over.store(true, Ordering::Relaxed);
        drop(idle);
    });
    let_pass(2.0);
    println!(
        "{} mutated requests from {TALKERS} connections beside {IDLE} idle ones",
        flood.sent.into_inner()
    );
    for (what, seen) in [("calm", Some(calm)), ("flooded", flooded)] {
        if let Some(seen) = seen {
            println!("{what:8} status, s: {}; not let in: {}", spread(seen.status_s), seen.not_let_in);
            println!("{what:8} pause between the radio's commands, s: {}", spread(seen.radio_s));
            println!("{what:8} pause between the mount's, s: {}", spread(seen.mast_s));
        }
    }
    let log = std::fs::read_to_string(station.path("log")).unwrap();
    println!("memory before {memory} kB, at most {most} kB, after {} kB", memory_kb(daemon.id()));
    println!(
        "alive: {}, panics: {}, log lines: {}",
        daemon.is_alive(),
        log.matches("panicked").count(),
        log.lines().count()
    );
    station.assert_no_violation();
}

fn seconds_between_now(seconds: f64) -> Box<dyn FnMut() -> bool> {
    let begin = Instant::now();
    Box::new(move || begin.elapsed().as_secs_f64() < seconds)
}

struct Seen {
    status_s: Vec<f64>,
    not_let_in: usize,
    radio_s: Vec<f64>,
    mast_s: Vec<f64>,
}

/// Asks for the status in between, as long as there is `more`.
fn watch<'a>(station: &Station, more: impl FnOnce() -> Box<dyn FnMut() -> bool + 'a>) -> Seen {
    let (mut more, since) = (more(), Utc::now());
    let (mut status_s, mut not_let_in) = (Vec::new(), 0);
    while more() {
        let begin = Instant::now();
        match Client::connect(&station.path("control")).and_then(|mut client| client.status()) {
            Ok(_) => status_s.push(begin.elapsed().as_secs_f64()),
            Err(_) => not_let_in += 1,
        }
        let_pass(ASKED_EVERY_S);
    }
    let pauses = |device: &FarEnd| pauses(device, since);
    Seen { status_s, not_let_in, radio_s: pauses(&station.radio), mast_s: pauses(&station.mast) }
}

fn pauses(device: &FarEnd, since: Time) -> Vec<f64> {
    let frames = device.frames_after(since, |_| true);
    frames.windows(2).map(|pair| seconds_between(pair[0].at, pair[1].at)).collect()
}

struct Flood {
    socket: PathBuf,
    sent: AtomicUsize,
    over: AtomicBool,
}

impl Flood {
    /// Some connections of one thread: each says one thing in its turn, and comes again when it was
    /// hung up on.
    fn talk(&self, mut chance: Chance) {
        let mut lines: Vec<Option<UnixStream>> = (0..EACH).map(|_| connect(&self.socket)).collect();
        let mut answers = vec![0; 65_536];
        while !self.over.load(Ordering::Relaxed) {
            for line in &mut lines {
                let said = mutated(&mut chance);
                let spoken = line.as_mut().is_some_and(|line| line.write_all(&said).is_ok());
                match spoken {
                    true => {
                        self.sent.fetch_add(1, Ordering::Relaxed);
                    }
                    false => *line = connect(&self.socket),
                }
                if let Some(line) = line {
                    let _ = line.read(&mut answers);
                }
            }
        }
    }
}

fn connect(socket: &Path) -> Option<UnixStream> {
    let line = UnixStream::connect(socket).ok()?;
    line.set_nonblocking(true).ok()?;
    // An answer that nobody waits for must not stop this side.
    line.set_write_timeout(Some(Duration::from_millis(1))).ok()?;
    Some(line)
}

/// A request with up to four of its bytes changed, doubled or left out.
fn mutated(chance: &mut Chance) -> Vec<u8> {
    let mut bytes = SEEDS[chance.below(SEEDS.len())].as_bytes().to_vec();
    for _ in 0..=chance.below(4) {
        let place = chance.below(bytes.len());
        match chance.below(3) {
            0 => bytes[place] = chance.below(256) as u8,
            1 => bytes.insert(place, bytes[place]),
            _ => {
                bytes.remove(place);
            }
        }
    }
    bytes.push(b'\n');
    bytes
}
