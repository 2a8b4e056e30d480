//! `beamhand check`.

use crate::program::{DEMO, ELEMENTS, Home, beamhand};

const FORMAT: &str = "format = 1\n";

#[test]
fn a_good_configuration_is_shown_as_it_will_be_used() {
    let ran = beamhand(&["check", "--config", DEMO]);
    ran.assert_fits_the_screen();
    for shown in ["Q0HILL", "54 N", "semicolon-eleven", "az-el-words", "145.800 000 MHz", "GANNET-1"] {
        assert!(ran.out.contains(shown), "{shown}");
    }
}

#[test]
fn everything_that_is_wrong_is_reported_at_once_each_with_its_place() {
    let home = Home::empty();
    let text = format!(
        "{FORMAT}[station]\nlatitude = nan\n  longitude = 200\naltitude = 3\n[clock]\ntrust = \"kernal\"\n\
         [[radio]]\nname = \"a\"\nport = 7\ndialect = \"semicolon-elevn\"\nuse = \"both\"\n"
    );
    let file = home.file("wrong.toml", &text);
    let ran = home.run(&["check", "--config", &file]);
    let place = |line: usize, column: usize| format!("{file}:{line}:{column}: ");
    ran.assert_refused(78, &[&place(3, 1), "nan", "-90 to 90"]);
    ran.assert_refused(78, &[&place(4, 3), "200"]);
    ran.assert_refused(78, &[&place(5, 1), "nearest: altitude_m"]);
    ran.assert_refused(78, &[&place(7, 1), "nearest: kernel", "\"always\""]);
    ran.assert_refused(78, &[&place(10, 1)]);
    ran.assert_refused(78, &[&place(11, 1), "nearest: semicolon-eleven", "five-byte-duplex"]);
    assert_eq!(ran.err.lines().count(), 6, "{}", ran.err);
    assert!(ran.err.lines().all(|line| line.starts_with(&file)), "{}", ran.err);
    assert_eq!(ran.out, "");
}

#[test]
fn errors_of_the_satellites_file_have_their_place_too() {
    let home = Home::empty();
    let satellites = home.file(
        "satellites.toml",
        "format = 1\n[[satellite]]\nname = \"AUK-1\"\ncatalog_number = 99009\n[[satellite.link]]\n\
         name = \"beacon\"\nkind = \"beacn\"\ndownlink = 435_000_000\nmode = \"cw\"\n",
    );
    let config = "[station]\nlatitude = 54\nlongitude = -2.5\n[files]\nelements = \"elements.txt\"\n\
                  satellites = \"satellites.toml\"\n";
    let file = home.file("beamhand.toml", &format!("{FORMAT}{config}"));
    home.run(&["check", "--config", &file])
        .assert_refused(78, &[&format!("{satellites}:7:1: "), "nearest: beacon", "fm-repeater"]);
}

#[test]
fn missing_and_bad_elements_are_warnings_beside_what_is_good() {
    let home = Home::empty();
    home.file("satellites.toml", include_str!("../../config/demo/satellites.toml"));
    let config = "[station]\nlatitude = 54\nlongitude = -2.5\n[files]\nelements = \"elements.txt\"\n\
                  satellites = \"satellites.toml\"\n";
    let file = home.file("beamhand.toml", &format!("{FORMAT}{config}"));
    let ran = home.run(&["check", "--config", &file]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let elements = home.path().join("elements.txt");
    let warnings: Vec<&str> = ran.out.lines().filter(|line| line.starts_with("warning ")).collect();
    assert!(warnings[0].contains("there are no elements of any of your satellites"), "{}", ran.out);
    assert_eq!(warnings[1].split_whitespace().nth(1), Some(&*format!("{}:", elements.display())));
    assert!(ran.out.contains("No such file") && !ran.out.contains("os error"), "{}", ran.out);
    assert!(ran.out.contains("no elements: it can't be followed"), "{}", ran.out);
}

#[test]
fn what_deserves_a_second_look_is_a_warning_and_no_error() {
    let ran = beamhand(&["check", "--config", DEMO]);
    ran.assert_fits_the_screen();
    for doubt in ["Q0HILL at 54 N, 2.5 W is the example", "duplex: its port", "is not there"] {
        assert!(ran.out.contains(doubt), "no {doubt:?} in {}", ran.out);
    }
}

#[test]
fn dialects_of_ones_own_are_named_with_their_files_and_idle_ones_with_their_faults() {
    let home = Home::empty();
    home.file("satellites.toml", include_str!("../../config/demo/satellites.toml"));
    let shack = home.file("dialects/shack.toml", "base = \"five-byte\"\n");
    home.file("dialects/idle.toml", "base = \"five-byte\"\ncolour = 1\n");
    let config = "[station]\nlatitude = 54\nlongitude = -2.5\n[[radio]]\nname = \"a\"\nport = \"/dev/a\"\n\
                  use = \"receive\"\ndialect = \"shack\"\n";
    let ran = home.run(&["check", "--config", &home.file("beamhand.toml", &format!("{FORMAT}{config}"))]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let words = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains(&format!("shack is your own, {shack}, built on the built-in five-byte")),
        "{words}"
    );
    assert!(words.contains("warning dialect idle, which no device uses: "), "{words}");
    assert!(words.contains("idle.toml:2:1: unknown key \"colour\""), "{words}");
}

/// All that an amateur set up and would look for: the horizon, the agenda's own limits, quiet hours, his
/// commands, the file of the Earth's orientation.
#[test]
fn what_was_set_for_horizon_agenda_and_earth_is_told() {
    let home = Home::empty();
    home.file("satellites.toml", include_str!("../../config/demo/satellites.toml"));
    home.file("elements.txt", &std::fs::read_to_string(ELEMENTS).unwrap());
    // Two days of the form of finals2000A, long past.
    let days = [("1125", "57717.00"), ("1126", "57718.00")].map(|(day, mjd)| {
        format!("16{day} {mjd} P  0.000000 0.000100  0.000000 0.000100  P-0.3000000 0.0001000\n")
    });
    home.file("finals", &days.concat());
    let told = |earth: &str| {
        let file = home.file(
            "beamhand.toml",
            &format!(
                "{FORMAT}[station]\nlatitude = 54\nlongitude = -2.5\nhorizon = [[0, 2], [90, 12.5], [180, 0]]\n\
                 [files]\nelements = \"elements.txt\"\nsatellites = \"satellites.toml\"\n\
                 earth_orientation = \"{earth}\"\n\
                 [agenda]\nsatellites = [\"GANNET-1\",\n  \"GANET-1\"]\nminimum_elevation = 7\n\
                 [[agenda.quiet]]\ndays = [\"mon\", \"tue\"]\nfrom = \"22:00\"\nto = \"07:00\"\n\
                 [[agenda.command]]\nat = \"5 min before aos\"\nrun = [\"/bin/true\", \"up\"]\n"
            ),
        );
        let ran = home.run(&["check", "--config", &file]);
        assert_eq!(ran.code, Some(0), "{}", ran.err);
        ran.out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let words = told("finals");
    for what in [
        "own horizon, 0 to 12.5 degrees high, by 3 corners",
        "passes above 7 degrees",
        "quiet Mon Tue 22:00 to 07:00 by the clock on the wall",
        "at 5 min before aos: /bin/true up, ",
        "beamhand.toml:12:3: agenda: no satellite \"GANET-1\"",
        "finals: the Earth's orientation is known from 25 Nov 2016 to 26 Nov 2016, and not now",
    ] {
        assert!(words.contains(what), "no {what:?} in {words}");
    }
    assert!(
        told("nowhere")
            .contains("nowhere: can't be read: No such file or directory; the Earth is taken to turn evenly")
    );
}

#[test]
fn quiet_hours_need_both_ends() {
    let home = Home::empty();
    home.file("satellites.toml", "format = 1\n");
    let refused = |hours: &str, says: &[&str]| {
        let text = format!("{FORMAT}[station]\nlatitude = 54\nlongitude = -2.5\n[[agenda.quiet]]\n{hours}");
        home.run(&["check", "--config", &home.file("a.toml", &text)]).assert_refused(78, says);
    };
    refused("from = \"22:00\"\n", &["a.toml:6:1: `to` is missing in [[agenda.quiet]]: give both"]);
    refused("days = [\"mon\"]\nto = \"07:00\"\n", &["a.toml:7:1: `from` is missing"]);
    refused("days = [\"mon\"]\n", &["a.toml:5:1: `from` is missing", "`to` is missing"]);
}

#[test]
fn an_azimuth_of_360_in_the_horizon_is_refused_with_what_to_write() {
    let home = Home::empty();
    let text = format!("{FORMAT}[station]\nlatitude = 54\nlongitude = -2.5\nhorizon = [[90, 2], [360, 5]]\n");
    let says = ["a.toml:5:1: `horizon`: azimuth 360 ", "for north write 0, not 360"];
    home.run(&["check", "--config", &home.file("a.toml", &text)]).assert_refused(78, &says);
}
