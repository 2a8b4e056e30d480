//! A dialect's code tables: which bytes stand for a mode or a tone.

use super::super::values::{Kind, Value};
use super::document::Place;
use crate::terms::{Mode, Tone};

/// Codes of one kind of value. The first code of a value is written, every one is understood.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Table {
    pub(super) place: Place,
    entries: Vec<(Value, Vec<u8>)>,
}

impl Table {
    /// From pairs in the order of preference.
    pub(super) fn new(place: Place, entries: Vec<(Value, Vec<u8>)>) -> Self {
        Self { place, entries }
    }

    /// The code to write.
    pub(super) fn code(&self, value: Value) -> Option<&[u8]> {
        self.entries.iter().find(|(known, _)| *known == value).map(|(_, code)| code.as_slice())
    }

    /// The value whose code stands in front of `bytes`, the longest if several fit, and its length.
    pub(super) fn read(&self, bytes: &[u8]) -> Option<(Value, usize)> {
        let fitting = self.entries.iter().filter(|(_, code)| bytes.starts_with(code));
        fitting.max_by_key(|(_, code)| code.len()).map(|(value, code)| (*value, code.len()))
    }

    /// How many bytes a code has, if all have the same number.
    pub(super) fn length(&self) -> Option<usize> {
        let first = self.entries.first()?.1.len();
        self.entries.iter().all(|(_, code)| code.len() == first).then_some(first)
    }

    /// Every value that has a code.
    pub(super) fn values(&self) -> impl Iterator<Item = Value> {
        self.entries.iter().map(|(value, _)| *value)
    }
}

/// The value that a key of the table of this kind names.
pub(super) fn key_value(kind: Kind, key: &str) -> Result<Value, String> {
    if kind == Kind::Mode {
        return key.parse::<Mode>().map(Value::Mode);
    }
    let hertz = key.parse::<f64>().map_err(|_| format!("\"{key}\" is no tone; write hertz, as \"88.5\""))?;
    Tone::try_from(hertz).map(Value::Tone).map_err(|error| error.to_string())
}

/// The tones of the standard that radios with 42 tones leave out, tenths of hertz; with 38, also
/// the second list. From memory of manuals.
const NOT_OF_42: [u16; 8] = [1598, 1655, 1713, 1773, 1835, 1899, 1966, 1995];
const NOT_OF_38: [u16; 4] = [693, 2065, 2291, 2541];

/// A tone list by the numbers that it runs through: `01-38`, `00-41` or `000-049`.
pub(super) fn numbered_tones(range: &str) -> Option<Vec<(Value, String)>> {
    let (left_out, first, digits): (Vec<u16>, usize, usize) = match range {
        "01-38" => ([&NOT_OF_42[..], &NOT_OF_38[..]].concat(), 1, 2),
        "00-41" => (NOT_OF_42.to_vec(), 0, 2),
        "000-049" => (Vec::new(), 0, 3),
        _ => return None,
    };
    let tones = Tone::all().filter(|tone| !left_out.contains(&tone.tenths()));
    Some(tones.enumerate().map(|(i, tone)| (Value::Tone(tone), format!("{:0digits$}", i + first))).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_three_numbered_lists_agree_with_the_manuals_corner_stones() {
        let number = |range: &str, tenths: u16| {
            let list = numbered_tones(range).unwrap();
            let tone = Value::Tone(Tone::from_tenths(tenths).unwrap());
            list.into_iter().find(|(value, _)| *value == tone).map(|(_, code)| code).unwrap()
        };
        let row = |tenths| ["01-38", "00-41", "000-049"].map(|range| number(range, tenths));
        assert_eq!(row(885), ["08", "08", "008"]);
        assert_eq!(row(670), ["01", "00", "000"]);
        assert_eq!(row(2035), ["32", "32", "040"]);
        let ends = ["01-38", "00-41", "000-049"].map(|range| numbered_tones(range).unwrap().pop().unwrap().1);
        assert_eq!(ends, ["38", "41", "049"]);
    }
}
