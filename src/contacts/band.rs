//! The bands of the exchange format.

use crate::terms::Hertz;

/// ADIF 3.1.4, section III.B.4 (Band Enumeration): name, lower and upper limit in hertz. The
/// limits are the widest of the world's, not a licence's.
const BANDS: [(&str, i64, i64); 33] = [
    ("2190m", 135_700, 137_800),
    ("630m", 472_000, 479_000),
    ("560m", 501_000, 504_000),
    ("160m", 1_800_000, 2_000_000),
    ("80m", 3_500_000, 4_000_000),
    ("60m", 5_060_000, 5_450_000),
    ("40m", 7_000_000, 7_300_000),
    ("30m", 10_100_000, 10_150_000),
    ("20m", 14_000_000, 14_350_000),
    ("17m", 18_068_000, 18_168_000),
    ("15m", 21_000_000, 21_450_000),
    ("12m", 24_890_000, 24_990_000),
    ("10m", 28_000_000, 29_700_000),
    ("8m", 40_000_000, 45_000_000),
    ("6m", 50_000_000, 54_000_000),
    ("5m", 54_000_001, 69_900_000),
    ("4m", 70_000_000, 71_000_000),
    ("2m", 144_000_000, 148_000_000),
    ("1.25m", 222_000_000, 225_000_000),
    ("70cm", 420_000_000, 450_000_000),
    ("33cm", 902_000_000, 928_000_000),
    ("23cm", 1_240_000_000, 1_300_000_000),
    ("13cm", 2_300_000_000, 2_450_000_000),
    ("9cm", 3_300_000_000, 3_500_000_000),
    ("6cm", 5_650_000_000, 5_925_000_000),
    ("3cm", 10_000_000_000, 10_500_000_000),
    ("1.25cm", 24_000_000_000, 24_250_000_000),
    ("6mm", 47_000_000_000, 47_200_000_000),
    ("4mm", 75_500_000_000, 81_000_000_000),
    ("2.5mm", 119_980_000_000, 123_000_000_000),
    ("2mm", 134_000_000_000, 149_000_000_000),
    ("1mm", 241_000_000_000, 250_000_000_000),
    ("submm", 300_000_000_000, 7_500_000_000_000),
];

/// The letters by which satellite operators call uplink and downlink bands (common practice): `V/U` goes
/// up on 2 m and comes down on 70 cm.
const LETTERS: [(&str, &str); 9] = [
    ("2m", "V"),
    ("70cm", "U"),
    ("23cm", "L"),
    ("13cm", "S"),
    ("6cm", "C"),
    ("3cm", "X"),
    ("1.25cm", "K"),
    ("10m", "A"),
    ("15m", "H"),
];

/// The band in which a frequency lies, by the exchange format's name.
pub fn band_of(hertz: Hertz) -> Option<&'static str> {
    let inside = |(_, from, to): &&(&str, i64, i64)| (*from..=*to).contains(&hertz.0);
    BANDS.iter().find(inside).map(|(name, _, _)| *name)
}

/// The letters of uplink and downlink, where both bands have one.
pub(super) fn letters(up: Hertz, down: Hertz) -> Option<String> {
    let letter = |hertz| {
        let band = band_of(hertz)?;
        LETTERS.iter().find(|(name, _)| *name == band).map(|(_, letter)| *letter)
    };
    Some(format!("{}/{}", letter(up)?, letter(down)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn satellite_bands_have_their_names_and_letters() {
        for (hertz, band) in [
            (29_400_000, "10m"),
            (145_927_000, "2m"),
            (435_217_000, "70cm"),
            (1_268_000_000, "23cm"),
            (2_400_500_000, "13cm"),
            (10_489_500_000, "3cm"),
            (144_000_000, "2m"),
            (148_000_000, "2m"),
        ] {
            assert_eq!(band_of(Hertz(hertz)), Some(band), "{hertz}");
        }
        for hertz in [0, -1, 143_999_999, 148_000_001, 300_000_000] {
            assert_eq!(band_of(Hertz(hertz)), None, "{hertz}");
        }
        assert_eq!(letters(Hertz(145_927_000), Hertz(435_217_000)).as_deref(), Some("V/U"));
        assert_eq!(letters(Hertz(2_400_000_000), Hertz(10_489_500_000)).as_deref(), Some("S/X"));
        assert_eq!(letters(Hertz(145_927_000), Hertz(7_100_000)), None);
    }

    #[test]
    fn bands_are_those_of_the_published_enumeration() {
        const NAMES: &str = include_str!("../../tests/reference/adif_names.csv");
        let told = NAMES.lines().filter_map(|line| line.strip_prefix("band|"));
        let own = BANDS.map(|(name, from, to)| format!("{}|{from}|{to}", name.to_uppercase()));
        assert_eq!(told.collect::<Vec<_>>(), own);
    }
}
