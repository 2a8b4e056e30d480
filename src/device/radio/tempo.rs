//! How long exchanges take on this line, as measured.

use std::collections::HashMap;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::device::dialect::Exchange;

/// A new measurement's weight in the running mean.
const WEIGHT: f64 = 0.2;

/// Mean durations of whole exchanges by verb, monotonic seconds.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Tempo {
    byte_time: Duration,
    means: HashMap<String, f64>,
}

impl Tempo {
    pub(super) fn new(byte_time: Duration) -> Self {
        Self { byte_time, means: HashMap::new() }
    }

    /// Notes how long an exchange took.
    pub(super) fn measured(&mut self, verb: &str, took: Duration) {
        let took = took.as_secs_f64();
        match self.means.get_mut(verb) {
            Some(mean) => *mean += WEIGHT * (took - *mean),
            None => {
                self.means.insert(verb.to_owned(), took);
            }
        }
    }

    /// How long an exchange will block the line: as measured, or by its bytes alone.
    pub(super) fn whole(&self, exchange: &Exchange) -> f64 {
        let by_bytes = exchange.bytes() as f64 * self.byte_time.as_secs_f64();
        self.means.get(&exchange.verb).copied().unwrap_or(by_bytes)
    }

    /// How long after its beginning an exchange has its effect: when the last byte of its last
    /// command has left, before anything that tidies up.
    pub(super) fn landing(&self, exchange: &Exchange) -> f64 {
        let frames: usize = exchange.steps.iter().map(|step| step.frame.len()).sum();
        if exchange.steps.len() == 1 {
            return frames as f64 * self.byte_time.as_secs_f64();
        }
        self.whole(exchange) * frames as f64 / (exchange.bytes().max(1)) as f64
    }
}
