//! `beamhand listening` and `beamhand horizon propose`, on files of simulated listening.

use beamhand::listening::{Spell, form};

use crate::program::{DEMO, Home, Ran, beamhand, keys, sorted};
use crate::world::{Life, Radio, World};

const KEYS: [&str; 29] = [
    "satellite",
    "link",
    "downlink_hz",
    "state",
    "confidence",
    "passes",
    "passes_judged",
    "passes_heard",
    "share_low",
    "share_high",
    "more_if_heard",
    "more_if_silent",
    "first_heard",
    "last_heard",
    "heard_above_deg",
    "heard_above_low_deg",
    "heard_above_high_deg",
    "sunlight_matters",
    "sunlit_heard",
    "sunlit_judged",
    "eclipsed_heard",
    "eclipsed_judged",
    "noise_s",
    "not_judged_short",
    "not_judged_shared",
    "not_judged_no_reference",
    "not_judged_covered",
    "not_judged_little_noise",
    "false_alarm_rate",
];

/// A month of a living satellite by turns on two antennas, of a dead one, and two passes of a third.
struct Kept(Home);

impl Kept {
    fn new() -> Self {
        let home = Home::empty();
        let mut files: std::collections::BTreeMap<String, Vec<u8>> = std::collections::BTreeMap::new();
        let alive = World {
            antenna: |number| if number.is_multiple_of(2) { ("loft", 0.0) } else { ("mast", 6.0) },
            radio: Radio::Both(240.0),
            strength_db: 30.0,
            nothings: 3,
            ..World::new(Life::Alive)
        };
        let worlds = [
            ("GANNET-1", alive.clone(), 120),
            ("PUFFIN-2", World::new(Life::Dead), 60),
            ("TERN-1", alive, 2),
        ];
        for (seed, (name, world, passes)) in worlds.into_iter().enumerate() {
            world.listen(passes, seed as u64, |spell| {
                let spell = Spell { satellite: name.to_owned(), ..spell.clone() };
                let file = form::file_name(spell.readings[0].at);
                files.entry(file).or_default().extend(form::write(&spell));
            });
        }
        std::fs::create_dir(home.path().join("heard")).unwrap();
        for (name, bytes) in files {
            std::fs::write(home.path().join("heard").join(name), bytes).unwrap();
        }
        Self(home)
    }

    fn run(&self, arguments: &[&str]) -> Ran {
        self.0.run(&[arguments, &["--folder", "heard", "--days", "9999"]].concat())
    }
}

fn texts(svg: &str) -> Vec<String> {
    let mut reader = quick_xml::Reader::from_str(svg);
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
    texts
}

#[test]
fn the_living_the_dead_and_the_unknown_are_told_apart_in_every_form() {
    let kept = Kept::new();
    let table = kept.run(&["listening"]);
    table.assert_fits_the_screen();
    for wanted in ["GANNET-1", "active", "PUFFIN-2", "quiet", "TERN-1", "undecided", "UTC", "local"] {
        assert!(table.out.contains(wanted), "no {wanted}: {}", table.out);
    }
    let links = kept.run(&["listening", "--json"]).objects();
    let states: Vec<_> = links.iter().map(|link| link["state"].as_str().unwrap()).collect();
    assert_eq!(states, ["active", "quiet", "undecided"]);
    links.iter().for_each(|link| assert_eq!(keys(link), sorted(&KEYS)));
    assert!(links[0]["last_heard"].is_string() && links[1]["last_heard"].is_null());
    assert_eq!(links[2]["not_judged_little_noise"], 2);
    // The simulated horizon is four degrees high.
    let above = links[0]["heard_above_deg"].as_f64().unwrap();
    assert!((3.0..6.0).contains(&above), "{above}");
    let csv = kept.run(&["listening", "--csv"]);
    assert_eq!(csv.out.lines().next().unwrap().split(',').count(), KEYS.len());
    assert_eq!(csv.out.lines().count(), 4);
    let one = kept.run(&["listening", "--satellite", "gannet-1", "--json"]).objects();
    assert_eq!(one.len(), 1);
}

#[test]
fn shares_go_by_elevation_azimuth_and_hour_and_antennas_are_compared() {
    let kept = Kept::new();
    for by in ["elevation", "azimuth", "hour", "antenna"] {
        kept.run(&["listening", "--by", by]).assert_fits_the_screen();
        assert!(!kept.run(&["listening", "--by", by, "--json"]).objects().is_empty());
    }
    let bands = kept.run(&["listening", "--by", "elevation", "--json", "--satellite", "GANNET-1"]).objects();
    let share =
        |from: i64| bands.iter().find(|band| band["from"] == from).unwrap()["share"].as_f64().unwrap();
    assert!(share(40) > 0.95 && share(0) < 0.9, "{bands:?}");
    let pair = &kept.run(&["listening", "--by", "antenna", "--json"]).objects()[0];
    assert_eq!((pair["antenna"].as_str(), pair["over"].as_str()), (Some("mast"), Some("loft")));
    // Six decibels, four units each.
    assert!(pair["meter_units_low"].as_f64().unwrap() < 24.0, "{pair}");
    assert!(pair["meter_units_high"].as_f64().unwrap() > 24.0, "{pair}");
    let said = kept.run(&["listening", "--by", "antenna"]).out;
    assert!(said.contains("\"mast\" is better") && said.contains("radio's own meter units"), "{said}");
}

#[test]
fn the_picture_is_whole_and_names_every_link() {
    let kept = Kept::new();
    let drawn = kept.run(&["listening", "--svg", "heard.svg"]);
    assert_eq!(drawn.code, Some(0), "{}", drawn.err);
    let svg = std::fs::read_to_string(kept.0.path().join("heard.svg")).unwrap();
    let texts = texts(&svg);
    for wanted in ["GANNET-1 repeater: active", "PUFFIN-2 repeater: quiet", "TERN-1 repeater: undecided"] {
        assert!(texts.iter().any(|text| text.starts_with(wanted)), "no {wanted}: {texts:?}");
    }
    // Of the third, no pass can be judged.
    assert_eq!(texts.iter().filter(|text| text.starts_with("Nothing to draw yet")).count(), 1, "{texts:?}");
}

#[test]
fn the_proposed_horizon_is_a_text_that_station_reads() {
    let kept = Kept::new();
    let proposed = kept.run(&["horizon", "propose"]);
    proposed.assert_fits_the_screen();
    let demo = std::path::Path::new(DEMO);
    for name in ["elements.txt", "satellites.toml"] {
        kept.0.file(name, &std::fs::read_to_string(demo.with_file_name(name)).unwrap());
    }
    let station = format!("[station]\n{}", proposed.out);
    let config = std::fs::read_to_string(demo).unwrap().replace("[station]\n", &station);
    let config = kept.0.file("beamhand.toml", &config);
    let checked = kept.0.run(&["check", "--config", &config]);
    assert!(!checked.err.contains("horizon"), "{}", checked.err);
    assert!(checked.out.contains("own horizon"), "{}{}", checked.out, checked.err);
    let corners = kept.run(&["horizon", "propose", "--json"]).objects();
    assert_eq!(corners.len(), 36);
    for corner in corners.iter().filter(|corner| corner["known"] == true) {
        let elevation = corner["elevation_deg"].as_f64().unwrap();
        assert!((2.0..6.0).contains(&elevation), "{corner}");
    }
}

#[test]
fn where_there_is_nothing_the_remedy_is_told() {
    beamhand(&["listening"]).assert_refused(1, &["no configuration", "--folder"]);
    let home = Home::empty();
    home.run(&["listening", "--folder", "none"]).assert_refused(1, &["nothing was listened to", "auto on"]);
    let kept = Kept::new();
    kept.run(&["listening", "--satellite", "GULL-9"]).assert_refused(1, &["GULL-9", "there are GANNET-1"]);
    kept.run(&["horizon", "propose", "--satellite", "PUFFIN-2"])
        .assert_refused(1, &["36 directions", "minimum_elevation"]);
    kept.run(&["listening", "--by", "antenna", "--satellite", "PUFFIN-2"])
        .assert_refused(1, &["no link is active yet", "beamhand antenna"]);
}

#[test]
fn a_damaged_file_costs_only_what_is_damaged_and_is_named() {
    let kept = Kept::new();
    let file = kept.0.path().join("heard/2026-10-05.heard");
    let mut bytes = std::fs::read(&file).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle..middle + 50].iter_mut().for_each(|byte| *byte ^= 0x55);
    std::fs::write(&file, bytes).unwrap();
    let told = kept.run(&["listening", "--json"]);
    assert!(told.err.contains("2026-10-05.heard") && told.err.contains("damaged"), "{}", told.err);
    assert_eq!(told.objects()[0]["state"], "active");
}
