//! A dialect's trial: every ability is encoded when its file is read, so that a forbidden or
//! impossible command is found then and not in a pass.

use super::super::values::{Value, Values};
use super::Dialect;
use super::fault::DialectError;
use super::read::Read;
use crate::terms::Hertz;

/// The first fault of each ability.
pub(super) fn faults(read: &Read) -> Vec<DialectError> {
    let Read { dialect, places } = read;
    let samples = samples(dialect);
    let fault = |verb: &str| samples.iter().find_map(|values| fault_with(dialect, verb, values));
    let placed = |verb: &str| {
        let place = places.get(verb).copied().flatten();
        fault(verb).map(|fault| DialectError::at(dialect.name(), place, format!("{verb}: {fault}")))
    };
    dialect.verbs().filter_map(placed).collect()
}

fn fault_with(dialect: &Dialect, verb: &str, values: &Values) -> Option<String> {
    match dialect.exchange(verb, values, dialect.address().or(Some(0xA2))) {
        Ok(exchange) => exchange.forbidden(dialect.family()),
        Err(error) => Some(error.to_string()),
    }
}

/// Every mode and every tone comes at least once.
fn samples(dialect: &Dialect) -> Vec<Values> {
    let modes = dialect.modes();
    let tones = dialect.tones();
    let angles = [(0.0, 0.0, 1.0), (180.0, 45.0, 2.0), (359.0, 90.0, 4.0)];
    let hertz = [145_950_000, 435_500_000].map(Hertz);
    (0..modes.len().max(tones.len()).max(3))
        .map(|i| {
            let (azimuth, elevation, pulses) = angles[i % 3];
            let mut values = Values::of_direction(azimuth, elevation);
            for (name, value) in [("ph", pulses), ("pv", pulses), ("signal", 0.0)] {
                values = values.with(name, Value::Number(value));
            }
            values = values.with("hz", Value::Hertz(hertz[i % 2]));
            if !modes.is_empty() {
                values = values.with("mode", Value::Mode(modes[i % modes.len()]));
            }
            if !tones.is_empty() {
                values = values.with("tone", Value::Tone(tones[i % tones.len()]));
            }
            values
        })
        .collect()
}
