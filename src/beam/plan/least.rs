//! The least error that leaves the mount a way.

use super::field::Field;
use super::reach::{Layer, Rows, reach};
use super::{Sample, Start};

/// Errors below this are not told apart, degrees: half of what the finest read-out shows.
const FINEST_DEG: f64 = 0.05;
/// The error is found to so many parts of itself.
const WITHIN: f64 = 0.004;
/// Rows are so many parts of the error apart. The best elevation is then missed by a twentieth of it at
/// most, which costs a part in 800.
const ROWS: f64 = 10.0;
/// Samples are multiples of this apart, so that an axis gets on by whole rows, seconds.
const TICK_S: f64 = 0.5;

/// The least error, degrees, and every place that it allows.
pub(super) fn least_error(
    field: &Field<'_>,
    sky: &[Sample],
    start: Option<Start>,
) -> Option<(f64, Vec<Layer>)> {
    let allow = |error: f64| reach(field, rows(field, error), sky, start, error);
    let (mut low, mut high) = (FINEST_DEG / 4.0, FINEST_DEG);
    let mut layers = loop {
        if let Some(layers) = allow(high) {
            break layers;
        }
        if high >= 180.0 {
            return None;
        }
        (low, high) = (high, (4.0 * high).min(180.0));
    };
    while low >= FINEST_DEG && high / low > 1.0 + WITHIN {
        let middle = (low * high).sqrt();
        match allow(middle) {
            Some(found) => (layers, high) = (found, middle),
            None => low = middle,
        }
    }
    Some((high, layers))
}

/// Rows a tenth of the error apart, or finer, so that the elevation's speed is whole rows a tick.
fn rows(field: &Field<'_>, error: f64) -> Rows {
    let tick = field.mount.slew.elevation * TICK_S;
    let step = tick / (tick * ROWS / error).ceil().max(1.0);
    Rows { tilt: field.tilt(), step }
}
