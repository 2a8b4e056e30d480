//! The daemon's own engine on a clock that runs fast, with simulated equipment on pseudo-terminals,
//! the demo's satellites, and files of its own.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use beamhand::clock::{Clock, ScaledClock};
use beamhand::config::{Config, DefaultPaths, load_satellites};
use beamhand::control::{Method, RpcError, State, Status};
use beamhand::daemon::{Catalog, Handle, Startup, lines};
use beamhand::rehearsal::{Simulated, simulate};
use beamhand::sim::Outlet;
use beamhand::sim::radio::SignalSource;
use beamhand::terms::{Time, parse_time};
use serde_json::Value;
use tempfile::TempDir;
use tokio::runtime::Builder;
use tokio::sync::watch;

/// What the station did, and when.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Deed {
    pub(crate) at: Time,
    pub(crate) state: State,
    pub(crate) satellite: Option<String>,
}

/// A station's folder, equipment and time; the daemon may come and go.
pub(crate) struct Theatre {
    pub(crate) folder: TempDir,
    clock: Arc<dyn Clock>,
    speed: f64,
    dialect: &'static str,
    pub(crate) devices: Vec<Simulated>,
    _outlets: Vec<Outlet>,
    deeds: Arc<Mutex<Vec<Deed>>>,
}

impl Theatre {
    /// The demo with this agenda; the clock starts at once.
    pub(crate) fn open(agenda: &str, start: &str, speed: f64) -> Self {
        Self::open_with(agenda, start, speed, None, "semicolon-eleven")
    }

    /// The same with something to hear, and a radio that speaks so.
    pub(crate) fn open_with(
        agenda: &str,
        start: &str,
        speed: f64,
        signal: Option<&SignalSource>,
        dialect: &'static str,
    ) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
        write("elements.txt", include_str!("../../config/demo/elements.txt"));
        write("satellites.toml", include_str!("../../config/demo/satellites.toml"));
        write("beamhand.toml", &station(folder.path(), agenda, dialect));
        let config = load(folder.path());
        let clock: Arc<dyn Clock> = Arc::new(ScaledClock::new(parse_time(start).unwrap(), speed));
        let plans = lines(&config, 1.0);
        let far_ends = simulate(&config, &plans, signal).unwrap();
        let devices = far_ends.iter().flat_map(|far| far.devices.clone()).collect();
        let outlets = plans.iter().zip(far_ends);
        let outlets =
            outlets.map(|(plan, far)| Outlet::open(&plan.port.port, far.wire, clock.clone()).unwrap());
        let outlets = outlets.collect();
        Self { folder, clock, speed, dialect, devices, _outlets: outlets, deeds: Arc::default() }
    }

    /// Another agenda in the file.
    pub(crate) fn rewrite(&self, agenda: &str) {
        std::fs::write(self.path("beamhand.toml"), station(self.folder.path(), agenda, self.dialect))
            .unwrap();
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn now(&self) -> Time {
        self.clock.now().utc
    }

    /// A daemon at work.
    pub(crate) fn run(&self) -> Crew {
        self.run_as(true)
    }

    /// A rehearsal with the station's own folders, as it is with the configured equipment.
    pub(crate) fn rehearse(&self) -> Crew {
        self.run_as(false)
    }

    fn run_as(&self, reread: bool) -> Crew {
        let config = load(self.folder.path());
        let satellites = load_satellites(&config.files.satellites).unwrap();
        let (catalog, _) = Catalog::load(&config, satellites);
        let (clock, wire_speed) = (self.clock.clone(), self.speed);
        let startup = Startup { config, catalog, clock, wire_speed, reread };
        let (quit, quits) = watch::channel(false);
        let (tell, told) = std::sync::mpsc::channel();
        let deeds = self.deeds.clone();
        let thread = std::thread::spawn(move || {
            let runtime = Builder::new_current_thread().enable_all().build().unwrap();
            runtime.block_on(async {
                let (engine, handle) = startup.engine().unwrap();
                tell.send(handle.clone()).unwrap();
                tokio::spawn(note(handle, deeds));
                engine.run(quits).await;
            });
        });
        Crew { handle: told.recv().unwrap(), quit, thread: Some(thread) }
    }

    /// What was done so far: each change of state or satellite.
    pub(crate) fn deeds(&self) -> Vec<Deed> {
        self.deeds.lock().unwrap().clone()
    }

    /// The satellites that were followed, in order, each with the span of it.
    pub(crate) fn followed(&self) -> Vec<(String, Time, Time)> {
        let deeds = self.deeds();
        let pairs = deeds.windows(2).filter(|pair| pair[0].state == State::Following);
        pairs.map(|pair| (pair[0].satellite.clone().unwrap(), pair[0].at, pair[1].at)).collect()
    }

    /// Nothing that must never happen reached any device.
    pub(crate) fn assert_no_violation(&self) {
        for device in &self.devices {
            assert_eq!(device.handles.record.violations(), [], "{}", device.name);
        }
    }
}

async fn note(mut handle: Handle, deeds: Arc<Mutex<Vec<Deed>>>) {
    while handle.status.changed().await.is_ok() {
        let status = handle.status.borrow_and_update().1.clone();
        let new = Deed { at: status.time, state: status.state, satellite: status.satellite.clone() };
        let mut deeds = deeds.lock().unwrap();
        let is_news =
            deeds.last().is_none_or(|last| (last.state, &last.satellite) != (new.state, &new.satellite));
        if is_news {
            deeds.push(new);
        }
    }
}

/// A running daemon. Dropping it ends it orderly.
pub(crate) struct Crew {
    handle: Handle,
    quit: watch::Sender<bool>,
    thread: Option<JoinHandle<()>>,
}

impl Crew {
    pub(crate) fn status(&self) -> Arc<Status> {
        self.handle.status.borrow().1.clone()
    }

    pub(crate) fn ask(&self, method: Method) -> Result<Value, RpcError> {
        let runtime = Builder::new_current_thread().build().unwrap();
        runtime.block_on(self.handle.call(method, "the test"))
    }

    /// Waits until the status is so.
    #[track_caller]
    pub(crate) fn until(&self, seconds: f64, what: &str, is_so: impl Fn(&Status) -> bool) -> Arc<Status> {
        let deadline = Instant::now() + Duration::from_secs_f64(seconds);
        loop {
            let status = self.status();
            if is_so(&status) {
                return status;
            }
            assert!(Instant::now() < deadline, "not within {seconds} s: {what}; {status:#?}");
            std::thread::sleep(Duration::from_millis(10));
        }
    }
}

impl Drop for Crew {
    fn drop(&mut self) {
        self.quit.send_replace(true);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn load(folder: &Path) -> Config {
    let paths = DefaultPaths {
        config: folder.join("beamhand.toml"),
        state: folder.join("state"),
        socket: folder.join("control"),
    };
    Config::load(&paths.config, &paths).unwrap()
}

/// The demo's configuration with ports in this folder, and another agenda.
fn station(folder: &Path, agenda: &str, dialect: &str) -> String {
    let demo = include_str!("../../config/demo/beamhand.toml");
    let (before, after) = demo.split_once("[agenda]").unwrap();
    let (_, equipment) = after.split_once("[[radio]]").unwrap();
    let text = format!("{before}[agenda]\n{agenda}\n[[radio]]{equipment}");
    let address = if dialect == "fe-frames" { "\naddress = 0x4C" } else { "" };
    let speaks = |dialect: &str| format!("dialect = \"{dialect}\"");
    let text = text.replace(&speaks("semicolon-eleven"), &format!("{}{address}", speaks(dialect)));
    text.replace("/dev/serial/by-id", folder.to_str().unwrap())
}
