//! What a dialect file may leave selected while a radio works by turns.

use super::*;

fn faults(base: &str, line: &str) -> Vec<String> {
    let read = Dialect::parse("own", &format!("base = \"{base}\"\n{line}"));
    read.err().unwrap_or_default().iter().map(DialectError::to_string).collect()
}

// 07 01 and the toggle 81 select the VFO that transmits, FR1; makes it the one that mode and tone
// act on.
#[test]
fn what_goes_to_the_other_vfo_has_to_come_back() {
    for (base, line) in [
        ("fe-frames", "do.other_hz = [\"07 01\", \"05 {hz:bcdle5}\"]"),
        ("fe-frames", "do.other_hz = { send = [\"07 01\", \"05 {hz:bcdle5}\"], finally = \"07 01\" }"),
        ("fe-frames", "do.mode = [\"07 01\", \"06 {mode:table}\"]"),
        ("fe-frames", "do.clarifier_off = [\"07 01\", \"21 01 00\"]"),
        (
            "fe-frames",
            "ask.other_mode = { send = [\"07 01\", \"04\"], answer = \"04 {other_mode:table}\", finally = [] }",
        ),
        ("five-byte", "do.other_hz = [\"00 00 00 00 81\", \"{hz/10:bcd4} 01\"]"),
        ("five-byte", "do.simplex = [\"00 00 00 00 81\", \"89 00 00 00 09\"]"),
        ("semicolon-eleven", "do.other_mode = [\"FR1;\", \"FT1;\", \"MD{mode:table};\"]"),
        ("semicolon-eleven", "do.transmit_simplex.finally = \"FT1;\""),
        ("semicolon-two-bands", "do.other_tone_off.finally = []"),
    ] {
        let verb = line.split(" = ").next().unwrap().trim_end_matches(".finally");
        let fault =
            format!("{verb} leaves the other VFO selected; `finally` has to select the plain one again");
        let faults = faults(base, line);
        let place = format!("2:{}: ", verb.find('.').unwrap() + 2);
        assert_eq!(faults, [format!("{place}{fault}")], "{line}");
    }
}

#[test]
fn what_comes_back_or_is_not_said_by_turns_may_select() {
    for (base, line) in [
        ("fe-frames", "do.other_hz = { send = [\"07 01\", \"05 {hz:bcdle5}\"], finally = [\"07 00\"] }"),
        ("fe-frames", "do.tx_mode = [\"07 D0\", \"06 {mode:table}\"]"),
        ("five-byte", "do.swap_vfo = \"00 00 00 00 81\""),
        ("five-byte", "do.other_hz = [\"00 00 00 00 81\", \"{hz/10:bcd4} 01\", \"00 00 00 00 81\"]"),
        ("semicolon-eleven", "do.tx_mode = [\"FR1;\", \"FT1;\", \"MD{mode:table};\"]"),
        ("semicolon-eleven", "do.quiet = [\"AI0;\", \"FR0;\"]"),
    ] {
        assert_eq!(faults(base, line), [""; 0], "{line}");
    }
}
