//! `beamhand passes`.

use beamhand::terms::{parse_time, seconds_between};
use serde_json::Value;

use crate::program::{DEMO, ELEMENTS, Ran, STATION, beamhand, keys, sorted};

const KEYS: [&str; 12] = [
    "satellite",
    "catalog_number",
    "aos",
    "highest",
    "tca",
    "los",
    "max_elevation_deg",
    "aos_azimuth_deg",
    "highest_azimuth_deg",
    "los_azimuth_deg",
    "duration_s",
    "sunlit_at_highest",
];

fn passes(more: &[&str]) -> Ran {
    beamhand(&[&["passes", "--elements", ELEMENTS, "--station", STATION], more].concat())
}

fn seconds(from: &Value, to: &Value) -> f64 {
    let time = |value: &Value| parse_time(value.as_str().unwrap()).unwrap();
    seconds_between(time(from), time(to))
}

#[test]
fn one_object_a_pass_has_exactly_the_promised_keys_in_order_of_rising() {
    let objects = passes(&["--from", "2026-11-25T00:00:00Z", "--hours", "12", "--json"]).objects();
    assert!(objects.len() > 5, "{}", objects.len());
    for object in &objects {
        assert_eq!(keys(object), sorted(&KEYS));
    }
    for pair in objects.windows(2) {
        assert!(pair[0]["aos"].is_null() || seconds(&pair[0]["aos"], &pair[1]["aos"]) >= 0.0);
    }
}

#[test]
fn the_demos_good_pass_is_found_and_its_times_agree() {
    let arguments = ["--satellite", "GANNET-1", "--from", "2026-11-25T18:00:00Z", "--hours", "1", "--json"];
    let objects = passes(&arguments).objects();
    let [pass] = objects.as_slice() else { panic!("{objects:?}") };
    let duration = pass["duration_s"].as_f64().unwrap();
    assert!((seconds(&pass["aos"], &pass["los"]) - duration).abs() < 0.002, "{pass}");
    // Common practice: a high pass at some 500 km lasts eleven to twelve minutes.
    assert!((660.0..720.0).contains(&duration), "{pass}");
    assert!(seconds(&pass["aos"], &pass["tca"]) > 0.0 && seconds(&pass["tca"], &pass["los"]) > 0.0);
}

#[test]
fn a_rising_before_the_window_and_a_setting_after_it_are_null() {
    // Around the good pass's middle, with a window of 36 seconds.
    let arguments =
        ["--satellite", "GANNET-1", "--from", "2026-11-25T18:37:50Z", "--hours", "0.01", "--json"];
    let objects = passes(&arguments).objects();
    let [pass] = objects.as_slice() else { panic!("{objects:?}") };
    for absent in ["aos", "aos_azimuth_deg", "los", "los_azimuth_deg", "duration_s"] {
        assert!(pass[absent].is_null(), "{absent}: {pass}");
    }
    assert!(pass["highest"].is_string() && pass["tca"].is_string());
}

#[test]
fn hours_may_be_fractions_and_a_minimum_elevation_negative() {
    let half = passes(&["--from", "2026-11-25T18:00:00Z", "--hours", "0.5", "--json"]).objects();
    let hour = passes(&["--from", "2026-11-25T18:00:00Z", "--hours", "1", "--json"]).objects();
    assert!(half.len() < hour.len(), "{} and {}", half.len(), hour.len());
    let window = ["--from", "2026-11-25T18:00:00Z", "--hours", "1", "--satellite", "99002", "--json"];
    let longer =
        |minimum: &[&str]| passes(&[&window[..], minimum].concat()).objects()[0]["duration_s"].as_f64();
    assert!(longer(&["--min-elevation", "-2"]) > longer(&[]));
    assert_eq!(longer(&["--min-elevation=-2"]), longer(&["--min-elevation", "-2"]));
}

#[test]
fn only_passes_that_come_above_the_minimum_elevation_are_listed() {
    let from = ["--from", "2026-11-25T00:00:00Z", "--hours", "24", "--json"];
    let high = passes(&[&from[..], &["--min-elevation", "30"]].concat()).objects();
    assert!(!high.is_empty() && high.len() < passes(&from).objects().len());
    assert!(high.iter().all(|pass| pass["max_elevation_deg"].as_f64() > Some(30.0)));
}

#[test]
fn the_table_for_people_fits_the_screen_even_where_there_is_nothing_to_show() {
    passes(&["--from", "2026-11-25T00:00:00Z"]).assert_fits_the_screen();
    let nothing = ["--from", "2026-11-25T18:00:00Z", "--hours", "0.01", "--satellite", "99002"];
    passes(&nothing).assert_fits_the_screen();
}

#[test]
fn without_elements_and_station_the_configuration_has_them() {
    let window = ["--from", "2026-11-25T18:00:00Z", "--hours", "1", "--json"];
    let configured = beamhand(&[&["passes", "--config", DEMO], &window[..]].concat());
    assert_eq!(configured.objects(), passes(&window).objects());
}
