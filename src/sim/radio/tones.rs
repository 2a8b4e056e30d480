//! Tone numbers: radios count their tones in one of three ways.

use crate::terms::Tone;

/// The 38 tones of the oldest table, tenths of hertz; from memory of radios' manuals.
const THIRTY_EIGHT: [u16; 38] = [
    670, 719, 744, 770, 797, 825, 854, 885, 915, 948, 974, 1000, 1035, 1072, 1109, 1148, 1188, 1230, 1273,
    1318, 1365, 1413, 1462, 1514, 1567, 1622, 1679, 1738, 1799, 1862, 1928, 2035, 2107, 2181, 2257, 2336,
    2418, 2503,
];

/// The 42 tones of the middle table, tenths of hertz; from memory of radios' manuals.
const FORTY_TWO: [u16; 42] = [
    670, 693, 719, 744, 770, 797, 825, 854, 885, 915, 948, 974, 1000, 1035, 1072, 1109, 1148, 1188, 1230,
    1273, 1318, 1365, 1413, 1462, 1514, 1567, 1622, 1679, 1738, 1799, 1862, 1928, 2035, 2065, 2107, 2181,
    2257, 2291, 2336, 2418, 2503, 2541,
];

/// How a radio numbers its tones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ToneTable {
    /// 38 tones from 01.
    ThirtyEight,
    /// 42 tones from 00.
    FortyTwo,
    /// All 50 tones of the standard from 000.
    Fifty,
}

impl ToneTable {
    /// The tone of this number.
    pub fn tone(self, number: usize) -> Option<Tone> {
        let tenths = match self {
            ToneTable::ThirtyEight => THIRTY_EIGHT.get(number.checked_sub(1)?),
            ToneTable::FortyTwo => FORTY_TWO.get(number),
            ToneTable::Fifty => return Tone::all().nth(number),
        };
        Tone::from_tenths(*tenths?).ok()
    }

    /// The number of this tone.
    pub fn number(self, tone: Tone) -> Option<usize> {
        (0..=50).find(|number| self.tone(*number) == Some(tone))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_three_tables_number_67_0_88_5_and_203_5_as_the_manuals_do() {
        let numbers = |tenths| {
            let tone = Tone::from_tenths(tenths).unwrap();
            [ToneTable::ThirtyEight, ToneTable::FortyTwo, ToneTable::Fifty].map(|table| table.number(tone))
        };
        assert_eq!(numbers(670), [Some(1), Some(0), Some(0)]);
        assert_eq!(numbers(885), [Some(8), Some(8), Some(8)]);
        assert_eq!(numbers(2035), [Some(32), Some(32), Some(40)]);
    }

    #[test]
    fn the_ends_of_each_table_are_where_they_should_be() {
        assert_eq!((ToneTable::ThirtyEight.tone(0), ToneTable::ThirtyEight.tone(39)), (None, None));
        assert!(ToneTable::ThirtyEight.tone(38).is_some());
        assert_eq!(ToneTable::FortyTwo.tone(41).map(Tone::tenths), Some(2541));
        assert_eq!(ToneTable::FortyTwo.tone(42), None);
        assert_eq!(ToneTable::Fifty.tone(49).map(Tone::tenths), Some(2541));
        assert_eq!(ToneTable::Fifty.tone(50), None);
    }
}
