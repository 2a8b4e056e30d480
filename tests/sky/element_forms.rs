//! One orbit in every form of the standard, and what a program may do to a form.

use beamhand::sky::{ElementSet, Propagator, parse_elements, read_elements};
use beamhand::terms::{later, parse_time, rfc3339, seconds_between};
use proptest::prelude::*;

use crate::common::{distance, number, rows};

const FORMS: [(&str, &str); 4] = [
    ("JSON", include_str!("../reference/omm/seabirds.json")),
    ("XML", include_str!("../reference/omm/seabirds.xml")),
    ("key-value", include_str!("../reference/omm/seabirds.kvn")),
    ("table", include_str!("../reference/omm/seabirds.csv")),
];
/// Source: the readers of the PyPI package sgp4, by `tests/reference/make_omm_table.py`.
const ELEMENTS: &str = include_str!("../reference/omm/elements.csv");
const STATES: &str = include_str!("../reference/omm/states.csv");

/// The first example of an OMM in CCSDS 502.0-B-3, from memory, under an invented name and number.
const EXAMPLE: &str = "\
CCSDS_OMM_VERS = 3.0
CREATION_DATE = 2020-065T16:00:00
ORIGINATOR = Q0HILL
OBJECT_NAME = SHEARWATER-2
OBJECT_ID = 2026-006C
CENTER_NAME = EARTH
REF_FRAME = TEME
TIME_SYSTEM = UTC
MEAN_ELEMENT_THEORY = SGP/SGP4
EPOCH = 2020-064T10:34:41.4264
MEAN_MOTION = 1.00273272
ECCENTRICITY = 0.0005013
INCLINATION = 3.0539
RA_OF_ASC_NODE = 81.7939
ARG_OF_PERICENTER = 249.2363
MEAN_ANOMALY = 150.1602
GM = 398600.8
EPHEMERIS_TYPE = 0
CLASSIFICATION_TYPE = U
NORAD_CAT_ID = 99023
ELEMENT_SET_NO = 0925
REV_AT_EPOCH = 4316
BSTAR = 0.0001
MEAN_MOTION_DOT = -0.00000113
MEAN_MOTION_DDOT = 0.0
";

/// What the second example adds: units, a covariance, user-defined parameters.
const MORE: &str = "\
COMMENT a covariance = six of its numbers are left out here
COV_REF_FRAME = TEME
CX_X = 3.331349476038534e-04
USER_DEFINED_EARTH_MODEL = WGS-84
";

/// The same where the numbers may describe no orbit.
#[track_caller]
fn written(text: &str) -> Vec<ElementSet> {
    let file = parse_elements(text);
    assert_eq!((file.refused, file.cut_off), (vec![], false), "{text}");
    file.sets
}

#[track_caller]
fn sets(text: &str) -> Vec<ElementSet> {
    let file = read_elements(text);
    assert_eq!((file.refused, file.cut_off), (vec![], false), "{text}");
    file.sets
}

/// Names of the good sets; lines and reasons of the others.
fn outcome(text: &str) -> (Vec<String>, Vec<(usize, String)>) {
    let file = read_elements(text);
    let names = file.sets.into_iter().map(|set| set.name).collect();
    (names, file.refused.into_iter().map(|refused| (refused.line, refused.reason)).collect())
}

#[test]
fn a_reference_library_finds_the_same_orbits_in_the_same_files() {
    for (form, text) in FORMS {
        let sets = sets(text);
        let names: Vec<&str> = sets.iter().map(|set| set.name.as_str()).collect();
        assert_eq!(names, ["GANNET-1", "PETREL & CHICK", "SHEARWATER-2, UPPER STAGE"], "{form}");
        for row in rows(STATES) {
            let set = sets.iter().find(|set| set.catalog_number.to_string() == row[0]).unwrap();
            let state = Propagator::new(set).unwrap().at(later(set.epoch, number(row[1]) * 60.0)).unwrap();
            let wanted = |first: usize| [first, first + 1, first + 2].map(|column| number(row[column]));
            let off_km = distance(state.position_km, wanted(2));
            // The library counts days in two floats, which costs it some microseconds: centimetres.
            assert!(off_km < 1e-3, "{form} {row:?}: {off_km} km");
            assert!(distance(state.velocity_km_s, wanted(5)) < 1e-6, "{form} {row:?}");
        }
    }
}

#[test]
fn a_reference_library_reads_the_same_elements_from_the_same_files() {
    for (form, text) in FORMS {
        let (sets, table) = (sets(text), rows(ELEMENTS).collect::<Vec<_>>());
        assert_eq!((sets.len(), table.len()), (3, 3), "{form}");
        for (set, row) in sets.iter().zip(&table) {
            assert_eq!(set.catalog_number.to_string(), row[0], "{form}");
            // The library keeps an epoch as days in two floats, good to some microseconds.
            let apart = seconds_between(parse_time(row[1]).unwrap(), set.epoch).abs();
            assert!(apart < 5e-6, "{form} {row:?}: {apart} s");
            let read = [
                set.inclination_deg,
                set.right_ascension_deg,
                set.eccentricity,
                set.argument_of_perigee_deg,
                set.mean_anomaly_deg,
                set.mean_motion_rev_day,
                set.drag_term,
            ];
            // The library turns degrees and revolutions into its own units, and the table back.
            for (ours, theirs) in read.into_iter().zip(row[2..].iter().map(|field| number(field))) {
                assert!((ours - theirs).abs() <= 1e-11 * theirs.abs(), "{form} {row:?}: {ours} {theirs}");
            }
        }
    }
}

#[test]
fn the_standards_examples_are_read() {
    let set = &sets(EXAMPLE)[0];
    assert_eq!((set.name.as_str(), set.catalog_number), ("SHEARWATER-2", 99023));
    // Day 64 of a leap year is 4 March.
    assert_eq!(rfc3339(set.epoch), "2020-03-04T10:34:41.426Z");
    assert_eq!((set.mean_motion_rev_day, set.eccentricity, set.drag_term), (1.00273272, 0.0005013, 0.0001));
    let with_units = EXAMPLE
        .replace("1.00273272", "1.00273272 [rev/day]")
        .replace("3.0539", "3.0539 [deg]")
        .replace("398600.8", "398600.8 [km**3/s**2]")
        .replace("0.0001\n", "0.0001 [1/ER]\n");
    assert_eq!(sets(&(with_units + MORE)), std::slice::from_ref(set));
}

#[test]
fn what_the_standard_lets_a_writer_choose_makes_no_difference() {
    let wanted = sets(EXAMPLE);
    for (from, to) in [
        ("10:34:41.4264", "10:34:41.4264Z"),
        ("2020-064T", "2020-03-04T"),
        ("= TEME", "= teme"),
        ("= EARTH", "=Earth"),
        ("SGP/SGP4", "SGP4"),
        ("MEAN_MOTION_DOT = -0.00000113\nMEAN_MOTION_DDOT = 0.0\n", ""),
        ("ELEMENT_SET_NO = 0925", "ELEMENT_SET_NO = -1"),
        ("EPHEMERIS_TYPE = 0\nCLASSIFICATION_TYPE = U\n", ""),
        ("0.0005013", "5.013E-4"),
        ("CREATION_DATE", "COMMENT = [nothing]\nCREATION_DATE"),
        ("MEAN_MOTION = ", "   MEAN_MOTION=\t"),
        ("MEAN_MOTION = ", "mean_motion = "),
        ("\n", "\r\n"),
    ] {
        assert_eq!(sets(&EXAMPLE.replace(from, to)), wanted, "{from:?} {to:?}");
    }
    let named = sets(&EXAMPLE.replace("SHEARWATER-2", "SHEARWATER [UPPER]"));
    assert_eq!(named[0].name, "SHEARWATER [UPPER]");
}

#[test]
fn a_bad_message_costs_only_itself_and_is_named_with_its_place() {
    let bad = [
        ("= 1.00273272", "= 1.00273272 [rad/s]", "MEAN_MOTION is in rad/s; it is wanted in rev/day"),
        ("BSTAR = 0.0001\n", "", "BSTAR is missing"),
        ("BSTAR = 0.0001", "BSTAR = ", "BSTAR is missing"),
        ("GM =", "INCLINATION = 4\nGM =", "INCLINATION is given twice"),
        ("GM = 398600.8", "<br>", "line 44 is no KEYWORD = value"),
        ("CCSDS_OMM_VERS", "CCSDS_OPM_VERS", "a message of the kind OPM; only OMM holds mean elements"),
        ("= SGP/SGP4", "= SGP4-XP", "MEAN_ELEMENT_THEORY is SGP4-XP; SGP4 is for SGP4 only"),
        ("= UTC", "= TAI", "TIME_SYSTEM is TAI"),
        ("NORAD_CAT_ID = 99023", "NORAD_CAT_ID = 0x12", "NORAD_CAT_ID is 0x12"),
    ];
    for (from, to, says) in bad {
        let (names, refused) = outcome(&format!("{EXAMPLE}\n\n{}\n{EXAMPLE}", EXAMPLE.replacen(from, to, 1)));
        assert_eq!((names.len(), refused.len()), (2, 1), "{to}: {refused:?}");
        assert_eq!(refused[0].0, EXAMPLE.lines().count() + 3);
        assert!(refused[0].1.contains(says) && refused[0].1.starts_with("set 2"), "{refused:?}");
    }
}

#[test]
fn a_bad_row_costs_only_itself() {
    let table = FORMS[3].1;
    let (names, refused) = outcome(&table.replace("2.00613016", "nan").replace("2026-004B", "2026-004B,"));
    assert_eq!(names, ["GANNET-1", "SHEARWATER-2, UPPER STAGE"]);
    assert_eq!(refused, [(3, "set 2, PETREL & CHICK: 18 fields under a head of 17".to_owned())]);
    let (names, refused) = outcome(&table.replace("2.00613016", "nan"));
    assert_eq!((names.len(), refused[0].0), (2, 3));
    assert!(refused[0].1.contains("the mean motion is NaN"), "{refused:?}");
    assert_eq!(outcome(table.lines().next().unwrap()), (vec![], vec![]), "a head without rows");
}

#[test]
fn a_message_that_is_not_well_formed_costs_only_itself() {
    let page = FORMS[1].1;
    let second = page.lines().position(|line| line.contains("PETREL")).unwrap() - 4;
    for (from, to, says) in [
        (
            "<OBJECT_NAME>PETREL &amp; CHICK</OBJECT_NAME>",
            "<OBJECT_NAME>PETREL</OBJECT_NUMBER>",
            "not well-formed XML on line 46: ",
        ),
        ("&amp;", "&chick;", "the entity &chick; is not known"),
        ("&amp;", "&", "XML"),
        ("<NORAD_CAT_ID>799500123</NORAD_CAT_ID>", "", "NORAD_CAT_ID is missing"),
        ("units=\"rev/day\">2.006", "units=\"deg/s\">2.006", "MEAN_MOTION is in deg/s"),
    ] {
        let (names, refused) = outcome(&page.replacen(from, to, 1));
        assert_eq!(names, ["GANNET-1", "SHEARWATER-2, UPPER STAGE"], "{to}: {refused:?}");
        assert_eq!((refused.len(), refused[0].0), (1, second), "{to}: {refused:?}");
        assert!(refused[0].1.starts_with("set 2") && refused[0].1.contains(says), "{refused:?}");
    }
}

#[test]
fn a_lost_end_costs_one_message() {
    let page = FORMS[1].1;
    let (names, refused) = outcome(&page.replacen("</omm>", "", 1));
    assert_eq!(names, ["PETREL & CHICK", "SHEARWATER-2, UPPER STAGE"], "{refused:?}");
    assert!(refused[0].1.contains("the <omm> that begins here does not end"), "{refused:?}");
}

#[test]
fn a_text_that_is_cut_off_says_so_and_keeps_what_came_before() {
    for (form, text) in &FORMS[..2] {
        let cut = &text[..text.len() * 3 / 5];
        let file = read_elements(cut);
        assert!(file.cut_off, "{form}");
        assert_eq!((file.sets.len(), file.refused.len()), (1, 1), "{form}: {:?}", file.refused);
    }
    let lines = "1 99002U 26002A   26324.50000000  .00000123  00000-0  21436-4 0   449";
    assert!(read_elements(lines).cut_off);
}

#[test]
fn namespaces_comments_and_character_data_are_xml_too() {
    let page = FORMS[1].1.replace("<omm ", "<n:omm ").replace("</omm>", "</n:omm>");
    let page =
        page.replace("<EPOCH>", "<!-- <EPOCH>x</EPOCH> --><EPOCH>").replace(".0011<", "<![CDATA[.0011]]><");
    assert_eq!(sets(&page), sets(FORMS[1].1));
    let single = &page[page.find("<n:omm").unwrap()..page.find("</n:omm>").unwrap()];
    assert_eq!(sets(&format!("{single}</n:omm>")), sets(FORMS[1].1)[..1]);
}

#[test]
fn a_web_page_holds_no_elements() {
    let page = "<!DOCTYPE html>\n<html><head><meta charset=utf-8></head><body>Try later<br></body></html>";
    let (names, refused) = outcome(page);
    assert_eq!((names.len(), refused.len(), refused[0].0), (0, 1, 2));
    assert!(refused[0].1.starts_with("<html> where <omm>"), "{refused:?}");
}

/// Checksum of an element line: digits count as themselves, a minus sign as one.
fn summed(line: &str) -> String {
    let value = |c: char| c.to_digit(10).unwrap_or(u32::from(c == '-'));
    format!("{line}{}", line.chars().map(value).sum::<u32>() % 10)
}

/// An orbit in the numbers that two lines can hold: milliseconds of the epoch apart, whole units
/// of the last column.
#[derive(Debug, Clone)]
struct Orbit {
    number: u32,
    hour: u32,
    inclination: u32,
    node: u32,
    eccentricity: u32,
    perigee: u32,
    anomaly: u32,
    motion: u64,
    drag: u32,
}

fn orbit() -> impl Strategy<Value = Orbit> {
    let angle = 0_u32..3_600_000;
    let shape = (0_u32..1_800_000, angle.clone(), 0_u32..9_000_000, angle.clone(), angle);
    (10_000_u32..100_000, 0_u32..24, shape, 100_000_000_u64..1_700_000_000, 10_000_u32..100_000).prop_map(
        |(number, hour, (inclination, node, eccentricity, perigee, anomaly), motion, drag)| Orbit {
            number,
            hour,
            inclination,
            node,
            eccentricity,
            perigee,
            anomaly,
            motion,
            drag,
        },
    )
}

impl Orbit {
    fn lines(&self) -> String {
        let angle = |value: u32| format!("{:3}.{:04}", value / 10_000, value % 10_000);
        let day = 324.0 + f64::from(self.hour) / 24.0;
        let first = format!(
            "1 {:05}U 26002A   26{day:012.8}  .00000000  00000-0  {:05}-4 0    1",
            self.number, self.drag
        );
        let second = format!(
            "2 {:05} {} {} {:07} {} {} {:2}.{:08}    1",
            self.number,
            angle(self.inclination),
            angle(self.node),
            self.eccentricity,
            angle(self.perigee),
            angle(self.anomaly),
            self.motion / 100_000_000,
            self.motion % 100_000_000
        );
        format!("TERN\n{}\n{}\n", summed(&first), summed(&second))
    }

    fn fields(&self) -> [(&'static str, String); 10] {
        let angle = |value: u32| format!("{}.{:04}", value / 10_000, value % 10_000);
        [
            ("OBJECT_NAME", "TERN".to_owned()),
            ("EPOCH", format!("2026-324T{:02}:00:00", self.hour)),
            ("NORAD_CAT_ID", self.number.to_string()),
            ("INCLINATION", angle(self.inclination)),
            ("RA_OF_ASC_NODE", angle(self.node)),
            ("ECCENTRICITY", format!("0.{:07}", self.eccentricity)),
            ("ARG_OF_PERICENTER", angle(self.perigee)),
            ("MEAN_ANOMALY", angle(self.anomaly)),
            ("MEAN_MOTION", format!("{}.{:08}", self.motion / 100_000_000, self.motion % 100_000_000)),
            ("BSTAR", format!("0.{:05}E-4", self.drag)),
        ]
    }

    fn messages(&self) -> [String; 4] {
        let fields = self.fields();
        let each = |form: &dyn Fn(&str, &str) -> String, between: &str| {
            let all: Vec<String> = fields.iter().map(|(key, value)| form(key, value)).collect();
            all.join(between)
        };
        [
            format!("{{{}}}", each(&|key, value| format!("\"{key}\": \"{value}\""), ", ")),
            format!("<omm>{}</omm>", each(&|key, value| format!("<{key}>{value}</{key}>"), "\n")),
            format!("CCSDS_OMM_VERS = 3.0\n{}", each(&|key, value| format!("{key} = {value}"), "\n")),
            format!("{}\n{}\n", each(&|key, _| key.to_owned(), ","), each(&|_, value| value.to_owned(), ",")),
        ]
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn one_orbit_in_five_forms_is_one_set(orbit in orbit()) {
        let [wanted] = &written(&orbit.lines())[..] else { panic!("one set is wanted") };
        for message in orbit.messages() {
            let [set] = &written(&message)[..] else { panic!("one set is wanted of {message}") };
            // The lines' epoch is a fraction of a day to eight places, half a millisecond.
            let apart = (set.epoch - wanted.epoch).num_microseconds().unwrap().abs();
            prop_assert!(apart <= 500, "{} {}", set.epoch, wanted.epoch);
            prop_assert!((set.drag_term - wanted.drag_term).abs() <= 1e-15 * set.drag_term);
            let set = ElementSet { epoch: wanted.epoch, drag_term: wanted.drag_term, ..set.clone() };
            prop_assert_eq!(&set, wanted, "{}", message);
        }
    }

    #[test]
    fn noise_in_a_message_never_panics(
        form in 0_usize..4, at in any::<prop::sample::Index>(), with in "[ -~\n]{0,3}"
    ) {
        let mut text = FORMS[form].1.to_owned();
        let at = at.index(text.len());
        text.replace_range(at..=at, &with);
        for set in read_elements(&text).sets {
            let _ = Propagator::new(&set).map(|orbit| orbit.at(later(set.epoch, 5400.0)));
        }
    }

    #[test]
    fn a_message_that_is_cut_anywhere_never_panics(form in 0_usize..4, at in any::<prop::sample::Index>()) {
        let text = FORMS[form].1;
        read_elements(&text[..at.index(text.len())]);
    }
}

/// A terminal would obey them, and files come from anywhere.
#[test]
fn no_control_character_comes_through_and_no_endless_name() {
    let name = format!("GULL\u{1b}[2J\u{7}{}", "X".repeat(5_000));
    let kvn = EXAMPLE.replace("SHEARWATER-2", &name);
    let named = &sets(&kvn)[0].name;
    assert!(named.starts_with("GULL[2JXXX") && named.ends_with("X...") && named.len() < 100, "{named}");
    let bad = read_elements(&kvn.replace("3.0539", "\u{1b}]0;title\u{7}")).refused.remove(0).reason;
    assert!(!bad.contains(char::is_control) && bad.len() < 500, "{bad}");
}
