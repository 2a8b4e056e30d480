//! `beamhand contact` and `beamhand contacts`, without a daemon.

use std::io::{BufRead as _, BufReader};
use std::process::Stdio;
use std::time::Duration;

use serde_json::Value;

use crate::program::{DEMO, Home, Ran, keys, sorted};

const SATELLITES: &str = include_str!("../../config/demo/satellites.toml");
const ELEMENTS: &str = include_str!("../../config/demo/elements.txt");
/// Written by hand; its sentences are other people's too.
const LOG: &str = include_str!("../reference/contacts.jsonl");
/// What an independent reader finds in the export of that log, by `tests/reference/read_adif.py`.
const READ: &str = include_str!("../reference/adif.csv");

/// A Saturday, when PETREL-1 is up and on as well as GANNET-1.
const BOTH: &str = "2026-11-28 19:12";
/// GANNET-1 is up in the demo, and no other satellite with an uplink that is switched on.
const EVENING: &str = "2026-11-25 18:38";

fn demo(home: &Home, arguments: &[&str]) -> Ran {
    home.run(&[arguments, &["--config", DEMO]].concat())
}

fn list(home: &Home) -> Vec<Value> {
    demo(home, &["contacts", "list", "--json"]).objects()
}

/// A home with a configuration of its own, whose satellite has another name where logs are exchanged.
fn exchanging() -> Home {
    let home = Home::empty();
    let station = "format = 1\n[station]\ncallsign = \"Q0HILL\"\nlocator = \"IO84SA\"\n";
    home.file(".config/beamhand/beamhand.toml", station);
    let named = SATELLITES.replacen("= 99002\n", "= 99002\nexchange_name = \"GN-1\"\n", 1);
    home.file(".config/beamhand/satellites.toml", &named);
    home.file(".config/beamhand/elements.txt", ELEMENTS);
    home
}

#[test]
fn a_contact_is_filled_in_from_the_sky_and_listed() {
    let home = Home::empty();
    let more =
        ["--locator", "KP20LG", "--sent", "59", "--received", "-7", "--name", "Aino", "--note", "clear"];
    let ran = demo(&home, &[&["contact", "q1abc", "--at", EVENING], &more[..]].concat());
    ran.assert_fits_the_screen();
    assert!(ran.out.starts_with("contact 1: Q1ABC on 25 Nov 2026 at 18:38:00 UTC"), "{}", ran.out);
    assert_eq!(ran.err, "beamhand: KP20 is a new locator in this log\n");
    let found = &list(&home)[0];
    let own = [
        "id",
        "time",
        "callsign",
        "satellite",
        "link",
        "receive_hz",
        "transmit_hz",
        "mode",
        "sent",
        "received",
        "locator",
        "distance_km",
        "bearing_deg",
        "name",
        "note",
        "own_callsign",
        "own_locator",
        "removed",
    ];
    assert_eq!(keys(found), sorted(&own));
    let text = |key: &str| found[key].as_str().unwrap().to_owned();
    assert_eq!(text("time"), "2026-11-25T18:38:00.000Z");
    assert_eq!(["satellite", "link", "mode"].map(text), ["GANNET-1", "repeater", "FM"]);
    assert_eq!(["own_callsign", "own_locator", "received"].map(text), ["Q0HILL", "IO84SA", "-7"]);
    assert_eq!((&found["receive_hz"], &found["transmit_hz"]), (&435_217_000.into(), &145_927_000.into()));
    // GeographicLib 2.1: Inverse(54 + 1.25 / 60, -2.5 + 2.5 / 60, 60.25 + 1.25 / 60, 25 - 2.5 / 60).
    assert!((found["distance_km"].as_f64().unwrap() - 1_783.111_751_084).abs() < 1e-6, "{found}");
    assert!((found["bearing_deg"].as_f64().unwrap() - 56.053_155_166).abs() < 1e-6, "{found}");
    let table = demo(&home, &["contacts", "list"]);
    table.assert_fits_the_screen();
    assert!(
        table.out.contains("Wednesday, 25 November 2026\n") && table.out.contains("Aino, clear"),
        "{}",
        table.out
    );
}

#[test]
fn what_is_odd_is_said_and_nothing_is_refused_for_it() {
    let home = Home::empty();
    let contact = |more: &[&str]| {
        let ran = demo(&home, &[&["contact", "Q1ABC"], more].concat());
        assert_eq!(ran.code, Some(0), "{}", ran.err);
        ran.err
    };
    assert_eq!(contact(&["--at", EVENING]), "");
    let said = contact(&["--at", "2026-11-25 18:42"]);
    assert!(said.contains("the same station in the same pass as contact 1, at 18:38:00 UTC"), "{said}");
    let said = contact(&["--at", EVENING, "--satellite", "TERN-1"]);
    assert!(said.contains("degrees below the horizon here"), "{said}");
    let said = contact(&["--at", EVENING, "--locator", "RE66"]);
    assert!(said.contains("below the horizon in RE66") && said.contains("RE66 is a new locator"), "{said}");
    let said = contact(&["--at", EVENING, "--link", "beacon"]);
    assert!(said.contains("GANNET-1 beacon has no uplink"), "{said}");
    assert_eq!(list(&home).len(), 5);
    // On a Saturday, PETREL-1 is on too.
    let saturday = demo(&home, &["contact", "Q1ABC", "--at", BOTH]);
    saturday.assert_refused(1, &["GANNET-1 and PETREL-1 were up", "--satellite"]);
}

#[test]
fn what_can_not_be_meant_is_refused_with_place_and_remedy() {
    let home = Home::empty();
    let refused = |code, arguments: &[&str], says: &[&str]| demo(&home, arguments).assert_refused(code, says);
    refused(2, &["contact", "Q1 ABC"], &["\"Q1 ABC\" can't be a callsign", "character 3"]);
    refused(2, &["contact", "Q1ABC", "--locator", "ZZ99"], &["\"ZZ99\" is no locator"]);
    refused(2, &["contact", "Q1ABC", "--from", "IO84,IO88"], &["IO84 and IO88 do not touch"]);
    refused(2, &["contact", "Q1ABC", "--note", "a\nb"], &["character 2"]);
    refused(
        1,
        &["contact", "Q1ABC", "--at", "2026-11-25 18:00"],
        &["none of your satellites", "--satellite"],
    );
    refused(1, &["contact", "Q1ABC", "--satellite", "AUK-9"], &["no satellite \"AUK-9\"", "GANNET-1"]);
    refused(1, &["contacts", "edit", "7", "--note", "x"], &["has no contact 7", "contacts list"]);
    home.run(&["contact", "Q1ABC"])
        .assert_refused(1, &["your own callsign is not known", "[station]", "--as"]);
    let nameless = "format = 1\n[station]\nlocator = \"IO84SA\"\n";
    let file = home.file("nameless.toml", nameless);
    home.run(&["contact", "Q1ABC", "--config", &file]).assert_refused(1, &["callsign", "nameless.toml"]);
    refused(1, &["contacts", "list", "--log", "/dev/null"], &["/dev/null: is no regular file"]);
    assert_eq!(list(&home).len(), 0);
}

#[test]
fn edits_and_removals_are_lines_too() {
    let home = Home::empty();
    demo(&home, &["contact", "Q1ABC", "--at", EVENING, "--note", "first"]);
    demo(&home, &["contact", "Q1ABD", "--at", EVENING]);
    let edited =
        demo(&home, &["contacts", "edit", "1", "--callsign", "Q1XYZ", "--note", "", "--transmit", "145.9"]);
    edited.assert_fits_the_screen();
    assert!(edited.out.starts_with("contact 1 is now: Q1XYZ"), "{}", edited.out);
    let removed = demo(&home, &["contacts", "remove", "2"]);
    removed.assert_fits_the_screen();
    assert!(removed.out.contains("contact 2 is removed: Q1ABD") && removed.out.contains("restore 2"));
    demo(&home, &["contacts", "remove", "2"]).assert_refused(1, &["contact 2 was removed before"]);
    let all = list(&home);
    assert_eq!((all.len(), &all[0]["callsign"], &all[0]["note"]), (1, &"Q1XYZ".into(), &Value::Null));
    assert_eq!(all[0]["transmit_hz"], 145_900_000);
    let shown = demo(&home, &["contacts", "list", "--removed"]);
    assert!(shown.out.contains("   -2 18:38") && shown.out.contains("1 contact, 1 removed"), "{}", shown.out);
    demo(&home, &["contacts", "restore", "2"]).assert_fits_the_screen();
    assert_eq!(list(&home).len(), 2);
    demo(&home, &["contacts", "edit", "1", "--callsign", "Q1XYZ"])
        .assert_refused(2, &["nothing would change"]);
    let file = std::fs::read_to_string(home.path().join(".local/share/beamhand/contacts.jsonl")).unwrap();
    assert_eq!(file.lines().count(), 5);
    assert!(file.contains("Q1ABC") && file.contains("first"), "what was is still there");
    let days = demo(&home, &["contacts", "list", "--days", "0.001", "--json"]).objects();
    let other = demo(&home, &["contacts", "list", "--satellite", "TERN-1"]);
    assert_eq!((days.len(), other.out.starts_with("No contact in ")), (0, true));
}

#[test]
fn a_torn_line_is_named_and_the_next_contact_stands_on_its_own() {
    let home = Home::empty();
    let log = home.file("log.jsonl", "");
    let contact = |call: &str| demo(&home, &["contact", call, "--at", EVENING, "--log", &log]);
    contact("Q1ABC");
    let mut text = std::fs::read_to_string(&log).unwrap();
    text.push_str("{\"format\":1,\"id\":2,\"at\":\"2026");
    std::fs::write(&log, &text).unwrap();
    let second = contact("Q1ABD");
    assert!(second.out.starts_with("contact 2: Q1ABD"), "{}", second.out);
    assert!(second.err.contains("log.jsonl:2: passed over: a write was cut off here"), "{}", second.err);
    let listed = demo(&home, &["contacts", "list", "--json", "--log", &log]);
    assert_eq!(listed.objects().len(), 2);
    assert!(listed.err.contains("log.jsonl:2: passed over: it is no event of a contact"), "{}", listed.err);
}

/// The writing process is killed two hundred times, mostly about the moment at which it writes and answers:
/// what it said is there, and of what it did not say at most the one that it was at.
#[test]
fn a_kill_at_any_moment_loses_nothing_that_was_acknowledged() {
    let home = Home::empty();
    let log = home.file("log.jsonl", "");
    let mut acknowledged = Vec::new();
    let (mut killed_early, mut moment_s) = (0, 0.01_f64);
    for round in 0..200 {
        let call = format!("Q{}X{}A", round / 10, round % 10);
        let arguments = ["contact", &call, "--at", EVENING, "--log", &log, "--config", DEMO];
        let mut command = home.command(&arguments);
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let around = [0.5, 0.9, 1.0, 1.1, 1.3][round % 5];
        std::thread::sleep(Duration::from_secs_f64(moment_s * around));
        child.kill().unwrap();
        let mut said = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut said).unwrap();
        child.wait().unwrap();
        if said.ends_with('\n') {
            acknowledged.push(call);
            moment_s *= 0.93;
        } else {
            killed_early += 1;
            moment_s *= 1.07;
        }
    }
    let listed = home.run(&["contacts", "list", "--json", "--log", &log]);
    let found: Vec<String> =
        listed.objects().iter().map(|line| line["callsign"].as_str().unwrap().to_owned()).collect();
    let lost: Vec<&String> = acknowledged.iter().filter(|call| !found.contains(call)).collect();
    assert_eq!(lost, [] as [&String; 0]);
    assert!(found.len() <= acknowledged.len() + killed_early);
    // Or else this would have tried nothing.
    assert!(acknowledged.len() > 10 && killed_early > 10, "{} {killed_early}", acknowledged.len());
}

#[test]
fn many_at_once_are_all_written_down_with_numbers_of_their_own() {
    let home = Home::empty();
    let spawn = |at: u32| {
        let call = format!("Q{at}ABC");
        let mut command = home.command(&["contact", &call, "--at", EVENING, "--config", DEMO]);
        command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
    };
    let children: Vec<_> = (0..12).map(spawn).collect();
    for mut child in children {
        assert!(child.wait().unwrap().success());
    }
    let mut ids: Vec<u64> = list(&home).iter().map(|line| line["id"].as_u64().unwrap()).collect();
    ids.sort_unstable();
    assert_eq!(ids, (1..=12).collect::<Vec<_>>());
}

#[test]
fn an_import_of_what_was_exported_changes_nothing() {
    let home = exchanging();
    for (call, more) in [("Q1ABC", vec!["--locator", "KP20LG"]), ("Q1ABD/P", vec!["--from", "IO84XA,IO94AA"])]
    {
        let ran = home.run(&[&["contact", call, "--at", EVENING], &more[..]].concat());
        assert_eq!(ran.code, Some(0), "{}", ran.err);
    }
    let exported = home.run(&["contacts", "export", "--adif", "log.adi"]);
    assert_eq!(exported.out, "log.adi: 2 contacts\n");
    let text = std::fs::read_to_string(home.path().join("log.adi")).unwrap();
    assert!(text.contains("<SAT_NAME:4>GN-1\n") && text.contains("<MY_VUCC_GRIDS:9>IO84,IO94\n"), "{text}");
    let again = home.run(&["contacts", "import", "log.adi"]);
    assert_eq!(again.out, "log.adi: 0 new, 2 there already, 0 bad and left out\n");
    let before = home.run(&["contacts", "list", "--json"]).objects();
    // Into an empty log, all of it comes back, but the numbers.
    let fresh = home.run(&["contacts", "import", "log.adi", "--log", "fresh.jsonl"]);
    assert_eq!(fresh.out, "log.adi: 2 new, 0 there already, 0 bad and left out\n");
    assert_eq!(home.run(&["contacts", "list", "--json", "--log", "fresh.jsonl"]).objects(), before);
    let itself = ".local/share/beamhand/contacts.jsonl";
    home.run(&["contacts", "export", "--adif", itself]).assert_refused(2, &["that is the log itself"]);
    let bad = home.run_with_input(
        &["contacts", "import", "-"],
        "<CALL:5>Q1ABC<EOR>\n<CALL:5>Q1NEW<QSO_DATE:8>20261125<TIME_ON:4>1900<QTH:3>Hut<EOR>",
    );
    assert_eq!(bad.out, "standard input: 1 new, 0 there already, 1 bad and left out\n");
    assert!(bad.err.contains("standard input:1: left out: QSO_DATE is missing"), "{}", bad.err);
    let out = home.run(&["contacts", "export", "--adif", "-"]).out;
    assert!(out.contains("<QTH:3>Hut\n"), "an unknown field survives");
    home.run_with_input(&["contacts", "import", "-"], "no log")
        .assert_refused(1, &["standard input holds no contact; nothing was changed"]);
}

/// The table has what adif-io read in the export of the log beside it; the fields' meanings are compared
/// with the log's own words.
#[test]
fn an_independent_reader_finds_the_same_contacts_in_the_export() {
    let home = exchanging();
    let log = home.file("log.jsonl", LOG);
    let exported = home.run(&["contacts", "export", "--adif", "-", "--log", &log]);
    assert!(exported.err.contains("letters beyond ASCII"), "{}", exported.err);
    let rows: Vec<(usize, &str, &str)> = READ
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| {
            let mut parts = line.splitn(3, '|');
            let mut next = || parts.next().unwrap();
            (next().parse().unwrap(), next(), next())
        })
        .collect();
    let listed = home.run(&["contacts", "list", "--json", "--log", &log]).objects();
    assert_eq!(listed.len(), 3);
    // It is today's export that the table speaks of.
    let records: Vec<&str> = exported.out.split_once("<EOH>\n").unwrap().1.split("<EOR>\n").collect();
    for (record, field, value) in &rows {
        let written = format!("<{field}:{}", value.len());
        assert!(records[*record].contains(&written), "{written} in {}", records[*record]);
    }
    for (record, contact) in listed.iter().enumerate() {
        let read = |field: &str| {
            let row = rows.iter().find(|(at, name, _)| (*at, *name) == (record, field));
            row.map(|(_, _, value)| *value)
        };
        let text = |key: &str| contact[key].as_str();
        let hertz = |field: &str| read(field).map(|mhz| (mhz.parse::<f64>().unwrap() * 1e6).round() as i64);
        let time = format!("{}{}", read("QSO_DATE").unwrap(), read("TIME_ON").unwrap());
        assert_eq!(time, text("time").unwrap()[..19].replace(['-', ':', 'T'], ""));
        assert_eq!(read("CALL"), text("callsign"));
        assert_eq!(hertz("FREQ"), contact["transmit_hz"].as_i64());
        assert_eq!(hertz("FREQ_RX"), contact["receive_hz"].as_i64());
        assert_eq!(read("GRIDSQUARE").or(read("VUCC_GRIDS")), text("locator"));
        assert_eq!(read("MY_GRIDSQUARE").or(read("APP_BEAMHAND_MY_BORDER")), text("own_locator"));
        assert_eq!(read("SUBMODE").or(read("MODE")), text("mode"));
        assert_eq!((read("RST_SENT"), read("RST_RCVD")), (text("sent"), text("received")));
        assert_eq!((read("NAME"), read("COMMENT")), (text("name"), text("note")));
        assert_eq!((read("STATION_CALLSIGN"), read("PROP_MODE")), (text("own_callsign"), Some("SAT")));
        let exchange = text("satellite").map(|name| name.replace("GANNET-1", "GN-1"));
        assert_eq!(read("SAT_NAME").map(str::to_owned), exchange);
    }
    let first = |field: &str| rows.iter().find(|(at, name, _)| (*at, *name) == (0, field)).map(|row| row.2);
    assert_eq!((first("BAND"), first("BAND_RX"), first("SAT_MODE")), (Some("2m"), Some("70cm"), Some("V/U")));
}
