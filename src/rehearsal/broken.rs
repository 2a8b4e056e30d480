//! What must never happen but did, counted by its kind. Pure.

use serde::Serialize;

use crate::sim::{Breach, Violation};
use crate::terms::{AzEl, Time, seconds_between};

use super::seen::as_text;

/// One kind of violation of one device.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Broken {
    /// The kind's name for programs.
    pub kind: &'static str,
    /// What happened the first time, for people.
    pub what: String,
    /// How often the kind happened.
    pub times: u64,
    /// The first time.
    #[serde(serialize_with = "as_text")]
    pub first: Time,
    /// The same in seconds after the clock's start.
    pub after_s: f64,
    /// The first command in hex; null where it is no command's doing.
    pub bytes: Option<String>,
}

/// Every kind that is in `breaches`, in the order of their first times, on a clock that began at
/// `begin`.
pub(super) fn by_kind(breaches: &[Breach], begin: Time) -> Vec<Broken> {
    let mut all: Vec<Broken> = Vec::new();
    for breach in breaches {
        let (kind, what, bytes) = told(&breach.what);
        match all.iter_mut().find(|broken| broken.kind == kind) {
            Some(known) => known.times += 1,
            None => {
                let after_s = (seconds_between(begin, breach.at) * 10.0).round() / 10.0;
                all.push(Broken { kind, what, times: 1, first: breach.at, after_s, bytes: bytes.map(hex) });
            }
        }
    }
    all
}

/// The kind's name, the sentence, and the command.
fn told(violation: &Violation) -> (&'static str, String, Option<&[u8]>) {
    let plain = |kind, what: &str| (kind, what.to_owned(), None);
    match violation {
        Violation::KeyCommand(bytes) => {
            ("key_command", format!("a command that keys or unkeys: {}", shown(bytes)), Some(bytes))
        }
        Violation::ForbiddenCommand(bytes) => (
            "forbidden_command",
            format!("a command that is never to be sent: {}", shown(bytes)),
            Some(bytes),
        ),
        Violation::OutsideSegments { hertz, keyed: true } => {
            ("on_air_outside_segments", format!("on the air at {hertz}, outside the segments"), None)
        }
        Violation::OutsideSegments { hertz, keyed: false } => {
            ("dial_outside_segments", format!("the transmitting dial at {hertz}, outside the segments"), None)
        }
        Violation::RolesChangedOnAir => {
            plain("roles_changed_on_air", "another dial was made the transmitting one while on the air")
        }
        Violation::SetOnAir => {
            plain("set_on_air", "a command to set a radio that takes none while it is on the air")
        }
        Violation::KnobLocked => plain("knob_locked", "a command that locks the operator's knob"),
        Violation::OutsideRange(AzEl { azimuth, elevation }) => {
            let what = format!("sent to azimuth {azimuth} elevation {elevation}, outside the mount's range");
            ("outside_range", what, None)
        }
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(" ")
}

/// In hex, and as text where it is some: `54 58 ("TX")`.
fn shown(bytes: &[u8]) -> String {
    let is_text = bytes.iter().all(|byte| byte.is_ascii_graphic() || *byte == b' ');
    let text = if is_text { format!(" (\"{}\")", String::from_utf8_lossy(bytes)) } else { String::new() };
    hex(bytes) + &text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::{Hertz, later};

    #[test]
    fn each_kind_is_counted_and_told_with_its_first_time_and_bytes() {
        let begin = Time::default();
        let at = |seconds, what| Breach { at: later(begin, seconds), what };
        let broken = by_kind(
            &[
                at(12.04, Violation::KeyCommand(b"TX".into())),
                at(13.0, Violation::OutsideSegments { hertz: Hertz(145_500_000), keyed: true }),
                at(14.0, Violation::KeyCommand(vec![0, 0, 0, 0, 8])),
            ],
            begin,
        );
        let told: Vec<(&str, u64, f64, Option<&str>)> =
            broken.iter().map(|one| (one.kind, one.times, one.after_s, one.bytes.as_deref())).collect();
        let expected = [("key_command", 2, 12.0, Some("54 58")), ("on_air_outside_segments", 1, 13.0, None)];
        assert_eq!(told, expected);
        assert!(broken[0].what.ends_with("54 58 (\"TX\")"), "{}", broken[0].what);
        assert!(broken[1].what.contains("145.500 000 MHz"), "{}", broken[1].what);
        assert_eq!(shown(&[0, 8]), "00 08");
    }
}
