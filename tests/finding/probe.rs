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
            "tx_hz asked \"FB;\", heard \"FB",
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
    ran.assert(0, &["9600 baud, asked \"AZ\" CR: azimuth", "aim asked \"AZ EL\" CR", "elevation"]);
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
fn a_radio_on_a_bus_is_found_by_its_address_and_without_it() {
    let bench = Bench::new();
    let radio = bench.frames("bus", 0x09);
    let arguments = ["probe", "bus", "--dialect", "fe-frames", "--baud", "9600", "--yes"];
    let ran = bench.run(&[&arguments[..], &["--address", "0x09"]].concat());
    ran.assert(0, &["9600 baud, asked FE FE 09 E0 03 FD: 1", "address = 0x09"]);
    let ran = bench.run(&arguments);
    ran.assert(0, &["asking the addresses 0x03 to 0xdf", "0x09 answered: 1", "address = 0x09"]);
    radio.assert_untouched();
    let ran = bench.run(&["probe", "bus", "--dialect", "w-lines", "--address", "9", "--yes"]);
    ran.assert(2, &["have no address"]);
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
