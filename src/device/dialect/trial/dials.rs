//! What a dialect may do to a radio's dials. Only a tuning command is compared with the licence,
//! so nothing else may set a frequency, each must set the very one that it is given, and what
//! tunes the receiver may not reach the transmitter's dial.

use super::super::super::values::Values;
use super::super::exchange::{Exchange, Step};
use super::super::fault::DialectError;
use super::super::{Dialect, Template, Verb};
use super::{ADDRESS, TRIED};
use crate::terms::Hertz;

/// The commands whose frequency the licence check has seen.
const TUNING: [&str; 4] = ["do.hz", "do.rx_hz", "do.tx_hz", "do.other_hz"];

/// The two dials of a radio that does both: what receives, and what transmits.
const PAIRS: [(&str, &str); 2] = [("do.rx_hz", "do.tx_hz"), ("do.hz", "do.other_hz")];

/// What is wrong with one command or question, encoded to set `hertz`.
pub(super) fn fault(dialect: &Dialect, name: &str, exchange: &Exchange, hertz: Hertz) -> Option<String> {
    let verb = dialect.verbs.get(name)?;
    let tunes = TUNING.contains(&name);
    let asked = if name.starts_with("ask.") { exchange.steps.len().checked_sub(1) } else { None };
    let sent = exchange.steps.iter().zip(&verb.send).enumerate();
    let sent = sent.map(|(i, (step, template))| (step, template, tunes, Some(i) == asked));
    let after =
        exchange.finally.iter().zip(&verb.finally).map(|(step, template)| (step, template, false, false));
    sent.chain(after).find_map(|(step, template, may_tune, is_question)| {
        let family = dialect.family;
        if let Some(how) = family.displaces(&step.frame, is_question) {
            return Some(format!("\"{template}\" {how}, and no licence check sees where"));
        }
        if tunes && family.exchanges(&step.frame) {
            return Some(format!("\"{template}\" exchanges the dials in the middle of tuning one"));
        }
        misused(dialect, step, template, may_tune, hertz)
    })
}

fn misused(
    dialect: &Dialect,
    step: &Step,
    template: &Template,
    may_tune: bool,
    hertz: Hertz,
) -> Option<String> {
    let tuned = dialect.family.tuned(&step.frame);
    if tuned.is_none() && !template.takes_frequency() {
        return None;
    }
    if !may_tune {
        return Some(format!(
            "\"{template}\" sets a frequency; only what is sent in {} may do that",
            TUNING.join(", ")
        ));
    }
    let unlike = || format!("\"{template}\" does not take {{hz}} as it is, or in another unit");
    match tuned {
        _ if !template.takes_one_value_as_it_is() => Some(unlike()),
        Some(tuned) => (tuned.hertz != Some(hertz)).then(|| match tuned.hertz {
            Some(other) => format!(
                "\"{template}\" sets {other} where {hertz} is meant; {{hz}} must come through whole to step_hz"
            ),
            None => format!("\"{template}\" sets no whole number of hertz"),
        }),
        None if dialect.family.has_other_tuning_commands() => None,
        None => Some(format!("\"{template}\" is no command of this family that sets a frequency")),
    }
}

/// Where the receiver's command reaches the transmitter's dial, in this dialect or in `base`, the
/// built-in one below it.
pub(super) fn mixed_up(dialect: &Dialect, base: Option<&Dialect>) -> Vec<DialectError> {
    let mut faults = Vec::new();
    for (receiving, transmitting) in PAIRS {
        let own = dials(dialect, receiving);
        let at_once = receiving == "do.rx_hz";
        if meet(&own, &dials(dialect, transmitting), at_once) {
            let at = dialect.place_of(&[receiving, transmitting]);
            let text = format!("{receiving} reaches the dial that {transmitting} sets");
            faults.push(DialectError::at(dialect.name(), at, text));
        } else if let Some(base) = base.filter(|base| meet(&own, &dials(base, transmitting), at_once)) {
            let text = format!("{receiving} sends what {transmitting} of {} sends", base.name());
            faults.push(DialectError::at(dialect.name(), dialect.place_of(&[receiving]), text));
        }
    }
    faults
}

/// A dial, as a command names it: what was selected before, and the command's own part.
type Dial = (Option<u8>, Vec<u8>);

/// Every dial that the command sets.
fn dials(dialect: &Dialect, name: &str) -> Vec<Dial> {
    let Some(Verb { send, .. }) = dialect.verbs.get(name) else { return Vec::new() };
    let values = Values::of_hertz(dialect.settable(name, TRIED[0]));
    let Ok(exchange) = dialect.exchange(name, &values, dialect.address.or(Some(ADDRESS))) else {
        return Vec::new();
    };
    let frames: Vec<&[u8]> = exchange.steps.iter().map(|step| step.frame.as_slice()).collect();
    let dial = |i: usize| {
        let own = match dialect.family.tuned(frames[i]) {
            Some(tuned) => tuned.dial,
            None if send[i].takes_frequency() => frames[i].to_vec(),
            None => return None,
        };
        Some((dialect.family.selected(frames[..i].iter().copied()), own))
    };
    (0..frames.len().min(send.len())).filter_map(dial).collect()
}

/// Where both directions work at once, a command that selects no band tunes the one that happens
/// to be selected. By turns, the plain command's dial is the one in use.
fn meet(some: &[Dial], others: &[Dial], at_once: bool) -> bool {
    let alike = |(selected, dial): &Dial, (other_selected, other): &Dial| {
        let any = at_once && (selected.is_none() || other_selected.is_none());
        dial == other && (any || selected == other_selected)
    };
    some.iter().any(|dial| others.iter().any(|other| alike(dial, other)))
}
