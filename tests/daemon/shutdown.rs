//! The daemon's orderly end.

use beamhand::terms::seconds_between;
use chrono::Utc;

use crate::far_end::{RECEIVE_BEFORE, TRANSMIT_BEFORE, is_aim, is_stop};
use crate::patience::until;
use crate::station::Station;

fn ends_orderly_after(signal: &str) {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    station.work();
    assert!(station.keepsake().exists(), "what the radio had is stored while the session lasts");
    let asked = Utc::now();
    daemon.signal(signal);
    let (status, took) = daemon.wait();
    assert_eq!(status.code(), Some(0));
    let stops = station.mast.frames_after(asked, is_stop);
    let stop = stops.first().unwrap();
    println!(
        "{signal}: the stop was heard after {:.0} ms, the end came after {:.0} ms",
        seconds_between(asked, stop.at) * 1000.0,
        took.as_secs_f64() * 1000.0
    );
    assert!(station.mast.frames_after(stop.at, is_aim).is_empty());
    let (record, now) = (station.radio.record(), Utc::now());
    assert_eq!(record.receive_at(now), Some(RECEIVE_BEFORE));
    assert_eq!(record.transmit_at(now), Some(TRANSMIT_BEFORE));
    assert_eq!(record.tone_at(now), None);
    assert!(!station.path("control").exists());
    assert!(!station.keepsake().exists());
    station.assert_no_violation();
}

#[test]
fn sigterm_in_mid_pass_stops_the_mount_and_gives_the_radio_back_what_it_had() {
    ends_orderly_after("TERM");
}

#[test]
fn sigint_in_mid_pass_does_the_same() {
    ends_orderly_after("INT");
}

#[test]
fn a_radio_that_is_gone_does_not_hold_up_the_end_and_what_it_had_stays_stored() {
    let mut station = Station::in_mid_pass();
    let mut daemon = station.run();
    station.work();
    station.radio.outlet.pull().unwrap();
    until(5.0, "the loss is noticed", || station.status().why.contains("duplex: "));
    daemon.signal("TERM");
    let (status, took) = daemon.wait();
    assert_eq!(status.code(), Some(0));
    assert!(took.as_secs_f64() < 5.0, "{took:?}");
    assert!(station.keepsake().exists());
}

#[test]
fn a_daemon_with_nothing_to_do_ends_without_touching_anything() {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    until(5.0, "both devices answer", || {
        let status = station.status();
        status.radios[0].last_read.is_some() && status.rotator.unwrap().last_read.is_some()
    });
    daemon.signal("TERM");
    assert_eq!(daemon.wait().0.code(), Some(0));
    assert_eq!(station.mast.record().aims(), []);
    let sets = station.radio.frames().into_iter().filter(|frame| frame.text.len() > 3);
    assert_eq!(sets.map(|frame| frame.text).collect::<Vec<_>>(), [""; 0]);
}
