//! `beamhand dialects`.

use crate::program::beamhand;

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
    beamhand(&["dialects", "semaphore"]).assert_refused(1, &["semaphore", "semicolon-eleven", "w-lines"]);
}
