//! The ailments that are tried, and what the status should say of each.

use beamhand::sim::Fault;

use crate::patient::Ailment;
use crate::ward::{Tongue, Which};

/// One device with one ailment.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Case {
    pub(crate) name: &'static str,
    pub(crate) tongue: Tongue,
    pub(crate) which: Which,
    pub(crate) ailment: Ailment,
    /// What the status should say: what was seen, and what to check.
    pub(crate) says: &'static str,
    /// What the daemon says at the next exchange that can show it.
    pub(crate) shown_by: fn(&str) -> bool,
}

fn question(text: &str) -> bool {
    matches!(text, "FA" | "FB" | "IF" | "ID" | "MD" | "AZ EL")
}

fn any(_: &str) -> bool {
    true
}

fn dial_question(text: &str) -> bool {
    matches!(text, "FA" | "FB")
}

fn aim(text: &str) -> bool {
    text.starts_with("AZ") && text.contains(|c: char| c.is_ascii_digit())
}

const fn radio(name: &'static str, ailment: Ailment, says: &'static str) -> Case {
    Case { name, tongue: Tongue::Semicolon, which: Which::Radio, ailment, says, shown_by: question }
}

const fn mast(name: &'static str, ailment: Ailment, says: &'static str) -> Case {
    Case { which: Which::Mast, ..radio(name, ailment, says) }
}

const fn fault(fault: Fault) -> Ailment {
    Ailment::Fault(fault)
}

const LOST: Ailment = fault(Fault::LostBytes { one_in: 4 });
const INSERTED: Ailment = fault(Fault::InsertedBytes { one_in: 4 });
const SLOW: Ailment = fault(Fault::SlowBytes { byte_s: 1.0 });

/// All of them.
pub(crate) static CASES: [Case; 22] = [
    radio("radio: mute", fault(Fault::Mute), "no answer to"),
    radio("radio: half frames", fault(Fault::HalfFrame), "half an answer: "),
    radio("radio: lost bytes", LOST, "answer"),
    radio("radio: inserted bytes", INSERTED, "answer"),
    radio("radio: one byte a second", SLOW, "answer"),
    Case {
        shown_by: any,
        ..radio("radio: nonsense all the time", Ailment::Babble, "of bytes that are no answer")
    },
    Case {
        shown_by: any,
        ..radio("radio: refusals all the time", Ailment::RefusalFlood, "e.g. 3F 3B 3F 3B")
    },
    radio("radio: echo", fault(Fault::Echo), "own bytes come back"),
    radio("radio: refuses", fault(Fault::Refusals), "refuses every command (?;)"),
    Case {
        tongue: Tongue::Frames,
        shown_by: any,
        ..radio(
            "radio: another address",
            Ailment::OtherAddress(0x5C),
            "an answer came from address 0x5C, not 0x4C",
        )
    },
    Case { shown_by: dial_question, ..radio("radio: dial stays", Ailment::DialStays, "dial stays at") },
    radio("radio: wrong line speed", fault(Fault::WrongSpeed), "check"),
    Case { shown_by: any, ..radio("radio: cable out", Ailment::CableOut, "check the cable") },
    mast("mast: mute", fault(Fault::Mute), "no answer to"),
    mast("mast: half frames", fault(Fault::HalfFrame), "half an answer: "),
    mast("mast: lost bytes", LOST, "answer"),
    mast("mast: inserted bytes", INSERTED, "answer"),
    mast("mast: one byte a second", SLOW, "answer"),
    Case {
        shown_by: any,
        ..mast("mast: nonsense all the time", Ailment::Babble, "of bytes that are no answer")
    },
    mast("mast: echo", fault(Fault::Echo), "own bytes come back"),
    Case { shown_by: aim, ..mast("mast: does not turn", fault(Fault::MotorStalled), "it stays at azimuth") },
    Case { shown_by: any, ..mast("mast: cable out", Ailment::CableOut, "check the cable") },
];
