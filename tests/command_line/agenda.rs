//! `beamhand agenda`, from the files alone.

use beamhand::terms::{Time, parse_time};
use serde_json::Value;

use crate::program::{DEMO, ELEMENTS, Home, Ran, beamhand, keys, sorted};

const KEYS: [&str; 15] = [
    "satellite",
    "link",
    "chosen",
    "from",
    "until",
    "useful_s",
    "prepare_at",
    "aos",
    "los",
    "max_elevation_deg",
    "pointing_error_deg",
    "timing_error_s",
    "frequency_error_hz",
    "may_transmit",
    "why",
];

/// From midnight before a Wednesday.
const WEDNESDAY: [&str; 4] = ["--from", "2026-11-25T00:00:00Z", "--hours", "24"];

fn agenda(more: &[&str]) -> Ran {
    beamhand(&[&["agenda", "--config", DEMO], &WEDNESDAY[..], more].concat())
}

fn time(object: &Value, key: &str) -> Time {
    parse_time(object[key].as_str().unwrap()).unwrap()
}

fn chosen(objects: &[Value]) -> Vec<&Value> {
    objects.iter().filter(|object| object["chosen"] == true).collect()
}

#[test]
fn every_pass_is_an_object_with_a_reason_and_the_chosen_ones_do_not_meet() {
    let objects = agenda(&["--json"]).objects();
    for object in &objects {
        assert_eq!(keys(object), sorted(&KEYS));
        assert!(!object["why"].as_str().unwrap().is_empty());
        assert_eq!(object["chosen"] == true, object["prepare_at"].is_string());
    }
    let chosen = chosen(&objects);
    assert!(chosen.len() > 5, "{}", chosen.len());
    for pair in chosen.windows(2) {
        assert!(time(pair[0], "until") < time(pair[1], "from"), "{pair:?}");
        assert!(time(pair[0], "until") <= time(pair[1], "prepare_at"), "{pair:?}");
    }
}

/// By common practice a set five to six days old is off by some ten kilometres, a second or two, and the
/// frequency by hundreds of hertz at most (150 Hz a second at 435 MHz and 500 km, overhead).
#[test]
fn every_entry_says_how_far_it_may_be_off_in_text_and_json() {
    for object in chosen(&agenda(&["--json"]).objects()) {
        let figure = |key: &str| object[key].as_f64().unwrap();
        assert!((0.05..5.0).contains(&figure("pointing_error_deg")), "{object}");
        assert!((0.2..20.0).contains(&figure("timing_error_s")), "{object}");
        assert!((0.0..1000.0).contains(&figure("frequency_error_hz")), "{object}");
    }
    let ran = agenda(&[]);
    let lines: Vec<&str> = ran.out.lines().collect();
    let told = lines.iter().filter(|line| line.starts_with("    may be off by ")).count();
    assert_eq!(told, lines.iter().filter(|line| line.starts_with("+ ")).count(), "{}", ran.out);
    assert!(ran.out.contains(" Hz at the downlink"), "{}", ran.out);
}

#[test]
fn an_uplink_outside_the_segments_is_told_where_the_pass_is_worked() {
    let home = Home::empty();
    let demo = std::fs::read_to_string(DEMO).unwrap();
    home.file("elements.txt", &std::fs::read_to_string(ELEMENTS).unwrap());
    home.file("satellites.toml", include_str!("../../config/demo/satellites.toml"));
    let config = home.file("own.toml", &demo.replacen("from = 145_800_000", "from = 145_950_000", 1));
    let ran = home.run(&[&["agenda", "--config", &config], &WEDNESDAY[..]].concat());
    ran.assert_fits_the_screen();
    let told = "    uplink outside your [transmit] segments: the transmitter is left alone";
    assert!(ran.out.lines().any(|line| line == told), "{}", ran.out);
    assert!(!agenda(&[]).out.contains("uplink"), "the demo's own segments hold all uplinks");
    let own = home.run(&[&["agenda", "--json", "--config", &config], &WEDNESDAY[..]].concat()).objects();
    for entry in own.iter().filter(|entry| entry["satellite"] == "GANNET-1") {
        assert_eq!(entry["may_transmit"], false, "{entry}");
    }
    let checked = home.run(&["check", "--config", &config]);
    checked.assert_fits_the_screen();
    let words = checked.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("GANNET-1 repeater: its uplink, 145.927 000 MHz, is in no [transmit] segment"));
    assert!(words.contains("PETREL-1 repeater (at some hours, o"), "{words}");
}

#[test]
fn a_clock_that_is_not_trusted_is_told_and_one_that_is_vouched_for_is_not() {
    let home = Home::empty();
    let demo = std::fs::read_to_string(DEMO).unwrap();
    home.file("elements.txt", &std::fs::read_to_string(ELEMENTS).unwrap());
    home.file("satellites.toml", include_str!("../../config/demo/satellites.toml"));
    let vouched = demo.replacen("[[radio]]", "[clock]\ntrust = \"always\"\n\n[[radio]]", 1);
    for text in [&demo, &vouched] {
        let config = home.file("beamhand.toml", text);
        // Whether the clock of the computer that runs this is to be trusted, `check` says.
        let is_doubted = home.run(&["check", "--config", &config]).out.contains("clock: no pass is started");
        assert!(!is_doubted || text == &demo);
        for verb in ["agenda", "passes", "look"] {
            let ran = home.run(&[verb, "--config", &config]);
            assert_eq!(ran.err.contains("the clock can't be trusted"), is_doubted, "{verb}: {}", ran.err);
        }
    }
}

#[test]
fn a_link_that_is_on_at_weekends_only_is_left_out_on_a_wednesday() {
    let objects = agenda(&["--json"]).objects();
    let petrel: Vec<&Value> = objects.iter().filter(|object| object["satellite"] == "PETREL-1").collect();
    assert!(petrel.len() > 3);
    for pass in petrel {
        assert_eq!((&pass["chosen"], &pass["why"]), (&false.into(), &"the link is off at this time".into()));
    }
}

#[test]
fn the_table_fits_the_screen_and_marks_by_signs() {
    let ran = agenda(&[]);
    ran.assert_fits_the_screen();
    assert!(ran.out.lines().skip(1).any(|line| line.starts_with("+ GANNET-1 repeater")), "{}", ran.out);
    assert!(ran.out.lines().skip(1).all(|line| line.starts_with(['+', '-', ' '])), "{}", ran.out);
    // For ears as well: what the signs mean is said, and the headings stand over their columns.
    assert!(
        ran.out.ends_with("+ is worked, - is left out; min: useful minutes; el: degrees at the highest\n")
    );
    let column = |line: usize, text: &str| ran.out.lines().nth(line).unwrap().find(text).unwrap();
    assert_eq!(column(0, "local"), column(1, "Wed"), "{}", ran.out);
}

#[test]
fn quiet_hours_are_those_of_the_stations_wall() {
    let home = Home::empty();
    let demo = std::fs::read_to_string(DEMO).unwrap();
    let quiet = "[[agenda.quiet]]\nfrom = \"20:00\"\nto = \"08:00\"\n\n[[radio]]";
    let config = home.file("beamhand.toml", &demo.replacen("[[radio]]", quiet, 1));
    home.file("elements.txt", &std::fs::read_to_string(ELEMENTS).unwrap());
    home.file("satellites.toml", include_str!("../../config/demo/satellites.toml"));
    let arguments = [&["agenda", "--json", "--config", &config], &WEDNESDAY[..]].concat();
    // A wall two hours ahead of UTC: quiet from 18:00 to 06:00 UTC.
    let output = home.command(&arguments).env("TZ", "QQQ-2").output().unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    let objects: Vec<Value> = out.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let loud = parse_time("2026-11-25T06:00:00Z").unwrap()..parse_time("2026-11-25T18:00:00Z").unwrap();
    let chosen = chosen(&objects);
    assert!(chosen.len() > 2, "{out}");
    for entry in chosen {
        assert!(loud.contains(&time(entry, "prepare_at")) && loud.contains(&time(entry, "until")), "{entry}");
    }
    assert!(objects.iter().any(|object| object["why"] == "quiet hours"), "{out}");
}

#[test]
fn what_can_not_be_planned_is_said_and_the_rest_is_shown() {
    let home = Home::empty();
    let demo = std::fs::read_to_string(DEMO).unwrap();
    let config = home.file("beamhand.toml", &demo.replacen("\"GANNET-1\"", "\"AUK-9\", \"GANNET-1\"", 1));
    home.file("elements.txt", &std::fs::read_to_string(ELEMENTS).unwrap());
    home.file("satellites.toml", include_str!("../../config/demo/satellites.toml"));
    let ran = home.run(&[&["agenda", "--config", &config], &WEDNESDAY[..]].concat());
    assert!(ran.err.contains("no satellite \"AUK-9\""), "{}", ran.err);
    assert!(ran.out.contains("+ GANNET-1"), "{}", ran.out);
    let checked = home.run(&["check", "--config", &config]);
    assert!(checked.out.contains("agenda: no satellite \"AUK-9\""), "{}", checked.out);
}

#[test]
fn an_empty_agenda_says_where_its_list_is() {
    let home = Home::empty();
    let config = home.file("beamhand.toml", "format = 1\n[station]\nlatitude = 54\nlongitude = -2.5\n");
    home.file("elements.txt", "");
    home.file("satellites.toml", "format = 1\n");
    let ran = home.run(&["agenda", "--config", &config]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert!(ran.out.contains("`satellites` in [agenda]"), "{}", ran.out);
}

#[test]
fn what_lies_before_a_satellite_is_lost_is_worked_all_the_same() {
    // The demo's elements are of 20 November 2026, and nothing is foretold for more than ten years.
    let from = ["--from", "2036-11-18T00:00:00Z", "--hours", "96", "--json"];
    let ran = beamhand(&[&["agenda", "--config", DEMO], &from[..]].concat());
    assert!(ran.err.contains("more than ten years from the epoch of GANNET-1's elements"), "{}", ran.err);
    let objects = ran.objects();
    let gannets = chosen(&objects).into_iter().filter(|pass| pass["satellite"] == "GANNET-1").count();
    // It comes up about eight times a day, for two days and a half.
    assert!(gannets > 10, "{gannets}");
    assert!(objects.iter().all(|pass| pass["aos"].as_str() < Some("2036-11-21")));
}
