//! Following: which dial is worth a command now, and when there is time for a question.

use std::time::Duration;

use crate::terms::{Channel, Dial, Direction, Mode, Moment};

use super::errand::Errand;
use super::law::{Verdict, Want};
use super::{POLL_IDLE, RadioPlayer, lists};

/// A dial that was read so long ago at most is not read again before it is set, monotonic: a hand turns for
/// longer.
const LOOKED_LATELY: Duration = Duration::from_millis(30);

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
        // A hand at it has it: the session hears of that and lets go.
        if self.setup.receive_only && self.usage.words(&self.known, now.mono).is_some() {
            return self.poll_before(now.mono + POLL_IDLE, now).map_err(|until| until.min(watch_at));
        }
        self.follow_freely(tuning, now).map_err(|until| until.min(watch_at))
    }

    /// The same for a radio of which is known what the transmit key does.
    fn follow_freely(&mut self, tuning: Tuning, now: Moment) -> Result<Errand, Duration> {
        if let Some(question) = self.look_for_a_hand(&tuning, now) {
            return Ok(question);
        }
        if let Some(question) = self.overdue_poll(now) {
            return Ok(question);
        }
        // A dial that stands anywhere comes before a mode or tone that is probably right.
        if let Some(candidate) = &tuning.best
            && candidate.worth > FAR_OFF
        {
            return Ok(candidate.errand.clone());
        }
        if self.queue.is_empty() {
            if let Some(errand) = self.mode_or_tone(now) {
                self.correct(errand);
                return Err(now.mono);
            }
            self.by_operator = false;
        }
        match tuning.best {
            Some(candidate) => Ok(candidate.errand),
            None => self.poll_before(tuning.next, now),
        }
    }

    /// Before a dial is set that is only listened with it is read, or else a hand that has just turned it
    /// would not be noticed.
    fn look_for_a_hand(&self, tuning: &Tuning, now: Moment) -> Option<Errand> {
        let item = self.setup.item(Direction::Receive, "hz");
        let item = lists::selected_dial(&self.setup).unwrap_or(item);
        let best = tuning.best.as_ref().filter(|_| self.setup.receive_only)?;
        let is_known = self.known.dial(best.direction).hertz.is_some();
        let can_ask = lists::is_one_frame(&self.setup, &item) && !self.reticence.is_about(&item);
        let looked = self.usage.read_at().is_some_and(|at| now.mono.saturating_sub(at) < LOOKED_LATELY);
        (is_known && can_ask && !looked).then_some(Errand::Ask(item))
    }

    /// A mode or tone that differs from the plan: after a reconnection, or when the link changed.
    fn mode_or_tone(&mut self, now: Moment) -> Option<Errand> {
        let channel = self.wanted(now)?;
        let can = |errand: &Errand| self.setup.dialect.can(&errand.verb(&self.setup));
        for direction in self.setup.directions() {
            let Some(dial) = channel.dial(direction) else { continue };
            if self.hands_off && direction == Direction::Transmit {
                continue;
            }
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

    /// Sets it and reads it back; a radio that won't keep what it was told is left to the operator.
    fn correct(&mut self, errand: Errand) {
        if self.told.contains(&errand) {
            self.corrections += 1;
            if self.corrections > CORRECTIONS {
                self.note(errand.describe(), "does not stay as set; set it by hand");
                return;
            }
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
            if self.is_left_alone(direction, now) || self.refusals.hold_back(direction, now.mono) {
                continue;
            }
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
        let (direction, hertz) = match errand {
            Errand::Tune(direction, hertz) => (*direction, *hertz),
            Errand::TuneLive(hertz) => (Direction::Transmit, *hertz),
            _ => return false,
        };
        // With split, it may land on the transmitting VFO when the key is just being pressed.
        let may_follow = self.setup.receive_only && self.shares_a_dial && !self.setup.segments.is_empty();
        let may_land_there = self.may_land_on_transmitter || may_follow;
        let unsure = self.roles.are_unsure();
        if direction == Direction::Receive && !unsure && !may_land_there {
            return false;
        }
        // How far a shift goes is not known.
        let shifted = self.roles.may_be_shifted()
            && (direction == Direction::Transmit || self.roles.may_be_elsewhere());
        let outside = !self.setup.may_transmit_on(hertz);
        // What is only waited for is not worth a word.
        if (outside || shifted) && self.roles.are_unsettled() == unsure {
            let why = if shifted {
                "left alone: the repeater shift may be on; switch it off by hand, then beamhand stop and start"
            } else if direction == Direction::Transmit {
                "outside the transmit segments, so it is not tuned"
            } else if may_follow {
                "outside the transmit segments, where the transmitter may go along: not listened to"
            } else if unsure {
                "it may be where the radio would transmit, because the preparation failed; it is not tuned"
            } else {
                "outside the transmit segments, where it would land if you press the key just then; it is not tuned"
            };
            let is_new = self.note(errand.subject(), why);
            self.journal.refused += u64::from(is_new);
        }
        outside || shifted
    }

    /// What the law says of one dial: a command, or seconds of plan time without one.
    fn judge(&self, direction: Direction, cycle: f64, now: Moment) -> Option<Result<Candidate, f64>> {
        if self.is_held(direction) {
            return None;
        }
        let live = direction == Direction::Transmit && self.setup.visits_other() && self.known.on_air();
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
        let cycle = (cycle * now.speed).max(self.pause_s(direction));
        Some(match law.judge(dial, want, cycle) {
            Verdict::Rest(seconds) => Err(seconds),
            Verdict::Set(_) if self.pause_s(direction) > 0.0 && self.visited_lately(now) => {
                Err(self.until_visit_s(now))
            }
            Verdict::Set(hertz) => {
                let hertz = self.setup.settable(direction, at.mode, hertz);
                if dial == Some(hertz) {
                    // The few frequencies that can't be said are stepped over.
                    return Some(Err(RATE_OVER_S / 10.0));
                }
                let error = dial.map_or(f64::INFINITY, |dial| (wanted - dial).abs().as_f64());
                let worth = error / law.worthwhile.as_f64();
                let errand = if live { Errand::TuneLive(hertz) } else { Errand::Tune(direction, hertz) };
                Ok(Candidate { errand, direction, worth })
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
}
