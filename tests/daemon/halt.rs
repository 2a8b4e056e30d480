//! Halt: every motor stops at once, and nothing moves until resume.

use beamhand::control::{Client, DeviceState, Method, State};
use beamhand::terms::{Direction, seconds_between};
use chrono::Utc;

use crate::far_end::{is_aim, is_stop};
use crate::patience::{let_pass, until, within};
use crate::station::Station;

#[test]
fn halt_stops_a_turning_mount_at_once_and_nothing_moves_until_resume() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.say(&["point", "180", "60"]).assert_done();
    until(5.0, "the mount turns", || station.mast.position().azimuth > 3.0);
    let mut client = Client::connect(&station.path("control")).unwrap();
    let called = Utc::now();
    client.call(Method::Halt).unwrap();
    let stop = within(2.0, "the stop", || station.mast.frames_after(called, is_stop).into_iter().next());
    let took = seconds_between(called, stop.at);
    println!("the stop was heard {:.0} ms after the call", took * 1000.0);
    // The bound is 100 ms and the command in progress; this leaves room for a busy machine.
    assert!(took < 1.0, "{took} s");
    // From 20 degrees a second to rest at 40 degrees a second squared: half a second.
    until(5.0, "the mount rests", || {
        let before = station.mast.position();
        let_pass(0.2);
        station.mast.position() == before
    });
    let rested = station.mast.position();
    station.say(&["point", "90", "0"]).assert_refused(1, "halted");
    station.say(&["park"]).assert_refused(1, "halted");
    let_pass(1.5);
    assert!(station.mast.frames_after(stop.at, is_aim).is_empty());
    assert_eq!(station.mast.position(), rested);
    assert_eq!(station.status().state, State::Halted);
    station.say(&["resume"]).assert_done();
    let_pass(0.5);
    assert!(station.mast.frames_after(stop.at, is_aim).is_empty(), "resume alone moves nothing");
    station.say(&["park"]).assert_done();
    until(5.0, "it moves again", || !station.mast.frames_after(stop.at, is_aim).is_empty());
}

/// A line looks for a halt less often while nothing is wanted of its devices: the bound holds for it too.
#[test]
fn halt_reaches_a_mount_that_nothing_is_wanted_of_as_soon() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    until(5.0, "the mount is known", || {
        station.status().rotator.is_some_and(|rotator| rotator.position.is_some())
    });
    let mut client = Client::connect(&station.path("control")).unwrap();
    let mut halt = || {
        let_pass(0.5);
        let called = Utc::now();
        client.call(Method::Halt).unwrap();
        let stop = within(2.0, "the stop", || station.mast.frames_after(called, is_stop).into_iter().next());
        client.call(Method::Resume).unwrap();
        seconds_between(called, stop.at)
    };
    let mut took: Vec<f64> = (0..7).map(|_| halt()).collect();
    took.sort_by(f64::total_cmp);
    println!("the stop was heard after {took:.3?} s");
    // The middle one of seven: a busy machine may hold up some.
    assert!(took[3] < 0.15 && took[6] < 1.0, "{took:?}");
}

#[test]
fn halt_in_a_session_leaves_the_radio_on_its_plan_and_resume_takes_the_beam_up_again() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    station.work();
    station.say(&["halt"]).assert_done();
    let halted = Utc::now();
    let tuned = station.radio.frames_after(halted, |frame| frame.starts_with("FA0")).len();
    let_pass(2.0);
    assert!(station.mast.frames_after(halted, is_aim).is_empty());
    assert!(station.radio.frames_after(halted, |frame| frame.starts_with("FA0")).len() > tuned);
    assert!(station.off(Direction::Receive, Utc::now()).unwrap() < 60.0);
    let status = station.status();
    assert_eq!(status.rotator.as_ref().unwrap().state, DeviceState::Halted);
    assert_eq!(status.radios[0].state, DeviceState::Following);
    assert!(status.why.contains("no motor moves until resume"), "{}", status.why);
    station.say(&["resume"]).assert_done();
    until(5.0, "the beam follows again", || !station.mast.frames_after(halted, is_aim).is_empty());
    assert_eq!(station.status().state, State::Following);
}

#[test]
fn a_halt_is_obeyed_by_a_mount_that_is_plugged_in_later() {
    let mut station = Station::in_mid_pass();
    station.mast.outlet.pull().unwrap();
    let _daemon = station.run();
    station.say(&["halt"]).assert_done();
    station.say(&["start", "GANNET-1"]).assert_done();
    station.mast.outlet.put_back().unwrap();
    let back = Utc::now();
    until(5.0, "the mount is asked", || {
        !station.mast.frames_after(back, |frame| frame == "AZ EL").is_empty()
    });
    let_pass(1.5);
    assert!(station.mast.frames_after(back, is_aim).is_empty());
}

#[test]
fn halt_says_when_the_stop_could_not_be_sent() {
    let mut station = Station::in_mid_pass();
    let _daemon = station.run();
    station.say(&["point", "180", "60"]).assert_done();
    until(5.0, "the mount turns", || station.mast.position().azimuth > 3.0);
    assert!(station.say(&["halt"]).assert_done().contains("the stop was sent to mast"));
    station.mast.outlet.pull().unwrap();
    until(5.0, "the loss is seen", || station.status().rotator.unwrap().state == DeviceState::Lost);
    let said = station.say(&["halt"]);
    assert!(said.assert_done().contains("the stop could NOT be sent: mast:"), "{}", said.out);
}

#[test]
fn a_halt_is_remembered_by_the_next_daemon_until_resume() {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    station.say(&["halt"]).assert_done();
    until(5.0, "the mark is on the disk", || station.path("state/halted.json").exists());
    daemon.signal("KILL");
    daemon.wait();
    let daemon = station.run();
    assert_eq!(station.status().state, State::Halted);
    station.say(&["point", "90", "0"]).assert_refused(1, "halted");
    station.say(&["resume"]).assert_done();
    until(5.0, "the mark is gone", || !station.path("state/halted.json").exists());
    drop(daemon);
    let _daemon = station.run();
    assert_eq!(station.status().state, State::Idle);
}

/// Requests that nobody reads the answers of, and everything else that may be wrong with a line.
#[test]
fn halt_is_heeded_however_it_comes() {
    use std::io::Write;
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let halts: [&[u8]; 6] = [
        b"{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"halt\",\"params\":[]}\n",
        b"{\"jsonrpc\":\"2.0\",\"id\":1.5,\"method\":\"halt\"}\n",
        b"{\"method\":\"halt\",\"params\":{\"x\":1}}\n",
        b"[{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"halt\"}]\n",
        b"{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"halt\"}",
        b"{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"halt\"}\n",
    ];
    for (number, halt) in halts.into_iter().enumerate() {
        let mut stream = std::os::unix::net::UnixStream::connect(station.path("control")).unwrap();
        if number == 5 {
            let status = b"{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"status\"}\n";
            (0..1500).for_each(|_| stream.write_all(status).unwrap());
        }
        stream.write_all(halt).unwrap();
        if number == 4 {
            stream.shutdown(std::net::Shutdown::Write).unwrap();
        }
        until(3.0, &format!("line {number} halts"), || station.status().state == State::Halted);
        drop(stream);
        station.say(&["resume"]).assert_done();
        assert_eq!(station.status().state, State::Idle, "line {number}");
    }
}

/// The line carries a byte in 16.7 ms. What counts is when the stop's first byte leaves: its last one
/// is heard six bytes later.
#[test]
fn at_600_baud_the_stop_begins_within_100_ms_of_the_frame_in_progress() {
    const BYTE_S: f64 = 10.0 / 600.0;
    let slow = |config: String| config.replace("port = \"mast\"\n", "port = \"mast\"\nbaud = 600\n");
    let station = Station::with(&slow, beamhand::terms::later(Utc::now(), 60.0));
    let _daemon = station.run();
    let mut client = Client::connect(&station.path("control")).unwrap();
    let mut waits = Vec::new();
    for turn in 0..10 {
        let place = if turn % 2 == 0 { ["point", "180", "60"] } else { ["point", "20", "10"] };
        station.say(&place).assert_done();
        until(10.0, "the mount turns", || {
            let before = station.mast.position();
            let_pass(0.1);
            station.mast.position() != before
        });
        // Somewhere in the second between two questions, and also in the midst of one.
        let_pass(0.07 * f64::from(turn));
        let called = Utc::now();
        client.call(Method::Halt).unwrap();
        let stop = within(3.0, "the stop", || station.mast.frames_after(called, is_stop).into_iter().next());
        let before = station.mast.frames().into_iter().rfind(|frame| frame.at < stop.at).unwrap();
        let wait = seconds_between(before.at.max(called), stop.at) - 6.0 * BYTE_S;
        waits.push(wait);
        assert!(station.mast.frames_after(stop.at, is_aim).is_empty());
        station.say(&["resume"]).assert_done();
    }
    waits.sort_by(f64::total_cmp);
    println!(
        "the stop began so many ms after the frame before it: {:.0?}",
        waits.iter().map(|s| s * 1e3).collect::<Vec<_>>()
    );
    // The middle of ten, so that one breath of a busy machine is forgiven.
    assert!(waits[5] <= 0.1 && waits[9] < 1.0, "{waits:?}");
}
