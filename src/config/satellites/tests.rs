use std::path::Path;

use super::parse_satellites;
use crate::link::{LinkKind, Satellite};
use crate::terms::{Hertz, Mode, parse_time};

const EXAMPLE: &str = include_str!("../../../config/satellites.toml");

fn parse(text: &str) -> Result<Vec<Satellite>, String> {
    parse_satellites(Path::new("s.toml"), text).map_err(|errors| errors.to_string())
}

fn satellite(links: &str) -> String {
    format!("format = 1\n[[satellite]]\nname = \"AUK-1\"\ncatalog_number = 99010\n{links}")
}

fn link(name: &str, more: &str) -> String {
    format!("[[satellite.link]]\nname = \"{name}\"\ndownlink = 435_000_000\n{more}\n")
}

#[test]
fn the_example_is_read_with_everything_that_it_shows() {
    let satellites = parse(EXAMPLE).unwrap();
    let repeater = satellites[0].link("REPEATER").unwrap();
    let uplink = repeater.uplink.unwrap();
    assert_eq!((repeater.kind, uplink.mode), (LinkKind::FmRepeater, Mode::Fm));
    assert_eq!(uplink.access_tone.unwrap().to_string(), "67.0");
    assert_eq!(uplink.arming_tone.unwrap().to_string(), "74.4");
    assert!(!uplink.fixed);
    // 2026-11-23 is a Monday.
    assert!(repeater.is_on(parse_time("2026-11-23T06:00:00Z").unwrap()));
    assert!(!repeater.is_on(parse_time("2026-11-24T06:00:00Z").unwrap()));
    assert_eq!(satellites[1].links[0].kind, LinkKind::Linear { inverting: true, passband: Hertz(30_000) });
}

#[test]
fn an_inverting_transponder_turns_the_sideband_over_unless_told_otherwise() {
    let linear = |inverting: bool, more: &str| {
        let keys = "kind = \"linear\"\nmode = \"usb\"\nuplink = 145_900_000\npassband = 20_000\n";
        let text = satellite(&link("t", &format!("{keys}inverting = {inverting}\n{more}")));
        parse(&text).unwrap()[0].links[0].uplink.unwrap().mode
    };
    assert_eq!(linear(true, ""), Mode::Lsb);
    assert_eq!(linear(false, ""), Mode::Usb);
    assert_eq!(linear(true, "uplink_mode = \"cw\""), Mode::Cw);
}

#[test]
fn what_does_not_fit_the_kind_is_refused_at_its_key() {
    let beacon = link(
        "b",
        "kind = \"beacon\"\nmode = \"cw\"\nuplink = 145_900_000\naccess_tone = 67.0\npassband = 9000",
    );
    let errors = parse(&satellite(&beacon)).unwrap_err();
    assert_eq!(
        errors,
        "s.toml:10:1: `uplink` does not belong here: a beacon has no uplink\n\
         s.toml:11:1: `access_tone` does not belong here: a beacon has no uplink\n\
         s.toml:12:1: `passband` does not belong here: only a linear transponder has one"
    );
    let silent = link("r", "kind = \"fm-repeater\"\nmode = \"fm\"");
    assert!(parse(&satellite(&silent)).unwrap_err().starts_with("s.toml:5:1: `uplink` is missing"));
    let linear = link("t", "kind = \"linear\"\nmode = \"usb\"\nuplink = 145_900_000");
    assert_eq!(parse(&satellite(&linear)).unwrap_err().lines().count(), 2);
}

#[test]
fn only_an_fm_uplink_can_be_left_standing() {
    let repeater = "kind = \"fm-repeater\"\nmode = \"fm\"\nuplink = 145_900_000\nfixed_uplink = true";
    assert!(parse(&satellite(&link("r", repeater))).unwrap()[0].links[0].uplink.unwrap().fixed);
    let keyed = repeater.replace("uplink = 1", "uplink_mode = \"cw\"\nuplink = 1");
    let error = parse(&satellite(&link("r", &keyed))).unwrap_err();
    assert_eq!(error, "s.toml:12:1: `fixed_uplink` needs an FM uplink, and this one is CW");
    assert!(parse(&satellite(&link("r", &keyed.replace("true", "false")))).is_ok());
}

#[test]
fn a_tone_that_is_none_names_the_nearest() {
    let repeater = link("r", "kind = \"fm-repeater\"\nmode = \"fm\"\nuplink = 145_900_000\naccess_tone = 88");
    let error = parse(&satellite(&repeater)).unwrap_err();
    assert!(error.contains("`access_tone` is 88; nearest: 88.5; accepted: a standard"), "{error}");
}

#[test]
fn a_link_whose_kind_is_wrong_gives_no_further_errors() {
    let odd =
        link("r", "kind = \"repeater\"\nmode = \"fm\"\nuplink = 1_000_000\naccess_tone = 67.0\npassband = 3");
    let error = parse(&satellite(&odd)).unwrap_err();
    assert_eq!(error.lines().count(), 1, "{error}");
    assert!(error.contains("nearest: fm-repeater"), "{error}");
}

#[test]
fn names_and_numbers_are_unique() {
    let beacon = link("b", "kind = \"beacon\"\nmode = \"cw\"");
    let twice =
        satellite(&beacon) + "[[satellite]]\nname = \"auk-1\"\ncatalog_number = 99010\n" + &beacon + &beacon;
    let errors = parse(&twice).unwrap_err();
    assert_eq!(
        errors,
        "s.toml:11:1: this `name` is that of [[satellite]] on line 2 too\n\
         s.toml:12:1: this `catalog_number` is that of [[satellite]] on line 2 too\n\
         s.toml:19:1: this `name` is that of [[satellite.link]] on line 13 too"
    );
}

#[test]
fn hours_and_days_that_are_none_are_refused() {
    let beacon =
        |on: &str| satellite(&link("b", &format!("kind = \"beacon\"\nmode = \"cw\"\non = {{ {on} }}")));
    let refused = |on: &str| parse(&beacon(on)).unwrap_err();
    assert!(refused("days = [\"tues\"]").contains("nearest: tue"));
    assert!(refused("days = []").contains("`days` is empty"));
    assert!(refused("from = \"25:00\"").contains("a time of the day"));
    assert!(refused("from = 06:00:00").contains("the date or time 06:00:00"));
    assert!(parse(&beacon("to = \"24:00\"")).is_ok());
}

#[test]
fn a_link_may_be_on_at_several_times() {
    let hours =
        "[{ from = \"06:00\", to = \"08:00\" }, { days = [\"sat\"], from = \"20:00\", to = \"22:00\" }]";
    let beacon = link("b", &format!("kind = \"beacon\"\nmode = \"cw\"\non = {hours}"));
    let satellites = parse(&satellite(&beacon)).unwrap();
    let is_on = |time: &str| satellites[0].links[0].is_on(parse_time(time).unwrap());
    // 2026-11-27 is a Friday.
    assert!(is_on("2026-11-27T07:00:00Z") && is_on("2026-11-28T07:00:00Z") && is_on("2026-11-28T21:00:00Z"));
    assert!(!is_on("2026-11-27T21:00:00Z") && !is_on("2026-11-28T12:00:00Z"));
    let always = parse(&satellite(&link("b", "kind = \"beacon\"\nmode = \"cw\""))).unwrap();
    assert!(always[0].links[0].is_on(parse_time("2026-11-27T12:00:00Z").unwrap()));
}
