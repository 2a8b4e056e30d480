//! `beamhand probe`.

use std::io::Write as _;
use std::process::{Command, Output, Stdio};
use std::time::Duration;

use beamhand::sim::Fault;
use serialport::{SerialPort as _, TTYPort};

use crate::bench::{Bench, Ran};

/// Runs a verb with a terminal on its standard input, at which somebody types.
fn at_a_terminal(mut command: Command, typed: &str) -> Ran {
    let (mut keyboard, terminal) = TTYPort::pair().unwrap();
    let name = terminal.name().unwrap();
    let input = std::fs::OpenOptions::new().read(true).write(true).open(name).unwrap();
    keyboard.set_timeout(Duration::from_secs(1)).unwrap();
    keyboard.write_all(typed.as_bytes()).unwrap();
    let output: Output =
        command.stdin(Stdio::from(input)).stdout(Stdio::piped()).stderr(Stdio::piped()).output().unwrap();
    Ran::new(output)
}

#[test]
fn a_radio_at_another_speed_is_found_read_and_left_as_it_was() {
    let bench = Bench::new();
    let radio = bench.semicolon("radio", 19_200);
    let ran = bench.run(&["probe", "radio", "--dialect", "semicolon-eleven", "--yes"]);
    ran.assert(
        0,
        &[
            "9600 baud, asked \"FA;\": ",
            "4800 baud, asked \"FA;\": ",
            "19200 baud, asked \"FA;\": receive 145.",
            "transmit dial asked \"FB;\", heard \"FB",
            "not transmitting",
            "answers, after",
            "port = \"radio\" dialect = \"semicolon-eleven\" baud = 19200",
        ],
    );
    assert!(!ran.out.contains("38400"), "the search ends when something answered: {}", ran.out);
    radio.assert_untouched();
}

#[test]
fn without_a_terminal_nothing_is_opened_unless_the_cautions_were_confirmed() {
    let bench = Bench::new();
    let radio = bench.semicolon("radio", 9600);
    let ran = bench.run(&["probe", "radio", "--dialect", "semicolon-eleven"]);
    ran.assert(2, &["CAUTION", "transmitter: off", "mount: nobody", "--yes"]);
    assert_eq!(radio.heard(), b"");
}

#[test]
fn at_a_terminal_only_the_word_starts_it() {
    let bench = Bench::new();
    let radio = bench.semicolon("radio", 9600);
    let arguments = ["probe", "radio", "--dialect", "semicolon-eleven"];
    at_a_terminal(bench.command(&arguments), "yes\n").assert(1, &["type safe", "nothing was opened"]);
    assert_eq!(radio.heard(), b"");
    at_a_terminal(bench.command(&arguments), "safe\n").assert(0, &["baud = 9600"]);
}

#[test]
fn a_rotator_is_asked_and_not_moved() {
    let bench = Bench::new();
    let mast = bench.words("mast", 9600);
    let ran = bench.run(&["probe", "mast", "--dialect", "az-el-words", "--yes"]);
    ran.assert(0, &["9600 baud, asked \"AZ\" CR: azimuth", "position asked \"AZ EL\" CR", "elevation"]);
    assert!(mast.heard().starts_with(b"AZ\r"), "the question that no wrong speed turns into a line");
    mast.assert_untouched();
}

#[test]
fn a_search_of_a_counting_language_passes_every_speed_without_a_command() {
    let bench = Bench::new();
    let radio = bench.five_byte("radio", 38_400);
    let ran = bench.run(&["probe", "radio", "--dialect", "five-byte", "--yes"]);
    ran.assert(0, &["38400 baud, asked 00 00 00 00 03: ", "baud = 38400"]);
    radio.assert_untouched();
}

#[test]
fn a_radio_that_is_deaf_before_is_greeted_and_the_confirmation_says_so() {
    let bench = Bench::new();
    let radio = bench.five_byte_duplex("radio", 4800);
    let arguments = ["probe", "radio", "--dialect", "five-byte-duplex"];
    let told = ["is deaf before it hears 00 00 00 00 00, so that is sent too", "locks its dial on that"];
    bench.run(&arguments).assert(2, &told);
    assert_eq!(radio.heard(), b"");
    let ran = bench.run(&[&arguments[..], &["--yes"]].concat());
    let greeted = "4800 baud, greeted 00 00 00 00 00, asked 00 00 00 00 13: receive 4";
    ran.assert(0, &[greeted, "transmit dial asked 00 00 00 00 23", "not transmitting", "baud = 4800"]);
    radio.assert_untouched();
}

#[test]
fn at_the_right_speed_a_greeting_and_questions_are_all_that_a_deaf_radio_hears() {
    let bench = Bench::new();
    let radio = bench.five_byte_duplex("radio", 9600);
    let arguments = ["probe", "radio", "--dialect", "five-byte-duplex", "--baud", "9600", "--yes"];
    bench.run(&arguments).assert(0, &["greeted 00 00 00 00 00"]);
    let heard = radio.heard();
    let commands: Vec<&[u8]> = heard.chunks(5).collect();
    assert_eq!(commands[..2], [[0, 0, 0, 0, 0x00], [0, 0, 0, 0, 0x13]]);
    // By hand from the language: both dials, the dial in use, and the two states.
    let asks =
        |command: &[u8]| command[..4] == [0; 4] && [0x03, 0x13, 0x23, 0xE7, 0xF7].contains(&command[4]);
    assert!(commands[1..].iter().all(|command| asks(command)), "{commands:02X?}");
}

#[test]
fn an_interface_that_sends_everything_back_hides_nothing() {
    let bench = Bench::new();
    let (text, counted) = (bench.semicolon("text", 9600), bench.five_byte("counted", 9600));
    for radio in [&text, &counted] {
        radio.handles.faults.switch_on(Fault::Echo);
    }
    let probe = |port: &str, dialect: &str| bench.run(&["probe", port, "--dialect", dialect, "--yes"]);
    let ran = probe("text", "semicolon-eleven");
    ran.assert(
        0,
        &[
            "9600 baud, asked \"FA;\": receive 145.",
            "transmit dial asked \"FB;\", heard \"FB0",
            "baud = 9600",
        ],
    );
    let ran = probe("counted", "five-byte");
    ran.assert(0, &["9600 baud, asked 00 00 00 00 03: 1", "transmitting? asked 00 00 00 00 F7, heard FF:"]);
    text.assert_untouched();
    counted.assert_untouched();
}

#[test]
fn a_dialect_of_the_users_own_is_tried_like_a_built_in_one() {
    let bench = Bench::new();
    let radio = bench.semicolon("radio", 9600);
    bench.file("beamhand.toml", "format = 1\n[files]\ndialects = \"own\"\n");
    bench.file("own/mine.toml", "base = \"semicolon-eleven\"\nask.hz = \"FB;\"\n");
    let arguments = ["probe", "radio", "--dialect", "mine", "--config", "beamhand.toml", "--yes"];
    bench.run(&arguments).assert(78, &["own/mine.toml:2"]);
    bench.file("own/mine.toml", "base = \"semicolon-eleven\"\nask.signal = false\n");
    let ran = bench.run(&arguments);
    ran.assert(0, &["asked \"FA;\": receive 145.", "dialect = \"mine\""]);
    assert!(!ran.out.contains("SM0"), "{}", ran.out);
    radio.assert_untouched();
}

#[test]
fn a_radio_on_a_bus_is_found_by_its_address_and_without_it() {
    let bench = Bench::new();
    let radio = bench.frames("bus", 0x09);
    let arguments = ["probe", "bus", "--dialect", "fe-frames", "--baud", "9600", "--yes"];
    let ran = bench.run(&[&arguments[..], &["--address", "0x09"]].concat());
    ran.assert(0, &["9600 baud, asked FE FE 09 E0 03 FD: 1", "address = 0x09"]);
    let ran = bench.run(&arguments);
    ran.assert(
        0,
        &[
            "asking the addresses 0x03 to 0xDF",
            "0x01 and 0x02 are never safe to ask",
            "0x09 answered: 1",
            "address = 0x09",
        ],
    );
    radio.assert_untouched();
    let ran = bench.run(&["probe", "bus", "--dialect", "w-lines", "--address", "9", "--yes"]);
    ran.assert(2, &["have no address"]);
    let ran = bench.run(&["probe", "bus", "--dialect", "fe-frames", "--address", "0x01", "--yes"]);
    ran.assert(2, &["0x03 to 0xDF: set another one in the radio's menu"]);
}

#[test]
fn silence_and_noise_are_told_as_they_were_seen() {
    let bench = Bench::new();
    let radio = bench.semicolon("radio", 9600);
    let arguments = ["probe", "radio", "--dialect", "semicolon-eleven", "--baud", "9600", "--yes"];
    radio.handles.faults.switch_on(Fault::Mute);
    bench.run(&arguments).assert(1, &["asked \"FA;\": nothing came", "What to check:", "the cable"]);
    radio.handles.faults.clear();
    radio.handles.faults.switch_on(Fault::Garbage);
    bench.run(&arguments).assert(1, &["came that", "What to check:"]);
    radio.handles.faults.clear();
    let nine = ["probe", "radio", "--dialect", "semicolon-nine", "--baud", "9600", "--yes"];
    bench.run(&nine).assert(1, &["something came that is not the answer: \"FA00", "another dialect"]);
    radio.assert_untouched();
}

#[test]
fn a_port_that_is_not_there_and_a_file_are_told_apart() {
    let bench = Bench::new();
    bench.file("letter", "dear radio");
    let probe = |port: &str| bench.run(&["probe", port, "--dialect", "w-lines", "--yes"]);
    probe("nothing").assert(1, &["is not there", "`beamhand ports`"]);
    assert_ne!(probe("letter").code, Some(0));
    bench
        .run(&["probe", "x", "--dialect", "w-line", "--yes"])
        .assert(2, &["no dialect \"w-line\"", "w-lines"]);
}
