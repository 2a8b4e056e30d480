//! A dialect's trial: every ability is encoded when its file is read, so that a forbidden,
//! impossible or misdirected command is found then and not in a pass.

mod dials;
mod motions;
mod returns;

use super::super::values::{Kind, Value, Values};
use super::Dialect;
use super::abilities::carried;
use super::fault::DialectError;
use crate::terms::Hertz;

/// The address on a bus that stands for any.
const ADDRESS: u8 = 0xA2;

/// What a rotator's controller says of itself, and is told again.
const PULSES: [&str; 2] = ["ph", "pv"];

/// No command of any of the languages is half as long.
const LONGEST: usize = 64;

/// The frequencies of a trial; they are set as the players would have them. Their last digits
/// differ, so that a form that drops some is found.
const TRIED: [Hertz; 3] = [Hertz(145_951_234), Hertz(435_501_877), Hertz(144_006_541)];

/// The first fault of each ability, and what is wrong between them. `base` is the built-in dialect
/// below.
pub(super) fn faults(dialect: &Dialect, base: Option<&Dialect>) -> Vec<DialectError> {
    let samples = samples(dialect);
    let tried = |verb: &str| {
        let hertz = TRIED.map(|wanted| dialect.settable(verb, wanted));
        let with = |(values, hertz): (&Values, &Hertz)| fault_with(dialect, verb, *hertz, values);
        let mut all = samples.iter().zip(hertz.iter().cycle()).take(different(dialect, verb));
        all.find_map(with).or_else(|| without_value(dialect, verb))
    };
    let placed = |verb: &str| {
        let place = dialect.place_of(&[verb]);
        tried(verb).map(|fault| DialectError::at(dialect.name(), place, format!("{verb}: {fault}")))
    };
    let faults: Vec<DialectError> = dialect.verbs().filter_map(placed).collect();
    let between = || Some(dials::mixed_up(dialect, base)).filter(|faults| !faults.is_empty());
    if faults.is_empty() { between().unwrap_or_else(|| returns::missing(dialect)) } else { faults }
}

/// A field that nobody fills in when the command is sent.
fn without_value(dialect: &Dialect, verb: &str) -> Option<String> {
    let question = dialect.verbs.get(&verb.replacen("do.", "ask.", 1));
    let learnt = |field: &str| {
        question.is_none_or(|question| question.answer.iter().any(|form| form.fields().contains(&field)))
    };
    let is_known = |field: &&str| carried(verb).contains(field) && (!PULSES.contains(field) || learnt(field));
    let field = dialect.needs(verb).into_iter().find(|field| !is_known(field))?;
    Some(match carried(verb) {
        [] => format!("it needs {field}, and no value is known when it is sent"),
        _ if PULSES.contains(&field) => format!("it needs {field}, which no answer to the question reads"),
        known => format!("it needs {field}; what is known when it is sent: {}", known.join(", ")),
    })
}

/// So many of the samples make frames that differ: what is no mode and no tone comes round by threes.
fn different(dialect: &Dialect, verb: &str) -> usize {
    let has_code = |field: &str| matches!(Kind::of(field), Some((_, Kind::Mode | Kind::Tone)));
    if dialect.needs(verb).into_iter().any(has_code) { usize::MAX } else { TRIED.len() }
}

fn fault_with(dialect: &Dialect, verb: &str, hertz: Hertz, values: &Values) -> Option<String> {
    let values = values.clone().with("hz", Value::Hertz(hertz));
    match dialect.exchange(verb, &values, dialect.address().or(Some(ADDRESS))) {
        Ok(exchange) if exchange.frames().any(|frame| frame.len() > LONGEST) => {
            Some(format!("a frame has at most {LONGEST} bytes"))
        }
        Ok(exchange) => exchange
            .forbidden(dialect.family())
            .or_else(|| dials::fault(dialect, verb, &exchange, hertz))
            .or_else(|| motions::fault(dialect, verb, &exchange, &values)),
        Err(error) => Some(error.to_string()),
    }
}

/// Every mode and every tone comes at least once.
fn samples(dialect: &Dialect) -> Vec<Values> {
    let modes = dialect.modes();
    let tones = dialect.tones();
    let angles = [(0.0, 0.0, 1.0), (180.0, 45.0, 2.0), (359.0, 90.0, 4.0)];
    (0..modes.len().max(tones.len()).max(3))
        .map(|i| {
            let (azimuth, elevation, pulses) = angles[i % 3];
            let mut values = Values::of_direction(azimuth, elevation);
            for (name, value) in [("ph", pulses), ("pv", pulses), ("signal", 0.0)] {
                values = values.with(name, Value::Number(value));
            }
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
