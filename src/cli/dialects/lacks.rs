//! What a dialect lacks of what the players ask for, and what that costs the user.

use crate::device::dialect::{Arrangement, Dialect};

/// An ability, and what it costs to be without it.
type Need = (&'static str, &'static str);

/// Of every dial; `X` stands for what comes before the name.
const OF_A_DIAL: [Need; 3] = [
    ("ask.Xhz", "a knob that you turn is not noticed, and the dial is not given back what it had"),
    ("do.Xmode", "you set the mode by hand"),
    ("ask.Xmode", "the mode is not checked, and not given back"),
];
const OF_A_TRANSMITTER: [Need; 2] = [
    ("do.Xtone", "you set the access tone by hand"),
    ("do.Xtone_off", "a tone that is on stays on: you switch it off by hand"),
];
const TRANSMITTING: &str = "ask.transmitting";

/// What it can be used for and, set in, what is missing for it.
pub(super) fn lines(dialect: &Dialect) -> Vec<String> {
    let mut lines = Vec::new();
    let dials: [(&str, &[&str], Arrangement); 3] = [
        ("one direction", &[""], Arrangement::Single),
        ("both directions by turns", &["", "other_"], Arrangement::Split),
        ("both directions at once", &["rx_", "tx_"], Arrangement::Duplex),
    ];
    for (what, dials, arrangement) in dials {
        if !dials.iter().all(|dial| dialect.can(&format!("do.{dial}hz"))) {
            lines.push(format!("  {what}: no"));
            continue;
        }
        lines.push(format!("  {what}: yes"));
        lines.extend(missing_of(dialect, dials));
        if dialect.preparation(arrangement).is_empty() {
            lines.push(
                "    no preparation: you switch repeater shift, clarifier and tone squelch off by hand"
                    .into(),
            );
        }
    }
    let is_radio = dialect.can("do.hz") || dialect.can("do.rx_hz");
    if is_radio && !dialect.can(TRANSMITTING) {
        lines.push(format!("  no {TRANSMITTING}: {}", without_transmit_state(dialect)));
    }
    lines.extend(rotator(dialect));
    lines
}

fn missing_of(dialect: &Dialect, dials: &[&str]) -> Vec<String> {
    let mut missing = Vec::new();
    for (i, dial) in dials.iter().enumerate() {
        // Where there are two, the second one transmits; a single one may.
        let transmits = i + 1 == dials.len();
        let needs = OF_A_DIAL.into_iter().chain(OF_A_TRANSMITTER.into_iter().filter(|_| transmits));
        for (verb, cost) in needs {
            let verb = verb.replace('X', dial);
            if !dialect.can(&verb) {
                missing.push(format!("    no {verb}: {cost}"));
            }
        }
    }
    missing
}

fn without_transmit_state(dialect: &Dialect) -> &'static str {
    if dialect.tunes_while_transmitting() {
        "mode and tone of the transmitter are set before the pass only"
    } else {
        "mode and tone of the transmitter are set before the pass only, and what is sent while you \
         transmit may be lost"
    }
}

fn rotator(dialect: &Dialect) -> Vec<String> {
    let can = |verb: &str| dialect.can(verb);
    if !can("do.aim") && !can("do.azimuth") {
        return vec!["  a rotator: no".to_owned()];
    }
    let mut lines = vec!["  a rotator: yes".to_owned()];
    for axis in ["aim", "azimuth"] {
        if can(&format!("do.{axis}")) && !can(&format!("ask.{axis}")) {
            lines.push(format!("    no ask.{axis}: what can't be read is never moved"));
        }
    }
    if !can("do.stop") {
        lines.push("    no do.stop: `beamhand halt` can't stop it".to_owned());
    }
    lines
}
