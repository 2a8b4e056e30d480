//! `beamhand check --connect`.

use std::process::Stdio;
use std::time::{Duration, Instant};

use beamhand::sim::Fault;
use serde_json::Value;

use crate::bench::Bench;

const STATION: &str = "format = 1\n[station]\nlatitude = 54\nlongitude = -2.5\n[files]\n\
                       satellites = \"satellites.toml\"\nelements = \"elements.txt\"\nstate = \"state\"\n\
                       [control]\nsocket = \"control\"\n";
const RADIO: &str = "[[radio]]\nname = \"duplex\"\nport = \"radio\"\ndialect = \"semicolon-eleven\"\n\
                     use = \"both\"\n";
const MAST: &str = "[rotator]\nname = \"mast\"\nport = \"mast\"\ndialect = \"az-el-words\"\n";

fn bench(equipment: &str) -> Bench {
    let bench = Bench::new();
    bench.file("beamhand.toml", &format!("{STATION}{equipment}"));
    bench.file("satellites.toml", include_str!("../../config/demo/satellites.toml"));
    bench
}

const CHECK: [&str; 4] = ["check", "--connect", "--config", "beamhand.toml"];

fn objects(bench: &Bench, code: i32) -> Vec<Value> {
    let ran = bench.run(&[&CHECK[..], &["--json"]].concat());
    assert_eq!(ran.code, Some(code), "{}", ran.err);
    ran.out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

#[test]
fn every_device_is_read_and_nothing_is_tuned_or_moved() {
    let bench = bench(&format!("{RADIO}{MAST}"));
    let (radio, mast) = (bench.semicolon("radio", 9600), bench.words("mast", 9600));
    bench.run(&CHECK).assert(
        0,
        &[
            "duplex semicolon-eleven, 9600 baud",
            "receive 145.",
            "transmit 4",
            "not transmitting",
            "7 of 7 questions answered",
            "mast az-el-words, 9600 baud",
            "azimuth",
            "CAUTION: from `beamhand run` on the mount can move",
        ],
    );
    radio.assert_untouched();
    mast.assert_untouched();
    let aims =
        mast.heard().split(|byte| *byte == b'\r').filter(|line| line.iter().any(u8::is_ascii_digit)).count();
    assert_eq!(aims, 0);
}

#[test]
fn a_device_that_does_not_answer_is_named_and_the_others_are_read_all_the_same() {
    let bench = bench(&format!("{RADIO}{MAST}"));
    let (radio, _mast) = (bench.semicolon("radio", 9600), bench.words("mast", 9600));
    radio.handles.faults.switch_on(Fault::Mute);
    bench.run(&CHECK).assert(
        1,
        &[
            "NOT READ: asked \"FA;\" at 9600 baud: nothing came",
            "check that it is switched on",
            "azimuth",
            "not every",
        ],
    );
    let objects = objects(&bench, 1);
    assert_eq!((&objects[0]["answered"], &objects[0]["receive_hz"]), (&false.into(), &Value::Null));
    assert_eq!((&objects[1]["answered"], &objects[1]["device"]), (&true.into(), &"mast".into()));
    assert!(objects[1]["azimuth_deg"].is_number());
}

#[test]
fn a_radio_that_is_deaf_before_is_greeted() {
    let bench = bench(&RADIO.replace("semicolon-eleven", "five-byte-duplex"));
    let radio = bench.five_byte_duplex("radio", 9600);
    bench.run(&CHECK).assert(0, &["receive 4", "transmit 1", "not transmitting", "7 of 7 questions"]);
    radio.assert_untouched();
}

#[test]
fn what_an_interface_sends_back_is_no_answer_and_hides_none() {
    for dialect in ["semicolon-eleven", "five-byte"] {
        let radio = RADIO.replace("semicolon-eleven", dialect).replace("both", "receive");
        let bench = bench(&radio);
        let radio = match dialect {
            "five-byte" => bench.five_byte("radio", 9600),
            _ => bench.semicolon("radio", 9600),
        };
        radio.handles.faults.switch_on(Fault::Echo);
        bench.run(&CHECK).assert(0, &["145.", "not transmitting", "7 of 7 questions answered"]);
        radio.handles.faults.switch_on(Fault::Mute);
        bench.run(&CHECK).assert(1, &["NOT READ: asked", "only the question itself came back"]);
        radio.assert_untouched();
    }
}

#[test]
fn a_time_out_that_is_too_tight_comes_with_a_proposal() {
    let bench = bench(&RADIO.replace("use =", "answer_ms = 10\nuse ="));
    let _radio = bench.semicolon("radio", 9600);
    let one = &objects(&bench, 0)[0];
    let (most, proposal) =
        (one["answer_max_ms"].as_f64().unwrap(), one["proposed_answer_ms"].as_f64().unwrap());
    assert_eq!(one["answer_ms"], 10);
    assert!(proposal >= 2.0 * most && proposal % 50.0 == 0.0, "{one}");
    assert!(one["answer_min_ms"].as_f64() <= one["answer_median_ms"].as_f64());
    bench.run(&CHECK).assert(0, &["answer_ms, 10, is too tight", "set answer_ms = "]);
}

#[test]
fn two_radios_of_a_bus_are_read_on_one_port() {
    let radio = |name: &str, uses: &str, address: &str| {
        format!(
            "[[radio]]\nname = \"{name}\"\nport = \"bus\"\ndialect = \"fe-frames\"\nuse = \"{uses}\"\n\
             address = {address}\n"
        )
    };
    let bench = bench(&(radio("ear", "receive", "0x4C") + &radio("mouth", "transmit", "0x4D")));
    let ear = bench.frames("bus", 0x4C);
    let objects = objects(&bench, 1);
    assert_eq!((&objects[0]["device"], &objects[0]["answered"]), (&"ear".into(), &true.into()));
    assert!(objects[0]["hz"].as_i64().unwrap() > 100_000_000);
    assert_eq!((&objects[1]["device"], &objects[1]["answered"]), (&"mouth".into(), &false.into()));
    ear.assert_untouched();
}

#[test]
fn a_mount_outside_its_limits_is_a_warning() {
    let bench = bench(&format!("{MAST}azimuth = {{ from = 90, to = 270 }}\npark = {{ azimuth = 100 }}\n"));
    let _mast = bench.words("mast", 9600);
    bench.run(&CHECK).assert(0, &["warning: its azimuth,", "is outside the limits", "90 to 270"]);
}

#[test]
fn while_the_daemon_has_the_ports_nothing_is_opened() {
    let bench = bench(&format!("{RADIO}{MAST}"));
    let (radio, _mast) = (bench.semicolon("radio", 9600), bench.words("mast", 9600));
    let mut daemon =
        bench.command(&["run", "--config", "beamhand.toml"]).stderr(Stdio::null()).spawn().unwrap();
    let begin = Instant::now();
    while radio.heard().is_empty() {
        assert!(begin.elapsed() < Duration::from_secs(10), "the daemon asks nothing");
        std::thread::sleep(Duration::from_millis(20));
    }
    let in_use = format!("is in use by beamhand (pid {})", daemon.id());
    let checked = bench.run(&CHECK);
    let probed = bench.run(&["probe", "radio", "--dialect", "w-lines", "--yes"]);
    daemon.kill().unwrap();
    daemon.wait().unwrap();
    checked.assert(1, &[&in_use, "Ctrl-C in the daemon's terminal"]);
    probed.assert(1, &[&in_use]);
    assert!(!radio.heard().contains(&b'\r'), "nothing of the other language was sent");
}

#[test]
fn a_configuration_without_equipment_and_json_without_connect_are_refused() {
    bench("").run(&CHECK).assert(1, &["names no radio and no rotator"]);
    bench("").run(&["check", "--json"]).assert(2, &["--connect"]);
}
