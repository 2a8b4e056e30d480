//! Following: which dial is worth a command now, and when there is time for a question.

use std::time::Duration;

use crate::terms::{Channel, Dial, Direction, Mode, Moment};

use super::errand::Errand;
use super::law::{Verdict, Want};
use super::{RETRY, RadioPlayer};

/// How often the radio is asked something while it follows, seconds of plan time.
const POLL_S: f64 = 2.0;
/// How often a radio that can't be tuned while it transmits is asked whether it does, monotonic.
const TRANSMIT_POLL: Duration = Duration::from_millis(150);
/// How often modes and tones are set again in a pass before they are left to the operator.
const CORRECTIONS: u32 = 5;
/// An error of more worthwhile changes than this is more than a plan that moved on.
const FAR_OFF: f64 = 10.0;
/// Over which time the Doppler rate is taken, seconds.
const RATE_OVER_S: f64 = 1.0;

fn poll_every(now: Moment) -> Duration {
    Duration::from_secs_f64(POLL_S / now.speed)
}

/// The dial that is worth a command most.
struct Candidate {
    errand: Errand,
    /// Error in worthwhile changes.
    worth: f64,
}

impl RadioPlayer {
    /// The next errand while following, or the time until which there is none: first what keeps
    /// the rest from being in vain, then the dials, and questions when there is time for them.
    pub(super) fn follow(&mut self, now: Moment) -> Result<Errand, Duration> {
        if let Some(held) = self.hold(now) {
            return held;
        }
        if self.poll_is_overdue(now)
            && let Ok(question) = self.poll_if_due(Duration::ZERO, now)
        {
            return Ok(question);
        }
        let tuning = self.most_worth(now);
        // A dial that stands anywhere comes before a mode or tone that is probably right.
        if let Ok(candidate) = &tuning
            && candidate.worth > FAR_OFF
        {
            return Ok(candidate.errand.clone());
        }
        if self.queue.is_empty()
            && let Some(errand) = self.mode_or_tone(now)
        {
            self.correct(errand);
            return Err(now.mono);
        }
        match tuning {
            Ok(candidate) => Ok(candidate.errand),
            Err(until) => self.poll_before(until, now),
        }
    }

    /// Whether the radio has not been asked anything for too long.
    fn poll_is_overdue(&self, now: Moment) -> bool {
        let since = self.polled_at.map(|at| now.mono.saturating_sub(at));
        since.is_none_or(|since| since > 2 * poll_every(now))
    }

    /// A question, if one is due and is over before a dial is worth a command at `until`.
    fn poll_before(&mut self, until: Duration, now: Moment) -> Result<Errand, Duration> {
        if until.saturating_sub(now.mono) <= self.longest_poll() {
            return Err(until);
        }
        self.poll_if_due(poll_every(now), now).map_err(|due| due.min(until))
    }

    /// Where a radio can't be tuned while it transmits: everything waits while it does, and it is
    /// asked again and again whether it still does.
    fn hold(&mut self, now: Moment) -> Option<Result<Errand, Duration>> {
        if self.setup.dialect.tunes_while_transmitting() || !self.can_ask_whether_it_transmits() {
            return None;
        }
        let again = self.known.transmit_state_read_at().map(|at| at + TRANSMIT_POLL);
        match self.known.transmitting(now.mono) {
            Some(false) => None,
            Some(true) if again.is_some_and(|again| now.mono < again) => again.map(Err),
            Some(true) | None => Some(Ok(Errand::Ask("transmitting".to_owned()))),
        }
    }

    /// A mode or tone that differs from the plan: after a reconnection, or when the link changed.
    fn mode_or_tone(&mut self, now: Moment) -> Option<Errand> {
        let channel = self.wanted(now)?;
        let can = |errand: &Errand| self.setup.dialect.can(&errand.verb(&self.setup));
        for direction in self.setup.directions() {
            let Some(dial) = channel.dial(direction) else { continue };
            let errand = Errand::Mode(direction, dial.mode);
            if self.mode_differs(direction, dial.mode) && can(&errand) && !self.was_given_up(&errand) {
                return Some(errand);
            }
            let errand = Errand::Tone(dial.tone);
            let differs = self.known.tone != Some(dial.tone);
            if direction == Direction::Transmit && differs && can(&errand) && !self.was_given_up(&errand) {
                return Some(errand);
            }
        }
        None
    }

    /// Whether a dial's mode is another, or is not known and can't be asked for by one frame.
    fn mode_differs(&self, direction: Direction, wanted: Mode) -> bool {
        let ask = Errand::Ask(self.setup.item(direction, "mode"));
        let can_ask = || ask.encoded(&self.setup).is_ok_and(|said| said.frames().count() == 1);
        match self.known.dial(direction).mode {
            Some(mode) => mode != wanted,
            None => !can_ask(),
        }
    }

    /// Sets it again and reads it back; a radio that won't keep it is left to the operator.
    fn correct(&mut self, errand: Errand) {
        self.corrections += 1;
        if self.corrections > CORRECTIONS {
            self.note(errand.describe(), "does not stay as set; set it by hand");
            return;
        }
        let read_back = match &errand {
            Errand::Mode(direction, _) => Some(Errand::Ask(self.setup.item(*direction, "mode"))),
            _ => None,
        };
        self.queue.push_back(errand);
        self.queue.extend(read_back.filter(|ask| self.setup.dialect.can(&ask.verb(&self.setup))));
    }

    /// Whether the operator was asked to do it by hand.
    fn was_given_up(&self, errand: &Errand) -> bool {
        let what = errand.describe();
        self.notes.iter().any(|note| note.what == what)
    }

    /// The dial that is worth a command most, or the time until which none is.
    fn most_worth(&mut self, now: Moment) -> Result<Candidate, Duration> {
        let directions: Vec<Direction> = self.setup.directions().collect();
        let cycle = self.cycle(&directions, now);
        let mut best: Option<Candidate> = None;
        let mut rest = 0.5_f64;
        for direction in directions {
            match self.judge(direction, cycle, now) {
                Some(Ok(candidate)) if !self.is_outside(&candidate.errand) => {
                    if best.as_ref().is_none_or(|other| candidate.worth > other.worth) {
                        best = Some(candidate);
                    }
                }
                Some(Err(seconds)) => rest = rest.min(seconds / now.speed),
                Some(Ok(_)) | None => {}
            }
        }
        best.ok_or(now.mono + Duration::from_secs_f64(rest))
    }

    /// Whether a frequency on which the radio would transmit lies outside the licence: it is not
    /// sent, and said once. After a preparation that failed that may be either dial's.
    pub(super) fn is_outside(&mut self, errand: &Errand) -> bool {
        let Errand::Tune(direction, hertz) = errand else { return false };
        if *direction == Direction::Receive && !self.unprepared {
            return false;
        }
        let outside = !self.setup.may_transmit_on(*hertz);
        if outside && !self.outside_segments {
            self.journal.refused += 1;
            let why = if self.unprepared {
                "it may be where the radio would transmit, because the preparation failed; it is not tuned"
            } else {
                "outside the transmit segments, so it is not tuned"
            };
            self.note(format!("{direction} {hertz}"), why);
        }
        self.outside_segments = outside;
        outside
    }

    /// What the law says of one dial: a command, or seconds of plan time without one.
    fn judge(&self, direction: Direction, cycle: f64, now: Moment) -> Option<Result<Candidate, f64>> {
        let plan = self.plan.as_ref()?;
        let flight = self.landing(direction, now)?;
        let landing = now.utc_after(Duration::from_secs_f64(flight));
        let later = crate::terms::later(landing, RATE_OVER_S);
        let (at, then): (Dial, Channel) = (plan.at(landing)?.dial(direction)?, plan.at(later)?);
        let rate = (then.dial(direction)?.hertz - at.hertz).as_f64() / RATE_OVER_S;
        let law = self.setup.law(at.mode);
        let dial = self.known.dial(direction).hertz;
        let wanted = self.setup.on_dial(direction, at.hertz);
        let want = Want { hertz: wanted, rate };
        Some(match law.judge(dial, want, cycle * now.speed) {
            Verdict::Rest(seconds) => Err(seconds),
            Verdict::Set(hertz) => {
                let hertz = self.setup.settable(direction, at.mode, hertz);
                if dial == Some(hertz) {
                    // The few frequencies that can't be said are stepped over.
                    return Some(Err(RATE_OVER_S / 10.0));
                }
                let error = dial.map_or(f64::INFINITY, |dial| (wanted - dial).abs().as_f64());
                let worth = error / law.worthwhile.as_f64();
                Ok(Candidate { errand: Errand::Tune(direction, hertz), worth })
            }
        })
    }

    /// How long a tuning command sent now takes to land, monotonic seconds.
    fn landing(&self, direction: Direction, now: Moment) -> Option<f64> {
        let exchange = self.sample(direction, now)?;
        Some(self.tempo.landing(&exchange))
    }

    /// A tuning command as it would be now, for its length.
    fn sample(&self, direction: Direction, now: Moment) -> Option<crate::device::dialect::Exchange> {
        let dial = self.wanted(now)?.dial(direction)?;
        let hertz = self.setup.dial_for(direction, dial);
        Errand::Tune(direction, hertz).encoded(&self.setup).ok()
    }

    /// The time between two commands of one direction when the line is busy, monotonic seconds.
    fn cycle(&self, directions: &[Direction], now: Moment) -> f64 {
        let durations =
            directions.iter().filter_map(|direction| Some(self.tempo.whole(&self.sample(*direction, now)?)));
        durations.sum()
    }

    /// How long the slowest question blocks the line.
    fn longest_poll(&self) -> Duration {
        let polls = super::lists::pollable(&self.setup).into_iter().map(Errand::Ask);
        let longest = polls
            .filter_map(|errand| Some(self.tempo.whole(&errand.encoded(&self.setup).ok()?)))
            .fold(0.0, f64::max);
        Duration::from_secs_f64(longest).min(RETRY)
    }
}
