//! `beamhand look`.

use std::io::{BufRead as _, BufReader, Write as _};
use std::process::Stdio;

use serde_json::Value;

use crate::program::{DEMO, ELEMENTS, Home, Ran, STATION, beamhand, keys, sorted};

const EVENING: &str = "2026-11-25T18:30:00Z";
const KEYS: [&str; 15] = [
    "satellite",
    "catalog_number",
    "time",
    "azimuth_deg",
    "elevation_deg",
    "range_km",
    "range_rate_km_s",
    "sunlit",
    "latitude_deg",
    "longitude_deg",
    "altitude_km",
    "behind_horizon",
    "pointing_error_deg",
    "timing_error_s",
    "range_rate_error_km_s",
];

fn look(more: &[&str]) -> Ran {
    beamhand(&[&["look", "--elements", ELEMENTS], more].concat())
}

#[test]
fn one_object_a_satellite_has_exactly_the_promised_keys() {
    let objects = look(&["--station", STATION, "--at", EVENING, "--json"]).objects();
    let names: Vec<&str> = objects.iter().map(|object| object["satellite"].as_str().unwrap()).collect();
    assert_eq!(names, ["SKUA-1", "GANNET-1", "TERN-1", "PETREL-1", "FULMAR-1"]);
    for object in &objects {
        assert_eq!(keys(object), sorted(&KEYS));
        assert_eq!(object["time"], "2026-11-25T18:30:00.000Z");
        assert!(object["sunlit"].is_boolean());
        assert!(object["catalog_number"].is_u64());
        assert!((0.0..360.0).contains(&object["azimuth_deg"].as_f64().unwrap()));
    }
}

#[test]
fn a_satellite_is_chosen_by_name_in_any_case_or_by_number() {
    for wanted in ["gannet-1", "GANNET-1", "99002"] {
        let objects =
            look(&["--station", STATION, "--at", EVENING, "--satellite", wanted, "--json"]).objects();
        assert_eq!(objects.len(), 1);
        assert_eq!(objects[0]["catalog_number"], 99002);
    }
    look(&["--station", STATION, "--satellite", "AUK-1"]).assert_refused(1, &["AUK-1", "GANNET-1"]);
}

#[test]
fn times_on_standard_input_are_answered_in_their_order() {
    let arguments = ["look", "--elements", ELEMENTS, "--station", STATION, "--satellite", "99001", "--at"];
    let input = "2026-11-25T18:30:10Z\n2026-11-25T19:30:00.5+01:00\n2026-11-25T18:30:05Z\n";
    let ran = Home::empty().run_with_input(&[&arguments[..], &["-", "--json"]].concat(), input);
    let times: Vec<Value> = ran.objects().into_iter().map(|object| object["time"].clone()).collect();
    assert_eq!(times, ["2026-11-25T18:30:10.000Z", "2026-11-25T18:30:00.500Z", "2026-11-25T18:30:05.000Z"]);
}

#[test]
fn each_time_is_answered_before_the_next_one_is_written() {
    let arguments =
        ["look", "--elements", ELEMENTS, "--station", STATION, "--satellite", "99001", "--at", "-", "--json"];
    let home = Home::empty();
    let mut child = home.command(&arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    let (mut asks, mut answers) = (child.stdin.take().unwrap(), BufReader::new(child.stdout.take().unwrap()));
    for second in ["01", "02"] {
        writeln!(asks, "2026-11-25T18:30:{second}Z").unwrap();
        let mut answer = String::new();
        answers.read_line(&mut answer).unwrap();
        assert!(answer.contains(&format!("18:30:{second}.000Z")), "{answer}");
    }
    drop(asks);
    assert!(child.wait().unwrap().success());
}

#[test]
fn a_line_that_is_no_time_is_named_and_what_came_before_it_is_answered() {
    let arguments = ["look", "--elements", ELEMENTS, "--station", STATION, "--satellite", "99001", "--json"];
    let input = "2026-11-25T18:30:10Z\nyesterday\n";
    let ran = Home::empty().run_with_input(&[&arguments[..], &["--at", "-"]].concat(), input);
    ran.assert_refused(1, &["standard input, line 2", "yesterday", "RFC 3339"]);
    assert_eq!(ran.out.lines().count(), 1);
    let ran = Home::empty().run_with_input(&[&arguments[..], &["--at", "-"]].concat(), b"\n\xff\xfe\n");
    ran.assert_refused(1, &["standard input, line 2", "RFC 3339"]);
}

#[test]
fn a_blank_line_is_no_time_and_no_error() {
    let arguments = ["look", "--elements", ELEMENTS, "--station", STATION, "--satellite", "99001", "--json"];
    let input = "\n2026-11-25T18:30:10Z\n \n2026-11-25T18:30:20Z\n\n";
    let ran = Home::empty().run_with_input(&[&arguments[..], &["--at", "-"]].concat(), input);
    let times: Vec<_> = ran.objects().iter().map(|object| object["time"].clone()).collect();
    assert_eq!(times, ["2026-11-25T18:30:10.000Z", "2026-11-25T18:30:20.000Z"]);
}

#[test]
fn negative_numbers_are_values_after_a_blank_and_after_an_equals_sign() {
    let after_blank = look(&["--station", "-34.9,138.6,50", "--at", EVENING, "--json"]).objects();
    let after_equals = look(&["--station=-34.9,138.6,50", "--at", EVENING, "--json"]).objects();
    assert_eq!(after_blank, after_equals);
    assert_ne!(after_blank, look(&["--station", STATION, "--at", EVENING, "--json"]).objects());
}

#[test]
fn bad_element_sets_are_reported_with_their_lines_and_the_rest_is_kept() {
    let good = std::fs::read_to_string(ELEMENTS).unwrap();
    // Line 4 is the second line of the first set: its last digit is the checksum.
    let bad = good.replacen("41274\n", "41275\n", 1);
    assert_ne!(bad, good);
    let home = Home::empty();
    let file = home.file("elements.txt", &bad);
    let ran = home.run(&["look", "--elements", &file, "--station", STATION, "--at", EVENING, "--json"]);
    assert_eq!(ran.objects().len(), 4);
    assert!(ran.err.contains(&format!("{file}:4: ")), "{}", ran.err);
    assert!(ran.err.contains("checksum"), "{}", ran.err);
}

#[test]
fn without_elements_and_station_the_configuration_has_them() {
    let home = Home::empty();
    let ran = home.run(&["look", "--config", DEMO, "--at", EVENING, "--json"]);
    assert_eq!(ran.objects(), look(&["--station", STATION, "--at", EVENING, "--json"]).objects());
}

#[test]
fn the_table_for_people_fits_the_screen() {
    look(&["--station", STATION, "--at", EVENING]).assert_fits_the_screen();
}

#[test]
fn a_reader_that_has_seen_enough_is_no_error() {
    let times = "2026-11-25T18:30:00Z\n".repeat(5000);
    let home = Home::empty();
    let input = home.file("times", &times);
    let mut child = home
        .command(&["look", "--elements", ELEMENTS, "--station", STATION, "--at", "-", "--json"])
        .stdin(std::fs::File::open(input).unwrap())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}

#[test]
fn with_the_earths_orientation_angles_change_and_what_the_file_lacks_is_said() {
    let even = look(&["--station", STATION, "--at", EVENING, "--json"]).objects();
    let home = Home::empty();
    // One day of the file's form, with UT1 a second ahead of what it is: the Earth has turned by
    // 15 arc seconds more.
    let days: String = [("1125", "61369.00"), ("1126", "61370.00")]
        .map(|(day, mjd)| {
            format!("26{day} {mjd} P  0.000000 0.000100  0.000000 0.000100  P 0.9000000 0.0001000\n")
        })
        .concat();
    let file = home.file("orientation", &days);
    let turned = look(&["--station", STATION, "--at", EVENING, "--json", "--earth-orientation", &file]);
    let longitude = |objects: &[Value]| objects[0]["longitude_deg"].as_f64().unwrap();
    // Sidereal: 360.9856 degrees a day.
    let expected = 0.9 * 360.985_6 / 86_400.0;
    let moved = longitude(&even) - longitude(&turned.objects());
    assert!((moved - expected).abs() < 1e-4, "{moved} {expected}");
    assert_eq!(turned.err, "");
    let stale =
        look(&["--station", STATION, "--at", "2026-11-28T00:00:00Z", "--json", "--earth-orientation", &file]);
    assert!(
        stale.err.contains("25 Nov 2026 to 26 Nov 2026") && stale.err.contains("UT1 = UTC"),
        "{}",
        stale.err
    );
    let missing = look(&["--station", STATION, "--at", EVENING, "--json", "--earth-orientation", "nowhere"]);
    assert!(missing.err.contains("nowhere") && missing.err.contains("UT1 = UTC"), "{}", missing.err);
    assert_eq!(missing.objects(), even);
}

/// The satellite is up to 2,500 km away and its set five days old: by common practice some kilometres,
/// a second or so. A square of 5 by 2.5 km adds to it.
#[test]
fn a_look_says_how_far_it_may_be_off() {
    let said = |station: &str| {
        let of = ["--station", station, "--at", EVENING, "--satellite", "GANNET-1", "--json"];
        look(&of).objects().remove(0)
    };
    let (point, square) = (said("54.02083,-2.45833,0"), said("IO84SA"));
    let figure = |of: &Value, key: &str| of[key].as_f64().unwrap();
    assert!((0.05..5.0).contains(&figure(&point, "pointing_error_deg")), "{point}");
    assert!((0.5..20.0).contains(&figure(&point, "timing_error_s")), "{point}");
    for key in ["pointing_error_deg", "timing_error_s", "range_rate_error_km_s"] {
        assert!(figure(&square, key) > figure(&point, key), "{key}: {square} {point}");
    }
    let text = look(&["--station", STATION, "--at", EVENING, "--satellite", "GANNET-1"]);
    text.assert_fits_the_screen();
    assert!(text.out.contains("may be off by ") && text.out.contains("elements 5 days old"), "{}", text.out);
    look(&["--station", STATION, "--at", EVENING]).assert_fits_the_screen();
}

/// What could not be followed stands above the table and not within, where both go to one screen.
#[test]
fn remarks_come_before_the_tables_heading() {
    let home = Home::empty();
    let set = |number: u32, year: u32| {
        format!(
            r#"{{"OBJECT_NAME": "AUK-{number}", "NORAD_CAT_ID": {number}, "EPOCH": "{year}-11-21T12:00:00",
            "MEAN_MOTION": 15.2, "ECCENTRICITY": 0.001, "INCLINATION": 97.4, "BSTAR": 0.00002,
            "RA_OF_ASC_NODE": 343.8, "ARG_OF_PERICENTER": 72.5, "MEAN_ANOMALY": 5.4}}"#
        )
    };
    let elements = home.file("two.json", &format!("[{},{}]", set(99077, 2026), set(99078, 2010)));
    let screen = std::fs::File::create(home.path().join("screen")).unwrap();
    let arguments = ["look", "--elements", &elements, "--station", STATION, "--at", EVENING];
    let mut both = home.command(&arguments);
    both.stdout(screen.try_clone().unwrap()).stderr(screen);
    assert!(both.status().unwrap().success());
    let shown = std::fs::read_to_string(home.path().join("screen")).unwrap();
    let place = |what: &str| shown.find(what).unwrap_or_else(|| panic!("no {what:?} in {shown}"));
    assert!(place("more than ten years from the epoch of AUK-99078") < place("satellite   "), "{shown}");
    assert!(place("satellite   ") < place("AUK-99077  "), "{shown}");
}
