//! Element files as they come: well made, badly made, and made of noise.

use beamhand::sky::{ElementSet, Propagator, Station, Track, read_elements};
use beamhand::terms::{later, rfc3339};
use proptest::prelude::*;

const DEMO: &str = include_str!("../../config/demo/elements.txt");
const PUBLISHED: &str = include_str!("../reference/sgp4_elements.txt");

const FIRST: &str = "1 99002U 26002A   26324.50000000  .00000123  00000-0  21436-4 0   449";
const SECOND: &str = "2 99002  97.4000 343.8127 0011000  72.5000 250.4316 15.21936487 27181";

const MESSAGE: &str = r#"{"OBJECT_NAME": "GANNET-1", "OBJECT_ID": "2026-002A", "EPOCH": "2026-11-20T12:00:00.000000",
 "MEAN_MOTION": 15.21936487, "ECCENTRICITY": 0.0011, "INCLINATION": 97.4, "RA_OF_ASC_NODE": 343.8127,
 "ARG_OF_PERICENTER": 72.5, "MEAN_ANOMALY": 250.4316, "EPHEMERIS_TYPE": 0, "CLASSIFICATION_TYPE": "U",
 "NORAD_CAT_ID": 99002, "ELEMENT_SET_NO": 44, "REV_AT_EPOCH": 2718, "BSTAR": 2.1436e-05,
 "MEAN_MOTION_DOT": 1.23e-06, "MEAN_MOTION_DDOT": 0}"#;

/// The one set of a text that must be without faults.
fn one(text: &str) -> ElementSet {
    let file = read_elements(text);
    assert_eq!(file.refused, [], "{text}");
    assert_eq!(file.sets.len(), 1, "{text}");
    file.sets[0].clone()
}

/// Names of the good sets; lines and reasons of the others.
fn outcome(text: &str) -> (Vec<String>, Vec<(usize, String)>) {
    let file = read_elements(text);
    let names = file.sets.into_iter().map(|set| set.name).collect();
    (names, file.refused.into_iter().map(|refused| (refused.line, refused.reason)).collect())
}

/// The line with its right checksum.
fn summed(line: &str) -> String {
    let value = |c: char| c.to_digit(10).unwrap_or(u32::from(c == '-'));
    format!("{}{}", &line[..68], line[..68].chars().map(value).sum::<u32>() % 10)
}

#[test]
fn names_may_be_absent_or_have_a_zero_before_them() {
    assert_eq!(one(&format!("GANNET-1\n{FIRST}\n{SECOND}\n")).name, "GANNET-1");
    assert_eq!(one(&format!("0 GANNET-1\r\n{FIRST}\r\n{SECOND}\r\n")).name, "GANNET-1");
    assert_eq!(one(&format!("\u{feff}# seabirds\n\n  GANNET-1  \n\n{FIRST}  \n{SECOND}")).name, "GANNET-1");
    assert_eq!(one(&format!("{FIRST}\n{SECOND}")).name, "99002");
    assert_eq!(one(&format!("1 MORE BIRD\n{FIRST}\n{SECOND}")).name, "1 MORE BIRD");
    assert_eq!(one(&format!("GAN\u{1b}[2JNET\n{FIRST}\n{SECOND}")).name, "GAN[2JNET");
}

#[test]
fn every_field_arrives() {
    let set = one(&format!("{FIRST}\n{SECOND}"));
    assert_eq!((set.catalog_number, rfc3339(set.epoch).as_str()), (99002, "2026-11-20T12:00:00.000Z"));
    assert_eq!((set.inclination_deg, set.right_ascension_deg, set.eccentricity), (97.4, 343.8127, 0.0011));
    assert_eq!((set.argument_of_perigee_deg, set.mean_anomaly_deg), (72.5, 250.4316));
    assert_eq!(set.mean_motion_rev_day, 15.21936487);
    assert!((set.drag_term - 2.1436e-5).abs() < 1e-15);
}

#[test]
fn lines_and_message_of_one_orbit_give_the_same_set() {
    let (mut message, lines) = (one(MESSAGE), one(&format!("GANNET-1\n{FIRST}\n{SECOND}")));
    assert!((message.drag_term - lines.drag_term).abs() < 1e-15);
    message.drag_term = lines.drag_term;
    assert_eq!(message, lines);
}

#[test]
fn letters_extend_the_catalog_number() {
    // The alpha-5 scheme: A is 10, I and O are left out, Z is 33.
    for (written, number) in [("A0001", 100_001), ("J2345", 182_345), ("Z9999", 339_999)] {
        let swap = |line: &str| summed(&line.replacen("99002", written, 1));
        assert_eq!(one(&format!("{}\n{}", swap(FIRST), swap(SECOND))).catalog_number, number);
    }
    let swap = |line: &str| summed(&line.replacen("99002", "I0001", 1));
    assert_eq!(outcome(&format!("{}\n{}", swap(FIRST), swap(SECOND))).1.len(), 1);
}

#[test]
fn a_bad_set_is_reported_with_its_line_and_the_rest_is_kept() {
    let broken = |line: &str| line.replacen("15.2193", "15.2194", 1);
    let text = format!("{DEMO}BAD BIRD\n{FIRST}\n{}\nLAST\n{FIRST}\n{SECOND}\n", broken(SECOND));
    let (names, refused) = outcome(&text);
    assert_eq!(names, ["SKUA-1", "GANNET-1", "TERN-1", "PETREL-1", "FULMAR-1", "LAST"]);
    let reason = "BAD BIRD: the checksum in column 69 is '1', the line adds up to 2".to_owned();
    assert_eq!(refused, [(DEMO.lines().count() + 3, reason)]);
}

#[test]
fn a_name_at_the_end_of_a_file_lacks_its_set() {
    let (names, refused) = outcome(&format!("{FIRST}\n{SECOND}\nTERN-1\n"));
    assert_eq!(names, ["99002"]);
    let why = "TERN-1: a name with nothing below it: the file ends before its set";
    assert_eq!(refused, [(3, why.to_owned())]);
}

#[test]
fn lines_that_do_not_belong_together_are_told_apart() {
    let other = summed(&SECOND.replacen("99002", "99003", 1));
    let cases = [
        (format!("{FIRST}\n{other}"), 2, "catalog number 99002, line 2 of 99003"),
        (format!("A\n{FIRST}\n"), 2, "A: line 1 of a set without its line 2"),
        (format!("A\n{SECOND}\n"), 2, "A: line 2 of a set without its line 1"),
        ("not found\n".to_owned(), 1, "neither an element line nor the name"),
        (format!("{FIRST}\n{}", &SECOND[..60]), 2, "has 69 columns, this one 60"),
        (format!("{}\n{SECOND}", FIRST.replacen("26002A", "2600Ü ", 1)), 1, "plain ASCII"),
    ];
    for (text, line, part) in cases {
        let (names, refused) = outcome(&text);
        assert_eq!((names.len(), refused.len()), (0, 1), "{text}: {refused:?}");
        assert!(refused[0].0 == line && refused[0].1.contains(part), "{text}: {refused:?}");
    }
}

#[test]
fn a_lost_line_costs_one_set_and_no_more() {
    let lines: Vec<&str> = DEMO.lines().collect();
    for lost in 1..lines.len() {
        let text: Vec<&str> =
            lines.iter().enumerate().filter(|(index, _)| *index != lost).map(|(_, line)| *line).collect();
        let (names, refused) = outcome(&text.join("\n"));
        // A set without its name is still a set.
        let expected = if lost % 3 == 1 { (5, 0) } else { (4, 1) };
        assert_eq!((names.len(), refused.len()), expected, "line {lost}: {refused:?}");
    }
}

#[test]
fn without_names_too_a_lost_second_line_costs_one_set() {
    let (names, refused) = outcome(&format!("{FIRST}\n{FIRST}\n{SECOND}\n{FIRST}\n{SECOND}"));
    assert_eq!(names, ["99002", "99002"]);
    assert_eq!(refused, [(1, "line 1 of a set without its line 2 below it".to_owned())]);
}

#[test]
fn numbers_that_are_none_never_reach_the_propagator() {
    for (line, from, to) in [
        (SECOND, "15.21936487", "        nan"),
        (SECOND, "15.21936487", "        inf"),
        (SECOND, "15.21936487", "-5.21936487"),
        (SECOND, "15.21936487", "45.21936487"),
        (SECOND, "15.21936487", "0.000000000"),
        (SECOND, " 97.4000", "197.4000"),
        (SECOND, " 97.4000", " 97.4e+0"),
        (SECOND, "343.8127", "943.8127"),
        (FIRST, " 0   44", " 4   44"),
        (FIRST, "26324.5", "26400.5"),
        (FIRST, "26324.50000000", "26-24.50000000"),
        (FIRST, " 21436-4", " 21436 4"),
    ] {
        let bad = summed(&line.replacen(from, to, 1));
        let text = if line == FIRST { format!("{bad}\n{SECOND}") } else { format!("{FIRST}\n{bad}") };
        let (names, refused) = outcome(&text);
        assert_eq!((names.len(), refused.len()), (0, 1), "{to}");
        assert_eq!(refused[0].0, if line == FIRST { 1 } else { 2 }, "{to}: {refused:?}");
    }
    let without_digit = format!("{FIRST}\n{} ", &SECOND[..68]);
    assert_eq!(outcome(&without_digit).0.len(), 0);
    assert_eq!(outcome(&format!("{}x\n{SECOND}", &FIRST[..68])).1[0].0, 1);
}

#[test]
fn blanks_in_fractions_stand_for_zeros() {
    let blank = summed(&SECOND.replacen("0011000", "  11000", 1));
    assert_eq!(one(&format!("{FIRST}\n{blank}")).eccentricity, 0.0011);
}

#[test]
fn messages_may_leave_out_what_is_not_needed_and_write_numbers_as_text() {
    let text = r#"[{"EPOCH": "2026-324T12:00:00Z", "MEAN_MOTION": "15.21936487", "ECCENTRICITY": "0.0011",
        "INCLINATION": "97.4", "RA_OF_ASC_NODE": "343.8127", "ARG_OF_PERICENTER": "72.5", "BSTAR": "2.1436E-5",
        "MEAN_ANOMALY": "250.4316", "NORAD_CAT_ID": "799900212", "OBJECT_NAME": null}]"#;
    let set = one(text);
    assert_eq!((set.name.as_str(), set.catalog_number), ("799900212", 799_900_212));
    assert_eq!(set.epoch, one(MESSAGE).epoch);
    assert_eq!(one(&MESSAGE.replacen("12:00:00.000000", "12:00:00Z", 1)).epoch, set.epoch);
    assert_eq!(one(&MESSAGE.replacen("12:00:00.000000", "14:00:00+02:00", 1)).epoch, set.epoch);
}

#[test]
fn a_bad_message_is_reported_with_its_place_and_the_rest_is_kept() {
    let bad = [
        ("\"MEAN_MOTION\": 15.21936487", "\"MEAN_MOTION\": \"nan\"", "the mean motion is NaN"),
        ("\"MEAN_MOTION\": 15.21936487,", "", "MEAN_MOTION is missing"),
        ("\"BSTAR\": 2.1436e-05", "\"BSTAR\": true", "BSTAR is true; a number is wanted"),
        ("99002", "1234567890", "NORAD_CAT_ID is 1234567890; one to nine digits"),
        ("99002", "-5", "NORAD_CAT_ID is -5"),
        ("2026-11-20T", "20 November ", "EPOCH is 20 November"),
        ("0.0011", "1.0", "the eccentricity is 1; it lies between 0 and"),
        ("\"EPHEMERIS_TYPE\": 0", "\"REF_FRAME\": \"ICRF\"", "REF_FRAME is ICRF; SGP4 is for TEME only"),
        ("\"EPHEMERIS_TYPE\": 0", "\"EPHEMERIS_TYPE\": \"4\"", "the ephemeris type is 4"),
        ("\"EPHEMERIS_TYPE\": 0,", "\"EPHEMERIS_TYPE\": ,", "set 2: no JSON object"),
    ];
    for (from, to, part) in bad {
        let broken = MESSAGE.replacen(from, to, 1);
        let (names, refused) = outcome(&format!("[{MESSAGE},\n{broken},\n{MESSAGE}]"));
        assert_eq!((names.len(), refused.len()), (2, 1), "{to}: {refused:?}");
        assert!(refused[0].1.contains(part) && refused[0].1.starts_with("set 2"), "{refused:?}");
        assert_eq!(refused[0].0, 1 + MESSAGE.lines().count());
    }
    let cut_off = format!("[{MESSAGE},\n{}", &MESSAGE[..200]);
    assert_eq!(outcome(&cut_off).1, [(6, "set 2: the JSON object that begins here does not end".to_owned())]);
}

#[test]
fn an_empty_file_is_empty() {
    for text in ["", "\n \r\n", "# nothing\n", "[]", " [ ] "] {
        assert_eq!(outcome(text), (vec![], vec![]), "{text:?}");
    }
}

/// A published or invented file with a few bytes changed, checksums mended or not.
fn mutated() -> impl Strategy<Value = String> {
    let lines: Vec<&str> = PUBLISHED.lines().chain(DEMO.lines()).collect();
    let change = (any::<prop::sample::Index>(), any::<prop::sample::Index>(), "[ -~é\r]");
    (prop::sample::subsequence(lines, 1..12), prop::collection::vec(change, 0..6), any::<bool>()).prop_map(
        |(lines, changes, mend)| {
            let mut lines: Vec<String> = lines.into_iter().map(str::to_owned).collect();
            for (line, column, with) in changes {
                let line = line.get_mut(&mut lines);
                let column = column.index(line.len().max(1));
                if line.is_char_boundary(column) && line.is_char_boundary(column + 1) {
                    line.replace_range(column..=column, &with);
                }
                if mend && line.is_ascii() && line.len() == 69 {
                    *line = summed(line);
                }
            }
            lines.join("\n")
        },
    )
}

/// Everything that was read can be asked without panic, and what is answered is in range.
fn ask(text: &str) {
    let station = Station::new(54.0, -2.5, 100.0).unwrap();
    for set in read_elements(text).sets {
        let Ok(track) = Track::new(&set, station) else { continue };
        for days in [-4000.0, -3.0, 0.0, 0.7, 30.0, 5000.0] {
            if let Ok(look) = track.at(later(set.epoch, days * 86_400.0)) {
                assert!((0.0..360.0).contains(&look.azimuth_deg), "{set:?} {look:?}");
                assert!((-90.0..=90.0).contains(&look.elevation_deg), "{set:?} {look:?}");
                assert!((-90.0..=90.0).contains(&look.latitude_deg), "{set:?} {look:?}");
                assert!((-180.0..=180.0).contains(&look.longitude_deg), "{set:?} {look:?}");
                assert!(look.range_km > 0.0 && look.range_km.is_finite() && look.range_rate_km_s.is_finite());
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn noise_never_panics(text in any::<String>()) {
        read_elements(&text);
    }

    #[test]
    fn noise_in_brackets_never_panics(text in "[\\[{][\\[\\]{}\",:\\\\a-z0-9 \n]{0,80}") {
        read_elements(&text);
    }

    #[test]
    fn a_mutated_file_never_panics_and_what_is_kept_can_be_asked(text in mutated()) {
        ask(&text);
    }

    #[test]
    fn a_mutated_message_never_panics_and_what_is_kept_can_be_asked(
        at in any::<prop::sample::Index>(), with in "[0-9a-zA-Z\"{}:,.+-]"
    ) {
        let mut text = MESSAGE.to_owned();
        let at = at.index(text.len());
        text.replace_range(at..=at, &with);
        ask(&text);
    }
}

#[test]
fn a_set_that_no_orbit_can_have_is_refused_by_name() {
    let mut set = one(&format!("GANNET-1\n{FIRST}\n{SECOND}"));
    set.eccentricity = 1.5;
    let error = Propagator::new(&set).unwrap_err().to_string();
    assert!(
        error.starts_with("GANNET-1: its elements describe no orbit (the eccentricity is 1.5"),
        "{error}"
    );
    set = ElementSet { eccentricity: 0.001, epoch: later(set.epoch, -9e10), ..set };
    assert!(Propagator::new(&set).is_err(), "an epoch before Christ");
}

#[test]
fn what_nonsense_sends_away_from_the_earth_is_no_place() {
    // A day with this drag term would lift the orbit to billions of kilometres.
    let set = ElementSet { drag_term: -10.0, ..one(&format!("GANNET-1\n{FIRST}\n{SECOND}")) };
    let error = Propagator::new(&set).unwrap().at(later(set.epoch, 86_400.0)).unwrap_err().to_string();
    assert!(error.contains("km from the Earth, farther than any satellite"), "{error}");
}
