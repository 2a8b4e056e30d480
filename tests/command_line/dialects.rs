//! `beamhand dialects`.

use crate::program::{Home, beamhand};

const DIALECTS: [&str; 9] = [
    "semicolon-eleven",
    "semicolon-nine",
    "semicolon-two-bands",
    "fe-frames",
    "five-byte",
    "five-byte-duplex",
    "w-lines",
    "az-el-words",
    "thirteen-byte",
];

#[test]
fn every_dialect_is_listed_with_an_example_to_compare_with_the_manual() {
    let ran = beamhand(&["dialects"]);
    ran.assert_fits_the_screen();
    DIALECTS.iter().for_each(|name| assert!(ran.out.contains(name), "{name}"));
    // The wire examples of the design, from memory of manuals.
    for example in ["FA00145950000;", "FA145950000;", "05 00 00 95 45 01 FD", "14 59 50 00 01", "W180 045"] {
        assert!(ran.out.contains(example), "{example}");
    }
    for two_bands in ["14 59 50 00 11", "14 59 50 00 21"] {
        assert!(ran.out.contains(two_bands), "{two_bands}");
    }
}

#[test]
fn radios_and_rotators_have_a_heading_each() {
    let ran = beamhand(&["dialects"]);
    let (radios, rotators) = ran.out.split_once("\nrotators\n").unwrap();
    assert!(radios.starts_with("radios\n") && radios.contains("five-byte-duplex"), "{radios}");
    assert!(["w-lines", "az-el-words", "thirteen-byte"].iter().all(|name| rotators.contains(name)));
    assert!(!radios.contains("w-lines") && !rotators.contains("semicolon"), "{rotators}");
}

// FM is `4` of `MD`, and 67.0 the first of `TN`'s table: from memory of manuals.
#[test]
fn the_examples_are_in_fm_with_the_first_tone() {
    let ran = beamhand(&["dialects", "semicolon-eleven"]);
    assert!(ran.out.contains(" MD4;") && ran.out.contains(" TN01;"), "{}", ran.out);
    let chip = beamhand(&["dialects", "five-byte-duplex"]);
    assert!(chip.out.contains(" 08 00 00 00 17") && chip.out.contains(" 3F 00 00 00 2B"), "{}", chip.out);
}

#[test]
fn the_addresses_of_the_examples_are_those_of_the_readme() {
    let ran = beamhand(&["dialects", "fe-frames"]);
    let example = "FE FE 4C E0 05 00 00 95 45 01 FD";
    assert!(ran.out.contains(example) && include_str!("../../README.md").contains(example), "{}", ran.out);
}

#[test]
fn one_dialect_is_shown_with_everything_that_it_can_say() {
    for name in DIALECTS {
        let ran = beamhand(&["dialects", name]);
        ran.assert_fits_the_screen();
        assert!(ran.out.starts_with(name));
        assert!(ran.out.contains("do.") && ran.out.contains("ask."), "{}", ran.out);
        let verbs = ran.out.lines().filter(|line| line.contains(" do.") || line.contains(" ask."));
        assert!(verbs.clone().count() >= 3);
        verbs.for_each(|line| assert!(line.split_whitespace().count() > 1, "{line}"));
    }
}

#[test]
fn a_dialect_that_does_not_exist_is_refused_with_those_that_do() {
    beamhand(&["dialects", "semaphore"]).assert_refused(2, &["semaphore", "semicolon-eleven", "w-lines"]);
}

/// The bytes are those of the design's examples, from memory of manuals.
#[test]
fn a_worked_exchange_shows_what_is_sent_and_what_comes_back() {
    for (name, lines) in [
        ("semicolon-nine", ["FA145950000;", "the device says  FA145950000;"]),
        ("fe-frames", ["FE FE 4C E0 03 FD", "the device says  FE FE E0 4C 03 00 00 95 45 01 FD"]),
        ("five-byte", ["14 59 50 00 01", "the device says  14 59 50 00 .."]),
        ("w-lines", ["W180 045 CR", "the device says  +0180+0045"]),
    ] {
        let ran = beamhand(&["dialects", name]);
        let (worked, _) = ran.out.split_once("everything that it can say").unwrap();
        assert!(lines.iter().all(|line| worked.contains(line)), "{worked}");
    }
}

#[test]
fn a_built_in_file_is_printed_as_a_start_for_ones_own() {
    for name in DIALECTS {
        let home = Home::empty();
        let printed = home.run(&["dialects", "print", name]);
        let file = home.file("mine.toml", &printed.out);
        let ran = home.run(&["dialects", "check", &file]);
        ran.assert_fits_the_screen();
        assert!(ran.out.starts_with("mine: "), "{}", ran.out);
        assert!(ran.out.contains("values were set and read as they were meant"), "{}", ran.out);
    }
    beamhand(&["dialects", "print", "semaphore"]).assert_refused(2, &["semaphore", "semicolon-eleven"]);
}

#[test]
fn ones_own_file_is_proved_and_what_it_lacks_is_said() {
    let home = Home::empty();
    let text =
        "base = \"semicolon-eleven\"\nask.transmitting = false\ndo.tone_off = false\nprepare.single = []\n";
    let ran = home.run(&["dialects", "check", &home.file("mine.toml", text)]);
    ran.assert_fits_the_screen();
    assert!(ran.out.starts_with("mine: built on semicolon-eleven, family semicolon\n"), "{}", ran.out);
    for said in
        ["FA00145950000;", "no ask.transmitting: ", "no do.tone_off: ", "no preparation: ", "a rotator: no"]
    {
        assert!(ran.out.contains(said), "no {said:?} in {}", ran.out);
    }
    let mast =
        home.run(&["dialects", "check", &home.file("mast.toml", "base = \"w-lines\"\ndo.stop = false\n")]);
    assert!(mast.out.contains("can't stop it") && mast.out.contains("one direction: no"), "{}", mast.out);
}

#[test]
fn every_fault_of_ones_own_file_is_named_with_its_place() {
    let home = Home::empty();
    let file = home.file("bad.toml", "base = \"five-byte\"\ncolour = 1\ndo.hz = \"{hz/10:bcd4} 08\"\n");
    home.run(&["dialects", "check", &file]).assert_refused(
        78,
        &[&format!("{file}:2:1: unknown key"), &format!("{file}:3:4: do.hz: 08 keys the transmitter")],
    );
    let coarse = home.file("coarse.toml", "base = \"semicolon-eleven\"\ndo.hz = \"FA{hz/1000:dec8}000;\"\n");
    home.run(&["dialects", "check", &coarse])
        .assert_refused(78, &["coarse.toml:2:4: do.hz: ", "through whole to step_hz"]);
    home.run(&["dialects", "check", "none.toml"]).assert_refused(78, &["none.toml: can't be read"]);
    home.run(&["dialects", "check", "none"]).assert_refused(2, &["NAME.toml"]);
}

#[test]
fn ones_own_dialects_are_listed_with_the_built_in_ones() {
    let home = Home::empty();
    let config = home.file("here/beamhand.toml", "format = 1\nnonsense = true\n");
    home.file("here/dialects/shack.toml", "base = \"five-byte\"\nline.baud = 4800\n");
    home.file("here/dialects/broken.toml", "base = \n");
    let ran = home.run(&["dialects", "--config", &config]);
    ran.assert_fits_the_screen();
    assert!(ran.out.contains("shack               4800 baud, 8N2, your own"), "{}", ran.out);
    assert!(ran.out.contains("broken.toml has faults"), "{}", ran.out);
    let full = home.run(&["dialects", "shack", "--config", &config]);
    assert!(full.out.contains("on the built-in five-byte"), "{}", full.out);
    home.run(&["dialects", "broken", "--config", &config]).assert_refused(78, &["dialects/broken.toml:1:"]);
    assert!(!home.run(&["dialects"]).out.contains("shack"));
}
