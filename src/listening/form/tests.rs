use proptest::prelude::*;

use super::*;
use crate::listening::{Reading, Sight};
use crate::terms::{Hertz, Validity, later, parse_time, seconds_between};

fn start() -> Time {
    parse_time("2026-11-30T18:00:00Z").unwrap()
}

fn spell(satellite: &str, readings: Vec<Reading>) -> Spell {
    let pass = Validity { from: start(), until: later(start(), 700.0) };
    Spell {
        satellite: satellite.to_owned(),
        link: "repeater".to_owned(),
        antenna: "attic".to_owned(),
        downlink: Hertz(435_500_000),
        pass: Some(pass),
        others: vec![("FULMAR-3".to_owned(), pass)],
        readings,
    }
}

/// A pass overhead at 500 km above a flat Earth, with a meter that trembles: five readings a second,
/// each some milliseconds late.
fn readings(count: usize) -> Vec<Reading> {
    let reading = |at: usize| {
        let seconds = at as f64 * 0.2 + (at * 7919 % 13) as f64 * 0.003;
        let along = (seconds - 300.0) * 7.0;
        let range = along.hypot(500.0);
        Reading {
            at: later(start(), seconds),
            shift_hz: (-along / range * 10_000.0 / 500.0).round() as f32 * 500.0,
            meter: Some((200_000.0 / range) as u16 + (at * 104_729 % 7) as u16),
            is_open: Some(range < 1500.0),
            sight: Sight {
                azimuth_deg: (along.atan2(30.0).to_degrees().rem_euclid(360.0)) as f32,
                elevation_deg: (500.0 / range).asin().to_degrees() as f32,
                range_km: range as f32,
                is_sunlit: seconds < 400.0,
            },
        }
    };
    (0..count).map(reading).collect()
}

fn spells(bytes: &[u8]) -> Vec<Spell> {
    read(bytes).filter_map(Result::ok).collect()
}

fn assert_near(kept: &Reading, seen: &Reading) {
    let turned = (kept.sight.azimuth_deg - seen.sight.azimuth_deg + 180.0).rem_euclid(360.0) - 180.0;
    assert!(seconds_between(kept.at, seen.at).abs() <= 0.005_001, "{kept:?} {seen:?}");
    assert!((kept.shift_hz - seen.shift_hz).abs() <= 0.5, "{kept:?} {seen:?}");
    assert_eq!((kept.meter, kept.is_open), (seen.meter, seen.is_open));
    assert!(turned.abs() <= 0.15, "{kept:?} {seen:?}");
    assert!((0.0..360.0).contains(&kept.sight.azimuth_deg), "{kept:?}");
    assert!((kept.sight.elevation_deg - seen.sight.elevation_deg).abs() <= 0.15, "{kept:?} {seen:?}");
    // 32 bits hold the distance of a far satellite to some hundredths.
    assert!((kept.sight.range_km - seen.sight.range_km).abs() <= 1.5, "{kept:?} {seen:?}");
    assert_eq!(kept.sight.is_sunlit, seen.sight.is_sunlit);
}

#[test]
fn a_spell_written_by_the_minute_is_one_spell_again() {
    let seen = readings(3000);
    let mut bytes = Vec::new();
    for minute in seen.chunks(300) {
        bytes.extend(write(&spell("GANNET-1", minute.to_vec())));
    }
    bytes.extend(write(&spell("SHAG-2", readings(10))));
    let read = spells(&bytes);
    assert_eq!(read.len(), 2);
    assert_eq!(Spell { readings: Vec::new(), ..read[0].clone() }, spell("GANNET-1", Vec::new()));
    assert_eq!((read[0].readings.len(), read[1].readings.len()), (3000, 10));
    for (kept, seen) in read[0].readings.iter().zip(&seen) {
        assert_near(kept, seen);
    }
}

#[test]
fn another_antenna_or_a_long_pause_begins_another_spell() {
    let of = |antenna: &str| Spell { antenna: antenna.to_owned(), ..spell("GANNET-1", readings(5)) };
    let mut late = of("roof");
    for reading in &mut late.readings {
        reading.at = later(reading.at, PAUSE_S + 10.0);
    }
    let bytes = [write(&of("attic")), write(&of("roof")), write(&late)].concat();
    assert_eq!(spells(&bytes).len(), 3);
}

/// The bound of the size: 13 million readings a month, 40 satellites the clock round, under 50 MB.
#[test]
fn a_reading_takes_less_than_two_bytes() {
    let seen = readings(3000);
    let bytes: usize = seen.chunks(300).map(|minute| write(&spell("GANNET-1", minute.to_vec())).len()).sum();
    assert!(bytes < 2 * seen.len(), "{bytes} bytes for {} readings", seen.len());
}

#[test]
fn a_torn_end_costs_the_last_block_and_is_told() {
    let parts: Vec<Vec<u8>> =
        readings(900).chunks(300).map(|minute| write(&spell("GANNET-1", minute.to_vec()))).collect();
    let whole = parts.concat();
    for cut in [whole.len() - 1, whole.len() - parts[2].len() + 1, whole.len() - parts[2].len() + HEAD] {
        let read: Vec<_> = read(&whole[..cut]).collect();
        let damage = read.iter().find_map(|item| item.as_ref().err()).unwrap();
        assert!(damage.is_end && damage.bytes.end == cut, "{damage}");
        let kept = read.iter().find_map(|item| item.as_ref().ok()).unwrap();
        assert_eq!(kept.readings.len(), 600);
    }
}

#[test]
fn damage_in_the_middle_costs_one_block_and_is_told() {
    let parts: Vec<Vec<u8>> =
        readings(900).chunks(300).map(|minute| write(&spell("GANNET-1", minute.to_vec()))).collect();
    let second = parts[0].len()..parts[0].len() + parts[1].len();
    for at in second.clone() {
        let mut bytes = parts.concat();
        bytes[at] ^= 0x41;
        let read: Vec<_> = read(&bytes).collect();
        let damage: Vec<&Damage> = read.iter().filter_map(|item| item.as_ref().err()).collect();
        assert_eq!(damage.len(), 1, "byte {at}");
        assert_eq!((damage[0].bytes.clone(), damage[0].is_end), (second.clone(), false));
        assert_eq!(damage[0].is_unknown, at == second.start + 3);
        let kept = read.iter().find_map(|item| item.as_ref().ok()).unwrap();
        assert_eq!(kept.readings.len(), 600, "the parts before and after are one spell still");
    }
}

#[test]
fn files_are_named_by_the_day() {
    assert_eq!(file_name(start()), "2026-11-30.heard");
    assert_eq!(day_of("2026-11-30.heard"), Some(start().date_naive()));
    assert_eq!((day_of("2026-11-30.heard.old"), day_of("status")), (None, None));
}

fn any_reading() -> impl Strategy<Value = (f64, f32, Option<u16>, Option<bool>, [f32; 3], bool)> {
    let sight = (0f32..360.0, -90f32..90.0, 0f32..100_000.0).prop_map(|(a, e, r)| [a, e, r]);
    (-1f64..90.0, -30_000f32..30_000.0, any::<Option<u16>>(), any::<Option<bool>>(), sight, any::<bool>())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn whatever_was_seen_is_kept_as_well_as_is_said(
        satellite in ".{0,20}",
        has_pass: bool,
        raw in prop::collection::vec(any_reading(), 1..1200),
    ) {
        let mut at = start();
        let seen: Vec<Reading> = raw.into_iter().map(|(step, shift_hz, meter, is_open, place, is_sunlit)| {
            at = later(at, step);
            let [azimuth_deg, elevation_deg, range_km] = place;
            Reading { at, shift_hz, meter, is_open, sight: Sight { azimuth_deg, elevation_deg, range_km, is_sunlit } }
        }).collect();
        let mut spell = spell(&satellite, seen);
        spell.pass = spell.pass.filter(|_| has_pass);
        let read: Vec<Spell> = read(&write(&spell)).collect::<Result<_, _>>().unwrap();
        prop_assert!(read.iter().all(|part| part.satellite == satellite && part.pass == spell.pass));
        let kept: Vec<Reading> = read.into_iter().flat_map(|part| part.readings).collect();
        prop_assert_eq!(kept.len(), spell.readings.len());
        for (kept, seen) in kept.iter().zip(&spell.readings) {
            assert_near(kept, seen);
        }
    }

    #[test]
    fn noise_is_passed_over_and_ends(noise: Vec<u8>) {
        let whole = write(&spell("GANNET-1", readings(20)));
        let bytes = [noise.clone(), whole.clone(), noise].concat();
        prop_assert_eq!(spells(&bytes).len(), 1);
        prop_assert!(read(&bytes).count() <= 3);
    }
}
