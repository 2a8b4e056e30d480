//! The performance: the daemon's own engine on a clock that runs fast, watched.

use std::io::{IsTerminal, Write};
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::watch;

use crate::clock::{Clock, ScaledClock};
use crate::control::{DeviceState, Method, PassStatus, StartParams, State, Status};
use crate::daemon::{Handle, Startup};
use crate::device::LinePlan;
use crate::rehearsal::{Stage, Summary, summarise};
use crate::terms::{Time, Validity, later};

use super::super::screen;
use super::scenery::Scenery;
use super::{Equipment, Failure};

/// How often the screen is drawn anew.
const FRAME: Duration = Duration::from_millis(100);
/// When all ports should be open.
const FIRST_LOOK: Duration = Duration::from_secs(2);
/// How long after LOS the devices may take to park and be given back, seconds of plan time.
const EPILOGUE_S: f64 = 240.0;

/// Plays the stage's pass to its end, or for `duration` seconds of plan time.
pub(super) fn play(
    mut stage: Stage,
    speed: f64,
    equipment: Equipment,
    duration: Option<f64>,
    quiet: bool,
) -> Result<Summary, Failure> {
    let begin = stage.curtain();
    let clock: Arc<dyn Clock> = Arc::new(ScaledClock::new(begin, speed));
    let simulated = equipment == Equipment::Simulated;
    let scenery = if simulated { Some(Scenery::build(&mut stage, &clock)?) } else { None };
    let wire_speed = if simulated { speed } else { 1.0 };
    let startup = Startup {
        config: stage.config.clone(),
        catalog: stage.planner.catalog.clone(),
        clock: clock.clone(),
        wire_speed,
        reread: false,
    };
    let latest = duration.map_or(later(stage.job.span.until, EPILOGUE_S), |seconds| later(begin, seconds));
    let wanted = StartParams {
        satellite: stage.job.satellite.clone(),
        link: Some(stage.job.tuning.link().name.clone()),
    };
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let ended = runtime.block_on(perform(startup, wanted, latest, quiet))?;
    let span = Validity { from: stage.job.span.from, until: stage.job.span.until.min(ended.time) };
    let plans: Vec<LinePlan> = stage.lines(wire_speed).map_err(Failure::Failed)?;
    let pass = ended.pass;
    match scenery {
        Some(scenery) => Ok(summarise(&stage, &plans, &scenery.devices, span, pass)),
        None => Ok(Summary::of_status(pass, &ended.last)),
    }
}

/// How the performance ended.
struct Ended {
    time: Time,
    pass: PassStatus,
    last: Status,
}

async fn perform(startup: Startup, wanted: StartParams, latest: Time, quiet: bool) -> Result<Ended, Failure> {
    let (engine, handle) = startup.engine()?;
    let (quit, quits) = watch::channel(false);
    let watching = watch_pass(handle, wanted, latest, quiet, quit);
    let ((), watched) = tokio::join!(engine.run(quits), watching);
    watched
}

/// Starts the session and shows it until it is over, then has the engine quit.
async fn watch_pass(
    handle: Handle,
    wanted: StartParams,
    latest: Time,
    quiet: bool,
    quit: watch::Sender<bool>,
) -> Result<Ended, Failure> {
    let started = handle.call(Method::Start(wanted), "rehearsal").await;
    let ended = match started {
        Ok(_) => watch_to_the_end(&handle, latest, quiet).await,
        Err(refusal) => Err(Failure::Failed(refusal.to_string())),
    };
    quit.send_replace(true);
    let last = ended?;
    let pass = last.0.ok_or_else(|| Failure::Failed("the pass was never taken up".to_owned()))?;
    Ok(Ended { time: last.1.time, pass, last: last.1 })
}

async fn watch_to_the_end(
    handle: &Handle,
    latest: Time,
    quiet: bool,
) -> Result<(Option<PassStatus>, Status), Failure> {
    let first_look = tokio::time::Instant::now() + FIRST_LOOK;
    let mut looked = false;
    let mut pass = None;
    let mut shown = Shown::new(quiet);
    let mut frames = tokio::time::interval(FRAME);
    loop {
        tokio::select! {
            _ = frames.tick() => {}
            _ = tokio::signal::ctrl_c() => return Ok((pass, newest(handle))),
        }
        let status = newest(handle);
        if status.pass.is_some() {
            pass.clone_from(&status.pass);
        }
        shown.show(&status);
        if pass.is_some() && (status.state == State::Idle || status.time > latest) {
            return Ok((pass, status));
        }
        if !looked && tokio::time::Instant::now() > first_look {
            looked = true;
            all_ports_open(&status)?;
        }
    }
}

/// A rehearsal whose ports can't be opened is none.
fn all_ports_open(status: &Status) -> Result<(), Failure> {
    let radios = status.radios.iter().map(|radio| (&radio.name, radio.state, &radio.why));
    let rotator = status.rotator.iter().map(|mount| (&mount.name, mount.state, &mount.why));
    match radios.chain(rotator).find(|(_, state, _)| *state == DeviceState::Lost) {
        Some((name, _, why)) => {
            Err(Failure::Failed(format!("{name}: {why}; is the daemon running? then stop it first")))
        }
        None => Ok(()),
    }
}

fn newest(handle: &Handle) -> Status {
    (*handle.status.borrow().1).clone()
}

/// A page that is drawn over the last one on a terminal; elsewhere a line for each change.
struct Shown {
    quiet: bool,
    terminal: bool,
    last: Option<State>,
}

impl Shown {
    fn new(quiet: bool) -> Self {
        Self { quiet, terminal: std::io::stdout().is_terminal(), last: None }
    }

    fn show(&mut self, status: &Status) {
        if self.quiet {
            return;
        }
        let mut out = std::io::stdout().lock();
        // A screen that can't be written to does not stop the pass.
        let _ = if self.terminal {
            screen::clear(&mut out).and_then(|()| out.write_all(screen::page(status).as_bytes()))
        } else if self.last != Some(status.state) {
            writeln!(out, "{}", screen::sentence(status))
        } else {
            Ok(())
        };
        let _ = out.flush();
        self.last = Some(status.state);
    }
}
