//! The rotator's player against a mount that is not as it should be: away before the pass, turned by a hand,
//! with a read-out that lies, or with a sector between it and its park place.

use beamhand::sim::Fault;
use beamhand::terms::{AzEl, later, seconds_between};
use chrono::{Timelike as _, Utc};

use crate::far_end::{is_aim, is_stop};
use crate::patience::{let_pass, until, within};
use crate::station::Station;

/// What is said of the rotator.
fn said(station: &Station) -> String {
    station.status().rotator.unwrap().why
}

/// A station whose mount is on its way from 0 to 300 degrees, at 20 degrees a second, since about 3 s.
fn on_its_way() -> Station {
    Station::with(&|config| config + "by_hand = \"follow\"\n", later(Utc::now(), 60.0))
}

fn send(station: &Station) {
    station.say(&["point", "300", "40"]).assert_done();
    until(10.0, "it turns", || station.mast.position().azimuth > 60.0);
}

/// From the fault to the stop it may take 3 s, and the machine may be busy.
fn stopped_and_said(fault: Fault, why: &str) {
    let station = on_its_way();
    let _daemon = station.run();
    send(&station);
    station.mast.handles.faults.switch_on(fault);
    let since = Utc::now();
    let stop = within(6.0, "it is stopped", || station.mast.frames_after(since, is_stop).into_iter().next());
    println!("{fault:?}: stopped after {:.1} s", seconds_between(since, stop.at));
    until(5.0, "it is said", || said(&station).contains(why));
    let shown = station.say(&["status"]);
    let shown = shown.assert_done().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(shown.contains(why), "{shown}");
    let rests = within(5.0, "it rests", || {
        let before = station.mast.position();
        let_pass(0.3);
        (station.mast.position() == before).then_some(before)
    });
    assert!(rests.azimuth < 290.0, "{rests:?}: it went on to where it was sent");
}

#[test]
fn a_read_out_that_jumps_stops_the_mount_and_status_says_why() {
    stopped_and_said(Fault::ReadOutOff { degrees: 120.0 }, "its read-out jumped from azimuth");
}

#[test]
fn a_read_out_that_freezes_stops_the_mount_and_status_says_why() {
    stopped_and_said(Fault::ReadOutFrozen, "it stays at azimuth");
}

/// It stands at 200 degrees and is sent to 300: the other way round is another two hundred.
#[test]
fn a_read_out_that_contradicts_the_motion_stops_the_mount_and_status_says_why() {
    let station = on_its_way();
    let _daemon = station.run();
    station.say(&["point", "200", "40"]).assert_done();
    until(25.0, "it is there", || station.mast.position().angle_to(AzEl::new(200.0, 40.0)) < 0.5);
    let_pass(1.0);
    station.mast.handles.faults.switch_on(Fault::MotorsReversed);
    let since = Utc::now();
    station.say(&["point", "300", "40"]).assert_done();
    let stop = within(8.0, "it is stopped", || station.mast.frames_after(since, is_stop).into_iter().next());
    println!("contradiction: stopped after {:.1} s", seconds_between(since, stop.at));
    until(5.0, "it is said", || said(&station).contains("degrees away from where it was sent, 300.0"));
    until(20.0, "it is tried once more at most", || said(&station).contains("not for the first time"));
    let aims = station.mast.frames_after(since, is_aim).len();
    assert!(aims <= 2, "{aims}");
    let_pass(3.0);
    assert_eq!(station.mast.frames_after(since, is_aim).len(), aims);
}

#[test]
fn a_mount_that_was_turned_by_hand_goes_back_where_it_was_sent_when_that_is_configured() {
    let station = on_its_way();
    let _daemon = station.run();
    send(&station);
    station.mast.handles.faults.switch_on(Fault::TurnedByHand { deg_s: -6.0 });
    let turned = Utc::now();
    until(10.0, "it is seen", || said(&station).contains("it goes back to its plan when it rests"));
    let_pass(3.0);
    assert!(station.mast.frames_after(turned, is_aim).is_empty(), "the hand is not disturbed");
    station.mast.handles.faults.clear();
    until(30.0, "it goes back", || station.mast.position().angle_to(AzEl::new(300.0, 40.0)) < 1.0);
    until(5.0, "it is not said any more", || !said(&station).contains("by hand"));
}

/// A wall from 100 to 140 degrees, up to 50: between where it stands and where it rests.
#[test]
fn on_the_way_to_park_the_beam_keeps_out_of_a_sector() {
    let wall = "park = { azimuth = 20, elevation = 0 }\nno_go = [{ azimuth = { from = 100, to = 140 }, \
                elevation = { from = -90, to = 50 } }]\n";
    let station = Station::with(&|config| config + wall, later(Utc::now(), 60.0));
    let _daemon = station.run();
    let (rests, beyond) = (AzEl::new(20.0, 0.0), AzEl::new(200.0, 10.0));
    let begin = Utc::now();
    for (verb, place) in [(vec!["point", "200", "10"], beyond), (vec!["park"], rests)] {
        station.say(&verb).assert_done();
        until(40.0, "it is there", || station.mast.position().angle_to(place) < 1.0);
    }
    let took = seconds_between(begin, Utc::now());
    let mut highest = 0.0_f64;
    for part in 0..=(took * 50.0) as u32 {
        let at = station.mast.record().position_at(later(begin, f64::from(part) / 50.0));
        let Some(place) = at else { continue };
        let beside = !(100.0..=140.0).contains(&place.azimuth);
        assert!(beside || place.elevation >= 50.0, "{place:?}");
        highest = highest.max(place.elevation);
    }
    assert!(highest > 50.0, "it went over the wall: {highest}");
    assert!(took > 5.0 && station.mast.record().violations().is_empty());
}

/// The station stands under the Sun, wherever that is now.
#[test]
fn who_points_at_the_sun_is_told_not_to_look_along_the_boom() {
    let hours = f64::from(Utc::now().num_seconds_from_midnight()) / 3600.0;
    let noon = format!("latitude = 0.0\nlongitude = {}\n", (12.0 - hours) * 15.0);
    let below = move |config: String| {
        let rest = |line: &&str| !line.starts_with("latitude") && !line.starts_with("longitude");
        let lines: Vec<&str> = config.lines().filter(rest).collect();
        lines.join("\n").replace("[station]\n", &format!("[station]\n{noon}")) + "\n"
    };
    let station = Station::with(&below, later(Utc::now(), 60.0));
    let _daemon = station.run();
    let caution = "never look at the Sun along the boom";
    let said = station.say(&["point", "sun"]);
    assert!(said.assert_done().contains(caution), "{}", said.out);
    assert!(said.out.lines().all(|line| line.len() <= 80), "{}", said.out);
    until(10.0, "it is told", || !station.mast.frames_after(Default::default(), is_aim).is_empty());
    assert!(!station.say(&["point", "100", "30"]).assert_done().contains(caution));
    let help = station.say(&["point", "--help"]).out.to_lowercase();
    let help = help.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(help.contains(caution.to_lowercase().as_str()), "{help}");
}

/// A hand has left it aside before the daemon runs: where it stands only the far end knows. It does not tilt
/// over, so that its way takes some five seconds.
#[test]
fn before_aos_the_mount_is_where_the_satellite_rises_from_wherever_it_stood() {
    let half = {
        let middle = Utc::now();
        let station = Station::with(&|config| config, middle);
        let is_up =
            |second: &u32| station.look(later(middle, -f64::from(*second))).direction().elevation > 0.0;
        f64::from((0..2000).find(|second| !is_up(second)).unwrap())
    };
    let aos = later(Utc::now(), 18.0);
    let plain = |config: String| {
        config.replace("elevation = { from = 0, to = 180 }", "elevation = { from = 0, to = 90 }")
    };
    let station = Station::with(&plain, later(aos, half));
    station.mast.handles.faults.switch_on(Fault::TurnedByHand { deg_s: 20.0 });
    until(20.0, "it is aside", || {
        let place = station.mast.record().position_at(Utc::now());
        place.is_some_and(|place| place.azimuth > 70.0)
    });
    station.mast.handles.faults.clear();
    let _daemon = station.run();
    let rises = station.look(aos).direction();
    let stood = station.mast.position();
    assert!(stood.angle_to(rises) > 10.0, "{stood:?} {rises:?}");
    station.say(&["start", "GANNET-1"]).assert_done();
    until(20.0, "it is there", || station.mast.position().angle_to(rises) < 2.5);
    let spare = seconds_between(Utc::now(), aos);
    println!("from {stood:?} it was where the satellite rises, {rises:?}, {spare:.1} s before AOS");
    assert!(spare > 0.0, "{spare} s");
    let_pass(spare);
    let off = station.mast.position().angle_to(station.look(aos).direction());
    assert!(off < 2.5, "{off} degrees at AOS");
    station.assert_no_violation();
}
