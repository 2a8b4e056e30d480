//! What a question met, in words that state no more than what was seen.

use crate::device::conversation::Outcome;
use crate::device::dialect::Style;
use crate::device::{Seen, Values};

use super::wire;

/// What came of a question.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Met {
    /// A reading.
    Answer(Values),
    /// A refusal of this language.
    Refusal(String),
    /// Nothing at all.
    Nothing,
    /// The question's own bytes and nothing else.
    Echo,
    /// A whole frame of this language that is no answer to this question.
    Other(String),
    /// Bytes that make no frame of this language.
    Noise(String),
    /// The guard kept the question back; why.
    KeptBack(String),
}

impl Met {
    /// What came of a question in a language of this style.
    pub(super) fn of(seen: &Seen, style: Style) -> Self {
        let came = || wire::bytes(&seen.came, style);
        match &seen.outcome {
            Outcome::Done(values) => Met::Answer(values.clone()),
            Outcome::Refused(text) => Met::Refusal(text.clone()),
            Outcome::Forbidden(why) => Met::KeptBack(why.clone()),
            _ if seen.came.is_empty() && seen.echoed => Met::Echo,
            _ if seen.came.is_empty() => Met::Nothing,
            Outcome::NotUnderstood(_) => Met::Other(came()),
            Outcome::NoAnswer | Outcome::TooLate => Met::Noise(came()),
        }
    }

    /// Whether something that speaks this language is there.
    pub(super) fn is_heard(&self) -> bool {
        matches!(self, Met::Answer(_) | Met::Refusal(_))
    }

    /// For people.
    pub(super) fn describe(&self) -> String {
        match self {
            Met::Answer(values) => wire::reading(values),
            Met::Refusal(text) => format!("it refused: {text}"),
            Met::Nothing => "nothing came".to_owned(),
            Met::Echo => "only the question itself came back".to_owned(),
            Met::Other(bytes) => format!("something came that is not the answer: {bytes}"),
            Met::Noise(bytes) => format!("bytes came that make no answer: {bytes}"),
            Met::KeptBack(why) => format!("not asked: {why}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    fn met(outcome: Outcome, came: &[u8]) -> Met {
        let (echoed, came) = came.strip_prefix(b"FA;").map_or((false, came), |rest| (true, rest));
        let seen =
            Seen { outcome, echoed, came: came.to_vec(), took: Duration::ZERO, waited: Duration::ZERO };
        Met::of(&seen, Style::Text)
    }

    #[test]
    fn silence_echo_noise_and_another_frame_are_four_things() {
        assert_eq!(met(Outcome::NoAnswer, b""), Met::Nothing);
        assert_eq!(met(Outcome::NotUnderstood(b"FA;".to_vec()), b"FA;"), Met::Echo);
        assert_eq!(met(Outcome::NoAnswer, b"\x1C\xFE").describe(), "bytes came that make no answer: 1C FE");
        let other = met(Outcome::NotUnderstood(b"FA145950000;".to_vec()), b"FA145950000;");
        assert_eq!(other.describe(), "something came that is not the answer: \"FA145950000;\"");
        assert!(!other.is_heard());
    }
}
