//! The performance: the daemon's own engine on a clock that runs fast, watched.

use std::io::{IsTerminal, Write};
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::watch;

use crate::clock::{Clock, ScaledClock};
use crate::control::{DeviceState, Method, PassStatus, StartParams, State, Status};
use crate::daemon::{Handle, Startup};
use crate::device::LinePlan;
use crate::rehearsal::{Seen, Stage, Summary, Watch, summarise};
use crate::terms::{Time, Validity, later};

use super::super::screen;
use super::scenery::Scenery;
use super::{Equipment, Failure, Orders};

/// How often the screen is drawn anew.
const FRAME: Duration = Duration::from_millis(100);
/// When all ports should be open.
const FIRST_LOOK: Duration = Duration::from_secs(2);
/// How long after LOS the devices may take to park and be given back, seconds of plan time.
const EPILOGUE_S: f64 = 240.0;

/// How the pass is played.
pub(super) struct Performance {
    /// How many times faster than real.
    pub(super) speed: f64,
    /// What is at the other end of the lines.
    pub(super) equipment: Equipment,
    /// Seconds of plan time after which it ends; with the pass if not given.
    pub(super) duration: Option<f64>,
    /// Shows nothing meanwhile.
    pub(super) quiet: bool,
    /// What happens to the equipment.
    pub(super) orders: Orders,
}

/// Plays the stage's pass.
pub(super) fn play(mut stage: Stage, performance: &Performance) -> Result<Summary, Failure> {
    let Performance { speed, equipment, duration, quiet, ref orders } = *performance;
    let begin = stage.curtain();
    let clock: Arc<dyn Clock> = Arc::new(ScaledClock::new(begin, speed));
    let simulated = equipment == Equipment::Simulated;
    let scenery = if simulated { Some(Scenery::build(&mut stage, &clock, orders)?) } else { None };
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
        ..StartParams::default()
    };
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let audience = Audience::new(begin, latest, quiet, orders);
    let ended = runtime.block_on(perform(startup, wanted, audience))?;
    let span = Validity { from: stage.job.span.from, until: stage.job.span.until.min(ended.time) };
    let plans: Vec<LinePlan> = stage.lines(wire_speed);
    let pass = ended.pass;
    let mut summary = match scenery {
        Some(scenery) => summarise(&stage, &plans, &scenery.devices, span, pass),
        None => Summary::of_status(pass, &ended.last),
    };
    if !orders.is_empty() {
        summary.faults = orders.faults.iter().map(ToString::to_string).collect();
        summary.operator = orders.operator.iter().map(ToString::to_string).collect();
        (summary.seen, summary.seen_left_out) = ended.seen;
    }
    Ok(summary)
}

/// How the performance ended.
struct Ended {
    time: Time,
    pass: PassStatus,
    last: Status,
    /// What was seen of the devices, and how much of it there was no room for.
    seen: (Vec<Seen>, u64),
}

/// Who looks on, and how long.
struct Audience {
    begin: Time,
    latest: Time,
    /// Whether a port that is lost ends the rehearsal.
    expects_ports: bool,
    shown: Shown,
    watch: Watch,
    pass: Option<PassStatus>,
}

impl Audience {
    fn new(begin: Time, latest: Time, quiet: bool, orders: &Orders) -> Self {
        let (shown, watch) = (Shown::new(quiet), Watch::default());
        // A fault may well be that a port is gone.
        Self { begin, latest, expects_ports: orders.is_empty(), shown, watch, pass: None }
    }

    /// Takes in a status; whether it was the last one to wait for.
    fn look(&mut self, status: &Status) -> bool {
        self.watch.look(status, self.begin);
        if status.pass.is_some() {
            self.pass.clone_from(&status.pass);
        }
        self.pass.is_some() && (status.state == State::Idle || status.time > self.latest)
    }

    fn leave(self, last: Status) -> Result<Ended, Failure> {
        let pass = self.pass.ok_or_else(|| Failure::Failed("the pass was never taken up".to_owned()))?;
        Ok(Ended { time: last.time, pass, last, seen: self.watch.into_seen() })
    }
}

async fn perform(startup: Startup, wanted: StartParams, audience: Audience) -> Result<Ended, Failure> {
    let (engine, handle) = startup.engine()?;
    let (quit, quits) = watch::channel(false);
    let ((), watched) = tokio::join!(engine.run(quits), watch_pass(handle, wanted, audience, quit));
    watched
}

/// Starts the session and shows it until it is over, then has the engine quit.
async fn watch_pass(
    handle: Handle,
    wanted: StartParams,
    audience: Audience,
    quit: watch::Sender<bool>,
) -> Result<Ended, Failure> {
    let started = handle.call(Method::Start(wanted), "rehearsal").await;
    let ended = match started {
        Ok(_) => watch_to_the_end(&handle, audience).await,
        Err(refusal) => Err(Failure::Failed(refusal.to_string())),
    };
    quit.send_replace(true);
    ended
}

async fn watch_to_the_end(handle: &Handle, mut audience: Audience) -> Result<Ended, Failure> {
    let first_look = tokio::time::Instant::now() + FIRST_LOOK;
    let mut looked = !audience.expects_ports;
    let mut frames = tokio::time::interval(FRAME);
    let mut news = handle.status.clone();
    loop {
        let frame = tokio::select! {
            _ = frames.tick() => true,
            Ok(()) = news.changed() => false,
            _ = tokio::signal::ctrl_c() => return audience.leave(newest(handle)),
        };
        let status = newest(handle);
        let is_over = audience.look(&status);
        if frame || is_over {
            audience.shown.show(&status);
        }
        if is_over {
            return audience.leave(status);
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
    match radios
        .chain(rotator)
        .find(|(_, state, _)| matches!(state, DeviceState::Opening | DeviceState::Lost))
    {
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
