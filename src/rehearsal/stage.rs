//! What a rehearsal needs before it begins: a configuration, a planned pass, and the lines.

use crate::config::{Config, ConfigErrors, DEMO_ELEMENTS, demo_satellites};
use crate::daemon::{self, Catalog, Planner};
use crate::device::{DeviceSetup, LinePlan, RadioSetup};
use crate::session::{Job, Session};
use crate::sky::read_elements;
use crate::terms::{Direction, Time, later};

use super::score::{Floor, busy_wait};

/// Everything that is known before the clock starts.
#[derive(Clone)]
pub struct Stage {
    /// The configuration.
    pub config: Config,
    /// Plans passes.
    pub planner: Planner,
    /// The pass that is played.
    pub job: Job,
}

/// The embedded demo: its configuration and its satellites.
///
/// # Errors
/// None in a build that passed its tests.
pub fn demo() -> Result<(Config, Catalog), ConfigErrors> {
    Ok((Config::demo()?, Catalog::new(demo_satellites()?, read_elements(DEMO_ELEMENTS).sets)))
}

impl Stage {
    /// Plans the pass of `satellite` that is on at `at` or comes next.
    ///
    /// # Errors
    /// In words, if there is none.
    pub fn set(
        config: Config,
        catalog: Catalog,
        satellite: &str,
        link: Option<&str>,
        at: Time,
    ) -> Result<Self, String> {
        let planner = Planner::new(&config, catalog);
        let job = planner.plan(satellite, link, at, 1)?;
        Ok(Self { config, planner, job })
    }

    /// When the clock starts so that all of the preparation is seen.
    pub fn curtain(&self) -> Time {
        later(self.job.prepare_at, -2.0)
    }

    /// The lines; `speed` as for [`daemon::lines`].
    pub fn lines(&self, speed: f64) -> Vec<LinePlan> {
        daemon::lines(&self.config, speed)
    }

    /// A session for this station with nothing to do yet.
    pub fn session(&self) -> Session {
        Session::new(daemon::session_setup(&self.config, self.planner.mount.clone()))
    }
}

/// The floor of one direction of a radio on its line: a round is one command of each direction
/// that the devices of the line serve, and its acknowledgement.
pub fn floor(plan: &LinePlan, radio: &RadioSetup, direction: Direction, job: &Job) -> Option<Floor> {
    let channel = crate::terms::Plan::at(&*job.tuning, job.span.from)?;
    let dial = channel.dial(direction)?;
    let law = radio.law(dial.mode);
    let radios = plan.devices.iter().filter_map(DeviceSetup::radio);
    let rounds: Vec<(usize, usize)> = radios
        .flat_map(|radio| {
            radio.directions().filter_map(|direction| radio.tuning_bytes(direction, channel.dial(direction)?))
        })
        .collect();
    Some(Floor { step: law.step, worthwhile: law.worthwhile, wait_s: busy_wait(plan, &rounds, THINKING_S) })
}

/// How long simulated equipment thinks before it answers, seconds.
const THINKING_S: f64 = 0.020;
