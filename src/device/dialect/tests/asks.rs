//! What is answered: every question of each dialect.

use super::*;

/// The readings of an answer, without its envelope, as text.
fn read(name: &str, verb: &str, answer: &[u8]) -> String {
    let dialect = built_in(name);
    let Some(values) = dialect.verbs[verb].answer.iter().find_map(|form| form.decode(answer)) else {
        return "not understood".into();
    };
    let readings = values.iter().map(|(field, value)| match value {
        Value::Hertz(hertz) => format!("{field} {}", hertz.0),
        Value::Mode(mode) => format!("{field} {}", mode.name()),
        Value::Tone(tone) => format!("{field} {tone}"),
        Value::Number(number) => format!("{field} {number}"),
        Value::Flag(flag) => format!("{field} {flag}"),
    });
    readings.collect::<Vec<_>>().join(", ")
}

fn check_text(name: &str, rows: &[(&str, &str, &str)]) {
    for (verb, answer, readings) in rows {
        assert_eq!(read(name, verb, answer.as_bytes()), *readings, "{name} {verb} {answer}");
    }
}

fn check_hex(name: &str, rows: &[(&str, &str, &str)]) {
    for (verb, answer, readings) in rows {
        assert_eq!(read(name, verb, &template::hex(answer).unwrap()), *readings, "{name} {verb} {answer}");
    }
}

/// The radio's status in 38 characters: the transmit flag at index 28, the mode at index 29.
fn status(flag: char) -> String {
    let status = format!("IF00145950000     +000000000{flag}40000000;");
    assert_eq!((status.len(), &status[28..30]), (38, format!("{flag}4").as_str()));
    status
}

#[test]
fn semicolon_with_eleven_digits() {
    let (receiving, transmitting) = (status('0'), status('1'));
    check_text(
        "semicolon-eleven",
        &[
            ("ask.hz", "FA00145950000;", "hz 145950000"),
            ("ask.rx_hz", "FA00145950000;", "rx_hz 145950000"),
            ("ask.tx_hz", "FB00435070000;", "tx_hz 435070000"),
            ("ask.rx_hz", "FB00435070000;", "not understood"),
            ("ask.mode", "MD4;", "mode fm"),
            ("ask.rx_mode", "MD1;", "rx_mode lsb"),
            ("ask.tx_mode", "MD7;", "tx_mode cw"),
            ("ask.mode", "MD9;", "not understood"),
            ("ask.other_hz", "FB00435070000;", "other_hz 435070000"),
            ("ask.other_hz", "FA00435070000;", "not understood"),
            ("ask.other_mode", "MD2;", "other_mode usb"),
            ("ask.tone", "TN08;", "tone 88.5"),
            ("ask.tx_tone", "TN32;", "tx_tone 203.5"),
            ("ask.split", "FT1;", "split true"),
            ("ask.split_on", "FT1;", ""),
            ("ask.split_on", "FT0;", "not understood"),
            ("ask.split_off", "FT0;", ""),
            ("ask.simplex", "OS0;", ""),
            ("ask.transmit_simplex", "OS0;", ""),
            ("ask.transmit_simplex", "OS1;", "not understood"),
            ("ask.transmit_tone_squelch_off", "CT0;", ""),
            ("ask.clarifier_off", "RT0;", ""),
            ("ask.transmit_clarifier_off", "XT1;", "not understood"),
            ("ask.tone_squelch_off", "CT0;", ""),
            ("ask.transmitting", &receiving, "transmitting false"),
            ("ask.transmitting", &transmitting, "transmitting true"),
            ("ask.signal", "SM00015;", "signal 15"),
            ("ask.squelch", "BY1;", "squelch_open true"),
            ("ask.squelch", "BY00;", "squelch_open false"),
        ],
    );
}

#[test]
fn semicolon_with_two_bands() {
    check_text(
        "semicolon-two-bands",
        &[
            ("ask.rx_hz", "FC00435500000;", "rx_hz 435500000"),
            ("ask.rx_hz", "FB00435500000;", "not understood"),
            ("ask.tx_hz", "FA00145950000;", "tx_hz 145950000"),
            ("ask.rx_mode", "MD2;", "rx_mode usb"),
            ("ask.tx_mode", "MD1;", "tx_mode lsb"),
            ("ask.tx_tone", "TN08;", "tx_tone 88.5"),
            ("ask.main_selected", "DC00;", ""),
            ("ask.main_selected", "DC01;", "not understood"),
            ("ask.main_selected", "DC10;", "not understood"),
            ("ask.sub_tone_squelch_off", "CT0;", ""),
            ("ask.sub_tone_squelch_off", "CT1;", "not understood"),
            ("ask.signal", "SM10015;", "signal 15"),
            ("ask.squelch", "BY01;", "squelch_open true"),
            ("ask.squelch", "BY10;", "squelch_open false"),
        ],
    );
}

#[test]
fn semicolon_with_nine_digits() {
    check_text(
        "semicolon-nine",
        &[
            ("ask.hz", "FA145950000;", "hz 145950000"),
            ("ask.rx_hz", "FA145950000;", "rx_hz 145950000"),
            ("ask.tx_hz", "FB435070000;", "tx_hz 435070000"),
            ("ask.other_hz", "FB435070000;", "other_hz 435070000"),
            ("ask.other_mode", "MD14;", "other_mode fm"),
            ("ask.mode", "MD04;", "mode fm"),
            ("ask.rx_mode", "MD02;", "rx_mode usb"),
            ("ask.tx_mode", "MD14;", "tx_mode fm"),
            ("ask.tone", "CN00000;", "tone 67.0"),
            ("ask.tx_tone", "CN10040;", "tx_tone 203.5"),
            ("ask.split", "ST1;", "split true"),
            ("ask.split_on", "ST1;", ""),
            ("ask.split_off", "ST0;", ""),
            ("ask.simplex", "OS00;", ""),
            ("ask.transmit_simplex", "OS10;", ""),
            ("ask.transmit_simplex", "OS11;", "not understood"),
            ("ask.tone_squelch_off", "CT00;", ""),
            ("ask.transmit_tone_squelch_off", "CT10;", ""),
            ("ask.clarifier_off", "RT0;", ""),
            ("ask.transmit_clarifier_off", "XT0;", ""),
            ("ask.signal", "SM0015;", "signal 15"),
            ("ask.squelch", "BY10;", "squelch_open true"),
            ("ask.squelch", "BY0;", "squelch_open false"),
        ],
    );
    assert!(!built_in("semicolon-nine").can("ask.transmitting"), "its question is on the never-list");
}

#[test]
fn fe_frames_on_the_bus() {
    check_hex(
        "fe-frames",
        &[
            ("ask.hz", "03 00 00 95 45 01", "hz 145950000"),
            ("ask.rx_hz", "03 00 00 07 35 04", "rx_hz 435070000"),
            ("ask.tx_hz", "03 00 00 95 45 01", "tx_hz 145950000"),
            ("ask.hz", "03 00 00 9A 45 01", "not understood"),
            ("ask.mode", "04 05 01", "mode fm"),
            ("ask.mode", "04 01", "mode usb"),
            ("ask.rx_mode", "04 07 01", "rx_mode cw"),
            ("ask.tx_mode", "04 00 01", "tx_mode lsb"),
            ("ask.tone", "1B 00 00 08 85", "tone 88.5"),
            ("ask.tone", "1B 00 08 85", "tone 88.5"),
            ("ask.tx_tone", "1B 00 20 35", "tx_tone 203.5"),
            ("ask.other_hz", "03 00 00 95 45 01", "other_hz 145950000"),
            ("ask.other_mode", "04 05 01", "other_mode fm"),
            ("ask.other_mode", "04 02", "other_mode am"),
            ("ask.split", "0F 01", "split true"),
            ("ask.split", "0F 00", "split false"),
            ("ask.split", "0F 10", ""),
            ("ask.split", "0F 11", "not understood"),
            ("ask.split_off", "0F 10", ""),
            ("ask.split_off", "0F 01", "not understood"),
            ("ask.split_on", "0F 01", ""),
            ("ask.split_on", "0F 10", "not understood"),
            ("ask.simplex", "0F 10", ""),
            ("ask.simplex", "0F 11", "not understood"),
            ("ask.main_simplex", "0F 12", "not understood"),
            ("ask.other_simplex", "0F 00", ""),
            ("ask.main_clarifier_off", "21 01 00", ""),
            ("ask.main_transmit_clarifier_off", "21 02 01", "not understood"),
            ("ask.main_tone_squelch_off", "16 43 00", ""),
            ("ask.other_tone_squelch_off", "16 43 01", "not understood"),
            ("ask.transmit_clarifier_off", "21 02 00", ""),
            ("ask.clarifier_off", "21 01 00", ""),
            ("ask.tone_squelch_off", "16 43 00", ""),
            ("ask.satellite_off", "16 5A 01", "not understood"),
            ("ask.transmitting", "1C 00 00", "transmitting false"),
            ("ask.transmitting", "1C 00 01", "transmitting true"),
            ("ask.signal", "15 02 01 20", "signal 120"),
            ("ask.signal", "15 02 02 55", "signal 255"),
            ("ask.squelch", "15 01 01", "squelch_open true"),
        ],
    );
}

#[test]
fn five_byte_and_with_two_bands() {
    check_hex(
        "five-byte",
        &[
            ("ask.hz", "14 59 50 00 08", "hz 145950000"),
            ("ask.mode", "14 59 50 00 08", "mode fm"),
            ("ask.other_hz", "43 50 70 00 01", "other_hz 435070000"),
            ("ask.other_mode", "43 50 70 00 01", "other_mode usb"),
            ("ask.signal", "85", "squelch_open false, signal 5"),
            ("ask.signal", "65", "squelch_open true, signal 5"),
            ("ask.squelch", "7F", "squelch_open true, signal 15"),
            ("ask.transmitting", "FF", "transmitting false"),
            ("ask.transmitting", "7F", "transmitting true"),
            ("do.hz", "00", "not understood"),
        ],
    );
    check_hex(
        "five-byte-duplex",
        &[
            ("ask.hz", "14 59 50 00 08", "hz 145950000"),
            ("ask.mode", "14 59 50 00 01", "mode usb"),
            ("ask.rx_hz", "43 50 70 00 08", "rx_hz 435070000"),
            ("ask.tx_hz", "14 59 50 00 08", "tx_hz 145950000"),
            ("ask.rx_mode", "43 50 70 00 08", "rx_mode fm"),
            ("ask.tx_mode", "14 59 50 00 00", "tx_mode lsb"),
            ("ask.signal", "03", "squelch_open true, signal 3"),
            ("ask.squelch", "80", "squelch_open false, signal 0"),
            ("ask.transmitting", "FF", "transmitting false"),
        ],
    );
}

#[test]
fn five_byte_takes_either_acknowledgement() {
    let dialect = built_in("five-byte");
    assert!([0x00, 0xF0].iter().all(|byte| dialect.acknowledged[0].decode(&[*byte]).is_some()));
}

#[test]
fn the_rotators() {
    check_text(
        "w-lines",
        &[
            ("ask.aim", "+0180+0045", "az 180, el 45"),
            ("ask.aim", "AZ=180  EL=045", "az 180, el 45"),
            ("ask.aim", "AZ=180EL=045", "az 180, el 45"),
            ("ask.aim", "+0180-0003", "az 180, el -3"),
            ("ask.azimuth", "+0180", "az 180"),
            ("ask.azimuth", "AZ=359", "az 359"),
        ],
    );
    check_text(
        "az-el-words",
        &[
            ("ask.aim", "AZ180.0 EL45.0", "az 180, el 45"),
            ("ask.aim", "AZ 180.5   EL 45.0", "az 180.5, el 45"),
            ("ask.aim", "AZ180.0\r\nEL-0.5", "az 180, el -0.5"),
            ("ask.azimuth", "AZ180.0", "az 180"),
            ("ask.azimuth", "AZ180.0 EL45.0", "az 180"),
        ],
    );
    // 540.5 and 405.0, two pulses a degree.
    let answer = "57 05 04 00 05 02 04 00 05 00 02 20";
    check_hex("thirteen-byte", &[("ask.aim", answer, "az 180.5, ph 2, el 45, pv 2")]);
}

#[test]
fn refusals_and_reports_are_known() {
    for (name, text) in ["semicolon-eleven", "semicolon-nine", "semicolon-two-bands"]
        .into_iter()
        .flat_map(|name| ["?;", "E;", "O;"].map(|text| (name, text)))
    {
        let refused = built_in(name).refused.iter().any(|form| form.decode(text.as_bytes()).is_some());
        assert!(refused, "{name} {text}");
    }
    let unasked =
        |name: &str, bytes: &[u8]| built_in(name).unasked.iter().find_map(|form| form.decode(bytes));
    assert_eq!(
        unasked("semicolon-eleven", b"FA00145950000;").unwrap().hertz("rx_hz"),
        Some(Hertz(145_950_000))
    );
    assert_eq!(
        unasked("fe-frames", &[0, 0, 0, 0x95, 0x45, 1]).unwrap().hertz("rx_hz"),
        Some(Hertz(145_950_000))
    );
    assert_eq!(
        unasked("semicolon-two-bands", b"FC00435500000;").unwrap().hertz("rx_hz"),
        Some(Hertz(435_500_000))
    );
    assert_eq!(unasked("semicolon-nine", b"MD14;").unwrap().mode("tx_mode"), Some(Mode::Fm));
    assert_eq!(unasked("fe-frames", &[1, 5, 1]).unwrap().mode("rx_mode"), Some(Mode::Fm));
    assert!(built_in("fe-frames").acknowledged[0].decode(&[0xFB]).is_some());
    assert!(built_in("fe-frames").refused[0].decode(&[0xFA]).is_some());
    assert!(built_in("w-lines").refused[0].decode(b"?>").is_some());
}
