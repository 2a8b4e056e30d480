//! Following: which dial is worth a command now, and when there is time for a question.

use std::time::Duration;

use crate::terms::{Channel, Dial, Direction, Mode, Moment};

use super::errand::Errand;
use super::law::{Verdict, Want};
use super::{RETRY, RadioPlayer};

/// How often each dial is read back while the radio follows, seconds of plan time.
const POLL_S: f64 = 2.4;
/// A question that did not fit between the tuning commands for so long goes before them, seconds
/// of plan time: a dial that was turned by hand has to be seen.
const OVERDUE_S: f64 = 2.5;
/// How often modes and tones are set again in a pass before they are left to the operator.
const CORRECTIONS: u32 = 5;
/// An error of more worthwhile changes than this is more than a plan that moved on.
const FAR_OFF: f64 = 10.0;
/// Over which time the Doppler rate is taken, seconds.
const RATE_OVER_S: f64 = 1.0;

/// A dial that is worth a command.
#[derive(Clone)]
struct Candidate {
    errand: Errand,
    direction: Direction,
    /// Error in worthwhile changes.
    worth: f64,
}

/// What the dials need.
struct Tuning {
    /// The one that is worth a command most.
    best: Option<Candidate>,
    /// When the next one is, monotonic.
    next: Duration,
    /// When the next one is that heeds the transmit key.
    next_by_key: Duration,
}

impl Tuning {
    fn offer(&mut self, candidate: Candidate) {
        if self.best.as_ref().is_none_or(|best| candidate.worth > best.worth) {
            self.best = Some(candidate);
        }
    }
}

impl RadioPlayer {
    /// The next errand while following, or the time until which there is none: first what keeps
    /// the rest from being in vain, then the dials, and questions when there is time for them.
    pub(super) fn follow(&mut self, now: Moment) -> Result<Errand, Duration> {
        let tuning = self.tuning(now);
        let watch_at = match self.watch(tuning.next_by_key, now) {
            Ok(question) => return Ok(question),
            Err(until) => until,
        };
        if self.all_is_held() {
            return Err(watch_at);
        }
        self.follow_freely(tuning, now).map_err(|until| until.min(watch_at))
    }

    /// The same for a radio of which is known what the transmit key does.
    fn follow_freely(&mut self, tuning: Tuning, now: Moment) -> Result<Errand, Duration> {
        if self.poll_is_overdue(now)
            && let Ok(question) = self.poll_if_due(Duration::ZERO, now)
        {
            return Ok(question);
        }
        // A dial that stands anywhere comes before a mode or tone that is probably right.
        if let Some(candidate) = &tuning.best
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
        match tuning.best {
            Some(candidate) => Ok(candidate.errand),
            None => self.poll_before(tuning.next, now),
        }
    }

    /// Whether the radio has not been asked anything for too long.
    fn poll_is_overdue(&self, now: Moment) -> bool {
        let since = self.polled_at.map(|at| now.mono.saturating_sub(at).as_secs_f64() * now.speed);
        since.is_none_or(|since| since > OVERDUE_S)
    }

    /// A question, if one is due and is over before a dial is worth a command at `until`.
    fn poll_before(&mut self, until: Duration, now: Moment) -> Result<Errand, Duration> {
        if until.saturating_sub(now.mono) <= self.longest_poll() {
            return Err(until);
        }
        let each = POLL_S / self.poll_items().len().max(1) as f64;
        self.poll_if_due(Duration::from_secs_f64(each / now.speed), now).map_err(|due| due.min(until))
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

    /// Which dial is worth a command most, and when the next one will be.
    fn tuning(&mut self, now: Moment) -> Tuning {
        let directions: Vec<Direction> = self.setup.directions().collect();
        let cycle = self.cycle(&directions, now);
        let rest = now.mono + Duration::from_secs_f64(0.5);
        let mut tuning = Tuning { best: None, next: rest, next_by_key: Duration::MAX };
        for direction in directions {
            let due = match self.judge(direction, cycle, now) {
                Some(Ok(candidate)) if !self.is_outside(&candidate.errand) => {
                    tuning.offer(candidate);
                    now.mono
                }
                Some(Err(seconds)) => now.mono + Duration::from_secs_f64(seconds / now.speed),
                Some(Ok(_)) | None => continue,
            };
            tuning.next = tuning.next.min(due);
            if self.heeds_key(direction) {
                tuning.next_by_key = tuning.next_by_key.min(due);
            }
        }
        tuning.best.take_if(|best| !self.key_is_known_for(best.direction, now));
        tuning
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
        if self.is_held(direction) {
            return None;
        }
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
                Ok(Candidate { errand: Errand::Tune(direction, hertz), direction, worth })
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
        let polls = self.poll_items().into_iter().map(Errand::Ask);
        let longest = polls
            .filter_map(|errand| Some(self.tempo.whole(&errand.encoded(&self.setup).ok()?)))
            .fold(0.0, f64::max);
        Duration::from_secs_f64(longest).min(RETRY)
    }
}
