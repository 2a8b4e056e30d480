//! A part of a pass at its real pace: the daemon's own engine, its line threads, pseudo-terminals.

use std::sync::Arc;
use std::time::Duration;

use beamhand::clock::{Clock, ScaledClock, Trust};
use beamhand::control::{Method, StartParams};
use beamhand::daemon::{Handle, Startup};
use beamhand::device::family::Family;
use beamhand::device::{DeviceSetup, LinePlan};
use beamhand::rehearsal::{DialScore, Simulated, Stage, demo, floor, score_dial, simulate};
use beamhand::sim::Outlet;
use beamhand::terms::{Direction, Moment, Time, Validity, later, parse_time, seconds_between};
use tempfile::TempDir;
use tokio::sync::watch;

use super::{Figures, around};
use crate::repertoire::Piece;
use crate::theatre::demo_with;

/// So long before AOS the session starts: the radio is read, kept and prepared, seconds.
const PREPARED_S: f64 = 25.0;
/// So long after AOS the clock jumps, and so long before the part that is judged, seconds.
const JUMP_S: f64 = 5.0;

/// Runs at real pace, and leaves out what lies between the preparation and the part to be played.
struct JumpingClock {
    clock: ScaledClock,
    at: Time,
    by_s: f64,
}

impl Clock for JumpingClock {
    fn now(&self) -> Moment {
        let now = self.clock.now();
        if now.utc < self.at { now } else { Moment { utc: later(now.utc, self.by_s), ..now } }
    }

    fn trust(&self) -> Trust {
        self.clock.trust()
    }

    fn is_rehearsal(&self) -> bool {
        true
    }
}

/// A station whose equipment is plugged in.
pub(super) struct Live {
    piece: Piece,
    stage: Stage,
    plans: Vec<LinePlan>,
    devices: Vec<Simulated>,
    _folder: TempDir,
}

impl Live {
    /// The station, and the pass that the tests in virtual time have.
    pub(super) fn of(piece: Piece) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (_, catalog) = demo().unwrap();
        let mut config = demo_with(&piece.equipment());
        for radio in &mut config.radios {
            radio.line.port = folder.path().join(&radio.name);
        }
        config.session.prepare_before_s = PREPARED_S;
        config.files.state = folder.path().join("state");
        let evening = parse_time("2026-11-25T18:00:00Z").unwrap();
        let stage = Stage::set(config, catalog, "GANNET-1", None, evening).unwrap();
        let plans = stage.lines(1.0);
        Self { piece, stage, plans, devices: Vec::new(), _folder: folder }
    }

    /// Plays so many seconds around the closest approach.
    pub(super) fn play(mut self, seconds: f64) -> Figures {
        let span = around(self.stage.job.pass.tca, seconds);
        let begin = self.stage.curtain();
        let at = later(self.stage.job.span.from, JUMP_S);
        let by_s = seconds_between(at, span.from) - JUMP_S;
        let clock: Arc<dyn Clock> = Arc::new(JumpingClock { clock: ScaledClock::new(begin, 1.0), at, by_s });
        let outlets = self.plug_in(&clock, begin);
        let startup = Startup {
            config: self.stage.config.clone(),
            catalog: self.stage.planner.catalog.clone(),
            clock: clock.clone(),
            wire_speed: 1.0,
            reread: false,
        };
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        let sent = runtime.block_on(async {
            let (engine, handle) = startup.engine().unwrap();
            let (quit, quits) = watch::channel(false);
            let ((), sent) = tokio::join!(engine.run(quits), attend(&handle, &*clock, span, &quit));
            sent
        });
        drop(outlets);
        let scores = Direction::BOTH.map(|direction| self.score(direction, span));
        for device in &self.devices {
            let breaches = device.handles.record.violations();
            assert!(breaches.is_empty(), "{:?}: {} breaches: {:?}", self.piece, breaches.len(), breaches[0]);
        }
        Figures::new(&scores, sent, self.piece.needed(&self.stage.job, span))
    }

    fn plug_in(&mut self, clock: &Arc<dyn Clock>, begin: Time) -> Vec<Outlet> {
        let far_ends = simulate(&self.stage.config, &self.plans, None).unwrap();
        let mut outlets = Vec::new();
        for (plan, mut far) in self.plans.iter().zip(far_ends) {
            self.devices.extend(far.devices);
            if plan
                .devices
                .iter()
                .filter_map(DeviceSetup::radio)
                .any(|radio| is_deaf_at_first(radio.dialect.family()))
            {
                far.wire.write(&[0; 5], later(begin, -1.0));
            }
            outlets.push(Outlet::open(&plan.port.port, far.wire, clock.clone()).unwrap());
        }
        outlets
    }

    fn score(&self, direction: Direction, span: Validity) -> DialScore {
        let name = self.piece.of(direction);
        let radio = |plan: &LinePlan| {
            plan.devices.iter().filter_map(DeviceSetup::radio).find(|radio| radio.name == name).cloned()
        };
        let (plan, radio) = self.plans.iter().find_map(|plan| Some((plan, radio(plan)?))).unwrap();
        let floor = floor(plan, &radio, direction, &self.stage.job).unwrap();
        let device = self.devices.iter().find(|device| device.name == name).unwrap();
        score_dial(&device.handles.record, &*self.stage.job.tuning, direction, span, &floor).unwrap()
    }
}

/// A radio of this language hears nothing until its control is switched on; here it is found so.
fn is_deaf_at_first(family: Family) -> bool {
    family == Family::FiveByteDuplex
}

/// Starts the session, and counts the commands of the radios over `span`.
async fn attend(handle: &Handle, clock: &dyn Clock, span: Validity, quit: &watch::Sender<bool>) -> u64 {
    let wanted = StartParams { satellite: "GANNET-1".to_owned(), ..StartParams::default() };
    handle.call(Method::Start(wanted), "bench").await.unwrap();
    let commands = || handle.status.borrow().1.radios.iter().map(|radio| radio.commands).sum::<u64>();
    until(clock, span.from).await;
    let before = commands();
    until(clock, span.until).await;
    let sent = commands() - before;
    quit.send_replace(true);
    sent
}

async fn until(clock: &dyn Clock, time: Time) {
    while clock.now().utc < time {
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
}
