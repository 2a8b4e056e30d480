//! Weeks of agenda on a clock that runs fast in a pass and leaps to the next one, with faults.
//!
//! The daemon's own engine runs in a process of its own; the equipment is at the far end of
//! pseudo-terminals in this one, which looks at what the other one takes.

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::{Duration, Instant};

use beamhand::clock::{Clock, ScaledClock, Trust};
use beamhand::config::{Config, DEMO_ELEMENTS, demo_satellites};
use beamhand::control::{AutoParams, Method, State, Status};
use beamhand::daemon::{Catalog, Handle, Startup, lines};
use beamhand::rehearsal::{Simulated, simulate};
use beamhand::sim::{Fault, Outlet};
use beamhand::sky::read_elements;
use beamhand::terms::{Moment, Time, later, parse_time, seconds_between};
use tokio::sync::watch;

use crate::Chance;
use crate::vital_signs::{memory_kb, open_files};

/// The word that makes the program the daemon.
pub(crate) const SOAKED: &str = "soaked";
/// How many times faster than real a pass is played.
const SPEED: f64 = 100.0;
/// It leaps to so long before a pass is prepared, and only if that is as far away again, seconds.
const RUN_UP_S: f64 = 30.0;
/// How often it looks whether it may leap.
const LOOK: Duration = Duration::from_millis(50);
/// A fault comes so often and lasts so long, seconds of real time.
const FAULT_EVERY_S: u64 = 7;
const FAULT_S: u64 = 2;

const FAULTS: [Fault; 9] = [
    Fault::Mute,
    Fault::Off,
    Fault::HalfFrame,
    Fault::LostBytes { one_in: 20 },
    Fault::InsertedBytes { one_in: 20 },
    Fault::Garbage,
    Fault::Refusals,
    Fault::MotorStalled,
    Fault::ReadOutFrozen,
];

fn start() -> Time {
    parse_time("2026-11-25T12:00:00Z").unwrap()
}

/// The demo's station in a folder.
fn station(folder: &Path) -> Config {
    let mut config = Config::demo().unwrap();
    config.radios.iter_mut().for_each(|radio| radio.line.port = folder.join("radio"));
    config.rotator.iter_mut().for_each(|rotator| rotator.line.port = folder.join("rotator"));
    config.files.state = folder.join("state");
    config
}

/// Plays so many days, and prints what the daemon took at the end of each.
pub(crate) fn run(days: u32) {
    let folder = tempfile::tempdir().unwrap();
    let config = station(folder.path());
    let clock: Arc<dyn Clock> = Arc::new(ScaledClock::new(start(), SPEED));
    let plans = lines(&config, 1.0);
    let (mut outlets, mut devices) = (Vec::new(), Vec::new());
    for (plan, line) in plans.iter().zip(simulate(&config, &plans, None).unwrap()) {
        devices.extend(line.devices);
        outlets.push(Outlet::open(&plan.port.port, line.wire, clock.clone()).unwrap());
    }
    let mut daemon = Soaked::begin(folder.path(), days);
    let troubled = std::thread::spawn({
        let devices = devices.clone();
        let process = daemon.process.id();
        move || trouble(outlets, &devices, process)
    });
    println!("{:>4} {:>8} {:>9} {:>6} {:>8}", "day", "sessions", "memory kB", "files", "real s");
    let begin = Instant::now();
    for line in BufReader::new(daemon.process.stdout.take().unwrap()).lines().map_while(Result::ok) {
        let process = daemon.process.id();
        let (memory, files, took) = (memory_kb(process), open_files(process), begin.elapsed().as_secs());
        println!("{line} {memory:>9} {files:>6} {took:>8}");
    }
    println!("ended: {}", daemon.process.wait().unwrap());
    let faults = troubled.join().unwrap();
    let breaches: Vec<_> = devices.iter().flat_map(|device| device.handles.record.violations()).collect();
    println!("{faults} faults; what must never happen: {breaches:?}");
    let log = std::fs::read_to_string(folder.path().join("log")).unwrap();
    println!("log: {} lines, {} panics", log.lines().count(), log.matches("panicked").count());
}

struct Soaked {
    process: Child,
}

impl Soaked {
    fn begin(folder: &Path, days: u32) -> Self {
        let log = std::fs::File::create(folder.join("log")).unwrap();
        let mut command = Command::new(std::env::current_exe().unwrap());
        // As the unit sets it.
        command.env("MALLOC_ARENA_MAX", "1");
        command.env("MALLOC_MMAP_THRESHOLD_", "65536").env("MALLOC_TRIM_THRESHOLD_", "131072");
        command.arg(SOAKED).arg(folder).arg(days.to_string()).stdout(Stdio::piped()).stderr(log);
        Self { process: command.spawn().unwrap() }
    }
}

impl Drop for Soaked {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// Breaks something now and then until the daemon has ended; how often.
fn trouble(mut outlets: Vec<Outlet>, devices: &[Simulated], process: u32) -> usize {
    let (mut chance, mut count) = (Chance(1), 0);
    let is_there = || PathBuf::from(format!("/proc/{process}/stat")).exists();
    while is_there() {
        std::thread::sleep(Duration::from_secs(FAULT_EVERY_S));
        count += 1;
        let cable = chance.below(FAULTS.len() + 1) == 0;
        let device = &devices[chance.below(devices.len())];
        if cable {
            outlets[device.line].pull().unwrap();
        } else {
            device.handles.faults.switch_on(FAULTS[chance.below(FAULTS.len())]);
        }
        std::thread::sleep(Duration::from_secs(FAULT_S));
        device.handles.faults.clear();
        if cable {
            outlets[device.line].put_back().unwrap();
        }
    }
    count
}

/// Runs fast, and can be set forward, as a network's time does it.
struct LeapingClock {
    runs: ScaledClock,
    ahead_ms: AtomicI64,
}

impl Clock for LeapingClock {
    fn now(&self) -> Moment {
        let now = self.runs.now();
        Moment { utc: later(now.utc, self.ahead_ms.load(Ordering::Relaxed) as f64 / 1e3), ..now }
    }

    fn trust(&self) -> Trust {
        Trust::Trusted { error_s: None }
    }

    fn is_rehearsal(&self) -> bool {
        false
    }
}

/// The daemon's process: says at the end of each day how many sessions there were.
pub(crate) fn soaked(folder: &Path, days: u32) {
    tracing_subscriber::fmt().with_writer(std::io::stderr).with_ansi(false).init();
    let clock =
        Arc::new(LeapingClock { runs: ScaledClock::new(start(), SPEED), ahead_ms: AtomicI64::new(0) });
    let startup = Startup {
        config: station(folder),
        catalog: Catalog::new(demo_satellites().unwrap(), read_elements(DEMO_ELEMENTS).sets),
        clock: clock.clone(),
        wire_speed: SPEED,
        reread: false,
    };
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    runtime.block_on(async {
        let (engine, handle) = startup.engine().unwrap();
        let (quit, quits) = watch::channel(false);
        let lead = async {
            live(&handle, &clock, days).await;
            quit.send_replace(true);
        };
        tokio::join!(engine.run(quits), lead)
    });
}

async fn live(handle: &Handle, clock: &LeapingClock, days: u32) {
    handle.call(Method::SwitchAuto(AutoParams { on: true }), "soak").await.unwrap();
    let (mut day, mut sessions, mut was_following) = (0, 0, false);
    while day < days {
        tokio::time::sleep(LOOK).await;
        let status = handle.status.borrow().1.clone();
        let is_following = status.state == State::Following;
        sessions += u32::from(is_following && !was_following);
        was_following = is_following;
        if let Some(seconds) = leap(&status, clock.now().utc) {
            clock.ahead_ms.fetch_add((seconds * 1e3) as i64, Ordering::Relaxed);
        }
        if seconds_between(start(), clock.now().utc) > f64::from(day + 1) * 86_400.0 {
            day += 1;
            println!("{day:>4} {sessions:>8}");
        }
    }
}

/// How far the next pass is away, when there is nothing to do before.
fn leap(status: &Status, now: Time) -> Option<f64> {
    let next = status.agenda.as_ref()?.next.as_ref().filter(|_| status.state == State::Idle)?;
    let seconds = seconds_between(now, next.prepare_at.unwrap_or(next.from)) - RUN_UP_S;
    (seconds > RUN_UP_S).then_some(seconds)
}
