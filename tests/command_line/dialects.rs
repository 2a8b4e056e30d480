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
fn what_still_sends_the_code_of_an_ability_that_is_off_is_said() {
    let home = Home::empty();
    let text = "base = \"semicolon-eleven\"\ndo.tone_off = false\n";
    let ran = home.run(&["dialects", "check", &home.file("mine.toml", text)]);
    ran.assert_fits_the_screen();
    let one_line = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let said =
        "do.tone_off is switched off, but its code TO0; is still sent by do.other_tone_off, do.tx_tone_off";
    assert!(one_line.contains(said), "{}", ran.out);
}

/// The indented lines that begin with this one.
fn example_of_the_readme(first: &str) -> String {
    let lines = include_str!("../../README.md").lines().skip_while(|line| !line.trim().starts_with(first));
    lines.map_while(|line| line.strip_prefix("    ")).map(|line| format!("{line}\n")).collect()
}

#[test]
fn the_example_of_the_readme_does_what_it_says() {
    let example = example_of_the_readme("base = \"semicolon-eleven\"");
    assert!(example.contains("my radio can't switch the tone off"), "{example}");
    let home = Home::empty();
    let config = home.file("here/beamhand.toml", "format = 1\n");
    let file = home.file("here/dialects/shack-radio.toml", &example);
    let ran = home.run(&["dialects", "check", &file]);
    ran.assert_fits_the_screen();
    // Another code, and no command that switches the tone off: TO0; from memory of manuals.
    assert!(ran.out.starts_with("shack-radio: built on semicolon-eleven, "), "{}", ran.out);
    assert!(ran.out.contains(" AI00;\n") && !ran.out.contains("AI0;"), "{}", ran.out);
    assert!(ran.out.contains(" TO1;") && !ran.out.contains("TO0;"), "{}", ran.out);
    let listed = home.run(&["dialects", "--config", &config]);
    assert!(listed.out.contains("shack-radio         57600 baud, 8N1, your own"), "{}", listed.out);
}

#[test]
fn what_can_not_be_proven_is_counted_apart_and_named() {
    let home = Home::empty();
    let ran = home.run(&["dialects", "check", &home.file("mast.toml", "base = \"w-lines\"\n")]);
    ran.assert_fits_the_screen();
    assert!(ran.out.contains("  0 values were set and read as they were meant\n"), "{}", ran.out);
    assert!(ran.out.contains(" values are not proven\n"), "{}", ran.out);
    let why = "not proven: do.aim, do.azimuth: the answer has another form than the command";
    let one_line = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(one_line.contains(why), "{}", ran.out);
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
    let unread =
        home.file("unread.toml", "base = \"five-byte\"\n[ask]\nhz.answer = \"{hz:bcd4} {_:raw1}\"\n");
    home.run(&["dialects", "check", &unread])
        .assert_refused(78, &["unread.toml:3:1: do.hz: this frequency fails"]);
    let mute = home.file("mute.toml", "family = \"w-lines\"\nline = { baud = 9600 }\ndo.stop = \"S\"\n");
    home.run(&["dialects", "check", &mute])
        .assert_refused(78, &["mute.toml: it serves no radio and no rotator"]);
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
