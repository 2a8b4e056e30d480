//! What a rehearsal needs before it begins: a configuration, a planned pass, and the lines.

use crate::config::{Config, ConfigErrors, DEMO_ELEMENTS, demo_satellites};
use crate::daemon::{self, Catalog, Planner};
use crate::device::family::Family;
use crate::device::{DeviceSetup, LinePlan, RadioSetup};
use crate::session::{Job, Session};
use crate::sky::read_elements;
use crate::terms::{Direction, Hertz, Plan, Time, later, seconds_between};

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

/// Where the demo's good pass is looked for from.
pub fn demo_evening() -> Time {
    // 18:00 UTC on 25 November 2026.
    Time::from_timestamp(1_795_629_600, 0).unwrap_or_default()
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
/// that the devices of the line serve, its acknowledgement, and the proof that it needs.
pub fn floor(plan: &LinePlan, radio: &RadioSetup, direction: Direction, job: &Job) -> Option<Floor> {
    let channel = job.tuning.at(job.span.from)?;
    let law = radio.law(channel.dial(direction)?.mode);
    let radios = plan.devices.iter().filter_map(DeviceSetup::radio);
    let rounds: Vec<(usize, usize)> = radios
        .flat_map(|radio| {
            let commands = radio
                .directions()
                .filter_map(|direction| radio.tuning_bytes(direction, channel.dial(direction)?));
            commands.flat_map(|command| [Some(command), proof(radio.dialect.family())]).flatten()
        })
        .collect();
    Some(Floor {
        step: law.step,
        correction: radio.calibration.of(direction),
        unsayable: unsayable(radio, direction, law.step, job),
        worthwhile: law.worthwhile,
        wait_s: busy_wait(plan, &rounds, THINKING_S),
    })
}

/// How long simulated equipment thinks before it answers, seconds.
const THINKING_S: f64 = 0.020;

/// The bytes of the question, and of its answer, that must come between two commands where no
/// command is acknowledged and only counting tells where one ends.
fn proof(family: Family) -> Option<(usize, usize)> {
    let is_needed = family.counts_bytes() && family.acknowledgement() == 0;
    let question = family.proof_question(None).filter(|_| is_needed)?;
    Some((question.len(), family.proof_length()?))
}

/// The steps along the pass that the radio's language can't say.
fn unsayable(radio: &RadioSetup, direction: Direction, step: Hertz, job: &Job) -> Vec<Hertz> {
    let seconds = seconds_between(job.span.from, job.span.until).max(0.0) as u32;
    let wanted = (0..=seconds).filter_map(|second| {
        let truly = job.tuning.at(later(job.span.from, f64::from(second)))?.dial(direction)?.hertz;
        Some(radio.calibration.of(direction).dial(truly).to_step(step))
    });
    let wanted: Vec<Hertz> = wanted.collect();
    let (Some(lowest), Some(highest)) = (wanted.iter().min(), wanted.iter().max()) else { return Vec::new() };
    let verb = format!("do.{}", radio.item(direction, "hz"));
    // One step more on either side: the plan is looked at every second only.
    let steps = (highest.0 - lowest.0) / step.0 + 1;
    let steps = (-1..=steps).map(|number| Hertz(lowest.0 + number * step.0));
    steps.filter(|hertz| radio.dialect.settable(&verb, *hertz) != *hertz).collect()
}
