//! `beamhand dialects`.

use crate::program::beamhand;

const DIALECTS: [&str; 8] = [
    "semicolon-eleven",
    "semicolon-nine",
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
}

#[test]
fn one_dialect_is_shown_with_everything_that_it_can_say() {
    for name in DIALECTS {
        let ran = beamhand(&["dialects", name]);
        ran.assert_fits_the_screen();
        assert!(ran.out.starts_with(name));
        assert!(ran.out.contains("do.") && ran.out.contains("ask."), "{}", ran.out);
    }
}

#[test]
fn a_dialect_that_does_not_exist_is_refused_with_those_that_do() {
    beamhand(&["dialects", "semaphore"]).assert_refused(1, &["semaphore", "semicolon-eleven", "w-lines"]);
}
