//! What works the agenda unattended: a state machine of plain values. It begins a pass when it is
//! time and nobody else has the station; a person's commands come first.

use crate::agenda::{Busy, Entry};
use crate::control::{AgendaEntry, AgendaStatus};
use crate::session::{Job, Phase};
use crate::terms::{AzEl, Plan as _, Time, later, seconds_between};

use super::Outlook;
use super::listening::NOISE_EVERY_S;

/// How far ahead the agenda looks, hours.
pub(super) const HORIZON_H: f64 = 24.0;
/// So often it is made anew, seconds: elements may have been renewed.
const RENEW_S: f64 = 600.0;
/// A pass is planned so long before its preparation, seconds.
const AHEAD_S: f64 = 2.0;
/// After a refusal it is tried again after so many seconds.
const RETRY_S: f64 = 10.0;
/// Work that has not answered by then, seconds, has failed.
const ANSWERS_WITHIN_S: f64 = 120.0;
/// So many faults of the agenda's satellites are told of.
const MOST_COMPLAINTS: usize = 3;
/// How the mount turns at the end of a session that was stopped is not known.
const NOWHERE: Option<AzEl> = None;

/// Works the agenda, or does not.
#[derive(Debug, Default)]
pub(super) struct Auto {
    on: bool,
    outlook: Option<(Time, Outlook)>,
    /// What is known has changed since the agenda was made.
    is_stale: bool,
    /// Since when it is being made, or a pass of it is being planned.
    busy_since: Option<Time>,
    /// Until when nothing begins because a person stopped something, and what.
    stopped: Option<(Time, String)>,
    retry_at: Option<Time>,
    refusal: Option<String>,
    /// Nothing is listened to for its noise alone before this.
    noise_after: Option<Time>,
}

/// The station, as far as it matters here.
#[derive(Debug, Clone)]
pub(super) struct Station {
    pub(super) now: Time,
    pub(super) phase: Phase,
    /// What has the station, or will have it next.
    pub(super) job: Option<String>,
    /// Whether a pass can be begun.
    pub(super) is_free: bool,
    /// What has it is only listened to, and makes room for anything else.
    pub(super) only_listens: bool,
    pub(super) is_halted: bool,
    pub(super) is_clock_trusted: bool,
}

/// What is to be done.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Wish {
    /// Nothing.
    Nothing,
    /// Make the agenda.
    Outlook,
    /// Plan this pass and begin it.
    Begin(Box<Entry>),
}

impl Auto {
    /// As the last daemon left it.
    pub(super) fn resumed(on: bool) -> Self {
        Self { on, ..Self::default() }
    }

    pub(super) fn is_on(&self) -> bool {
        self.on
    }

    /// Switches it; a session that it began goes on.
    pub(super) fn switch(&mut self, on: bool) {
        let busy_since = self.busy_since;
        // Who switches it on wants what comes now, whatever was stopped before.
        let noise_after = self.noise_after;
        *self = Self { on, busy_since, is_stale: on, noise_after, ..Self::default() };
    }

    /// Something has changed that the agenda depends on.
    pub(super) fn renew(&mut self) {
        self.is_stale = true;
    }

    /// A person stopped a session: nothing begins before its pass would have ended.
    pub(super) fn stopped(&mut self, job: &Job) {
        self.stopped = Some((job.span.until, job.name()));
        self.is_stale = true;
    }

    /// What stands in the way of everything: a session, or a stop.
    pub(super) fn busy(&self, station: &Station, job: Option<&Job>) -> Option<Busy> {
        if let Some((until, what)) = self.stopped.as_ref().filter(|(until, _)| *until > station.now) {
            let what = format!("{what} was stopped by the operator");
            return Some(Busy { what, until: *until, end: NOWHERE });
        }
        // What is only listened to stands in nothing's way.
        let job = job.filter(|job| !job.only_listens())?;
        let is_over = station.phase == Phase::Finishing;
        let until = if is_over { station.now.min(job.span.until) } else { job.span.until };
        let what = match station.phase {
            Phase::Waiting => "is waited for",
            Phase::Finishing => "is ending",
            _ => "is in progress",
        };
        let end = job.aim.as_ref().and_then(|aim| aim.at(until));
        Some(Busy { what: format!("{} {what}", job.satellite), until, end })
    }

    /// What is to be done now. Whatever it is has begun with the answer: `made`, `begun` or
    /// `refused` say how it went.
    pub(super) fn wish(&mut self, station: &Station) -> Wish {
        if !self.on || self.is_busy(station.now) {
            return Wish::Nothing;
        }
        if let Some(entry) = self.due(station) {
            self.busy_since = Some(station.now);
            return Wish::Begin(Box::new(entry));
        }
        let age_s = self.outlook.as_ref().map(|(made, _)| seconds_between(*made, station.now));
        if self.is_stale || age_s.is_none_or(|age_s| !(0.0..RENEW_S).contains(&age_s)) {
            self.busy_since = Some(station.now);
            self.is_stale = false;
            return Wish::Outlook;
        }
        Wish::Nothing
    }

    /// Whether work is under way. What never answered is not waited for.
    fn is_busy(&self, now: Time) -> bool {
        self.busy_since.is_some_and(|since| (0.0..ANSWERS_WITHIN_S).contains(&seconds_between(since, now)))
    }

    /// The pass whose time has come, unless something keeps it from beginning.
    fn due(&self, station: &Station) -> Option<Entry> {
        let is_stopped = self.stopped.as_ref().is_some_and(|(until, _)| *until > station.now);
        let waits = self.retry_at.is_some_and(|at| station.now < at);
        let keeps = station.is_halted || !station.is_clock_trusted || is_stopped || waits || self.is_stale;
        let may = |entry: &&Entry| station.is_free || (station.only_listens && !entry.listens);
        let entry = self.next(station.now).filter(|entry| !keeps && may(entry))?;
        let prepare_at = entry.prepare_at?;
        (later(station.now, AHEAD_S) >= prepare_at).then(|| entry.clone())
    }

    /// What comes, where it is worked.
    pub(super) fn upcoming(&self, now: Time) -> Option<&Entry> {
        self.next(now).filter(|_| self.on)
    }

    fn next(&self, now: Time) -> Option<&Entry> {
        self.outlook.as_ref()?.1.agenda.next(now)
    }

    /// The agenda was made.
    pub(super) fn made(&mut self, at: Time, outlook: Outlook) {
        self.busy_since = None;
        if self.retry_at.is_none_or(|retry_at| retry_at < at) {
            self.refusal = None;
        }
        self.outlook = Some((at, outlook));
    }

    /// A pass was begun, or given up because a person came first.
    pub(super) fn begun(&mut self) {
        self.busy_since = None;
        self.is_stale = true;
        (self.retry_at, self.refusal) = (None, None);
    }

    /// When a time may be listened to for its noise alone.
    pub(super) fn noise_after(&self, now: Time) -> Time {
        self.noise_after.filter(|after| seconds_between(now, *after) <= NOISE_EVERY_S).unwrap_or(now)
    }

    /// Such a time has begun.
    pub(super) fn noise_begun(&mut self, now: Time) {
        self.noise_after = Some(later(now, NOISE_EVERY_S));
    }

    /// A pass could not be begun.
    pub(super) fn refused(&mut self, now: Time, why: String) {
        self.busy_since = None;
        self.retry_at = Some(later(now, RETRY_S));
        self.refusal = Some(why);
    }

    /// For listeners; `None` while it is off.
    pub(super) fn status(&self, station: &Station) -> Option<AgendaStatus> {
        let next =
            self.next(station.now).filter(|entry| !station.only_listens || entry.span.from > station.now);
        let entry = |entry: &Entry| AgendaEntry {
            satellite: entry.satellite.clone(),
            link: entry.link.clone(),
            from: entry.span.from,
            until: entry.span.until,
            prepare_at: entry.prepare_at,
        };
        let why = self.why(station, next);
        self.on.then(|| AgendaStatus { auto: true, why, next: next.map(entry) })
    }

    fn why(&self, station: &Station, next: Option<&Entry>) -> String {
        let mut parts = Vec::new();
        if station.is_halted {
            parts.push("halted: nothing begins until resume".to_owned());
        }
        if !station.is_clock_trusted {
            parts.push("the clock can't be trusted: nothing begins".to_owned());
        }
        if let Some(job) = station.job.as_ref().filter(|_| !station.is_free && !station.only_listens) {
            parts.push(format!("{job} has the station"));
        }
        if let Some((until, what)) = self.stopped.as_ref().filter(|(until, _)| *until > station.now) {
            let until = until.format("%H:%M:%S");
            parts.push(format!("{what} was stopped by the operator: nothing begins before {until} UTC"));
        }
        parts.extend(self.refusal.clone());
        parts.push(match (next, &self.outlook) {
            (Some(entry), _) => {
                let from = entry.span.from.format("%H:%M:%S");
                let how = if entry.listens { "listening to " } else { "" };
                format!("next {how}{} {} at {from} UTC", entry.satellite, entry.link)
            }
            (None, Some(_)) => format!("nothing to work within {HORIZON_H} hours"),
            (None, None) => "the agenda is being made".to_owned(),
        });
        let complaints = self.outlook.as_ref().map_or(&[][..], |(_, outlook)| &outlook.complaints);
        parts.extend(complaints.iter().take(MOST_COMPLAINTS).cloned());
        if complaints.len() > MOST_COMPLAINTS {
            parts.push("`beamhand agenda` says what else is wrong".to_owned());
        }
        parts.join("; ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn free(seconds: f64) -> Station {
        Station {
            now: later(Time::default(), seconds),
            phase: Phase::Idle,
            job: None,
            is_free: true,
            only_listens: false,
            is_halted: false,
            is_clock_trusted: true,
        }
    }

    #[test]
    fn work_that_never_answers_is_begun_again() {
        let mut auto = Auto::resumed(true);
        assert_eq!(auto.wish(&free(0.0)), Wish::Outlook);
        assert_eq!(auto.wish(&free(119.0)), Wish::Nothing);
        assert_eq!(auto.wish(&free(121.0)), Wish::Outlook);
    }

    #[test]
    fn the_agenda_is_made_anew_every_ten_minutes_and_when_the_clock_goes_back() {
        let mut auto = Auto::resumed(true);
        let made = |auto: &mut Auto, at: f64| {
            assert_eq!(auto.wish(&free(at)), Wish::Outlook);
            auto.made(free(at).now, Outlook::default());
        };
        made(&mut auto, 0.0);
        assert_eq!(auto.wish(&free(599.0)), Wish::Nothing);
        made(&mut auto, 600.0);
        made(&mut auto, 300.0);
        auto.renew();
        made(&mut auto, 301.0);
    }

    #[test]
    fn while_it_is_off_nothing_is_wished_or_told() {
        let mut auto = Auto::default();
        assert_eq!(auto.wish(&free(0.0)), Wish::Nothing);
        assert_eq!(auto.status(&free(0.0)), None);
        auto.switch(true);
        assert!(auto.status(&free(0.0)).is_some_and(|status| status.why == "the agenda is being made"));
    }
}
