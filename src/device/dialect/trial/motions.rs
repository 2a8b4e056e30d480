//! What a dialect may do to a rotator: only an aim turns it, and to where it was told. A question
//! asks, a stop stops, and there is nothing else.

use super::super::super::family::{Axis, Motion};
use super::super::super::values::Values;
use super::super::Dialect;
use super::super::exchange::Exchange;

/// What is wrong with one command or question of a rotator, encoded for `values`.
pub(super) fn fault(dialect: &Dialect, name: &str, exchange: &Exchange, values: &Values) -> Option<String> {
    if !dialect.family.is_rotators() {
        return None;
    }
    let motions: Option<Vec<Motion>> = exchange.frames().map(|frame| dialect.family.motion(frame)).collect();
    let Some(motions) = motions else {
        return Some("it is no direction, no question and no stop of this family".into());
    };
    let all = |kind: Motion| motions.iter().all(|motion| *motion == kind);
    match name {
        "do.aim" => misaimed(&motions, values, &[(Axis::Azimuth, "az"), (Axis::Elevation, "el")]),
        "do.azimuth" => misaimed(&motions, values, &[(Axis::Azimuth, "az")]),
        "do.stop" => (!all(Motion::Stop)).then(|| "it is no stop of this family".into()),
        _ if name.starts_with("ask.") => {
            (!all(Motion::Ask)).then(|| "it is no question of this family".into())
        }
        _ => Some("a rotator has do.aim, do.azimuth and do.stop alone".into()),
    }
}

/// Each axis once, azimuth first, at the degrees that were given.
fn misaimed(motions: &[Motion], values: &Values, wanted: &[(Axis, &str)]) -> Option<String> {
    let mut there = Vec::new();
    for motion in motions {
        match motion {
            Motion::Go(axes) => there.extend_from_slice(axes),
            Motion::Ask | Motion::Stop => return Some("it does more than go to a direction".into()),
        }
    }
    let is_there = |((axis, degrees), (wanted, field)): (&(Axis, f64), &(Axis, &str))| {
        let meant = values.number(field).unwrap_or(f64::NAN);
        axis == wanted && (degrees - meant).abs() <= 1e-6
    };
    let as_meant = there.len() == wanted.len() && there.iter().zip(wanted).all(is_there);
    let fields: Vec<String> = wanted.iter().map(|(_, field)| format!("{{{field}}}")).collect();
    (!as_meant).then(|| format!("it does not go to {}, in this order and as they are", fields.join(" and ")))
}
