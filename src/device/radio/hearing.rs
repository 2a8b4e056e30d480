//! What a radio says of what it hears, while it is only listened with.

use std::collections::VecDeque;

use serde::{Deserialize, Serialize};

use crate::device::status::Heard;
use crate::device::values::Values;
use crate::terms::{Hertz, Moment, Time, seconds_between};

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
