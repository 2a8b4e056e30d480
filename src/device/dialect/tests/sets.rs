//! What is sent: the whole verb set of each dialect.

use super::*;

/// Every frame of an exchange, `finally` behind a bar.
fn frames(dialect: &Dialect, verb: &str, values: &Values) -> String {
    let exchange = dialect.exchange(verb, values, Some(0xA2)).unwrap();
    let side = |steps: &[Step]| {
        steps.iter().map(|step| shown(dialect.family(), &step.frame)).collect::<Vec<_>>().join(" / ")
    };
    let finally = side(&exchange.finally);
    if finally.is_empty() { side(&exchange.steps) } else { format!("{} | {finally}", side(&exchange.steps)) }
}

/// Checks rows of `verb: frames`, and that no command of the dialect was left out.
fn check(name: &str, rows: &str) {
    let dialect = built_in(name);
    let values = |verb: &str| match dialect.needs(verb)[..] {
        ["hz"] => Values::of_hertz(Hertz(145_950_000)),
        ["mode"] => Values::of_mode(Mode::Fm),
        ["tone"] => tone(885),
        _ => {
            let pulses = Value::Number(2.0);
            Values::of_direction(180.0, 45.0).with("ph", pulses).with("pv", pulses)
        }
    };
    let actual: Vec<String> =
        dialect.verbs().map(|verb| format!("{verb}: {}", frames(&dialect, verb, &values(verb)))).collect();
    let mut wanted: Vec<String> =
        rows.lines().map(|row| row.trim().to_owned()).filter(|row| !row.is_empty()).collect();
    wanted.sort();
    for (wanted, actual) in wanted.iter().zip(&actual) {
        assert_eq!(wanted, actual, "{name}");
    }
    assert_eq!(wanted.len(), actual.len(), "{name}: {actual:#?}");
}

#[test]
fn semicolon_with_eleven_digits() {
    check(
        "semicolon-eleven",
        "
        ask.clarifier_off: RT;
        ask.hz: FA;
        ask.mode: MD;
        ask.rx_hz: FA;
        ask.rx_mode: MD;
        ask.signal: SM0;
        ask.simplex: OS;
        ask.split: FT;
        ask.split_off: FT;
        ask.split_on: FT;
        ask.squelch: BY;
        ask.tone: TN;
        ask.tone_squelch_off: CT;
        ask.transmit_clarifier_off: XT;
        ask.transmitting: IF;
        ask.tx_hz: FB;
        ask.tx_mode: FR1; / FT1; / MD; | FR0; / FT1;
        ask.tx_tone: FR1; / FT1; / TN; | FR0; / FT1;
        do.clarifier_off: RT0;
        do.hz: FA00145950000;
        do.mode: MD4;
        do.quiet: AI0;
        do.rx_hz: FA00145950000;
        do.rx_mode: MD4;
        do.simplex: OS0;
        do.split_off: FR0; / FT0;
        do.split_on: FR0; / FT1;
        do.tone: TN08; / TO1;
        do.tone_off: TO0;
        do.tone_squelch_off: CT0;
        do.transmit_clarifier_off: XT0;
        do.tx_hz: FB00145950000;
        do.tx_mode: FR1; / FT1; / MD4; | FR0; / FT1;
        do.tx_tone: FR1; / FT1; / TN08; / TO1; | FR0; / FT1;
        do.tx_tone_off: FR1; / FT1; / TO0; | FR0; / FT1;
        ask.other_hz: FB;
        ask.other_mode: FR1; / FT1; / MD; | FR0; / FT1;
        ask.transmit_simplex: FR1; / FT1; / OS; | FR0; / FT1;
        ask.transmit_tone_squelch_off: FR1; / FT1; / CT; | FR0; / FT1;
        do.other_hz: FB00145950000;
        do.other_mode: FR1; / FT1; / MD4; | FR0; / FT1;
        do.other_tone: FR1; / FT1; / TN08; / TO1; | FR0; / FT1;
        do.other_tone_off: FR1; / FT1; / TO0; | FR0; / FT1;
        do.transmit_simplex: FR1; / FT1; / OS0; | FR0; / FT1;
        do.transmit_tone_squelch_off: FR1; / FT1; / CT0; | FR0; / FT1;
        ",
    );
}

#[test]
fn semicolon_with_nine_digits() {
    check(
        "semicolon-nine",
        "
        ask.clarifier_off: RT;
        ask.hz: FA;
        ask.mode: MD0;
        ask.rx_hz: FA;
        ask.rx_mode: MD0;
        ask.signal: SM0;
        ask.simplex: OS0;
        ask.split: ST;
        ask.split_off: ST;
        ask.split_on: ST;
        ask.squelch: BY;
        ask.tone: CN00;
        ask.tone_squelch_off: CT0;
        ask.transmit_clarifier_off: XT;
        ask.tx_hz: FB;
        ask.tx_mode: MD1;
        ask.tx_tone: CN10;
        do.clarifier_off: RT0;
        do.hz: FA145950000;
        do.mode: MD04;
        do.quiet: AI0;
        do.rx_hz: FA145950000;
        do.rx_mode: MD04;
        do.simplex: OS00;
        do.split_off: ST0;
        do.split_on: ST1;
        do.tone: CN00008; / CT02;
        do.tone_off: CT00;
        do.tone_squelch_off: CT00;
        do.transmit_clarifier_off: XT0;
        do.tx_hz: FB145950000;
        do.tx_mode: MD14;
        do.tx_tone: CN10008; / CT12;
        do.tx_tone_off: CT10;
        ask.other_hz: FB;
        ask.other_mode: MD1;
        ask.transmit_simplex: OS1;
        ask.transmit_tone_squelch_off: CT1;
        do.other_hz: FB145950000;
        do.other_mode: MD14;
        do.other_tone: CN10008; / CT12;
        do.other_tone_off: CT10;
        do.transmit_simplex: OS10;
        do.transmit_tone_squelch_off: CT10;
        ",
    );
}

#[test]
fn semicolon_with_two_bands() {
    check(
        "semicolon-two-bands",
        "
        ask.clarifier_off: RT;
        ask.hz: FA;
        ask.main_selected: DC;
        ask.mode: MD;
        ask.other_hz: FB;
        ask.other_mode: FR1; / FT1; / MD; | FR0; / FT1;
        ask.rx_hz: FC;
        ask.rx_mode: DC01; / MD; | DC00;
        ask.signal: SM1;
        ask.simplex: OS;
        ask.split: FT;
        ask.split_off: FT;
        ask.split_on: FT;
        ask.squelch: BY;
        ask.sub_tone_squelch_off: DC01; / CT; | DC00;
        ask.tone: TN;
        ask.tone_squelch_off: CT;
        ask.transmit_clarifier_off: XT;
        ask.transmit_simplex: FR1; / FT1; / OS; | FR0; / FT1;
        ask.transmit_tone_squelch_off: FR1; / FT1; / CT; | FR0; / FT1;
        ask.transmitting: IF;
        ask.tx_hz: FA;
        ask.tx_mode: DC00; / MD;
        ask.tx_tone: DC00; / TN;
        do.clarifier_off: RT0;
        do.hz: FA00145950000;
        do.main_selected: DC00;
        do.mode: MD4;
        do.other_hz: FB00145950000;
        do.other_mode: FR1; / FT1; / MD4; | FR0; / FT1;
        do.other_tone: FR1; / FT1; / TN08; / TO1; | FR0; / FT1;
        do.other_tone_off: FR1; / FT1; / TO0; | FR0; / FT1;
        do.quiet: AI0;
        do.rx_hz: FC00145950000;
        do.rx_mode: DC01; / MD4; | DC00;
        do.simplex: OS0;
        do.split_off: FR0; / FT0;
        do.split_on: FR0; / FT1;
        do.sub_tone_squelch_off: DC01; / CT0; | DC00;
        do.tone: TN08; / TO1;
        do.tone_off: TO0;
        do.tone_squelch_off: CT0;
        do.transmit_clarifier_off: XT0;
        do.transmit_simplex: FR1; / FT1; / OS0; | FR0; / FT1;
        do.transmit_tone_squelch_off: FR1; / FT1; / CT0; | FR0; / FT1;
        do.tx_hz: FA00145950000;
        do.tx_mode: DC00; / MD4;
        do.tx_tone: DC00; / TN08; / TO1;
        do.tx_tone_off: DC00; / TO0;
        ",
    );
}

#[test]
fn fe_frames_on_the_bus() {
    let rows = "
        ask.clarifier_off: 21 01
        ask.hz: 03
        ask.mode: 04
        ask.rx_hz: 07 D1 / 03
        ask.rx_mode: 07 D1 / 04
        ask.satellite_off: 16 5A
        ask.signal: 15 02
        ask.split: 0F
        ask.split_off: 0F
        ask.squelch: 15 01
        ask.tone: 1B 00
        ask.tone_squelch_off: 16 43
        ask.transmit_clarifier_off: 21 02
        ask.transmitting: 1C 00
        ask.tx_hz: 07 D0 / 03 | 07 D1
        ask.tx_mode: 07 D0 / 04 | 07 D1
        ask.tx_tone: 07 D0 / 1B 00 | 07 D1
        do.clarifier_off: 21 01 00
        do.hz: 05 00 00 95 45 01
        do.main_clarifier_off: 07 D0 / 21 01 00 | 07 D1
        do.main_simplex: 07 D0 / 0F 10 | 07 D1
        do.main_tone_squelch_off: 07 D0 / 16 43 00 | 07 D1
        do.main_transmit_clarifier_off: 07 D0 / 21 02 00 | 07 D1
        do.mode: 06 05
        do.rx_hz: 07 D1 / 05 00 00 95 45 01
        do.rx_mode: 07 D1 / 06 05
        do.satellite_off: 16 5A 00
        do.simplex: 0F 10
        do.split_off: 0F 00
        do.sub_selected: 07 D1
        do.tone: 1B 00 00 08 85 / 16 42 01
        do.tone_off: 16 42 00
        do.tone_squelch_off: 16 43 00
        do.transmit_clarifier_off: 21 02 00
        do.tx_hz: 07 D0 / 05 00 00 95 45 01 | 07 D1
        do.tx_mode: 07 D0 / 06 05 | 07 D1
        do.tx_tone: 07 D0 / 1B 00 00 08 85 / 16 42 01 | 07 D1
        do.tx_tone_off: 07 D0 / 16 42 00 | 07 D1
        ask.main_clarifier_off: 07 D0 / 21 01 | 07 D1
        ask.main_simplex: 07 D0 / 0F | 07 D1
        ask.main_tone_squelch_off: 07 D0 / 16 43 | 07 D1
        ask.main_transmit_clarifier_off: 07 D0 / 21 02 | 07 D1
        ask.other_hz: 07 01 / 03 | 07 00
        ask.other_mode: 07 01 / 04 | 07 00
        ask.other_simplex: 07 01 / 0F | 07 00
        ask.other_tone_squelch_off: 07 01 / 16 43 | 07 00
        ask.simplex: 0F
        ask.split_on: 0F
        do.exchange_bands: 07 B0
        do.other_hz: 07 01 / 05 00 00 95 45 01 | 07 00
        do.other_mode: 07 01 / 06 05 | 07 00
        do.other_simplex: 07 01 / 0F 10 | 07 00
        do.other_tone: 07 01 / 1B 00 00 08 85 / 16 42 01 | 07 00
        do.other_tone_off: 07 01 / 16 42 00 | 07 00
        do.other_tone_squelch_off: 07 01 / 16 43 00 | 07 00
        do.split_on: 0F 01
        do.vfo_a_selected: 07 00
        ";
    let framed = |content: &str| format!("FE FE A2 E0 {content} FD");
    let side = |side: &str| side.split(" / ").map(framed).collect::<Vec<_>>().join(" / ");
    let row = |row: &str| {
        let (verb, frames) = row.split_once(": ").unwrap();
        format!("{verb}: {}", frames.split(" | ").map(side).collect::<Vec<_>>().join(" | "))
    };
    let rows: Vec<String> = rows.lines().map(str::trim).filter(|line| !line.is_empty()).map(row).collect();
    check("fe-frames", &rows.join("\n"));
}

#[test]
fn five_byte() {
    check(
        "five-byte",
        "
        ask.hz: 00 00 00 00 03
        ask.mode: 00 00 00 00 03
        ask.signal: 00 00 00 00 E7
        ask.squelch: 00 00 00 00 E7
        ask.transmitting: 00 00 00 00 F7
        do.clarifier_off: 00 00 00 00 85
        do.hz: 14 59 50 00 01
        do.mode: 08 00 00 00 07
        do.simplex: 89 00 00 00 09
        do.split_off: 00 00 00 00 82
        do.tone: 08 85 08 85 0B / 4A 00 00 00 0A
        do.tone_off: 8A 00 00 00 0A
        ask.other_hz: 00 00 00 00 81 / 00 00 00 00 03 | 00 00 00 00 81
        ask.other_mode: 00 00 00 00 81 / 00 00 00 00 03 | 00 00 00 00 81
        do.other_hz: 00 00 00 00 81 / 14 59 50 00 01 | 00 00 00 00 81
        do.other_mode: 00 00 00 00 81 / 08 00 00 00 07 | 00 00 00 00 81
        do.other_simplex: 00 00 00 00 81 / 89 00 00 00 09 | 00 00 00 00 81
        do.other_tone: 00 00 00 00 81 / 08 85 08 85 0B / 4A 00 00 00 0A | 00 00 00 00 81
        do.other_tone_off: 00 00 00 00 81 / 8A 00 00 00 0A | 00 00 00 00 81
        do.split_on: 00 00 00 00 02
        do.swap_vfo: 00 00 00 00 81
        ",
    );
}

#[test]
fn five_byte_with_two_bands() {
    check(
        "five-byte-duplex",
        "
        ask.hz: 00 00 00 00 03
        ask.mode: 00 00 00 00 03
        ask.rx_hz: 00 00 00 00 13
        ask.rx_mode: 00 00 00 00 13
        ask.signal: 00 00 00 00 E7
        ask.squelch: 00 00 00 00 E7
        ask.transmitting: 00 00 00 00 F7
        ask.tx_hz: 00 00 00 00 23
        ask.tx_mode: 00 00 00 00 23
        do.greeting: 00 00 00 00 00
        do.duplex_off: 00 00 00 00 8E
        do.duplex_on: 00 00 00 00 4E
        do.hz: 14 59 50 00 01
        do.mode: 08 00 00 00 07
        do.rx_hz: 14 59 50 00 11
        do.rx_mode: 08 00 00 00 17
        do.simplex: 89 00 00 00 09
        do.tone: 0E 00 00 00 0B / 4A 00 00 00 0A
        do.tone_off: 8A 00 00 00 0A
        do.tx_hz: 14 59 50 00 21
        do.tx_mode: 08 00 00 00 27
        do.tx_tone: 0E 00 00 00 2B / 4A 00 00 00 2A
        do.tx_tone_off: 8A 00 00 00 2A
        do.receive_tone_off: 8A 00 00 00 1A
        ",
    );
}

#[test]
fn the_rotators() {
    check("w-lines", "ask.aim: C2\nask.azimuth: C\ndo.aim: W180 045\ndo.azimuth: M180\ndo.stop: S");
    check(
        "az-el-words",
        "ask.aim: AZ EL\nask.azimuth: AZ\ndo.aim: AZ180.0 EL45.0\ndo.azimuth: AZ180.0\ndo.stop: SA SE",
    );
    // (180 + 360) x 2 = 1080 and (45 + 360) x 2 = 810.
    check(
        "thirteen-byte",
        "ask.aim: 57 00 00 00 00 00 00 00 00 00 00 1F 20
         do.aim: 57 31 30 38 30 02 30 38 31 30 02 2F 20
         do.stop: 57 00 00 00 00 00 00 00 00 00 00 0F 20",
    );
}

/// Which steps, and in which order: what may cancel another step comes before it.
#[test]
fn the_preparations_in_their_order() {
    let steps = |name: &str, arrangement| built_in(name).preparation(arrangement).join(" ");
    use Arrangement::{Duplex, Single, Split};
    for name in ["semicolon-eleven", "semicolon-nine"] {
        assert_eq!(
            steps(name, Single),
            "quiet split_off simplex clarifier_off transmit_clarifier_off tone_squelch_off"
        );
        let both = "quiet split_on simplex transmit_simplex clarifier_off transmit_clarifier_off \
                    tone_squelch_off transmit_tone_squelch_off";
        assert_eq!([steps(name, Split), steps(name, Duplex)], [both, both]);
    }
    assert_eq!(
        steps("semicolon-two-bands", Duplex),
        "quiet main_selected split_off simplex clarifier_off transmit_clarifier_off tone_squelch_off \
         sub_tone_squelch_off"
    );
    assert_eq!(
        steps("fe-frames", Single),
        "split_off simplex clarifier_off transmit_clarifier_off tone_squelch_off"
    );
    assert_eq!(
        steps("fe-frames", Split),
        "split_off other_simplex other_tone_squelch_off vfo_a_selected simplex clarifier_off \
         transmit_clarifier_off tone_squelch_off split_on"
    );
    assert_eq!(
        steps("fe-frames", Duplex),
        "satellite_off split_off main_simplex main_clarifier_off main_transmit_clarifier_off \
         main_tone_squelch_off sub_selected clarifier_off"
    );
    assert_eq!(steps("five-byte", Single), "split_off simplex clarifier_off tone_off");
    assert_eq!(
        steps("five-byte", Split),
        "split_on simplex other_simplex clarifier_off tone_off other_tone_off"
    );
    assert_eq!(steps("five-byte-duplex", Single), "duplex_off simplex tone_off");
    assert_eq!(steps("five-byte-duplex", Duplex), "duplex_on receive_tone_off");
}

#[test]
fn lines_end_in_a_carriage_return() {
    for (name, end) in [("w-lines", &b"045\r"[..]), ("az-el-words", b"45.0\r")] {
        let exchange = built_in(name).exchange("do.aim", &Values::of_direction(180.0, 45.0), None).unwrap();
        assert!(exchange.steps[0].frame.ends_with(end), "{name}");
    }
}

#[test]
fn tones_are_numbered_as_in_the_radios_own_list() {
    let sent = |name: &str, list: &str, tenths| {
        let text = format!("base = \"{name}\"\ntable.tone = \"{list}\"");
        frames(&Dialect::parse("own", &text).unwrap(), "do.tone", &tone(tenths))
    };
    for (list, first, last) in
        [("01-38", "TN01;", "TN32;"), ("00-41", "TN00;", "TN32;"), ("000-049", "TN000;", "TN040;")]
    {
        assert_eq!(sent("semicolon-eleven", list, 670), format!("{first} / TO1;"));
        assert_eq!(sent("semicolon-eleven", list, 2035), format!("{last} / TO1;"));
    }
    assert_eq!(frames(&built_in("semicolon-nine"), "do.tone", &tone(670)), "CN00000; / CT02;");
    let chip = |tenths| frames(&built_in("five-byte-duplex"), "do.tx_tone", &tone(tenths));
    assert_eq!(chip(670), "3F 00 00 00 2B / 4A 00 00 00 2A");
    assert_eq!(chip(1000), "0D 00 00 00 2B / 4A 00 00 00 2A");
}
