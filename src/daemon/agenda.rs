//! From the configuration's list of satellites to an agenda, and from its entries to jobs. Slow, as
//! all planning.

use std::sync::Arc;

use chrono::Local;

use crate::agenda::{Agenda, Busy, Candidate, Entry, Path, Question, Turnaround, quiet_spans, useful};
use crate::beam::Aim;
use crate::config::Listed;
use crate::control::LookErrors;
use crate::link::{Link, Satellite};
use crate::session::{Job, Wanted};
use crate::sky::{Pass, Track, passes_until_lost, sunlit_windows};
use crate::terms::{AzEl, Generation, Plan as _, Time, Validity, later, seconds_between};

use super::Planner;
use super::report::errors_at;

/// What the radios take between two passes, seconds: to get back what they had, and to be read and
/// prepared again on a slow line.
pub(super) const CHANGE_S: f64 = 15.0;
/// A pass in progress is looked for so far back, hours.
pub(super) const LOOK_BACK_H: f64 = 1.0;
/// So far beyond the end of the search a pass is followed to its own end, hours.
pub(super) const LOOK_ON_H: f64 = 1.0;
/// How far apart the points of a mount's path are, seconds.
const PATH_STEP_S: f64 = 10.0;

/// An agenda, and what was left out of it before any choice.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Outlook {
    /// What comes.
    pub agenda: Agenda,
    /// Satellites that can't be planned, in words for the operator.
    pub complaints: Vec<String>,
}

/// What came of a search for one satellite's passes.
#[derive(Default)]
struct Found {
    candidates: Vec<Candidate>,
    unfit: Vec<Entry>,
    /// Why there is nothing later, where the satellite can't be propagated to the end.
    lost: Option<String>,
}

impl Planner {
    /// What comes in the next hours, beginning at `from`, or after what is in progress.
    pub fn outlook(&self, from: Time, hours: f64, busy: Option<Busy>) -> Outlook {
        self.outlook_with(from, hours, busy, from)
    }

    /// The same, with nothing listened to for its noise alone before `noise_after`.
    pub(super) fn outlook_with(
        &self,
        from: Time,
        hours: f64,
        busy: Option<Busy>,
        noise_after: Time,
    ) -> Outlook {
        let until = later(from, hours.max(0.0) * 3600.0);
        let turnaround = self.turnaround();
        let within = Validity { from: later(from, -LOOK_BACK_H * 3600.0), until: later(until, 86_400.0) };
        let quiet = quiet_spans(&self.agenda.quiet, within, |time| time.with_timezone(&Local).naive_local());
        // Turning to a pass and back to rest makes the noise of the pass itself.
        let turning = self.longest_turn_s();
        let noisy = |quiet: &Validity| Validity {
            from: later(quiet.from, -turning),
            until: later(quiet.until, turning),
        };
        let no_pass: Vec<Validity> = quiet.iter().map(noisy).collect();
        let (mut all, mut complaints) = (Found::default(), Vec::new());
        for listed in &self.agenda.satellites {
            match self.search(listed, Validity { from, until }, &no_pass) {
                Ok(found) => {
                    all.candidates.extend(found.candidates);
                    all.unfit.extend(found.unfit);
                    complaints.extend(found.lost);
                }
                Err(why) => complaints.push(why),
            }
        }
        let heard = self.listened_to(Validity { from, until }, &no_pass);
        all.candidates.extend(heard.candidates.iter().cloned());
        complaints.extend(heard.complaints.iter().cloned());
        let (candidates, quiet) = (all.candidates.as_slice(), quiet.as_slice());
        let free_from = busy.as_ref().map_or(from, |busy| busy.until.max(from)).max(noise_after);
        let question = Question { from, candidates, busy, turnaround, lead_s: self.prepare_before_s, quiet };
        let mut agenda = Agenda::of(&question, all.unfit);
        self.prepare_late(&mut agenda);
        heard.add_noise(&mut agenda, Validity { from: free_from, until });
        Outlook { agenda, complaints }
    }

    /// How far an entry's pass may be off where it is highest, or as near to that as it is worked, by a clock
    /// that may be wrong by so much; `None` where the satellite can't be followed there.
    pub fn errors(&self, entry: &Entry, clock_error_s: f64) -> Option<LookErrors> {
        let (satellite, link) = self.found(&entry.satellite, Some(&entry.link)).ok()?;
        let time = entry.pass.highest.max(entry.span.from).min(entry.span.until);
        errors_at(&self.track(satellite).ok()?, link, time, clock_error_s)
    }

    /// The plans for what the agenda has chosen. A radio that is in use is waited for.
    ///
    /// # Errors
    /// In words for the operator.
    pub fn job_for(&self, entry: &Entry, plan: Generation) -> Result<Job, String> {
        if entry.listens {
            return self.job_to_listen(entry, plan);
        }
        let (satellite, link) = self.found(&entry.satellite, Some(&entry.link))?;
        let track = self.track(satellite)?;
        let aim = self.aim(&track, entry.window, plan);
        let wanted =
            Wanted { satellite: satellite.clone(), link: link.clone(), pass: entry.pass, span: entry.span };
        let job = self.job_of(wanted, track, plan);
        let prepare_at = entry.prepare_at.unwrap_or(job.prepare_at);
        // The aim is that of the whole pass, as the agenda counted its turns.
        Ok(Job { prepare_at, aim: aim.map(Arc::new), when_free: true, ..job })
    }

    fn search(&self, listed: &Listed, within: Validity, quiet: &[Validity]) -> Result<Found, String> {
        let (satellite, link) = self.found(&listed.satellite, listed.link.as_deref())?;
        let track = self.track(satellite)?;
        let from = later(within.from, -LOOK_BACK_H * 3600.0);
        let until = later(within.until, LOOK_ON_H * 3600.0);
        let hours = seconds_between(from, until) / 3600.0;
        let above = self.agenda.minimum_elevation.unwrap_or(self.minimum_elevation);
        let (all, lost) = passes_until_lost(&track, from, hours, above);
        let mut found = Found { lost: lost.map(|error| error.to_string()), ..Found::default() };
        for pass in all {
            let whole = Validity { from: pass.aos.unwrap_or(from), until: pass.los.unwrap_or(until) };
            if whole.until <= within.from || whole.from >= within.until {
                continue;
            }
            // Where it can't be propagated nobody will hear it either.
            let sunlit = |part: Validity| sunlit_windows(&track, part.from, part.until).unwrap_or_default();
            match useful(whole, link, sunlit, quiet) {
                Ok(useful) => {
                    found.candidates.push(self.candidate(satellite, link, listed.rank, pass, useful, &track))
                }
                Err(why) => found.unfit.push(Entry::unfit(&satellite.name, &link.name, pass, whole, &why)),
            }
        }
        Ok(found)
    }

    pub(super) fn candidate(
        &self,
        satellite: &Satellite,
        link: &Link,
        rank: usize,
        pass: Pass,
        useful: Vec<Validity>,
        track: &Track,
    ) -> Candidate {
        let (satellite, link) = (satellite.name.clone(), link.name.clone());
        let candidate = Candidate { satellite, link, listens: false, rank, pass, useful, path: None };
        let window = candidate.window();
        let path = self.aim(track, window, 0).and_then(|aim| path(&aim, window));
        Candidate { path, ..candidate }
    }

    pub(super) fn aim(&self, track: &Track, window: Validity, plan: Generation) -> Option<Aim> {
        Aim::new(track.clone(), self.mount.clone()?, window, plan)
    }

    fn turnaround(&self) -> Turnaround {
        let park = self.mount.as_ref().map_or(AzEl::ZERO, |mount| mount.park);
        Turnaround { slew: self.slew, park, change_s: CHANGE_S }
    }

    /// The whole of the mount's travel, seconds.
    fn longest_turn_s(&self) -> f64 {
        let Some(mount) = &self.mount else { return 0.0 };
        let tilt = mount.elevation.map_or((0.0, 0.0), |range| (range.from, range.to));
        let from = AzEl::new(mount.azimuth.from, tilt.0);
        self.turnaround().seconds(Some(from), Some(AzEl::new(mount.azimuth.to, tilt.1)))
    }
}

fn path(aim: &Aim, window: Validity) -> Option<Path> {
    let steps = (seconds_between(window.from, window.until) / PATH_STEP_S).ceil() as u32;
    let points = (0..=steps).map_while(|step| aim.at(later(window.from, f64::from(step) * PATH_STEP_S)));
    Path::new(window.from, PATH_STEP_S, points.collect())
}
