//! The listening watch of the real program, in real time.

use beamhand::listening::{Reading, form};
use beamhand::sim::{Breach, Violation};
use beamhand::terms::seconds_between;
use chrono::Utc;

use crate::patience::until;
use crate::station::Station;

fn readings(station: &Station) -> Vec<Reading> {
    let folder = station.path("state").join(form::FOLDER);
    let files = std::fs::read_dir(folder).into_iter().flatten().map(|file| file.unwrap().path());
    let bytes: Vec<Vec<u8>> = files.map(|file| std::fs::read(file).unwrap()).collect();
    let spells = bytes.iter().flat_map(|bytes| form::read(bytes)).map(Result::unwrap);
    spells.flat_map(|spell| spell.readings).collect()
}

/// What is lost is what was heard since the last half minute; and the rate is that of a real line.
#[test]
fn a_daemon_that_is_killed_loses_no_more_than_the_running_minute() {
    let station = Station::that_listens();
    let mut daemon = station.run();
    station.say(&["auto", "on"]).assert_done();
    assert!(station.say(&["antenna"]).assert_done().contains("the antenna is called wire"));
    until(20.0, "it is listened to", || {
        station.status().listening.is_some_and(|listening| listening.readings > 0)
    });
    let page = station.say(&["status"]).assert_done().to_owned();
    assert!(page.contains("listening to GANNET-1 repeater until"), "{page}");
    let begun = Utc::now();
    until(60.0, "something is on the disk", || !readings(&station).is_empty());
    std::thread::sleep(std::time::Duration::from_secs(5));
    daemon.signal("KILL");
    let killed = Utc::now();
    daemon.wait();
    let kept = readings(&station);
    let last = kept.iter().map(|reading| reading.at).max().unwrap();
    let lost_s = seconds_between(last, killed);
    assert!((0.0..60.0).contains(&lost_s), "{lost_s} s are lost");
    let span_s = seconds_between(begun, last);
    let rate = kept.iter().filter(|reading| reading.at > begun).count() as f64 / span_s;
    println!("{rate:.1} readings a second for {span_s:.0} s; {lost_s:.1} s lost");
    assert!(rate >= 5.0, "{rate} readings a second for {span_s} s");
    // The first readings come before both were asked for.
    let has_both = |reading: &&Reading| reading.meter.is_some() && reading.is_open.is_some();
    let both = kept.iter().filter(has_both).count();
    assert!(both as f64 > 0.9 * kept.len() as f64, "{both} of {}", kept.len());
    // The next daemon goes on by itself.
    let _daemon = station.run();
    until(20.0, "it is listened to again", || {
        station.status().listening.is_some_and(|listening| listening.readings > 0)
    });
    // The configuration calls it a receiver. The judge knows it for a transceiver with one dial for both ways,
    // whose transmitter goes along with every dial outside the licence; nothing else may have happened.
    let else_than_that =
        |breach: &Breach| !matches!(breach.what, Violation::OutsideSegments { keyed: false, .. });
    let others: Vec<Breach> =
        station.radio.record().violations().into_iter().filter(else_than_that).collect();
    assert_eq!(others, []);
    assert_eq!(station.mast.record().violations(), []);
}
