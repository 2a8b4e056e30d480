//! `beamhand passes`.

use beamhand::terms::{parse_time, seconds_between};
use serde_json::Value;

use crate::program::{DEMO, ELEMENTS, Home, Ran, STATION, beamhand, keys, sorted};

const KEYS: [&str; 15] = [
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
    "shadow",
    "dark_at_station",
    "grade",
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
fn the_legend_says_what_counts_as_up_how_sure_it_is_and_what_was_cut() {
    let window = ["--satellite", "GANNET-1", "--hours", "1"];
    let told = |more: &[&str]| {
        let ran = passes(&[&window[..], more].concat());
        ran.assert_fits_the_screen();
        ran.out
    };
    let (before, after) =
        ("it was up already when this search began", "it is still up when this search ends");
    let whole = told(&["--from", "2026-11-25T18:00:00Z", "--min-elevation", "12.5"]);
    assert!(whole.contains("\nup: above 12.5 degrees\n"), "{whole}");
    assert!(!whole.contains(before) && !whole.contains(after), "{whole}");
    let doubt = whole.lines().find(|line| line.starts_with("may be off by up to ")).unwrap();
    assert!(doubt.contains(" degrees and ") && doubt.contains("(GANNET-1)"), "{doubt}");
    let begun = told(&["--from", "2026-11-25T18:38:00Z"]);
    assert!(begun.contains(before) && !begun.contains(after), "{begun}");
    let unfinished = told(&["--from", "2026-11-25T17:38:00Z"]);
    assert!(!unfinished.contains(before) && unfinished.contains(after), "{unfinished}");
    let horizon = {
        let home = Home::empty();
        let demo = std::fs::read_to_string(DEMO).unwrap();
        home.file("elements.txt", &std::fs::read_to_string(ELEMENTS).unwrap());
        home.file("satellites.toml", include_str!("../../config/demo/satellites.toml"));
        let text = demo.replacen("altitude_m = 120", "altitude_m = 120\nhorizon = [[0, 2]]", 1);
        let config = home.file("own.toml", &text);
        home.run(&["passes", "--config", &config, "--from", "2026-11-25T18:00:00Z"]).out
    };
    assert!(horizon.contains("\nup: above 0 degrees, and your own horizon\n"), "{horizon}");
}

/// A wall ten hours ahead of UTC is at the next day from 14:00 UTC on.
#[test]
fn the_day_of_utc_is_told_where_it_is_not_the_walls() {
    let home = Home::empty();
    let run = |verb: &[&str]| {
        let window = ["--config", DEMO, "--from", "2026-11-25T12:00:00Z", "--hours", "12"];
        let output = home.command(&[verb, &window[..]].concat()).env("TZ", "QQQ-10").output().unwrap();
        let out = String::from_utf8(output.stdout).unwrap();
        assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
        out
    };
    for verb in [&["passes"][..], &["passes", "--with", "KP20LG"]] {
        let out = run(verb);
        assert!(out.contains("\nWednesday, 25 November 2026\n"), "{out}");
        assert!(out.contains("\nThursday, 26 November 2026 (UTC: Wednesday, 25 November)\n"), "{out}");
    }
    let out = run(&["agenda"]);
    assert!(out.lines().any(|line| line.contains(" Thu 04:33 Wed 18:33-18:42 ")), "{out}");
    assert!(out.lines().any(|line| line.contains(" Wed 2") && !line.contains("Wed 1")), "{out}");
}

/// Whatever the limit is, a pass that does not reach it shows a smaller number.
#[test]
fn a_height_is_never_rounded_up_over_the_limit_of_its_grade() {
    let window = ["--from", "2026-11-25T18:00:00Z", "--hours", "1", "--satellite", "GANNET-1"];
    let highest =
        passes(&[&window[..], &["--json"]].concat()).objects()[0]["max_elevation_deg"].as_f64().unwrap();
    assert_eq!(highest.fract().max(0.01), highest.fract(), "a height with decimals is wanted for this");
    let home = Home::empty();
    let demo = std::fs::read_to_string(DEMO).unwrap();
    home.file("elements.txt", &std::fs::read_to_string(ELEMENTS).unwrap());
    home.file("satellites.toml", include_str!("../../config/demo/satellites.toml"));
    // One thousandth of a degree more than the pass has is the limit; then the whole degree above.
    let limit = format!("[station]\nhigh_elevation = {}", highest + 0.001);
    let config = home.file("own.toml", &demo.replacen("[station]", &limit, 1));
    let row = |config: &str| {
        let ran = home.run(&[&["passes", "--config", config], &window[..]].concat());
        ran.out.lines().find(|line| line.starts_with("GANNET-1")).unwrap().to_owned()
    };
    assert!(row(&config).ends_with(" fair"), "{}", row(&config));
    let shown: f64 = row(&config).split_whitespace().nth(6).unwrap().parse().unwrap();
    assert_eq!(shown, highest.floor(), "{}", row(&config));
}

#[test]
fn without_elements_and_station_the_configuration_has_them() {
    let window = ["--from", "2026-11-25T18:00:00Z", "--hours", "1", "--json"];
    let configured = beamhand(&[&["passes", "--config", DEMO], &window[..]].concat());
    assert_eq!(configured.objects(), passes(&window).objects());
}

#[test]
fn the_shadow_is_inside_the_pass_and_winter_evenings_are_dark() {
    let objects = passes(&["--from", "2026-11-25T00:00:00Z", "--hours", "24", "--json"]).objects();
    let shadows: usize = objects.iter().map(|pass| pass["shadow"].as_array().unwrap().len()).sum();
    assert!(shadows > 3);
    for pass in &objects {
        for stay in pass["shadow"].as_array().unwrap() {
            assert_eq!(keys(stay), sorted(&["dims", "enters", "leaves", "brightens", "total"]));
            let edges: Vec<&Value> = ["dims", "enters", "leaves", "brightens"]
                .iter()
                .map(|key| &stay[*key])
                .filter(|edge| !edge.is_null())
                .collect();
            assert!(edges.windows(2).all(|pair| seconds(pair[0], pair[1]) > 0.0), "{stay}");
            for edge in edges {
                assert!(pass["aos"].is_null() || seconds(&pass["aos"], edge) > 0.0, "{pass}");
                assert!(pass["los"].is_null() || seconds(edge, &pass["los"]) > 0.0, "{pass}");
            }
        }
        // Between 07:15 and 16:39 it is light at 54 north (tests/sky/sun.rs).
        let hour: u32 = pass["highest"].as_str().unwrap()[11..13].parse().unwrap();
        if hour != 7 && hour != 16 {
            assert_eq!(pass["dark_at_station"], !(8..16).contains(&hour), "{pass}");
        }
    }
}

#[test]
fn the_table_names_directions_by_the_compass_and_judges_by_the_stations_own_limits() {
    let home = Home::empty();
    let demo = std::fs::read_to_string(DEMO).unwrap();
    let folder = std::path::Path::new(DEMO).parent().unwrap();
    let own = |limits: &str| {
        for name in ["elements.txt", "satellites.toml"] {
            home.file(name, &std::fs::read_to_string(folder.join(name)).unwrap());
        }
        let text = demo.replacen("[station]", &format!("[station]\n{limits}"), 1);
        let config = home.file("own.toml", &text);
        let window = ["--from", "2026-11-25T18:00:00Z", "--hours", "1", "--satellite", "GANNET-1"];
        home.run(&[&["passes", "--config", &config], &window[..]].concat())
    };
    let ran = own("");
    ran.assert_fits_the_screen();
    assert!(ran.out.contains("fair from 15, high from 40, overhead from 75; else low"), "{}", ran.out);
    let row = |ran: &Ran| ran.out.lines().find(|line| line.starts_with("GANNET-1")).unwrap().to_owned();
    // The demo has one good pass.
    assert!(row(&ran).ends_with(" high"), "{}", ran.out);
    let ran = own("high_elevation = 89\noverhead_elevation = 90");
    assert!(row(&ran).ends_with(" fair"), "{}", ran.out);
    own("fair_elevation = 50").assert_refused(78, &["fair_elevation", "above `high_elevation`, 40"]);
}

#[test]
fn the_dials_of_each_link_are_shown_as_it_rises_is_closest_and_sets() {
    let window = ["--from", "2026-11-25T18:00:00Z", "--hours", "1", "--satellite", "GANNET-1"];
    let passes = |more: &[&str]| {
        beamhand(&[&["passes", "--config", DEMO, "--frequencies"], &window[..], more].concat())
    };
    let objects = passes(&["--json"]).objects();
    let links = objects[0]["frequencies"].as_array().unwrap();
    assert_eq!(links.len(), 2, "{links:?}");
    let (repeater, beacon) = (&links[0], &links[1]);
    assert_eq!((&repeater["link"], &repeater["tone_hz"]), (&Value::from("repeater"), &Value::from(67.0)));
    let dial = |link: &Value, at: &str, which: &str| link[at][which].as_i64();
    assert_eq!(dial(beacon, "tca", "transmit_hz"), None);
    // The satellite sends on 435.217 MHz and listens on 145.927 MHz. At 500 km the range rate is at
    // most 7.06 km/s less what the Earth's turning adds, 0.3 km/s: the downlink is heard between 8 and
    // 10.7 kHz higher as it rises, and the uplink a third of that lower (their ratio by hand: 2.982).
    let down = dial(repeater, "aos", "receive_hz").unwrap() - 435_217_000;
    let up = 145_927_000 - dial(repeater, "aos", "transmit_hz").unwrap();
    assert!((8_000..10_700).contains(&down), "{down}");
    assert!((down as f64 / up as f64 - 2.982).abs() < 0.002, "{down} {up}");
    assert!(dial(repeater, "los", "receive_hz").unwrap() < 435_217_000 - 8_000);
    assert!((dial(repeater, "tca", "receive_hz").unwrap() - 435_217_000).abs() < 50);

    let text = passes(&[]);
    text.assert_fits_the_screen();
    let transmit = text.out.lines().find(|line| line.trim().starts_with("transmit")).unwrap();
    assert!(transmit.ends_with("FM, tone 67.0") && transmit.contains("145.92"), "{transmit}");
}

#[test]
fn with_another_station_the_common_times_and_the_distance_are_told() {
    let window = ["--from", "2026-11-25T00:00:00Z", "--with", "60.2,24.9", "--with-min-elevation", "5"];
    let objects = passes(&[&window[..], &["--json"]].concat()).objects();
    assert!(objects.len() > 5, "{}", objects.len());
    let own = ["satellite", "catalog_number", "begins", "ends", "duration_s", "distance_km", "here", "there"];
    for object in &objects {
        assert_eq!(keys(object), sorted(&own));
        // tests/reference/geodesic.csv
        assert!((object["distance_km"].as_f64().unwrap() - 1_782.034_585_763).abs() < 1e-6);
        for (station, minimum) in [("here", 0.0), ("there", 5.0)] {
            for edge in ["begins", "ends"] {
                let elevation = &object[station][edge]["elevation_deg"];
                assert_eq!(elevation.is_null(), object[edge].is_null(), "{object}");
                assert!(elevation.is_null() || elevation.as_f64().unwrap() > minimum - 1e-3, "{object}");
            }
        }
    }
    let text = passes(&window);
    text.assert_fits_the_screen();
    assert!(text.out.starts_with("The other station is 1782 km away.\n"), "{}", text.out);
    // Half the world away no low satellite is seen by both.
    let none = passes(&["--from", "2026-11-25T00:00:00Z", "--with=-54,177"]);
    assert!(none.out.contains("No satellite is above 0 degrees here and 0 there at once"), "{}", none.out);
    passes(&["--with-min-elevation", "5"]).assert_refused(2, &["--with"]);
    passes(&["--with", "nowhere"]).assert_refused(2, &["LAT,LON", "IO84RA"]);
}

/// GANNET-1's uplink is 145.927 MHz and moves by some 3 kHz; PETREL-1's repeater is on at weekends only, and
/// this is a Wednesday.
#[test]
fn a_link_that_is_off_or_outside_the_segments_is_told_with_the_frequencies() {
    let home = Home::empty();
    let demo = std::fs::read_to_string(DEMO).unwrap();
    home.file("elements.txt", &std::fs::read_to_string(ELEMENTS).unwrap());
    home.file("satellites.toml", include_str!("../../config/demo/satellites.toml"));
    let window = ["--from", "2026-11-25T18:00:00Z", "--hours", "1"];
    let run = |from: &str, satellite: &str, more: &[&str]| {
        let config = home.file("own.toml", &demo.replacen("from = 145_800_000", from, 1));
        let of = ["passes", "--config", &config, "--frequencies", "--satellite", satellite];
        home.run(&[&of[..], &window[..], more].concat())
    };
    let words = |ran: &Ran| ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for (from, told, may) in [
        ("from = 145_800_000", "", true),
        ("from = 145_927_000", "uplink partly outside your [transmit] segments", false),
        (
            "from = 145_950_000",
            "uplink outside your [transmit] segments: the transmitter is left alone",
            false,
        ),
    ] {
        let ran = run(from, "GANNET-1", &[]);
        ran.assert_fits_the_screen();
        assert!(words(&ran).contains(told) && ran.out.contains("uplink") != may, "{}", ran.out);
        let links = run(from, "GANNET-1", &["--json"]).objects()[0]["frequencies"].clone();
        assert_eq!((&links[0]["may_transmit"], &links[0]["on"]), (&may.into(), &"throughout".into()));
        assert_eq!(links[1]["may_transmit"], Value::Null, "the beacon has no uplink");
        let calendar = run(from, "GANNET-1", &["--calendar"]).out.replace("\r\n ", "");
        assert!(
            calendar.contains("repeater: receive on 435.2") && calendar.contains(" MHz as it rises\\, "),
            "{calendar}"
        );
        assert!(calendar.contains("uplink") != may, "{calendar}");
    }
    let off = run("from = 145_800_000", "PETREL-1", &[]);
    off.assert_fits_the_screen();
    assert!(off.out.contains("    off during this pass, says the satellites file\n"), "{}", off.out);
    let off = run("from = 145_800_000", "PETREL-1", &["--json"]).objects();
    assert_eq!(off[0]["frequencies"][0]["on"], "off");
}

/// Source: what another program read, by `tests/reference/read_calendar.py`.
const CALENDAR: &str = include_str!("../reference/calendar.csv");

#[test]
fn the_calendar_is_what_another_program_reads_in_it() {
    let window = ["--from", "2026-11-25T00:00:00Z", "--hours", "24"];
    let run = |more: &[&str]| beamhand(&[&["passes", "--config", DEMO], &window[..], more].concat());
    let ran = run(&["--calendar"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let head = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Beamhand//Beamhand ";
    assert!(ran.out.starts_with(head) && ran.out.ends_with("END:VEVENT\r\nEND:VCALENDAR\r\n"));
    for line in ran.out.split_terminator('\n') {
        assert!(line.ends_with('\r') && line.len() <= 76, "{line:?}");
    }
    let unfolded = ran.out.replace("\r\n ", "");
    let values = |name: &str| -> Vec<String> {
        let lines = unfolded.lines().filter_map(|line| line.strip_prefix(name)?.strip_prefix(':'));
        lines.map(|value| value.replace("\\,", ";")).collect()
    };
    let plain = |time: &str| time.replace(['-', ':'], "");
    let columns: Vec<Vec<&str>> = CALENDAR.lines().skip(1).map(|row| row.split(',').collect()).collect();
    let column = |index: usize| columns.iter().map(move |row| row[index].to_owned());
    assert!(columns.len() > 30);
    assert_eq!(values("DTSTART"), column(0).map(|time| plain(&time)).collect::<Vec<_>>());
    assert_eq!(values("DTEND"), column(1).map(|time| plain(&time)).collect::<Vec<_>>());
    assert_eq!(values("UID"), column(3).collect::<Vec<_>>());
    assert_eq!(values("SUMMARY"), column(4).collect::<Vec<_>>());
    assert_eq!(values("DTSTAMP").len(), columns.len());
    let mut names = values("UID");
    names.sort();
    names.dedup();
    assert_eq!(names.len(), columns.len(), "no two events have one name");
    // The same passes as for programs, to the second.
    let whole = run(&["--json"]).objects().into_iter().filter(|pass| !pass["duration_s"].is_null());
    let rises: Vec<String> = whole.map(|pass| format!("{}Z", &pass["aos"].as_str().unwrap()[..19])).collect();
    assert_eq!(rises, column(0).collect::<Vec<_>>());
}

#[test]
fn only_whole_passes_are_in_the_calendar() {
    let window = ["--from", "2026-11-25T18:38:00Z", "--satellite", "GANNET-1"];
    let cut = passes(&[&window[..], &["--hours", "4", "--calendar"]].concat());
    assert_eq!(cut.out.matches("BEGIN:VEVENT").count(), 1, "{}", cut.out);
    assert!(cut.err.contains("1 left out"), "{}", cut.err);
    let nothing = passes(&[&window[..], &["--hours", "0.01", "--calendar"]].concat());
    nothing.assert_refused(1, &["no whole pass"]);
    passes(&["--calendar", "--json"]).assert_refused(2, &["--calendar", "--json"]);
}

#[test]
fn what_lies_before_a_satellite_is_lost_is_listed_all_the_same() {
    // The demo's elements are of 20 November 2026, and nothing is foretold for more than ten years.
    let ran =
        passes(&["--satellite", "GANNET-1", "--from", "2036-11-10T00:00:00Z", "--hours", "480", "--json"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert!(ran.err.contains("more than ten years from the epoch of GANNET-1's elements"), "{}", ran.err);
    // At 54 degrees north a low polar satellite comes up about eight times a day, for ten days.
    let objects = ran.objects();
    assert!((70..90).contains(&objects.len()), "{}", objects.len());
    assert!(objects.iter().all(|pass| pass["aos"].as_str() < Some("2036-11-20T12:00")));
}

#[test]
fn meetings_before_a_satellite_is_lost_are_listed_all_the_same() {
    let with = ["--satellite", "GANNET-1", "--with", "53.0,-1.0", "--json"];
    let ran = passes(&[&with[..], &["--from", "2036-11-10T00:00:00Z", "--hours", "480"]].concat());
    assert!(ran.err.contains("more than ten years from the epoch of GANNET-1's elements"), "{}", ran.err);
    // The other station is 150 km away: the low passes alone are no meetings.
    let meetings = ran.objects().len();
    assert!((60..80).contains(&meetings), "{meetings}");
}

#[test]
fn where_no_satellite_can_be_followed_there_is_no_answer() {
    for with in [&[][..], &["--with", "KP20LG"]] {
        let ran = passes(&[&["--from", "1900-01-01T00:00:00Z"], with].concat());
        assert_eq!(ran.code, Some(1), "{}", ran.out);
        assert!(ran.err.contains("no satellite could be followed through the search"), "{}", ran.err);
        assert_eq!(ran.out, "");
    }
}

#[test]
fn hours_that_are_negative_are_named_as_a_value() {
    let ran = passes(&["--hours", "-1"]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.err.contains("a number from 0 to 87600 hours is wanted"), "{}", ran.err);
}

/// A pipe would block, an endless device fill the memory, and a serial port key a transmitter.
#[test]
fn elements_and_locators_that_are_in_no_file_are_not_opened() {
    let ran = beamhand(&["passes", "--elements", "/dev/zero", "--station", STATION]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.err.contains("/dev/zero: is a device, not a file"), "{}", ran.err);
    let source = ["--elements", ELEMENTS, "--station", STATION, "--locators", "/dev/zero"];
    let ran = beamhand(&[&["footprint", "GANNET-1"], &source[..]].concat());
    assert_eq!(ran.code, Some(2));
    assert!(ran.err.contains("\"/dev/zero\" is a device, not a file"), "{}", ran.err);
}
