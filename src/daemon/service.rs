//! The service from its start to its orderly end.

use std::io;
use std::sync::Arc;
use std::time::Duration;

use tokio::signal::unix::{SignalKind, signal};
use tokio::sync::watch;

use crate::clock::{Clock, SystemClock};
use crate::config::Config;
use crate::control::State;
use crate::device::Fleet;
use crate::link::Satellite;
use crate::session::Session;

use super::engine::{Engine, EngineParts, Handle};
use super::manager::{Manager, News};
use super::recording::{Recording, Watched};
use super::socket::Socket;
use super::vitals::Vitals;
use super::{Catalog, Files, Planner, equipment};

/// How many plans and searches run at once; more wait for their turn.
const ASIDE_THREADS: usize = 2;

/// What a station is started from.
pub struct Startup {
    /// The checked configuration.
    pub config: Config,
    /// The satellites that are known.
    pub catalog: Catalog,
    /// The time.
    pub clock: Arc<dyn Clock>,
    /// 1, but for simulated equipment on a rehearsal's clock: how many times faster than real the
    /// bytes run.
    pub wire_speed: f64,
    /// Whether the satellites' and elements' files are read again when they have changed.
    pub reread: bool,
}

impl Startup {
    /// For the real thing: the system's clock and the files that the configuration names.
    /// Complaints about single element sets come back in words.
    pub fn real(config: Config, satellites: Vec<Satellite>) -> (Self, Vec<String>) {
        let clock = Arc::new(SystemClock::new(config.clock.clone()));
        let (catalog, complaints) = Catalog::load(&config, satellites);
        (Self { config, catalog, clock, wire_speed: 1.0, reread: true }, complaints)
    }

    /// Starts the lines and puts the engine together.
    ///
    /// # Errors
    /// A thread that can't be started.
    pub fn engine(self) -> io::Result<(Engine, Handle)> {
        self.engine_with(Vitals::default())
    }

    fn engine_with(self, vitals: Vitals) -> io::Result<(Engine, Handle)> {
        let Startup { config, catalog, clock, wire_speed, reread } = self;
        let lines = equipment::lines(&config, wire_speed);
        let fleet = Fleet::start(&lines, &clock)?;
        let recording = Recording::new(&config, &lines, reread);
        let files = reread.then(|| Arc::new(Files::new(config.clone())));
        let planner = Planner { files, ..Planner::new(&config, catalog) };
        let setup = equipment::session_setup(&config, planner.mount.clone());
        Engine::new(EngineParts {
            clock,
            callsign: config.station.callsign,
            planner,
            session: Watched::new(Session::new(setup)),
            fleet,
            state: config.files.state,
            vitals,
            recording,
        })
    }
}

/// Runs the daemon until SIGTERM or SIGINT.
///
/// # Errors
/// The control socket can't be had, or the lines can't be started.
pub fn run(startup: Startup) -> io::Result<()> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .max_blocking_threads(ASIDE_THREADS)
        .build()?;
    let ended = runtime.block_on(serve(startup));
    // A search for passes that nobody waits for any more does not hold up the end.
    runtime.shutdown_timeout(Duration::from_millis(500));
    ended
}

async fn serve(startup: Startup) -> io::Result<()> {
    let control = startup.config.control.clone();
    let socket = Socket::listen(&control.socket, control.mode, control.group.as_deref())?;
    let vitals = Vitals::default();
    let manager = Manager::new(vitals.clone())?;
    let (engine, handle) = startup.engine_with(vitals.clone())?;
    let (quit, quits) = watch::channel(false);
    let announced = tokio::spawn(announce(handle.clone(), manager.clone()));
    let (mut terminate, mut interrupt) = (signal(SignalKind::terminate())?, signal(SignalKind::interrupt())?);
    tracing::info!("ready; control socket at {}", control.socket.display());
    manager.tell(News::Ready);
    let working = engine.run(quits);
    tokio::pin!(working);
    let asked_to_end = tokio::select! {
        () = &mut working => false,
        () = socket.serve(handle, &vitals) => false,
        _ = terminate.recv() => true,
        _ = interrupt.recv() => true,
    };
    if asked_to_end {
        tracing::info!("asked to end");
        manager.tell(News::Stopping);
        quit.send_replace(true);
        working.await;
    }
    announced.abort();
    Ok(())
}

/// Tells the service manager the state in a line, whenever it changes.
async fn announce(mut handle: Handle, manager: Manager) {
    let mut last: Option<State> = None;
    while handle.status.changed().await.is_ok() {
        let (state, why) = {
            let status = handle.status.borrow_and_update();
            (status.1.state, status.1.why.clone())
        };
        if last != Some(state) {
            last = Some(state);
            manager.tell(News::Doing(why));
        }
    }
}
