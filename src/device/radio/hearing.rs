//! What a radio says of what it hears, while it is only listened with.

use std::collections::VecDeque;

use serde::{Deserialize, Serialize};

use crate::device::dialect::Arrangement;
use crate::device::order::ChannelPlan;
use crate::device::status::{Heard, RadioStage};
use crate::device::values::Values;
use crate::terms::{Hertz, Moment, Time, seconds_between};

use super::{RadioPlayer, THE_TRANSMITTER, Use};

/// So many are shown: a reader that comes round a few times a second misses none.
const SHOWN: usize = 16;
/// So long a squelch that was read counts for the meter's readings, seconds of plan time.
const COUNTS_FOR_S: f64 = 1.0;

/// The last readings.
#[derive(Debug, Default, Serialize, Deserialize)]
pub(super) struct Hearing {
    count: u64,
    last: VecDeque<Heard>,
    /// The squelch, as it was read by itself, and when.
    squelch: Option<(bool, Time)>,
    /// The meter's answer tells the squelch too.
    both_at_once: bool,
    /// The meter was answered since it began.
    has_meter: bool,
}

impl Hearing {
    /// Begins anew; numbers go on.
    pub(super) fn begin(&mut self) {
        *self = Self { count: self.count, ..Self::default() };
    }

    /// Takes an answer that tells of it, while the dial stands there; `None`: nobody knows where.
    pub(super) fn take(&mut self, values: &Values, dial: Option<Hertz>, now: Moment) {
        let signal = values.number("signal").map(|signal| signal.clamp(0.0, f64::from(u16::MAX)) as u16);
        let open = values.flag("squelch_open");
        if signal.is_none() && open.is_none() {
            return;
        }
        self.both_at_once |= signal.is_some() && open.is_some();
        self.has_meter |= signal.is_some();
        if let Some(open) = open {
            self.squelch = Some((open, now.utc));
        }
        // A squelch by itself is told with the meter's next reading, where there is one.
        let Some(dial) = dial.filter(|_| signal.is_some() || !self.has_meter) else { return };
        let fresh = |(_, at): &(bool, Time)| seconds_between(*at, now.utc).abs() <= COUNTS_FOR_S;
        let open = self.squelch.filter(fresh).map(|(open, _)| open);
        self.count += 1;
        if self.last.len() == SHOWN {
            self.last.pop_front();
        }
        self.last.push_back(Heard { number: self.count, at: now.utc, dial, signal, open });
    }

    /// Whether this need not be asked, because another answer tells it.
    pub(super) fn comes_along(&self, item: &str) -> bool {
        item == "squelch" && self.both_at_once
    }

    /// The last readings.
    pub(super) fn shown(&self) -> Vec<Heard> {
        self.last.iter().copied().collect()
    }
}

impl RadioPlayer {
    /// From now on it is only listened with, or not any more.
    pub(super) fn only_listen(&mut self, listens: bool) {
        self.listens = listens;
        self.setup.receive_only = listens;
        // By itself the VFO that receives is a receiver's; so is the only dial that is left to a radio of two
        // bands without its satellite function.
        let has_one_dial = self.full_use == Use::HalfDuplex || self.has_two_dials_by_function();
        let is_receiver = listens && has_one_dial;
        self.setup.uses = if is_receiver { Use::Receive } else { self.full_use };
    }

    /// Whether the dials of its two bands take effect only while its satellite function is on.
    fn has_two_dials_by_function(&self) -> bool {
        let dialect = &self.setup.dialect;
        let steps = dialect.preparation(Arrangement::Duplex);
        self.full_use == Use::Both && dialect.can("do.hz") && steps.iter().any(|step| step == "duplex_on")
    }

    /// Begins with what the radio has.
    pub(super) fn engage(&mut self, plan: ChannelPlan, now: Moment) {
        self.plan = Some(plan);
        self.memory = None;
        self.last_over = None;
        self.notes.retain(|note| note.what == THE_TRANSMITTER && !self.listens);
        self.enter(RadioStage::Reading, now);
    }
}
