//! `beamhand channels`.

use crate::program::{Home, beamhand, keys, sorted};

const KEYS: [&str; 10] = [
    "satellite",
    "catalog_number",
    "link",
    "serves",
    "largest_range_rate_km_s",
    "memories",
    "aos",
    "los",
    "max_elevation_deg",
    "changes",
];
const MEMORY: [&str; 9] = [
    "memory",
    "arms",
    "receive_hz",
    "receive_error_hz",
    "receive_mode",
    "transmit_hz",
    "transmit_error_hz",
    "transmit_mode",
    "tone_hz",
];

#[test]
fn the_demos_repeater_has_its_memories_within_the_bounds_and_one_change_for_each() {
    let objects = beamhand(&["channels", "GANNET-1", "--demo", "--json"]).objects();
    let [card] = objects.as_slice() else { panic!("{objects:?}") };
    assert_eq!(keys(card), sorted(&KEYS));
    let memories = card["memories"].as_array().unwrap();
    memories.iter().for_each(|memory| assert_eq!(keys(memory), sorted(&MEMORY)));
    let plain: Vec<_> = memories.iter().filter(|memory| memory["arms"] == false).collect();
    // Common practice: about five.
    assert!((5..=6).contains(&plain.len()), "{card}");
    for memory in &plain {
        assert_eq!(memory["receive_hz"].as_i64().unwrap() % 5_000, 0);
        assert!(memory["receive_error_hz"].as_i64() <= Some(2_500), "{memory}");
        assert!(memory["transmit_error_hz"].as_i64() <= Some(5_000), "{memory}");
        assert_eq!(memory["tone_hz"], 67.0);
    }
    assert!(memories.iter().any(|memory| memory["arms"] == true && memory["tone_hz"] == 74.4));
    let changes = card["changes"].as_array().unwrap();
    assert_eq!(changes[0]["time"], card["aos"]);
    assert!(changes.len() >= plain.len() - 1 && changes.len() <= plain.len(), "{card}");
}

#[test]
fn the_page_fits_the_screen_and_a_sheet_and_says_whose_the_licence_is() {
    for more in [&[][..], &["--apart"]] {
        let page = beamhand(&[&["channels", "GANNET-1", "--demo"], more].concat());
        page.assert_fits_the_screen();
        assert!(
            page.out.contains("CAUTION: the licence is yours") && page.out.contains("to arm"),
            "{}",
            page.out
        );
        assert!(page.out.lines().count() < 60, "{}", page.out);
    }
}

#[test]
fn two_radios_have_a_card_each_and_the_table_has_a_line_for_every_memory() {
    let cards = beamhand(&["channels", "GANNET-1", "--demo", "--apart", "--json"]).objects();
    let serves: Vec<_> = cards.iter().map(|card| card["serves"].as_str().unwrap()).collect();
    assert_eq!(serves, ["receive", "transmit"]);
    assert!(cards[0]["memories"].as_array().unwrap().iter().all(|memory| memory["transmit_hz"].is_null()));
    let table = beamhand(&["channels", "GANNET-1", "--demo", "--apart", "--csv"]);
    let lines: Vec<&str> = table.out.lines().collect();
    assert_eq!(lines[0], "radio,memory,receive_hz,receive_mode,transmit_hz,transmit_mode,tone_hz");
    let memories: usize = cards.iter().map(|card| card["memories"].as_array().unwrap().len()).sum();
    assert_eq!(lines.len(), 1 + memories, "{}", table.out);
    assert!(lines.contains(&"transmit,1,,,145925000,fm,67.0"), "{}", table.out);
}

#[test]
fn the_picture_is_whole_and_names_every_memory() {
    let picture = beamhand(&["channels", "GANNET-1", "--demo", "--svg"]);
    assert_eq!(picture.code, Some(0), "{}", picture.err);
    let mut reader = quick_xml::Reader::from_str(&picture.out);
    let (mut depth, mut texts) = (0, Vec::new());
    loop {
        match reader.read_event().unwrap() {
            quick_xml::events::Event::Start(_) => depth += 1,
            quick_xml::events::Event::End(_) => depth -= 1,
            quick_xml::events::Event::Text(text) => texts.push(text.xml10_content().into_owned()),
            quick_xml::events::Event::Eof => break,
            _ => {}
        }
    }
    assert_eq!(depth, 0);
    for wanted in ["435.220", "145.925", "67.0", "74.4", "A"] {
        assert!(texts.iter().any(|text| text == wanted), "no {wanted}: {texts:?}");
    }
}

#[test]
fn what_a_handheld_can_t_do_is_said_and_so_is_a_step_that_can_t_be_meant() {
    beamhand(&["channels", "TERN-1", "--demo"])
        .assert_refused(1, &["TERN-1 transponder", "linear transponder", "passband"]);
    beamhand(&["channels", "GANNET-1", "--demo", "--step", "12.5kHz"])
        .assert_refused(1, &["receive dial within 2500 Hz", "at least half a step"]);
    beamhand(&["channels", "GANNET-1", "--demo", "--step", "five"]).assert_refused(2, &["for example 5kHz"]);
    beamhand(&["channels", "FULMAR-1", "--demo", "--apart"]).assert_refused(1, &["only a downlink"]);
}

#[test]
fn without_segments_the_card_only_receives_and_says_why() {
    let home = Home::empty();
    let demo = std::fs::read_to_string(crate::program::DEMO).unwrap();
    let folder = std::path::Path::new(crate::program::DEMO).parent().unwrap();
    for name in ["elements.txt", "satellites.toml"] {
        home.file(name, &std::fs::read_to_string(folder.join(name)).unwrap());
    }
    let silent: String =
        demo.lines().filter(|line| !line.starts_with("segments")).map(|l| format!("{l}\n")).collect();
    let config = home.file("beamhand.toml", &silent);
    let at = ["--at", "2026-11-25 18:00"];
    let page = home.run(&[&["channels", "GANNET-1", "--config", &config], &at[..]].concat());
    page.assert_fits_the_screen();
    assert!(page.out.contains("Receive only: `segments`") && !page.out.contains("145."), "{}", page.out);
}
