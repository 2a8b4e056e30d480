//! What a dialect file may do to the dials: nothing that the licence check does not see.

use super::*;

fn faults(text: &str) -> Vec<String> {
    Dialect::parse("own", text).err().unwrap_or_default().iter().map(DialectError::to_string).collect()
}

#[test]
fn nothing_but_a_tuning_command_sets_a_frequency() {
    for (base, line, word) in [
        ("semicolon-eleven", "do.clarifier_off = \"FB00144000000;\"", "sets a frequency"),
        ("semicolon-eleven", "do.clarifier_off = \"fb00144000000;\"", "sets a frequency"),
        ("semicolon-eleven", "do.mode = [\"MD{mode:table};\", \"FB{hz:dec11};\"]", "sets a frequency"),
        (
            "semicolon-eleven",
            "ask.signal = { send = [\"FB00144111000;\", \"SM0;\"], answer = \"SM{signal:dec5};\" }",
            "sets a frequency",
        ),
        ("semicolon-eleven", "do.greeting = \"FB00144000000;\"", "sets a frequency"),
        (
            "semicolon-eleven",
            "do.tx_hz = { send = \"FB{hz:dec11};\", finally = \"FB00144000000;\" }",
            "sets a frequency",
        ),
        ("fe-frames", "do.simplex = \"05 00 00 00 44 01\"", "sets a frequency"),
        ("fe-frames", "do.simplex = \"00 00 00 00 44 01\"", "sets a frequency"),
        ("fe-frames", "do.simplex = \"25 01 00 00 00 44 01\"", "sets a frequency"),
        ("five-byte", "do.simplex = \"14 40 00 00 01\"", "sets a frequency"),
        ("five-byte-duplex", "do.simplex = \"14 40 00 00 21\"", "sets a frequency"),
        ("semicolon-eleven", "do.simplex = \"OS1;\"", "repeater shift on"),
        ("fe-frames", "do.simplex = \"0F 12\"", "repeater shift on"),
        ("five-byte", "do.simplex = \"49 00 00 00 09\"", "repeater shift on"),
        ("five-byte", "do.simplex = \"00 60 00 00 F9\"", "repeater shift"),
    ] {
        let faults = faults(&format!("base = \"{base}\"\n{line}"));
        assert!(
            matches!(&faults[..], [fault] if fault.starts_with("2:") && fault.contains(word)),
            "{line}: {faults:?}"
        );
    }
}

#[test]
fn a_tuning_command_sets_the_frequency_that_it_is_given() {
    for (base, line, word) in [
        ("semicolon-eleven", "do.tx_hz = \"FB{hz+600000:dec11};\"", "as it is"),
        ("semicolon-eleven", "do.tx_hz = \"FB{hz*2:dec11};\"", "291.902 460 MHz where 145.951 230 MHz"),
        ("semicolon-eleven", "do.tx_hz = \"FB00144000000;\"", "as it is"),
        ("semicolon-eleven", "do.tx_hz = [\"FB{hz:dec11};\", \"FB00144000000;\"]", "as it is"),
        ("semicolon-eleven", "do.tx_hz = \"FB{hz/1000:dec8}000;\"", "whole to step_hz"),
        ("semicolon-eleven", "do.tx_hz = \"FB {hz:dec11};\"", "no whole number"),
        ("semicolon-eleven", "do.tx_hz = \"ZZ{hz+600000:dec11};\"", "as it is"),
        ("fe-frames", "do.hz = \"05 {hz/10:bcdle5}\"", "14.595 123 MHz"),
        ("five-byte", "do.hz = \"{hz/10+60000:bcd4} 01\"", "as it is"),
        ("five-byte", "do.hz = \"{hz/10:bcd4} 0A\"", "no command of this family"),
        ("five-byte", "step_hz = 1\ndo.hz = \"{hz/10:bcd4} 01\"", "whole to step_hz"),
    ] {
        let faults = faults(&format!("base = \"{base}\"\n{line}"));
        assert!(faults.iter().any(|fault| fault.contains(word)), "{line}: {faults:?}");
    }
    let tens = "base = \"semicolon-eleven\"\nstep_hz = 100\ndo.tx_hz = \"FB{hz/100:dec9}00;\"";
    assert_eq!(faults(tens), [""; 0]);
}

#[test]
fn the_receivers_command_does_not_reach_the_transmitters_dial() {
    for (base, line, fault) in [
        (
            "semicolon-eleven",
            "do.rx_hz = \"FB{hz:dec11};\"",
            "2:4: do.rx_hz reaches the dial that do.tx_hz sets",
        ),
        (
            "semicolon-eleven",
            "do.tx_hz = \"FA{hz:dec11};\"",
            "2:4: do.rx_hz reaches the dial that do.tx_hz sets",
        ),
        ("semicolon-nine", "do.hz = \"FB{hz:dec9};\"", "2:4: do.hz reaches the dial that do.other_hz sets"),
        (
            "semicolon-eleven",
            "do.rx_hz = \"FB{hz:dec11};\"\ndo.tx_hz = \"FA{hz:dec11};\"",
            "2:4: do.rx_hz sends what do.tx_hz of semicolon-eleven sends",
        ),
        (
            "fe-frames",
            "do.rx_hz = [\"07 D0\", \"05 {hz:bcdle5}\"]",
            "2:4: do.rx_hz reaches the dial that do.tx_hz sets",
        ),
        ("fe-frames", "do.rx_hz = \"05 {hz:bcdle5}\"", "2:4: do.rx_hz reaches the dial that do.tx_hz sets"),
        (
            "five-byte",
            "do.hz = [\"00 00 00 00 81\", \"{hz/10:bcd4} 01\"]",
            "2:4: do.hz reaches the dial that do.other_hz sets",
        ),
        (
            "five-byte-duplex",
            "do.rx_hz = \"{hz/10:bcd4} 21\"",
            "2:4: do.rx_hz reaches the dial that do.tx_hz sets",
        ),
    ] {
        assert_eq!(faults(&format!("base = \"{base}\"\n{line}")), [fault], "{line}");
    }
    let exchanging = "base = \"fe-frames\"\ndo.rx_hz = [\"07 D1\", \"07 B0\", \"05 {hz:bcdle5}\"]";
    assert!(faults(exchanging)[0].contains("exchanges the dials"), "{:?}", faults(exchanging));
}
