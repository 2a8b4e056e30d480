//! What is done in order: reading, preparing, giving back; and what is worth asking in between.

use std::collections::VecDeque;

use crate::device::order::RadioMemory;
use crate::terms::{Channel, Direction};

use super::errand::Errand;
use super::known::Known;
use super::{RadioSetup, Use, bands};

/// What tells whether anything is heard.
pub(super) const HEARD: [&str; 2] = ["signal", "squelch"];

/// Everything that is to be remembered of the radio, as far as its dialect can ask for it.
pub(super) fn questions(setup: &RadioSetup) -> VecDeque<Errand> {
    setup
        .asked()
        .flat_map(|direction| ["hz", "mode"].map(|what| setup.item(direction, what)))
        .filter(|item| setup.dialect.can(&format!("ask.{item}")))
        .map(Errand::Ask)
        .collect()
}

/// What is read of a radio that came back in mid-pass: its dials, and its modes where one frame
/// asks for them. A question that selects a band or a VFO might move the transmitter.
pub(super) fn reacquaintance(setup: &RadioSetup) -> VecDeque<Errand> {
    let one_frame = |errand: &Errand| errand.encoded(setup).is_ok_and(|said| said.frames().count() == 1);
    questions(setup).into_iter().filter(one_frame).collect()
}

/// Steps that concern what is received and nothing else: all that is done to a radio which is only listened
/// with. Split, which VFO or band is used, the repeater shift and tones stay as they are. A satellite function
/// that was left on does not: with it the dial that should receive is the transmitter's.
const OF_THE_RECEIVER: [&str; 7] = [
    "quiet",
    "satellite_off",
    "duplex_off",
    "clarifier_off",
    "tone_squelch_off",
    "sub_selected",
    "receive_tone_off",
];

/// The steps of the preparation, in order. A transmitter that may transmit nowhere is left alone,
/// but for what brings the receiver its dial: split, or which band is which.
pub(super) fn steps(setup: &RadioSetup) -> Vec<String> {
    let may_transmit = setup.may_transmit();
    let own = |step: &String| {
        if setup.uses == Use::Transmit {
            return true;
        }
        let prefixes = ["transmit_", "other_", "main_"];
        prefixes.iter().any(|prefix| step.starts_with(prefix)) && !step.ends_with("selected")
    };
    let steps = setup.dialect.preparation(setup.arrangement()).iter();
    if setup.receive_only {
        return steps.filter(|step| OF_THE_RECEIVER.contains(&step.as_str())).cloned().collect();
    }
    steps.filter(|step| may_transmit || setup.uses == Use::Receive || !own(step)).cloned().collect()
}

/// What is said of a transmitter that may transmit nowhere.
pub(super) fn without_segments(setup: &RadioSetup) -> &'static str {
    if steps(setup).iter().any(|step| step == "split_on") {
        "left alone: no transmit segments are configured; split is switched on, which keeps it off the downlink"
    } else {
        "left alone: no transmit segments are configured"
    }
}

/// What brings the radio from whatever the operator left it at to the plan.
pub(super) fn preparations(setup: &RadioSetup, wanted: Option<Channel>) -> VecDeque<Errand> {
    let steps = steps(setup).into_iter();
    let mut list: VecDeque<Errand> =
        steps.flat_map(|name| [Errand::Prepare(name.clone()), Errand::Verify(name.clone())]).collect();
    let Some(channel) = wanted else { return list };
    list.extend(bands::in_order(setup));
    for direction in setup.directions() {
        let Some(dial) = channel.dial(direction) else { continue };
        list.push_back(Errand::Tune(direction, setup.dial_for(direction, dial)));
        list.push_back(Errand::Mode(direction, dial.mode));
        list.push_back(Errand::Ask(setup.item(direction, "mode")));
        if direction == Direction::Transmit {
            list.push_back(Errand::Tone(dial.tone));
        }
    }
    list.retain(|errand| setup.dialect.can(&errand.verb(setup)));
    list
}

/// What gives the radio back what it had: modes before frequencies, because a change of mode
/// may move a dial. A tone can't be read on most radios: one that we set is switched off.
pub(super) fn gifts(setup: &RadioSetup, memory: &RadioMemory, known: &Known) -> VecDeque<Errand> {
    let mut list = VecDeque::new();
    // After a crash it is not known whether one was set.
    if known.tone != Some(None) && setup.directions().any(|direction| direction == Direction::Transmit) {
        list.push_back(Errand::Tone(None));
    }
    list.extend(bands::in_order(setup));
    for direction in setup.directions() {
        let dial = match direction {
            Direction::Receive => memory.receive,
            Direction::Transmit => memory.transmit,
        };
        list.extend(dial.mode.map(|mode| Errand::Mode(direction, mode)));
        list.extend(dial.hertz.map(|hertz| Errand::Tune(direction, hertz)));
    }
    // Silent commands prove nothing: an answer does.
    let alive = setup.directions().map(|direction| Errand::Ask(setup.item(direction, "hz"))).next();
    list.extend(alive.filter(|_| !list.is_empty()));
    list.retain(|errand| setup.dialect.can(&errand.verb(setup)));
    list
}

/// Whether there is a question for the item that selects nothing first.
pub(super) fn is_one_frame(setup: &RadioSetup, item: &str) -> bool {
    Errand::Ask(item.to_owned()).encoded(setup).is_ok_and(|said| said.frames().count() == 1)
}

/// The question for the selected dial, on a radio of two bands that is only listened with and has none of one
/// frame for the receiving one: that was selected when it was set, so what is read elsewhere is by a hand.
pub(super) fn selected_dial(setup: &RadioSetup) -> Option<String> {
    let own = setup.item(Direction::Receive, "hz");
    let other = "hz".to_owned();
    let is_needed = setup.receive_only && own != other && !is_one_frame(setup, &own);
    Some(other).filter(|other| is_needed && is_one_frame(setup, other))
}

/// What is asked in turn to know that the radio is there and where its dials stand: questions of
/// one frame only, because a longer one selects a band or a VFO first, under the operator's hand.
pub(super) fn pollable(setup: &RadioSetup) -> Vec<String> {
    let selected = selected_dial(setup);
    let dials = setup.asked().map(|direction| setup.item(direction, "hz")).chain(selected);
    let heard = HEARD.into_iter().filter(|_| setup.receive_only);
    let items = dials.chain(["transmitting"].into_iter().chain(heard).map(str::to_owned));
    items.filter(|item| is_one_frame(setup, item)).collect()
}
