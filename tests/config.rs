//! What a user may rely on when the configuration is wrong, and when it is right.

use std::path::Path;

use beamhand::config::{Config, ConfigErrors, DefaultPaths, When, load_satellites};
use beamhand::device::Use;
use beamhand::terms::{AzEl, Hertz};
use proptest::prelude::*;

const SHIPPED: &str = include_str!("../config/beamhand.toml");
const MINIMAL: &str = "format = 1\n[station]\nlatitude = 54\nlongitude = -2.5\n";

fn parse(text: &str) -> Result<Config, ConfigErrors> {
    Config::parse(Path::new("/etc/beamhand/beamhand.toml"), text, &DefaultPaths::system())
}

/// The minimal file with more after it.
fn with(more: &str) -> Result<Config, ConfigErrors> {
    parse(&format!("{MINIMAL}{more}"))
}

/// The errors' lines with the file's name taken off; none if it was accepted.
fn errors(result: Result<Config, ConfigErrors>) -> Vec<String> {
    let errors: Vec<String> =
        result.err().iter().flat_map(ConfigErrors::iter).map(ToString::to_string).collect();
    errors.iter().map(|error| error.replacen("/etc/beamhand/beamhand.toml:", "", 1)).collect()
}

fn only_error(result: Result<Config, ConfigErrors>) -> String {
    let mut all = errors(result);
    assert_eq!(all.len(), 1, "{all:#?}");
    all.remove(0)
}

/// On a bus if there is an address.
fn radio(name: &str, port: &str, more: &str) -> String {
    let dialect = if more.contains("address") { "fe-frames" } else { "semicolon-eleven" };
    format!("[[radio]]\nname = \"{name}\"\nport = \"{port}\"\ndialect = \"{dialect}\"\n{more}\n")
}

const ROTATOR: &str = "[rotator]\nname = \"mast\"\nport = \"/dev/m\"\ndialect = \"w-lines\"\n";

#[test]
fn the_shipped_file_is_accepted_and_shows_the_defaults() {
    let mut shipped = parse(SHIPPED).unwrap();
    let minimal = parse(MINIMAL).unwrap();
    assert_eq!(shipped.station.callsign.take().as_deref(), Some("Q0HILL"));
    let at = |station: &Config| {
        (station.station.position.latitude_deg(), station.station.position.longitude_deg())
    };
    assert_eq!(at(&shipped), at(&minimal));
    shipped.station.position = minimal.station.position;
    assert_eq!(shipped, minimal);
    assert!(shipped.radios.is_empty() && shipped.rotator.is_none() && shipped.transmit.is_empty());
}

/// The shipped file with every setting that is switched off switched on; what excludes each other
/// is off again, and the folder of dialects is one that is there.
fn all_that_goes_together() -> String {
    let text = all_switched_on().replace("locator =", "#").replace("azimuth_only =", "#");
    text.replace("\"dialects\"", concat!("\"", env!("CARGO_MANIFEST_DIR"), "/config/dialects\""))
}

/// The shipped file with every setting that is switched off switched on.
fn all_switched_on() -> String {
    let is_setting = |line: &str| {
        line.starts_with('#') && line[1..].starts_with(|c: char| c.is_ascii_lowercase() || c == '[')
    };
    let on = |line: &str| if is_setting(line) { line[1..].to_owned() } else { line.to_owned() };
    SHIPPED.lines().map(|line| on(line) + "\n").collect()
}

#[test]
fn the_settings_that_the_shipped_file_has_switched_off_are_right_and_show_the_defaults() {
    let all = parse(&all_that_goes_together()).unwrap();
    let (least, rotator) = (with(ROTATOR).unwrap().rotator.unwrap(), all.rotator.unwrap());
    assert_eq!((rotator.azimuth, rotator.elevation), (least.azimuth, least.elevation));
    assert_eq!((rotator.slew, rotator.park, rotator.line.raise), (least.slew, least.park, least.line.raise));
    assert_eq!(rotator.acceleration, least.acceleration);
    assert_eq!((rotator.offset, rotator.lean), (least.offset, least.lean));
    assert_eq!((rotator.beam_width, rotator.dead_band), (least.beam_width, least.dead_band));
    assert_eq!(rotator.quiet, least.quiet);
    assert_eq!(all.radios[0].address, Some(0x4C));
    assert_eq!(all.files.state, DefaultPaths::system().state);
    assert_eq!(all.control.socket, DefaultPaths::system().socket);
    assert_eq!(all.contact_log.as_deref(), Some(Path::new("/etc/beamhand/contacts.jsonl")));
    assert!(all.transmit.allow(Hertz(145_900_000)));
}

#[test]
fn the_shipped_file_comments_every_key() {
    let shipped = all_switched_on();
    let plain = [
        "station",
        "files",
        "transmit",
        "clock",
        "control",
        "session",
        "record",
        "contacts",
        "agenda",
        "listening",
        "rotator",
    ];
    let listed = ["[agenda.quiet]", "[agenda.command]", "[radio]"];
    let sections = plain.into_iter().chain(listed).map(|name| format!("\n[{name}]\n"));
    for section in sections {
        let text = all_that_goes_together();
        let error = only_error(parse(&text.replace(&section, &format!("{section}nonsense = 1\n"))));
        let (_, keys) = error.split_once("accepted: ").unwrap();
        for key in keys.split(", ") {
            let (setting, list) = (format!("{key} ="), format!(".{key}]]"));
            let shows = |line: &str| line.starts_with(&setting) || line.ends_with(&list);
            assert!(shipped.lines().any(shows), "{section} {key}");
        }
    }
}

#[test]
fn a_record_fits_into_what_all_of_them_may_take() {
    let with_record = |text: &str| parse(&format!("{MINIMAL}[record]\n{text}"));
    let config = with_record("enabled = false\nsession_mb = 0.5\ntotal_mb = 5\n").unwrap();
    assert!(!config.record.enabled);
    assert_eq!((config.record.session_mb, config.record.total_mb), (0.5, 5.0));
    let error = only_error(with_record("session_mb = 30\n"));
    assert!(error.contains("not even one record would fit"), "{error}");
}

#[test]
fn every_error_is_reported_at_once_in_the_files_order() {
    let text = "format = 2\n[station]\nlatitude = 95\nlongitude = nan\naltitude = 3\n[clock]\ntrust = true\n[extra]\n";
    assert_eq!(
        errors(parse(text)),
        [
            "1:1: `format` is 2; accepted: 1",
            "3:1: `latitude` is 95; accepted: a number from -90 to 90 degrees, north positive",
            "4:1: `longitude` is nan; accepted: a number from -180 to 180 degrees, east positive",
            "5:1: unknown key `altitude` in [station]; nearest: altitude_m; accepted: callsign, locator, latitude, longitude, altitude_m, minimum_elevation, fair_elevation, high_elevation, overhead_elevation, horizon",
            "7:1: `trust` is true; accepted: \"kernel\", \"always\"",
            "8:2: unknown key `extra` in the file; accepted: format, station, files, elements, transmit, clock, control, session, record, contacts, agenda, listening, radio, rotator",
        ]
    );
}

/// For what has to answer at once; the rest is checked as ever.
#[test]
fn without_the_equipment_nothing_else_changes() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("beamhand.toml");
    let load = |text: &str| {
        std::fs::write(&file, text).unwrap();
        let paths = DefaultPaths::system();
        (Config::load(&file, &paths), Config::load_without_equipment(&file, &paths))
    };
    let text = format!(
        "{MINIMAL}callsign = \"Q0TEST\"\n[contacts]\nlog = \"log\"\n{}{ROTATOR}",
        radio("a", "/dev/a", "use = \"both\"")
    );
    let (whole, without) = load(&text);
    let whole = Config { radios: Vec::new(), rotator: None, ..whole.unwrap() };
    assert_eq!(without.unwrap(), whole);
    let (whole, without) = load(&text.replace("[rotator]", "[rotator]\nnonsense = 1"));
    assert!(whole.is_err() && without.is_ok());
    let (_, without) = load(&text.replace("latitude = 54", "latitude = 95"));
    assert!(errors(without)[0].contains("`latitude` is 95"));
}

#[test]
fn infinity_is_no_number() {
    for odd in ["inf", "-inf", "+nan", "1e999"] {
        let error = only_error(with(&format!("altitude_m = {odd}")));
        assert!(error.starts_with("5:1:"), "{error}");
    }
}

#[test]
fn an_unknown_word_names_the_nearest() {
    let error = only_error(with(&radio("a", "/dev/a", "use = \"recieve\"")));
    assert_eq!(
        error,
        "9:1: `use` is the text \"recieve\"; nearest: receive; accepted: \"receive\", \"transmit\", \"both\", \"half-duplex\""
    );
}

#[test]
fn a_missing_key_is_reported_at_its_sections_head() {
    let all = errors(with("[[radio]]\nname = \"a\"\nuse = \"both\"\n"));
    assert_eq!(
        all,
        [
            "5:1: `port` is missing in [[radio]]; accepted: a path in quotes",
            "5:1: `dialect` is missing in [[radio]]; accepted: semicolon-eleven, semicolon-nine, \
             semicolon-two-bands, fe-frames, \
             five-byte-duplex",
        ]
    );
    assert!(errors(parse("format = 1"))[0].contains("`latitude` is missing in [station]"));
}

#[test]
fn what_is_no_toml_is_reported_with_its_place() {
    let all = errors(parse("format = 1\n[station\nlatitude = 1\n"));
    assert!(all[0].starts_with("2:9: this is no TOML:"), "{all:?}");
    let twice = only_error(with("latitude = 3\n"));
    assert!(twice.starts_with("5:1: this is no TOML: duplicate key"), "{twice}");
}

#[test]
fn text_without_quotes_and_a_decimal_comma_are_explained() {
    for slip in ["latitude = IO84RA", "locator = IO84RA", "latitude = 54,0", "latitude = 54.0\u{B0}"] {
        let all = errors(parse(&format!("format = 1\n[station]\n{slip}\n")));
        assert!(all[0].starts_with("3:"), "{all:?}");
        assert!(all[0].ends_with(" (text stands in \"quotes\", decimals take a point)"), "{all:?}");
    }
}

#[test]
fn settings_whose_section_is_still_switched_off_are_explained() {
    let switch = |keys: &[&str]| {
        let on = |line: &str| {
            let key = line.strip_prefix('#').filter(|key| keys.iter().any(|on| key.starts_with(on)));
            key.unwrap_or(line).to_owned() + "\n"
        };
        errors(parse(&SHIPPED.lines().map(on).collect::<String>()))
    };
    let radio = switch(&["port = \"/dev/serial/by-id/YOUR-RADIOS", "use ="]);
    assert_eq!(radio.len(), 2, "{radio:?}");
    let question = "is the line `[[radio]]` above it still switched off with \"#\"?";
    assert!(radio.iter().all(|error| error.contains("in [listening] (") && error.contains(question)));
    let mount = switch(&["[[radio]]", "beam_width ="]);
    assert!(mount.iter().any(|error| error.contains("the line `[rotator]` above it")), "{mount:?}");
    let twice = switch(&["name ="]);
    assert!(twice[0].contains("duplicate key (is the line `[rotator]` above it"), "{twice:?}");
    assert!(!only_error(with("altitude = 3\n")).contains("switched off"));
}

#[test]
fn a_table_that_is_no_table_is_reported() {
    let text = MINIMAL.replace("format = 1", "format = 1\nclock = 3\nrotator = []\nradio = { name = \"a\" }");
    let all = errors(parse(&text));
    assert_eq!(all[0], "2:1: `clock` is 3; accepted: a table, [clock]");
    assert!(all[1].starts_with("3:1: `rotator` is a list"), "{all:?}");
    assert!(all[2].starts_with("4:1: `radio` is a table"), "{all:?}");
    assert_eq!(all.len(), 3);
}

#[test]
fn a_place_is_coordinates_or_a_locator_but_not_both() {
    let located = parse("format = 1\n[station]\nlocator = \"io84ra\"\naltitude_m = 120\n").unwrap();
    let position = located.station.position;
    // By hand from the grid: IO84 begins at 4 W 54 N; R is the 18th twelfth of a degree.
    assert!((position.longitude_deg() + 2.541_667).abs() < 1e-6, "{position:?}");
    assert!((position.latitude_deg() - 54.020_833).abs() < 1e-6, "{position:?}");
    let both = errors(with("locator = \"IO84RA\"\n"));
    assert_eq!(both.len(), 2);
    assert!(both[0].starts_with("3:1: `latitude` does not belong here"), "{both:?}");
    assert!(only_error(parse("format = 1\n[station]\nlocator = \"IO8\"\n")).contains("4, 6 or 8 characters"));
}

#[test]
fn relative_paths_count_from_the_files_folder() {
    let files =
        with("[files]\nelements = [\"a.txt\", \"/b.txt\"]\nstate = \"s\"\n[control]\nsocket = \"c\"\n")
            .unwrap();
    let elements: Vec<&str> = files.files.elements.iter().map(|path| path.to_str().unwrap()).collect();
    assert_eq!(elements, ["/etc/beamhand/a.txt", "/b.txt"]);
    assert_eq!(files.files.satellites, Path::new("/etc/beamhand/satellites.toml"));
    assert_eq!(files.files.state, Path::new("/etc/beamhand/s"));
    assert_eq!(files.control.socket, Path::new("/etc/beamhand/c"));
}

#[test]
fn transmit_segments_are_hertz_with_the_lower_edge_first() {
    let error = only_error(with("[transmit]\nsegments = [{ from = 146_000_000, to = 145_800_000 }]\n"));
    assert!(error.starts_with("6:35: `to` (145.800 000 MHz) is below `from`"), "{error}");
    let megahertz = errors(with("[transmit]\nsegments = [{ from = 145.8, to = 146 }]\n"));
    assert!(megahertz.iter().all(|error| error.contains("whole number of hertz")), "{megahertz:?}");
    assert_eq!(megahertz.len(), 2);
}

#[test]
fn socket_permissions_are_octal_and_let_the_owner_in() {
    assert_eq!(with("[control]\nmode = \"0600\"\n").unwrap().control.mode, 0o600);
    for bad in ["660", "\"0060\"", "\"0770\"", "\"0668\"", "\"rw\"", "\"+660\""] {
        assert!(only_error(with(&format!("[control]\nmode = {bad}\n"))).starts_with("6:1:"), "{bad}");
    }
}

#[test]
fn the_topologies_are_a_duplex_radio_a_receiver_or_a_pair() {
    let station = |uses: &[&str]| {
        let radios: String = uses
            .iter()
            .enumerate()
            .map(|(i, serves)| radio(&format!("r{i}"), &format!("/dev/{i}"), &format!("use = \"{serves}\"")))
            .collect();
        with(&radios)
    };
    for good in [&[] as &[&str], &["both"], &["receive"], &["receive", "transmit"], &["transmit", "receive"]]
    {
        assert_eq!(station(good).unwrap().radios.len(), good.len());
    }
    let words = [
        (&["transmit"] as &[&str], "9:1: the only radio transmits"),
        (&["receive", "receive"], "14:1: both radios receive"),
        (&["transmit", "transmit"], "14:1: both radios transmit"),
        (&["both", "receive"], "14:1: there are two radios, and one"),
        (&["receive", "transmit", "receive"], "16:1: there are more than two radios"),
    ];
    for (bad, words) in words {
        let error = only_error(station(bad));
        assert!(error.starts_with(words), "{error}");
    }
}

#[test]
fn two_devices_share_a_port_only_on_a_bus_with_addresses_of_their_own() {
    let pair = |first: &str, second: &str| {
        with(
            &(radio("a", "/dev/bus", &format!("use = \"receive\"\n{first}"))
                + &radio("b", "/dev/bus", &format!("use = \"transmit\"\n{second}"))),
        )
    };
    assert_eq!(pair("address = 0x4C", "address = 0x60").unwrap().radios[1].address, Some(0x60));
    assert!(only_error(pair("", "")).starts_with("13:1: \"a\" is on /dev/bus too"));
    assert!(only_error(pair("address = 5", "")).starts_with("13:1: \"a\" is on /dev/bus too"));
    assert!(only_error(pair("address = 5", "address = 5")).starts_with("16:1: \"a\" has the address 0x05"));
    let speeds = pair("address = 5\nbaud = 9600", "address = 6\nbaud = 19200");
    assert!(only_error(speeds).contains("give both the same `baud`"));
    let mixed = with(&(radio("a", "/dev/m", "use = \"both\"\naddress = 5") + ROTATOR));
    assert!(only_error(mixed).starts_with("13:1: \"a\" is on /dev/m too"));
}

#[test]
fn every_device_has_a_name_of_its_own() {
    let twice = with(&(radio("Mast", "/dev/a", "use = \"both\"") + ROTATOR));
    assert_eq!(only_error(twice), "11:1: the device on line 5 is called \"Mast\" too");
}

#[test]
fn an_address_is_one_that_a_device_on_the_bus_can_have() {
    let at = |address: &str| with(&radio("a", "/dev/a", &format!("use = \"both\"\naddress = {address}")));
    assert!(at("0x03").is_ok() && at("0xDF").is_ok());
    // Everybody's, two that no question is safe for, the controller's own, and the frame's.
    for address in ["0x00", "0x01", "0x02", "0xE0", "0xFD"] {
        let error = only_error(at(address));
        let accepted = "a whole number from 0x03 to 0xDF, set in the radio's menu";
        assert_eq!(error, format!("10:1: `address` is {address}; accepted: {accepted}"));
    }
}

#[test]
fn lines_are_raised_only_by_name() {
    let raised = with(&radio("a", "/dev/a", "use = \"both\"\nraise = [\"dtr\", \"rts\"]")).unwrap();
    assert!(raised.radios[0].line.raise.dtr && raised.radios[0].line.raise.rts);
    assert!(raised.warnings()[0].starts_with("a: DTR and RTS will be high"));
    assert!(
        only_error(with(&radio("a", "/dev/a", "use = \"both\"\nraise = [\"dts\"]")))
            .contains("\"dtr\", \"rts\"")
    );
}

#[test]
fn a_transmitter_without_segments_deserves_a_second_look() {
    let duplex = radio("a", "/dev/a", "use = \"both\"");
    assert!(with(&duplex).unwrap().warnings()[0].starts_with("a: no [transmit] segments"));
    let segments = "[transmit]\nsegments = [{ from = 145_800_000, to = 146_000_000 }]\n";
    assert!(with(&(duplex + segments)).unwrap().warnings().is_empty());
    assert!(with(&radio("a", "/dev/a", "use = \"receive\"")).unwrap().warnings().is_empty());
}

#[test]
fn what_is_still_the_example_deserves_a_second_look() {
    let shipped = parse(SHIPPED).unwrap().warnings();
    assert_eq!(shipped.len(), 1, "{shipped:?}");
    assert!(shipped[0].starts_with("station: Q0HILL at 54 N, 2.5 W is the example"), "{shipped:?}");
    assert_eq!(parse(MINIMAL).unwrap().warnings(), [""; 0]);
    let unnamed = radio("a", "/dev/serial/by-id/YOUR-RADIOS-ADAPTER", "use = \"receive\"");
    let warnings = with(&unnamed).unwrap().warnings();
    assert!(warnings[0].contains("is still the example's: see `beamhand ports`"), "{warnings:?}");
}

#[test]
fn a_mount_parks_within_its_limits() {
    let park = |more: &str| with(&format!("{ROTATOR}{more}\n")).map(|config| config.rotator.unwrap().park);
    assert_eq!(park("").unwrap(), AzEl::new(0.0, 0.0));
    assert_eq!(park("azimuth = { from = 10, to = 350 }").unwrap(), AzEl::new(10.0, 0.0));
    let outside = with(&format!("{ROTATOR}park = {{ azimuth = 400 }}\n"));
    assert_eq!(only_error(outside), "9:10: `azimuth` 400 is outside the mount's limits, 0 to 360");
    let exchanged = with(&format!("{ROTATOR}azimuth = {{ from = 300, to = 10 }}\n"));
    assert!(only_error(exchanged).contains("is not above `from`"));
}

#[test]
fn an_azimuth_only_mount_has_no_elevation() {
    let mount = with(&format!("{ROTATOR}azimuth_only = true\n")).unwrap().rotator.unwrap();
    assert_eq!(mount.elevation, None);
    let both = with(&format!("{ROTATOR}azimuth_only = true\nelevation = {{ to = 90 }}\n"));
    assert!(only_error(both).starts_with("10:1: `elevation` stands beside"));
}

#[test]
fn a_dead_band_wider_than_half_the_beam_is_refused() {
    let narrow = with(&format!("{ROTATOR}beam_width = 3\n"));
    assert!(only_error(narrow).starts_with("9:1: `dead_band` (2) is more than half"));
}

#[test]
fn a_dialect_that_does_not_exist_is_refused_with_all_other_errors() {
    let wrong = radio("a", "/dev/a", "use = \"bth\"").replace("semicolon-eleven", "semicolon-elvn") + ROTATOR;
    let lines = errors(with(&wrong));
    assert_eq!(lines.len(), 2, "{lines:?}");
    assert!(
        lines[0].starts_with("8:1: `dialect` is the text \"semicolon-elvn\"; nearest: semicolon-eleven; ")
    );
    assert!(lines[0].ends_with(
        "semicolon-eleven, semicolon-nine, semicolon-two-bands, fe-frames, five-byte, five-byte-duplex"
    ));
    assert!(lines[1].starts_with("9:1: `use`"), "{lines:?}");
}

#[test]
fn a_dialect_that_does_not_fit_the_device_is_refused_with_those_that_do() {
    let error = only_error(with(&ROTATOR.replace("w-lines", "five-byte")));
    let rotators = "w-lines, az-el-words, thirteen-byte";
    assert_eq!(error, format!("8:1: `five-byte` is no rotator's language; accepted: {rotators}"));
    let mount = radio("a", "/dev/a", "use = \"both\"").replace("semicolon-eleven", "w-lines");
    let error = only_error(with(&mount));
    assert!(error.starts_with("8:1: `w-lines` is a rotator's language; accepted: semicolon-eleven"));
    assert!(!error.contains("az-el-words") && !error.contains("five-byte,"), "{error}");
    let single = |uses: &str| {
        with(&radio("a", "/dev/a", &format!("use = \"{uses}\"")).replace("semicolon-eleven", "five-byte"))
    };
    assert!(single("receive").is_ok());
    assert!(only_error(single("both")).starts_with("8:1: `five-byte` has no commands for two bands at once"));
}

#[test]
fn a_radio_on_a_bus_needs_its_address() {
    let bus = radio("a", "/dev/a", "use = \"both\"").replace("semicolon-eleven", "fe-frames");
    let error = only_error(with(&bus));
    assert!(error.starts_with("8:1: `fe-frames` needs the radio's `address`"), "{error}");
    assert!(error.contains("0x03 to 0xDF"), "{error}");
}

#[test]
fn a_step_finer_than_the_dialects_is_refused() {
    let step = |hertz| with(&radio("a", "/dev/a", &format!("use = \"both\"\nstep_hz = {hertz}")));
    assert!(step(10).is_ok() && step(100).is_ok());
    let error = only_error(step(1));
    assert_eq!(error, "10:1: `step_hz` 1 is finer than `semicolon-eleven` tunes; accepted: 10 or more");
}

#[test]
fn limits_that_the_dialect_has_no_words_for_are_refused_at_their_key() {
    let mount = |dialect: &str, more: &str| with(&format!("{}{more}\n", ROTATOR.replace("w-lines", dialect)));
    let west = "azimuth = { from = -180, to = 180 }";
    assert!(mount("az-el-words", west).is_ok());
    assert!(mount("w-lines", "azimuth = { to = 450 }\nelevation = { to = 180 }").is_ok());
    let error = only_error(mount("w-lines", west));
    assert!(error.starts_with("9:1: `w-lines` can't send the mount to all of its limits: "), "{error}");
    assert!(error.contains("from = 0, to = 360") && error.contains("from = 180, to = 540"), "{error}");
    assert!(error.ends_with("if your controller counts so; its display tells"), "{error}");
    let error = only_error(mount("w-lines", "elevation = { from = -5, to = 90 }"));
    assert!(error.starts_with("9:1: `w-lines` can't send the mount"), "{error}");
    assert!(only_error(mount("thirteen-byte", "azimuth_only = true")).starts_with("9:1: `thirteen-byte`"));
}

#[test]
fn a_file_that_cannot_be_read_is_named_and_so_is_the_first_byte_that_is_no_text() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.toml");
    let load = || Config::load(&file, &DefaultPaths::system()).unwrap_err().to_string();
    assert!(load().contains("a.toml: can't be read: No such file"), "{}", load());
    std::fs::write(&file, b"format = 1\nx = \"\xFF\"\n").unwrap();
    assert!(load().contains("a.toml:2:6: the bytes from here on are not UTF-8"), "{}", load());
    std::fs::write(&file, MINIMAL).unwrap();
    let config = Config::load(&file, &DefaultPaths::system()).unwrap();
    assert_eq!(config.files.elements, [folder.path().join("elements.txt")]);
    assert_eq!(config.files.dialects, folder.path().join("dialects"));
}

/// A pipe would block whoever opens it, and a serial port that is opened can key a transmitter.
#[test]
fn what_is_no_regular_file_is_refused_unopened() {
    let folder = tempfile::tempdir().unwrap();
    let pipe = folder.path().join("pipe.toml");
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let load = |file: &Path| Config::load(file, &DefaultPaths::system()).unwrap_err().to_string();
    assert_eq!(load(&pipe), format!("{}: is a named pipe, not a file", pipe.display()));
    assert!(load(folder.path()).ends_with(": is a folder, not a file"));
    assert_eq!(load(Path::new("/dev/zero")), "/dev/zero: is a device, not a file");
    let large = folder.path().join("large.toml");
    std::fs::write(&large, "#".repeat((1 << 20) + 1)).unwrap();
    assert!(load(&large).ends_with(": is larger than 1 MiB"));
    assert!(load_satellites(&pipe).unwrap_err().to_string().ends_with("not a file"));
}

#[test]
fn the_description_says_what_will_be_used_in_short_lines() {
    let text = Config::demo().unwrap().describe();
    for words in [
        "Q0HILL, 54 N, 2.5 W, 120 m",
        "semicolon-eleven, for both",
        "azimuth 0 to 450",
        "145.800 000 MHz to 146.000 000 MHz",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    assert!(text.lines().all(|line| line.len() <= 80), "{text}");
    let least = parse(MINIMAL).unwrap().describe();
    assert!(least.contains("no segments: receive only"));
    assert_eq!(least.lines().filter(|line| line.ends_with(" none")).count(), 2, "{least}");
}

#[test]
fn a_windows_file_and_a_byte_order_mark_are_read() {
    let windows = format!("\u{FEFF}{}", MINIMAL.replace('\n', "\r\n"));
    assert_eq!(parse(&windows).unwrap(), parse(MINIMAL).unwrap());
    let duplex = with(&radio("a", "/dev/a", "use = \"both\"").replace('\n', "\r\n")).unwrap();
    assert_eq!(duplex.radios[0].uses, Use::Both);
}

proptest! {
    /// A file that was damaged anywhere is read or refused with a place inside it.
    #[test]
    fn no_damage_makes_the_reader_fail_or_lose_its_place(
        at in 0..SHIPPED.len(), cut in 0_usize..40, with in "[\\[\\]{}=\"'#.,\\n\\-_a-z0-9é]{0,6}",
    ) {
        let text = all_switched_on();
        let keep = |offset: usize| (offset..).find(|i| text.is_char_boundary(*i)).unwrap_or(text.len());
        let (start, end) = (keep(at.min(text.len())), keep((at + cut).min(text.len())));
        let damaged = format!("{}{with}{}", &text[..start], &text[end..]);
        if let Err(errors) = parse(&damaged) {
            let lines = damaged.lines().count() + 1;
            prop_assert!(errors.iter().count() > 0);
            prop_assert!(errors.iter().all(|error| (1..=lines).contains(&error.at.line) && error.at.column > 0));
        }
    }
}

#[test]
fn steps_may_differ_by_mode_and_dials_may_be_off() {
    let more = "use = \"both\"\nstep_hz = { fm = 5000, ssb = 10 }\nworthwhile_hz = 100\n\
                calibration = { receive_ppm = -1.5, transmit_hz = 120 }";
    let config = with(&radio("a", "/dev/a", more)).unwrap();
    let radio = &config.radios[0];
    assert_eq!((radio.step.fm, radio.step.ssb, radio.step.cw), (Some(Hertz(5000)), Some(Hertz(10)), None));
    assert_eq!(radio.worthwhile.cw, Some(Hertz(100)));
    assert_eq!(radio.calibration.receive.ppm, -1.5);
    assert_eq!(radio.calibration.transmit.hz, Hertz(120));
    let shown = config.describe();
    assert!(shown.contains("step fm 5000 Hz, ssb 10 Hz\n"), "{shown}");
    assert!(shown.contains("receive calibration -1.5 ppm and +0 Hz\n"), "{shown}");
}

#[test]
fn a_wrong_step_of_a_mode_is_reported_at_its_place() {
    let more = "use = \"both\"\nstep_hz = { fm = 0 }\ncalibration = { receive_ppm = 900 }";
    let all = errors(with(&radio("a", "/dev/a", more)));
    assert_eq!(all[0], "10:13: `fm` is 0; accepted: a whole number from 1 to 100_000 hertz");
    assert!(
        all[1].contains("`receive_ppm` is 900; accepted: a number from -200 to 200 millionths"),
        "{all:?}"
    );
}

#[test]
fn a_mount_that_nobody_has_measured_deserves_a_second_look() {
    let warnings = |more: &str| with(&format!("{ROTATOR}{more}")).unwrap().warnings();
    let usual = warnings("");
    assert_eq!(usual.len(), 2, "{usual:?}");
    assert!(usual[0].contains("2 and 2 degrees per second are only the usual slew_deg_s"), "{usual:?}");
    assert!(usual[1].contains("30 degrees is only the usual beam_width"), "{usual:?}");
    let measured = "slew_deg_s = { azimuth = 3, elevation = 2 }\nbeam_width = 30\n";
    assert_eq!(warnings(measured), [""; 0]);
    let half = warnings("slew_deg_s = { azimuth = 3 }\nbeam_width = 30\n");
    assert!(half.len() == 1 && half[0].contains("3 and 2 degrees"), "{half:?}");
    let level = "azimuth_only = true\nslew_deg_s = { azimuth = 3 }\nbeam_width = 30\n";
    assert_eq!(warnings(level), [""; 0]);
    let told = with(&format!("{ROTATOR}{level}")).unwrap().describe();
    assert!(told.contains("turns 3 degrees per second") && !told.contains("tilts"), "{told}");
}

#[test]
fn the_agenda_is_a_list_in_which_brackets_make_equals() {
    let text = "[agenda]\nsatellites = [\"GANNET-1\", [\"TERN-1\", { satellite = \"SKUA-1\", link = \"beacon\" }]]\n";
    let listed = with(text).unwrap().agenda.satellites;
    let told: Vec<(&str, Option<&str>, usize)> =
        listed.iter().map(|one| (one.satellite.as_str(), one.link.as_deref(), one.rank)).collect();
    assert_eq!(told, [("GANNET-1", None, 0), ("TERN-1", None, 1), ("SKUA-1", Some("beacon"), 1)]);
    let refused = |list: &str| only_error(with(&format!("[agenda]\nsatellites = [{list}]\n")));
    assert!(refused("7").contains("accepted: a satellite's name in quotes, {"));
    assert!(refused("{ satellite = \"TERN-1\" }").contains("{ satellite = NAME, link = NAME }"));
    assert_eq!(refused("\"TERN-1\", [\"tern-1\"]"), "6:1: `satellites` names tern-1 twice");
}

#[test]
fn a_command_of_the_users_is_a_whole_path_with_arguments_and_no_shell() {
    let command = |more: &str| with(&format!("[[agenda.command]]\n{more}\n"));
    let bell =
        command("at = \"5 min before aos\"\nrun = [\"/bin/bell\", \"a b; c\"]").unwrap().agenda.commands;
    assert_eq!((bell[0].when, bell[0].limit_s), (When::BeforeAos(300.0), 60.0));
    assert_eq!(bell[0].run, ["/bin/bell", "a b; c"]);
    let error = only_error(command("at = \"aos\"\nrun = [\"bell\"]"));
    assert_eq!(error, "7:1: `run` begins with \"bell\": give the program's whole path, from /");
    assert!(only_error(command("at = \"aos\"\nrun = []")).contains("`run` is empty"));
    assert!(only_error(command("at = \"aos\"")).contains("`run` is missing"));
    assert!(only_error(command("at = \"tca\"\nrun = [\"/b\"]")).contains("such as \"5 min before aos\""));
    assert!(only_error(command("at = \"los\"\nrun = [\"/b\"]\nlimit_s = 0")).contains("from 1 to 7200"));
}

#[test]
fn what_the_agenda_means_is_said_in_its_order_with_equals_and_links() {
    let text = "[agenda]\nsatellites = [\"GANNET-1\", [\"TERN-1\", { satellite = \"SKUA-1\", link = \"beacon\" }]]\n";
    let told = with(text).unwrap().describe();
    assert!(
        told.contains("agenda       GANNET-1\n             then TERN-1\n             or SKUA-1 beacon\n"),
        "{told}"
    );
}

#[test]
fn no_go_sectors_may_cross_the_north_and_must_leave_the_beam_a_place() {
    use beamhand::device::{Approach, ByHand};
    let mast = |more: &str| with(&format!("{ROTATOR}{more}\n"));
    let park = "park = { azimuth = 180 }\n";
    let sectors = "no_go = [{ azimuth = { from = 350, to = 10 } }, { elevation = { to = -1 } }]";
    let mount = mast(&format!("{park}{sectors}")).unwrap().rotator.unwrap();
    assert_eq!(mount.no_go.len(), 2);
    assert_eq!((mount.no_go[0].azimuth.from, mount.no_go[0].azimuth.to), (350.0, 10.0));
    assert_eq!((mount.no_go[1].azimuth.to, mount.no_go[1].elevation.to), (360.0, -1.0));
    assert_eq!((mount.approach, mount.by_hand), (None, ByHand::Follow));
    let kept = "approach = \"counter-clockwise\"\nplay = 1.5\nby_hand = \"hand over\"";
    let mount = mast(kept).unwrap().rotator.unwrap();
    assert_eq!(mount.approach, Some(Approach { clockwise: false, play: 1.5 }));
    assert_eq!(mount.by_hand, ByHand::HandOver);
    let parked = only_error(mast(sectors));
    assert!(parked.contains("the park position, 0 0, lies in a no-go sector"), "{parked}");
    assert!(only_error(mast("no_go = [{}]")).contains("nowhere to go"));
    assert!(only_error(mast("play = 1")).contains("`play` needs `approach`"));
}

/// By hand: 0.18 of 30 degrees is 5.4.
#[test]
fn quiet_motion_goes_by_the_beams_width_unless_the_dead_band_is_wider() {
    let mount = |more: &str| with(&format!("{ROTATOR}{more}\n")).unwrap().rotator.unwrap();
    assert_eq!(mount("").worthwhile_deg(), 2.0);
    assert!((mount("motion = \"quiet\"").worthwhile_deg() - 5.4).abs() < 1e-9);
    assert_eq!(mount("motion = \"quiet\"\ndead_band = 8").worthwhile_deg(), 8.0);
    assert!(only_error(with(&format!("{ROTATOR}motion = \"fast\"\n"))).contains("close"));
}

#[test]
fn what_a_mount_is_off_by_is_told_and_a_lean_needs_its_direction() {
    let off = format!(
        "{ROTATOR}offset = {{ azimuth = 3, elevation = -1.5 }}\nlean = {{ degrees = 2, towards = 120 }}\n\
         resolution_deg = 1\n"
    );
    let config = with(&off).unwrap();
    let rotator = config.rotator.as_ref().unwrap();
    assert_eq!(rotator.resolution, 1.0);
    let told = config.describe();
    for what in ["true azimuth and elevation are +3 and -1.5 from", "leans by 2 degrees towards 120"] {
        assert!(told.contains(what), "{what}\n{told}");
    }
    assert!(told.lines().all(|line| line.len() <= 80), "{told}");
    let fine = with(&format!("{ROTATOR}resolution_deg = 0.01\n")).unwrap().rotator.unwrap();
    assert_eq!(fine.resolution, fine.line.dialect.resolution(), "no finer than its language");
    let error = only_error(with(&format!("{ROTATOR}lean = {{ degrees = 2 }}\n")));
    assert!(error.contains("`lean` needs `towards`"), "{error}");
    let error = only_error(with(&format!("{ROTATOR}acceleration_deg_s2 = {{ azimuth = 0 }}\n")));
    assert!(error.contains("from 0.1 to 100"), "{error}");
}
