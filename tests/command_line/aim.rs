//! `beamhand aim`.

use quick_xml::Reader;
use quick_xml::events::Event;

use crate::program::{DEMO, Home, Ran, keys, sorted};

const AT: [&str; 2] = ["--at", "2026-11-25 18:00"];

fn aim(home: &Home, more: &[&str]) -> Ran {
    home.run(&[&["aim", "GANNET-1", "--config", DEMO], &AT[..], more].concat())
}

/// The demo's configuration with another rotator, beside the demo's own files.
fn with_rotator(home: &Home, rotator: &str) -> String {
    let demo = std::fs::read_to_string(DEMO).unwrap();
    let head = demo.split("[rotator]").next().unwrap();
    for name in ["elements.txt", "satellites.toml"] {
        let text = std::fs::read_to_string(DEMO.replace("beamhand.toml", name)).unwrap();
        home.file(name, &text);
    }
    home.file("beamhand.toml", &format!("{head}{rotator}"))
}

const SLOW: &str = "[rotator]\nname = \"mast\"\nport = \"/dev/mast\"\ndialect = \"az-el-words\"\n\
    azimuth = { from = 0, to = 360 }\nelevation = { from = 0, to = 90 }\nbeam_width = 20\n\
    slew_deg_s = { azimuth = 0.5, elevation = 2 }\n";

#[test]
fn the_plan_of_a_pass_is_told_on_a_screen_and_as_an_object() {
    let home = Home::empty();
    let text = aim(&home, &[]);
    text.assert_fits_the_screen();
    for what in ["GANNET-1: highest 67 degrees", "rises    18:32", "waits    at azimuth", "loses"] {
        assert!(text.out.contains(what), "no {what:?} in {}", text.out);
    }
    let object = aim(&home, &["--json"]).objects().remove(0);
    let names = [
        "satellite",
        "catalog_number",
        "aos",
        "highest",
        "los",
        "max_elevation_deg",
        "begins_azimuth_deg",
        "begins_elevation_deg",
        "ends_azimuth_deg",
        "ends_elevation_deg",
        "flips",
        "worst_error_deg",
        "worst_at",
        "mean_error_deg",
        "beam_width_deg",
        "worst_loss_db",
        "beyond_3_db_s",
        "azimuth_starts",
        "elevation_starts",
    ];
    assert_eq!(keys(&object), sorted(&names));
    assert!(object["worst_error_deg"].as_f64().unwrap() < 0.5, "{object}: the demo's mount is quick");
}

/// By hand: the pass of 67 degrees turns by more than 0.5 degrees a second for minutes, so a mount of
/// that speed can't but be off; 3 dB are lost at half of the width, 10 degrees, and 12 (x / 20)^2 at x.
#[test]
fn a_slow_mount_is_off_and_that_is_said_in_degrees_and_decibels() {
    let home = Home::empty();
    let config = with_rotator(&home, SLOW);
    let ask = |more: &[&str]| home.run(&[&["aim", "GANNET-1", "--config", &config], &AT[..], more].concat());
    let object = ask(&["--json"]).objects().remove(0);
    let (worst, loss) =
        (object["worst_error_deg"].as_f64().unwrap(), object["worst_loss_db"].as_f64().unwrap());
    assert!(worst > 5.0, "{object}");
    assert!((loss - 12.0 * (worst / 20.0).powi(2)).abs() < 1e-6, "{object}");
    assert_eq!(object["beyond_3_db_s"].as_f64() > Some(0.0), worst > 10.0);
    let text = ask(&[]);
    text.assert_fits_the_screen();
    assert!(text.out.contains(&format!("{worst:.1} degrees off at")), "{}", text.out);
}

#[test]
fn of_a_mount_that_does_not_tilt_only_the_azimuth_is_counted_and_that_is_said() {
    let home = Home::empty();
    let level = "[rotator]\nname = \"mast\"\nport = \"/dev/mast\"\ndialect = \"w-lines\"\nazimuth_only = true\n\
        azimuth = { from = 0, to = 450 }\nbeam_width = 30\nslew_deg_s = { azimuth = 3 }\n";
    let file = with_rotator(&home, level);
    let text = home.run(&[&["aim", "GANNET-1", "--config", &file], &AT[..]].concat());
    text.assert_fits_the_screen();
    assert!(text.out.contains("counted  in azimuth alone"), "{}", text.out);
    assert!(!text.out.contains("elevation"), "{}", text.out);
    assert!(!aim(&home, &[]).out.contains("counted"));
}

#[test]
fn the_picture_is_in_order_and_shows_both_paths_sectors_and_the_horizon() {
    let home = Home::empty();
    let sector = "no_go = [{ azimuth = { from = 90, to = 120 }, elevation = { from = 0, to = 20 } }]\n";
    let config = with_rotator(&home, &format!("{SLOW}park = {{ azimuth = 200 }}\n{sector}"));
    let text = std::fs::read_to_string(&config).unwrap();
    let hills = "[station]\nhorizon = [[0, 5], [180, 12]]\n";
    let config = home.file("beamhand.toml", &text.replacen("[station]\n", hills, 1));
    let file = home.path().join("a picture.svg");
    let svg = file.to_str().unwrap();
    let ran = home.run(&[&["aim", "GANNET-1", "--config", &config, "--svg", svg], &AT[..]].concat());
    ran.assert_fits_the_screen();
    let drawn = std::fs::read_to_string(&file).unwrap();
    let (mut reader, mut depth, mut found) = (Reader::from_str(&drawn), 0, Vec::new());
    reader.config_mut().check_end_names = true;
    loop {
        let (event, opens) = match reader.read_event().unwrap() {
            Event::Start(event) => (event, 1),
            Event::Empty(event) => (event, 0),
            Event::End(_) => {
                depth -= 1;
                continue;
            }
            Event::Eof => break,
            _ => continue,
        };
        depth += opens;
        for attribute in event.attributes() {
            let attribute = attribute.unwrap();
            let value = attribute.value.to_string();
            assert!(!value.contains("NaN") && !value.contains("inf"), "{value}");
            if matches!(attribute.key.as_ref(), "id" | "class") {
                found.push(value);
            }
        }
    }
    assert_eq!(depth, 0, "every element is closed");
    for what in ["mask", "no-go", "satellite", "beam"] {
        assert!(found.iter().any(|name| name == what), "no {what} in {found:?}");
    }
    let lost = found.iter().any(|name| name == "lost");
    assert_eq!(lost, ran.out.contains("more than 3 dB for"), "{}", ran.out);
}

#[test]
fn what_stands_in_the_way_is_said() {
    let home = Home::empty();
    let without = with_rotator(&home, "");
    home.run(&[&["aim", "GANNET-1", "--config", &without], &AT[..]].concat())
        .assert_refused(1, &["no [rotator]"]);
    aim(&home, &["--svg", "/nowhere/picture.svg"]).assert_refused(1, &["/nowhere/picture.svg"]);
    home.run(&["aim", "AUK-7", "--config", DEMO]).assert_refused(1, &["AUK-7", "GANNET-1"]);
}
