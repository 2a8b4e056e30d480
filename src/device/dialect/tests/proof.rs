//! The proof of a dialect, and what a device would answer.

use super::*;

fn proof(text: &str) -> Proof {
    Dialect::parse("own", text).unwrap().proof()
}

fn answer(name: &str, verb: &str, values: &Values) -> String {
    let answer = built_in(name).answer(verb, values, Some(0xA2)).unwrap();
    let byte = |byte: &Option<u8>| byte.map_or("..".to_owned(), |byte| format!("{byte:02X}"));
    answer.iter().map(byte).collect::<Vec<_>>().join(" ")
}

#[test]
fn what_every_built_in_dialect_sets_is_read_as_it_was_meant() {
    for name in Dialect::names() {
        let proof = built_in(name).proof();
        assert_eq!(proof.faults, [], "{name}");
        let tried = proof.proven + proof.unproven;
        assert!(tried > 1000, "{name}: {tried}");
    }
}

// A command of `semicolon` has the form of its answer. On the bus `05` sets what `03` reads; a
// rotator is told `W180 045` and says `+0180+0045`; and nothing asks a five-byte radio for its tone.
#[test]
fn what_no_answer_can_be_compared_with_is_not_proven() {
    let doubts = |name: &str| built_in(name).proof().doubts;
    let verbs = |doubts: &[&str]| doubts.iter().map(|verb| (*verb).to_owned()).collect::<Vec<_>>();
    assert_eq!(doubts("w-lines"), [(Doubt::OtherForm, verbs(&["do.aim", "do.azimuth"]))].into());
    assert_eq!(built_in("w-lines").proof().proven, 0);
    let bus = &doubts("fe-frames")[&Doubt::OtherForm];
    assert!(["do.hz", "do.mode", "do.rx_hz", "do.tx_mode"].iter().all(|verb| bus.contains(&(*verb).into())));
    let five = doubts("five-byte");
    assert_eq!(five[&Doubt::NoQuestion], ["do.other_tone", "do.tone"]);
    assert!(!five[&Doubt::OtherForm].contains(&"do.hz".into()), "{five:?}");
    let eleven = doubts("semicolon-eleven");
    assert_eq!(eleven, [(Doubt::NoQuestion, verbs(&["do.other_tone"]))].into());
}

#[test]
fn without_its_question_a_command_is_not_proven() {
    let with = built_in("semicolon-eleven").proof();
    let without = proof("base = \"semicolon-eleven\"\nask.tx_hz = false");
    assert_eq!(without.doubts[&Doubt::NoQuestion], ["do.other_tone", "do.tx_hz"]);
    assert_eq!(with.proven - without.proven, without.unproven - with.unproven);
    assert!(with.proven > without.proven && without.faults.is_empty());
}

#[test]
fn a_form_of_an_answer_that_hides_the_one_that_reads_is_a_fault() {
    let forms = "[\"FB{_:any11};\", \"FB{tx_hz:dec11};\"]";
    let hidden = proof(&format!("base = \"semicolon-eleven\"\nask.tx_hz.answer = {forms}"));
    assert!(hidden.faults[0].text.contains("1.800 000 MHz would be read as nothing"), "{hidden:?}");
}

// Four bytes of digits in tens of hertz end below 1 GHz.
#[test]
fn what_a_language_can_not_say_is_named() {
    let five = built_in("five-byte").proof();
    assert!(
        five.limits.contains(&"do.hz can't set the bands from 1240, 2300, 3300, 5650 MHz".to_owned()),
        "{five:?}"
    );
    assert_eq!(built_in("semicolon-nine").proof().limits.len(), 4, "four dials of nine digits");
    let eleven = built_in("semicolon-eleven").proof();
    assert_eq!(
        eleven.limits,
        [
            "no code for the tones 69.3, 159.8, 165.5, 171.3, 177.3, 183.5, 189.9, 196.6, 199.5, 206.5, 229.1, 254.1"
        ]
    );
}

#[test]
fn a_command_and_a_question_that_do_not_mean_the_same_are_found() {
    let reading = proof("base = \"semicolon-eleven\"\nask.hz.answer = \"FA{hz/10:dec11};\"");
    assert!(
        reading.faults[0].text.contains("1.800 000 MHz as it is set would be read as 18.000 000 MHz"),
        "{reading:?}"
    );
    let twins = proof("base = \"semicolon-eleven\"\ntable.tone = { \"67.0\" = \"01\", \"71.9\" = \"01\" }");
    assert!(
        twins.faults.iter().any(|fault| fault.text.contains("67.0 Hz would be set as 71.9 Hz")),
        "{twins:?}"
    );
}

// Each of these is wrong by one thing: the command's form, the answer's, and the table's codes.
#[test]
fn a_fault_of_the_proof_stands_where_the_file_says_it() {
    for (lines, places) in [
        ("\nask.hz.answer = \"FA{hz/10:dec11};\"", &[(3, 5)][..]),
        ("\n\ntable.tone = { \"67.0\" = \"01\", \"71.9\" = \"01\" }", &[(4, 7); 3]),
    ] {
        let faults = proof(&format!("base = \"semicolon-eleven\"\n{lines}")).faults;
        let found: Vec<_> = faults.iter().map(|fault| (fault.line, fault.column)).collect();
        assert_eq!(found, places, "{lines}: {faults:?}");
    }
}

// FE FE E0 A2: from the radio to us. 145.950 MHz is 00 00 95 45 01.
#[test]
fn a_devices_answer_is_shown_as_its_manual_shows_it() {
    let hertz = Values::of_hertz(Hertz(145_950_000));
    assert_eq!(answer("fe-frames", "do.hz", &hertz), "FE FE E0 A2 FB FD");
    assert_eq!(answer("fe-frames", "ask.rx_hz", &hertz), "FE FE E0 A2 03 00 00 95 45 01 FD");
    assert_eq!(answer("five-byte", "ask.hz", &hertz), "14 59 50 00 ..");
    assert_eq!(answer("five-byte", "do.hz", &hertz), "..");
    let silent = built_in("semicolon-eleven").answer("do.hz", &hertz, None);
    assert_eq!(silent, None, "a good command is silent");
    let transmitting = Values::new().with("transmitting", Value::Flag(true));
    assert_eq!(answer("five-byte", "ask.transmitting", &transmitting), "00");
    assert_eq!(
        built_in("semicolon-eleven").answer("ask.transmitting", &transmitting, None).unwrap().len(),
        38
    );
}
