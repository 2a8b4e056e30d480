//! A radio that works by turns is to be left on the VFO that receives: the plain commands act on
//! the one in use, so the receiver's next frequency, which no licence check sees, would else reach
//! the transmitter's dial.

use super::super::Dialect;
use super::super::exchange::Exchange;
use super::super::fault::DialectError;
use super::{ADDRESS, TRIED, samples};
use crate::device::values::Value;

/// The toggle: it is for the player, who knows where it leads.
const TOGGLE: &str = "do.swap_vfo";

/// Commands and questions that leave the other VFO selected.
pub(super) fn missing(dialect: &Dialect) -> Vec<DialectError> {
    let of_the_other = |verb: &&str| verb.starts_with("do.other_") || verb.starts_with("ask.other_");
    let away: Vec<u8> =
        dialect.verbs().filter(of_the_other).filter_map(|verb| acts_on(dialect, verb)).collect();
    let stays = |verb: &&str| left_on(dialect, verb).is_some_and(|vfo| away.contains(&vfo));
    let fault = |verb| {
        let text =
            format!("{verb} leaves the other VFO selected; `finally` has to select the plain one again");
        DialectError::at(dialect.name(), dialect.place_of(&[verb]), text)
    };
    dialect.verbs().filter(|verb| is_by_turns(dialect, verb)).filter(stays).map(fault).collect()
}

/// Whether it may be said while a radio works by turns.
fn is_by_turns(dialect: &Dialect, verb: &str) -> bool {
    let name = verb.split_once('.').map_or(verb, |(_, name)| name);
    let at_once = name.starts_with("rx_") || name.starts_with("tx_");
    verb != TOGGLE && !at_once && dialect.is_said(verb)
}

/// The VFO on which the last frame of `send` acts, if one was selected.
fn acts_on(dialect: &Dialect, verb: &str) -> Option<u8> {
    let exchange = tried(dialect, verb)?;
    dialect.family().receives_on(exchange.steps.iter().map(|step| step.frame.as_slice()))
}

/// The VFO that is selected afterwards.
fn left_on(dialect: &Dialect, verb: &str) -> Option<u8> {
    dialect.family().receives_on(tried(dialect, verb)?.frames())
}

fn tried(dialect: &Dialect, verb: &str) -> Option<Exchange> {
    let hertz = dialect.settable(verb, TRIED[0]);
    let values = samples(dialect).into_iter().next()?.with("hz", Value::Hertz(hertz));
    dialect.exchange(verb, &values, dialect.address().or(Some(ADDRESS))).ok()
}
