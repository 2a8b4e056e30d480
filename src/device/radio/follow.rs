//! Following: which dial is worth a command now, and when there is time for a question.

use std::time::Duration;

use crate::terms::{Channel, Dial, Direction, Moment};

use super::errand::Errand;
use super::law::{Verdict, Want};
use super::{RETRY, RadioPlayer};

/// How often the radio is asked something while it follows, seconds of plan time.
const POLL_S: f64 = 2.0;
/// How often a radio that can't be tuned while it transmits is asked whether it does, monotonic.
const TRANSMIT_POLL: Duration = Duration::from_millis(300);
/// How often modes and tones are set again in a pass before they are left to the operator.
const CORRECTIONS: u32 = 5;
/// Over which time the Doppler rate is taken, seconds.
const RATE_OVER_S: f64 = 1.0;

/// The dial that is worth a command most.
struct Candidate {
    errand: Errand,
    /// Error in worthwhile changes.
    worth: f64,
}

impl RadioPlayer {
    /// The next errand while following, or the time until which there is none.
    pub(super) fn follow(&mut self, now: Moment) -> Result<Errand, Duration> {
        let poll_every = Duration::from_secs_f64(POLL_S / now.speed);
        let since_poll = self.polled_at.map(|at| now.mono.saturating_sub(at));
        if since_poll.is_none_or(|since| since > 2 * poll_every) {
            return self.poll_if_due(Duration::ZERO, now).or_else(|_| self.tune_or_rest(now));
        }
        if self.must_hold() {
            self.hold(now)?;
        }
        if let Some(errand) = self.mode_or_tone(now) {
            self.correct(errand);
            return Err(now.mono);
        }
        let until = match self.tune_or_rest(now) {
            Ok(errand) => return Ok(errand),
            Err(until) => until,
        };
        // A question must not make a tuning command late.
        let enough = until.saturating_sub(now.mono) > self.longest_poll();
        if enough { self.poll_if_due(poll_every, now).map_err(|due| due.min(until)) } else { Err(until) }
    }

    /// Whether tuning has to wait for the end of a transmission.
    fn must_hold(&self) -> bool {
        !self.setup.dialect.tunes_while_transmitting() && self.setup.dialect.can("ask.transmitting")
    }

    /// Holds everything while the radio transmits, and keeps asking whether it still does.
    fn hold(&mut self, now: Moment) -> Result<(), Duration> {
        match self.known.transmitting(now.mono) {
            Some(false) => Ok(()),
            Some(true)
                if self.known.transmit_state_read_at().is_some_and(|at| now.mono < at + TRANSMIT_POLL) =>
            {
                Err(self.known.transmit_state_read_at().unwrap_or_default() + TRANSMIT_POLL)
            }
            Some(true) | None => {
                self.queue.push_back(Errand::Ask("transmitting".to_owned()));
                Err(now.mono)
            }
        }
    }

    /// A mode or tone that differs from the plan: after a reconnection, or when the link changed.
    fn mode_or_tone(&mut self, now: Moment) -> Option<Errand> {
        let channel = self.wanted(now)?;
        let can = |errand: &Errand| self.setup.dialect.can(&errand.verb(&self.setup));
        for direction in self.setup.directions() {
            let Some(dial) = channel.dial(direction) else { continue };
            let known = self.known.dial(direction).mode;
            let errand = Errand::Mode(direction, dial.mode);
            if known.is_some_and(|mode| mode != dial.mode) && can(&errand) && !self.was_given_up(&errand) {
                return Some(errand);
            }
            let errand = Errand::Tone(dial.tone);
            let differs = self.known.tone.is_some_and(|tone| tone != dial.tone);
            if direction == Direction::Transmit && differs && can(&errand) && !self.was_given_up(&errand) {
                return Some(errand);
            }
        }
        None
    }

    /// Sets it again and reads it back; a radio that won't keep it is left to the operator.
    fn correct(&mut self, errand: Errand) {
        self.corrections += 1;
        if self.corrections > CORRECTIONS {
            self.note(format!("{}: does not stay as set; set it by hand", errand.describe()));
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
        self.notes.iter().any(|note| note.starts_with(&what))
    }

    fn tune_or_rest(&mut self, now: Moment) -> Result<Errand, Duration> {
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
        best.map(|candidate| candidate.errand).ok_or(now.mono + Duration::from_secs_f64(rest))
    }

    /// Whether a transmit frequency lies outside the licence: it is not sent, and said once.
    fn is_outside(&mut self, errand: &Errand) -> bool {
        let Errand::Tune(Direction::Transmit, hertz) = errand else { return false };
        let outside = !self.setup.segments.allow(*hertz);
        if outside && !self.outside_segments {
            self.journal.refused += 1;
            self.note(format!(
                "uplink {hertz}: outside the transmit segments, so the transmitter is not tuned"
            ));
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
        let want = Want { hertz: at.hertz, rate };
        Some(match law.judge(dial, want, cycle * now.speed) {
            Verdict::Rest(seconds) => Err(seconds),
            Verdict::Set(hertz) => {
                let hertz = self.setup.settable(direction, at.mode, hertz);
                let error = dial.map_or(f64::INFINITY, |dial| (at.hertz - dial).abs().as_f64());
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
        let hertz = self.setup.settable(direction, dial.mode, dial.hertz);
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
