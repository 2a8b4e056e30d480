//! Passes and plans as a record has them: all that a plan is made from, so that it can be made again.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::beam::{Aim, Mount, Start};
use crate::link::{Link, LinkTone, Trim, Tuning};
use crate::session::{Job, KeptTrim, Listening};
use crate::sky::{EarthOrientation, ElementSet, Pass, Station, Track};
use crate::terms::{Generation, Plan as _, Time, Validity};

/// A pass that was planned. The horizon is left out: it has done its work in `pass` and `span`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(in crate::daemon) struct Recipe {
    satellite: String,
    link: Link,
    pass: Pass,
    span: Validity,
    prepare_at: Time,
    elements: ElementSet,
    latitude_deg: f64,
    longitude_deg: f64,
    altitude_m: f64,
    earth: Option<EarthOrientation>,
    /// Of the plan of the mount, where there is one; a trim leaves it.
    aim: Option<AimAs>,
    /// What it is, where it is only listened to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    listening: Option<Listening>,
}

/// The plan of the mount: its number, the time for which it is, and where it was planned from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct AimAs {
    generation: Generation,
    span: Validity,
    start: Option<Start>,
}

impl AimAs {
    fn of(aim: &Aim) -> Self {
        Self { generation: aim.generation(), span: aim.validity(), start: aim.start() }
    }

    fn plan(self, track: &Track, mount: &Mount) -> Option<Aim> {
        let Self { generation, span, start } = self;
        Aim::from_start(track.clone(), mount.clone(), span, generation, start)
    }
}

/// A pass as the session had it at one moment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(in crate::daemon) struct JobAs {
    /// The recipe's number in the record.
    pub(in crate::daemon) job: u32,
    #[serde(flatten)]
    pub(in crate::daemon) dials: DialsAs,
    warnings: Vec<String>,
    note: Option<String>,
    kept: Option<(Trim, Time)>,
    when_free: bool,
    instead: bool,
}

/// The plan of the dials.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub(in crate::daemon) struct DialsAs {
    generation: Generation,
    trim: Trim,
    tone: LinkTone,
}

impl Recipe {
    pub(in crate::daemon) fn of(job: &Job) -> Self {
        let station = job.track.station();
        Self {
            satellite: job.satellite.clone(),
            // What is not written down of a link must not tell two passes apart.
            link: Link { on: Vec::new(), ..job.tuning.link().clone() },
            pass: job.pass,
            span: job.span,
            prepare_at: job.prepare_at,
            elements: job.track.elements().clone(),
            latitude_deg: station.latitude_deg(),
            longitude_deg: station.longitude_deg(),
            altitude_m: station.altitude_m(),
            earth: job.track.earth_orientation(job.span.from, job.span.until),
            aim: job.aim.as_deref().map(AimAs::of),
            listening: job.listening.clone(),
        }
    }

    /// The pass as it was planned, for a station with this mount.
    pub(in crate::daemon) fn job(&self, as_it_was: &JobAs, mount: Option<&Mount>) -> Result<Job, String> {
        let station = Station::new(self.latitude_deg, self.longitude_deg, self.altitude_m);
        let station = station.map_err(|error| error.to_string())?;
        let track = Track::new(&self.elements, station).map_err(|error| error.to_string())?;
        let track = match &self.earth {
            Some(earth) => track.with_earth_orientation(Arc::new(earth.clone())),
            None => track,
        };
        let aim = self.aim.zip(mount).and_then(|(aim, mount)| aim.plan(&track, mount));
        if aim.is_some() != self.aim.is_some() {
            return Err("the mount's plan can't be made again".to_owned());
        }
        let JobAs { dials, warnings, note, kept, when_free, instead, .. } = as_it_was.clone();
        Ok(Job {
            satellite: self.satellite.clone(),
            tuning: Arc::new(dials.tuning(&track, self)),
            track,
            pass: self.pass,
            span: self.span,
            prepare_at: self.prepare_at,
            aim: aim.map(Arc::new),
            warnings,
            note,
            kept: kept.map(|(trim, on)| KeptTrim { trim, on }),
            when_free,
            instead,
            listening: self.listening.clone(),
        })
    }
}

impl JobAs {
    /// A pass of which only the plans count.
    pub(in crate::daemon) fn bare(job: u32, dials: DialsAs) -> Self {
        let (warnings, note, kept) = (Vec::new(), None, None);
        Self { job, dials, warnings, note, kept, when_free: false, instead: false }
    }

    pub(in crate::daemon) fn of(number: u32, job: &Job) -> Self {
        Self {
            job: number,
            dials: DialsAs::of(&job.tuning),
            warnings: job.warnings.clone(),
            note: job.note.clone(),
            kept: job.kept.map(|kept| (kept.trim, kept.on)),
            when_free: job.when_free,
            instead: job.instead,
        }
    }
}

impl DialsAs {
    pub(in crate::daemon) fn generation(self) -> Generation {
        self.generation
    }

    pub(in crate::daemon) fn of(tuning: &Tuning) -> Self {
        let generation = tuning.generation();
        Self { generation, trim: tuning.trim(), tone: tuning.tone() }
    }

    fn tuning(self, track: &Track, recipe: &Recipe) -> Tuning {
        let Self { generation, trim, tone } = self;
        let Recipe { link, span, listening, .. } = recipe;
        let span = *span;
        if let Some(listening) = listening {
            return Tuning::to_listen(track.clone(), link.clone(), trim, listening.watch, generation);
        }
        match tone {
            LinkTone::Access => Tuning::new(track.clone(), link.clone(), trim, span, generation),
            // Another tone makes a newer plan.
            tone => {
                let before = generation.saturating_sub(1);
                Tuning::new(track.clone(), link.clone(), trim, span, before).with_tone(tone)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{Config, DEMO_ELEMENTS, demo_satellites};
    use crate::daemon::{Catalog, Planner};
    use crate::sky::read_elements;
    use crate::terms::{Hertz, later, parse_time};

    fn planned() -> (Job, Planner) {
        let catalog = Catalog::new(demo_satellites().unwrap(), read_elements(DEMO_ELEMENTS).sets);
        let planner = Planner::new(&Config::demo().unwrap(), catalog);
        let evening = parse_time("2026-11-25T18:00:00Z").unwrap();
        (planner.plan("GANNET-1", None, evening, 7).unwrap(), planner)
    }

    #[test]
    fn a_plan_that_is_made_again_from_its_text_is_the_same_to_the_last_bit() {
        let (job, planner) = planned();
        let trim = Trim { receive: Hertz(500), transmit: Hertz(-30) };
        for job in
            [job.clone(), job.with_trim(trim), tuned(&job, LinkTone::Arming), tuned(&job, LinkTone::Off)]
        {
            let text = serde_json::to_string(&(Recipe::of(&job), JobAs::of(3, &job))).unwrap();
            let (recipe, as_it_was): (Recipe, JobAs) = serde_json::from_str(&text).unwrap();
            let again = recipe.job(&as_it_was, planner.mount.as_ref()).unwrap();
            assert_eq!(again.tuning.generation(), job.tuning.generation());
            assert_eq!(Recipe::of(&again), Recipe::of(&job));
            for seconds in 0..700 {
                let time = later(job.span.from, f64::from(seconds) - 20.0);
                assert_eq!(again.tuning.at(time), job.tuning.at(time));
                assert_eq!(again.aim.as_ref().unwrap().at(time), job.aim.as_ref().unwrap().at(time));
            }
        }
    }

    #[test]
    fn a_trim_or_a_warning_makes_no_other_pass() {
        let (job, _) = planned();
        let trimmed = job.with_trim(Trim { receive: Hertz(500), transmit: Hertz(0) });
        assert_eq!(Recipe::of(&trimmed), Recipe::of(&job));
    }

    fn tuned(job: &Job, tone: LinkTone) -> Job {
        Job { tuning: Arc::new(job.tuning.with_tone(tone)), ..job.clone() }
    }
}
