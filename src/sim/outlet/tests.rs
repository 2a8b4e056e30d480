//! With a driver's port at the other end, in real time.

use std::io::{Read, Write};
use std::time::Instant;

use serialport::SerialPort;
use tempfile::TempDir;

use super::*;
use crate::clock::ScaledClock;
use crate::sim::radio::semicolon::{Layout, Semicolon, SemicolonSettings};
use crate::sim::{Act, Fault, WireSettings};
use crate::terms::{Hertz, parse_time};

fn clock(speed: f64) -> Arc<ScaledClock> {
    Arc::new(ScaledClock::new(parse_time("2026-11-25T18:30:00Z").unwrap(), speed))
}

fn outlet_with(settings: WireSettings, speed: f64) -> (TempDir, Outlet) {
    let folder = tempfile::tempdir().unwrap();
    let radio = Semicolon::new(SemicolonSettings::new(Layout::Eleven), Handles::default());
    let outlet = Outlet::open(folder.path().join("radio"), Wire::new(radio, settings), clock(speed)).unwrap();
    (folder, outlet)
}

fn outlet() -> (TempDir, Outlet) {
    outlet_with(WireSettings::default(), 1.0)
}

fn plug_in(outlet: &Outlet, baud: u32) -> Box<dyn SerialPort> {
    let name = outlet.link().to_str().unwrap();
    serialport::new(name, baud).timeout(Duration::from_millis(20)).open().unwrap()
}

/// Everything that comes until `end` does, or within a second.
fn read_until(port: &mut dyn SerialPort, end: u8) -> String {
    let (mut seen, began) = (Vec::new(), Instant::now());
    let mut byte = [0];
    while began.elapsed() < Duration::from_secs(1) && seen.last() != Some(&end) {
        if port.read(&mut byte).is_ok_and(|length| length == 1) {
            seen.push(byte[0]);
        }
    }
    String::from_utf8_lossy(&seen).into_owned()
}

fn ask(port: &mut dyn SerialPort, text: &str) -> String {
    port.write_all(text.as_bytes()).unwrap();
    read_until(port, b';')
}

/// Waits until it is so, for a second at most.
fn becomes(so: impl Fn() -> bool) -> bool {
    let began = Instant::now();
    while !so() && began.elapsed() < Duration::from_secs(1) {
        std::thread::sleep(Duration::from_millis(1));
    }
    so()
}

#[test]
fn a_command_and_a_question_go_through_a_real_port_at_the_lines_pace() {
    let (_folder, outlet) = outlet();
    let mut port = plug_in(&outlet, 9600);
    let began = Instant::now();
    assert_eq!(ask(&mut *port, "FA00145950000;FA;"), "FA00145950000;");
    // 17 bytes, 20 ms of thinking, 14 bytes back.
    let least = Duration::from_secs_f64(31.0 * 10.0 / 9600.0 + 0.020);
    let took = began.elapsed();
    assert!(took >= least, "{took:?} is quicker than the line");
    assert!(took < least + Duration::from_millis(500), "{took:?}");
    assert_eq!(outlet.handles().record.far_baud(), Some(9600));
    assert_eq!(outlet.handles().record.counts().bytes_heard, 17);
}

#[test]
fn on_a_fast_clock_the_line_is_as_much_faster() {
    let (_folder, outlet) = outlet_with(WireSettings { baud: 300, ..WireSettings::default() }, 50.0);
    let mut port = plug_in(&outlet, 300);
    let began = Instant::now();
    assert_eq!(ask(&mut *port, "FA;"), "FA00145000000;");
    // 17 bytes at 300 baud would take 567 ms.
    assert!(began.elapsed() < Duration::from_millis(300), "{:?}", began.elapsed());
}

#[test]
fn a_pulled_cable_hangs_up_and_comes_back_under_another_name_behind_the_same_link() {
    let (_folder, mut outlet) = outlet();
    let first = outlet.device().to_owned();
    let mut port = plug_in(&outlet, 9600);
    assert_eq!(ask(&mut *port, "FA00145950000;FA;"), "FA00145950000;");
    outlet.pull().unwrap();
    let error = port.read(&mut [0]).unwrap_err();
    assert_eq!(error.kind(), io::ErrorKind::BrokenPipe);
    assert!(!outlet.link().exists());
    outlet.pull().unwrap();
    // From now on the system may give out the old name again.
    drop(port);
    outlet.put_back().unwrap();
    assert_ne!(outlet.device(), first);
    let mut port = plug_in(&outlet, 9600);
    assert_eq!(ask(&mut *port, "FA;"), "FA00145950000;");
}

#[test]
fn a_child_process_does_not_keep_a_pulled_cable_in() {
    let (_folder, mut outlet) = outlet();
    let mut port = plug_in(&outlet, 9600);
    let mut child = std::process::Command::new("sleep").arg("5").spawn().unwrap();
    outlet.pull().unwrap();
    let error = port.read(&mut [0]).unwrap_err();
    child.kill().unwrap();
    child.wait().unwrap();
    assert_eq!(error.kind(), io::ErrorKind::BrokenPipe);
}

#[test]
fn the_device_lives_on_while_the_cable_is_out_and_what_it_says_is_lost() {
    let (_folder, mut outlet) = outlet();
    assert_eq!(ask(&mut *plug_in(&outlet, 9600), "AI1;AI;"), "AI1;");
    outlet.pull().unwrap();
    let handles = outlet.handles().clone();
    handles.script.at(parse_time("2026-11-25T18:30:00Z").unwrap(), Act::Turn(Hertz(1_000)));
    assert!(becomes(|| handles.script.next_event().is_none()));
    outlet.put_back().unwrap();
    let mut port = plug_in(&outlet, 9600);
    assert_eq!(ask(&mut *port, "FB;"), "FB00435000000;");
    assert_eq!(ask(&mut *port, "FA;"), "FA00145001000;");
}

#[test]
fn a_driver_at_the_wrong_speed_reads_nonsense_until_it_corrects_it() {
    let (_folder, outlet) = outlet();
    let mut port = plug_in(&outlet, 4800);
    port.write_all(b"FA;FA;FA;FA;").unwrap();
    assert!(becomes(|| outlet.handles().record.counts().bytes_heard == 12));
    assert_eq!(outlet.handles().record.far_baud(), Some(4800));
    assert!(outlet.handles().faults.is_on(Fault::WrongSpeed));
    port.set_baud_rate(9600).unwrap();
    // Whatever the radio made of the nonsense ends with the first semicolon.
    let mut answer = ask(&mut *port, ";FA;");
    while !answer.is_empty() && answer != "FA00145000000;" {
        answer = read_until(&mut *port, b';');
    }
    assert_eq!(answer, "FA00145000000;");
}

#[test]
fn a_driver_that_does_not_read_loses_bytes_and_blocks_nobody() {
    let settings = WireSettings { baud: 4_000_000, one_wire: true, ..WireSettings::default() };
    let (_folder, mut outlet) = outlet_with(settings, 10.0);
    let mut port = plug_in(&outlet, 4_000_000);
    port.set_timeout(Duration::from_secs(1)).unwrap();
    for _ in 0..400 {
        port.write_all(&[b'0'; 512]).unwrap();
    }
    let record = outlet.handles().record.clone();
    assert!(becomes(|| record.counts().bytes_overrun > 0), "{:?}", record.counts());
    let began = Instant::now();
    outlet.pull().unwrap();
    assert!(began.elapsed() < Duration::from_secs(1));
}

#[test]
fn dropping_an_outlet_takes_its_link_away_and_hangs_up() {
    let (_folder, outlet) = outlet();
    let link = outlet.link().to_owned();
    let mut port = plug_in(&outlet, 9600);
    drop(outlet);
    assert!(!link.exists() && fs::symlink_metadata(&link).is_err());
    assert_eq!(port.read(&mut [0]).unwrap_err().kind(), io::ErrorKind::BrokenPipe);
}

#[test]
fn a_link_that_cannot_be_made_is_reported_with_its_path() {
    let radio = Semicolon::new(SemicolonSettings::new(Layout::Eleven), Handles::default());
    let wire = Wire::new(radio, WireSettings::default());
    let error = Outlet::open("/nowhere/radio", wire, clock(1.0)).err().unwrap().to_string();
    assert!(error.starts_with("/nowhere/radio: "), "{error}");
}
