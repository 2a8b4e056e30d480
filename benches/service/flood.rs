//! More connections at the control socket than anybody needs, and what they say.

use std::fs::Permissions;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::os::unix::fs::PermissionsExt as _;
use std::os::unix::net::UnixStream;
use std::os::unix::process::CommandExt as _;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use beamhand::control::Client;
use beamhand::terms::{Time, later, seconds_between};
use chrono::Utc;

use crate::far_end::FarEnd;
use crate::patience::let_pass;
use crate::station::Station;
use crate::vital_signs::memory_kb;
use crate::{Chance, spread};

/// The word that makes the program a crowd.
pub(crate) const CROWD: &str = "crowd";
/// The number of the user `nobody` on Debian.
const NOBODY: u32 = 65_534;
const IDLE: usize = 1000;
const TALKERS: usize = 1000;
/// A thread has so many of the talkers: more threads would only show how the system shares processors.
const EACH: usize = 500;
/// Calm, a flood beside it and a flood take turns so often: how much there is to say to a radio changes in the
/// course of a pass.
const ROUNDS: usize = 8;
/// How long the players are watched without a flood each time, seconds.
const CALM_S: f64 = 8.0;
const WARM_UP_S: f64 = 10.0;
/// How often somebody asks for the status, seconds.
const ASKED_EVERY_S: f64 = 0.1;

/// What is mutated: requests that move nothing as they stand, and hardly can in any other way, since a radio
/// with more to do would look like one that is late.
const SEEDS: [&str; 6] = [
    r#"{"jsonrpc":"2.0","id":1,"method":"status"}"#,
    r#"{"jsonrpc":"2.0","id":"a","method":"passes","params":{"hours":2}}"#,
    r#"{"jsonrpc":"2.0","id":2,"method":"trim","params":{"direction":"receive","hertz":"x"}}"#,
    r#"{"jsonrpc":"2.0","id":3,"method":"subscribe"}"#,
    r#"{"jsonrpc":"2.0","id":4,"method":"start","params":{"satellite":"NODDY-9"}}"#,
    r#"{"jsonrpc":"2.0","id":5,"method":"point","params":{"azimuth":"x","elevation":0}}"#,
];

/// Prints what a calm daemon and a flooded one do, and one on whose processors another daemon is flooded.
pub(crate) fn run(frames: usize) {
    let (station, other) = (open_station(), open_station());
    let (mut daemon, _other) = (station.run(), other.run());
    station.work();
    let_pass(WARM_UP_S);
    let memory = memory_kb(daemon.id());
    let (mut most, mut sent) = (memory, 0);
    let mut seen = [Seen::default(), Seen::default(), Seen::default()];
    for round in 0..ROUNDS {
        // There and back, so that none of them is always the later one.
        let order = if round % 2 == 0 { [0, 1, 2] } else { [2, 1, 0] };
        for kind in order {
            let flood =
                [None, Some(&other), Some(&station)][kind].map(|one| Flood::begin(&one.path("control")));
            let begin = Instant::now();
            seen[kind].add(watch(&station, || {
                most = most.max(memory_kb(daemon.id()));
                match &flood {
                    None => begin.elapsed().as_secs_f64() < CALM_S,
                    Some(flood) => flood.sent() < frames / ROUNDS,
                }
            }));
            sent += flood.as_ref().map_or(0, Flood::sent);
            drop(flood);
            let_pass(2.0);
        }
    }
    println!(
        "{sent} mutated requests, half to either daemon, from {TALKERS} connections beside {IDLE} idle ones"
    );
    for (what, seen) in ["calm", "beside", "flooded"].into_iter().zip(seen) {
        let (times, refused) = (seen.status_s.len(), seen.not_let_in);
        println!("{what:8} status, s: {}, {times} times; not let in: {refused}", spread(seen.status_s));
        println!("{what:8} pause between the radio's commands, s: {}", spread(seen.radio_s));
        println!("{what:8} pause between the mount's, s: {}", spread(seen.mast_s));
    }
    let log = std::fs::read_to_string(station.path("log")).unwrap();
    let panics = log.matches("panicked").count();
    println!("memory before {memory} kB, at most {most} kB, after {} kB", memory_kb(daemon.id()));
    println!("alive: {}, panics: {panics}, log lines: {}", daemon.is_alive(), log.lines().count());
    station.assert_no_violation();
}

fn open_station() -> Station {
    let station = Station::with(&for_everybody, later(Utc::now(), 60.0));
    std::fs::set_permissions(station.path("."), Permissions::from_mode(0o755)).unwrap();
    station
}

fn for_everybody(config: String) -> String {
    config.replace("[control]\n", "[control]\nmode = \"0666\"\n")
}

#[derive(Default)]
struct Seen {
    status_s: Vec<f64>,
    not_let_in: usize,
    radio_s: Vec<f64>,
    mast_s: Vec<f64>,
}

impl Seen {
    fn add(&mut self, more: Self) {
        self.status_s.extend(more.status_s);
        self.not_let_in += more.not_let_in;
        self.radio_s.extend(more.radio_s);
        self.mast_s.extend(more.mast_s);
    }
}

/// Asks for the status in between, as long as there is `more`.
fn watch(station: &Station, mut more: impl FnMut() -> bool) -> Seen {
    let since = Utc::now();
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

/// The crowd: a process of another user's if there may be one, because the owner's is let in first.
struct Flood {
    process: Child,
    sent: Arc<AtomicUsize>,
}

impl Flood {
    fn begin(socket: &Path) -> Self {
        // As far behind the daemon as the unit puts everybody else.
        let mut command = Command::new("nice");
        command
            .args(["-n", "5"])
            .arg(std::env::current_exe().unwrap())
            .arg(CROWD)
            .arg(socket)
            .stdout(Stdio::piped());
        if nix::unistd::Uid::effective().is_root() {
            command.uid(NOBODY);
        }
        let mut process = command.spawn().unwrap();
        let (sent, told) = (Arc::<AtomicUsize>::default(), process.stdout.take().unwrap());
        let count = sent.clone();
        std::thread::spawn(move || {
            for line in BufReader::new(told).lines().map_while(Result::ok) {
                count.store(line.parse().unwrap(), Ordering::Relaxed);
            }
        });
        Self { process, sent }
    }

    fn sent(&self) -> usize {
        self.sent.load(Ordering::Relaxed)
    }
}

impl Drop for Flood {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// The crowd's process: says again and again how many requests it has sent.
pub(crate) fn crowd(socket: &Path) {
    let sent = AtomicUsize::new(0);
    let _idle: Vec<UnixStream> = (0..IDLE).filter_map(|_| UnixStream::connect(socket).ok()).collect();
    std::thread::scope(|scope| {
        for group in 0..TALKERS / EACH {
            let sent = &sent;
            scope.spawn(move || talk(socket, sent, Chance(group as u64 + 1)));
        }
        loop {
            let_pass(0.1);
            println!("{}", sent.load(Ordering::Relaxed));
        }
    });
}

/// Some connections of one thread: each says one thing in its turn, and comes again when it was
/// hung up on.
fn talk(socket: &Path, sent: &AtomicUsize, mut chance: Chance) {
    let mut lines: Vec<Option<UnixStream>> = (0..EACH).map(|_| connect(socket)).collect();
    let mut answers = vec![0; 65_536];
    loop {
        for line in &mut lines {
            let said = mutated(&mut chance);
            let is_said = |line: &mut Option<UnixStream>| {
                line.as_mut().is_some_and(|line| line.write_all(&said).is_ok())
            };
            // Who was sent away comes again, and speaks before it is sent away again.
            if is_said(line) || {
                *line = connect(socket);
                is_said(line)
            } {
                sent.fetch_add(1, Ordering::Relaxed);
            }
            if let Some(line) = line {
                let _ = line.read(&mut answers);
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
