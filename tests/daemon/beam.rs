//! The beam by the operator's verbs: the Sun, a nudge that is kept, and the first start of a rotator.

use beamhand::control::DeviceState;
use beamhand::sim::Fault;
use beamhand::sky::{Station as Place, sun_seen_from};
use beamhand::terms::AzEl;
use chrono::Utc;

use crate::far_end::{is_aim, is_stop};
use crate::patience::{let_pass, until, within};
use crate::station::Station;

/// What the mount was told last.
fn told(station: &Station) -> Option<String> {
    station.mast.frames().into_iter().map(|frame| frame.text).rfind(|text| is_aim(text))
}

#[test]
fn a_nudge_shifts_what_was_pointed_at_and_is_kept_for_the_next_daemon() {
    let station = Station::in_mid_pass();
    let daemon = station.run();
    station.say(&["nudge", "1", "1"]).assert_refused(1, "nothing to nudge");
    station.say(&["point", "100", "30"]).assert_done();
    until(10.0, "it is told", || told(&station).as_deref() == Some("AZ100.0 EL30.0"));
    let said = station.say(&["nudge", "2.5", "-1"]);
    let said = said.assert_done().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("nudged by azimuth +2.5 elevation -1.0 degrees"), "{said}");
    until(10.0, "it is shifted", || told(&station).as_deref() == Some("AZ102.5 EL29.0"));
    assert_eq!(station.status().nudge, Some(AzEl::new(2.5, -1.0)));
    assert!(station.say(&["nudge", "keep"]).assert_done().contains("are kept for the mount"));
    drop(daemon);
    let daemon = station.run();
    station.say(&["point", "50", "30"]).assert_done();
    until(10.0, "it is shifted from the start", || told(&station).as_deref() == Some("AZ52.5 EL29.0"));
    station.say(&["nudge", "forget"]).assert_done();
    station.say(&["nudge", "reset"]).assert_done();
    until(10.0, "it is not shifted", || told(&station).as_deref() == Some("AZ50.0 EL30.0"));
    drop(daemon);
    let _daemon = station.run();
    assert_eq!(station.status().nudge, None);
    station.say(&["nudge", "2"]).assert_refused(2, "write degrees");
    station.say(&["nudge", "40", "0"]).assert_refused(1, "");
}

#[test]
fn the_sun_is_pointed_at_while_it_is_up_and_never_below_the_horizon() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let place = Place::new(54.0, -2.5, 0.0).unwrap();
    let sun = sun_seen_from(&place, Utc::now());
    let said = station.say(&["point", "sun"]);
    if sun.elevation < 0.0 {
        said.assert_refused(1, "below the horizon");
        let_pass(1.0);
        assert!(told(&station).is_none());
    } else {
        let said = said.assert_done();
        assert!(said.contains("CAUTION: never look at the Sun along the boom"), "{said}");
        let told = within(10.0, "it is told", || told(&station));
        assert!(told.starts_with(&format!("AZ{:.0}", sun.azimuth.floor())), "{told} {sun:?}");
    }
    station.say(&["point", "sun", "3"]).assert_refused(2, "leave the elevation out");
}

#[test]
fn the_first_start_of_a_rotator_comes_with_a_caution_and_the_second_does_not() {
    let station = Station::in_mid_pass();
    let daemon = station.run();
    let caution = station.status().rotator.unwrap().caution.unwrap();
    assert!(caution.contains("MOVES BY ITSELF") && caution.contains("beamhand halt"), "{caution}");
    assert!(station.say(&["status"]).assert_done().contains("CAUTION"));
    drop(daemon);
    let said = std::fs::read_to_string(station.path("log")).unwrap();
    assert_eq!(said.matches("MOVES BY ITSELF").count(), 1, "{said}");
    let _daemon = station.run();
    assert_eq!(station.status().rotator.unwrap().caution, None);
    let said = std::fs::read_to_string(station.path("log")).unwrap();
    assert_eq!(said.matches("MOVES BY ITSELF").count(), 1, "{said}");
}

#[test]
fn a_stalled_mount_is_stopped_and_a_turned_one_is_left_to_the_operator_until_it_is_pointed_again() {
    let hand_over = |config: String| config + "by_hand = \"hand over\"\n";
    let station = Station::with(&hand_over, beamhand::terms::later(Utc::now(), 60.0));
    let _daemon = station.run();
    station.mast.handles.faults.switch_on(Fault::MotorStalled);
    station.say(&["point", "180", "60"]).assert_done();
    let aimed = within(5.0, "it is told", || {
        station.mast.frames_after(Default::default(), is_aim).into_iter().next()
    });
    let stop =
        within(5.0, "it is stopped", || station.mast.frames_after(aimed.at, is_stop).into_iter().next());
    let took = beamhand::terms::seconds_between(aimed.at, stop.at);
    println!("a stalled motor was stopped {took:.1} s after it was told to turn");
    assert!(took < 3.5, "{took} s; 3 s is the promise, and the machine may be busy");
    until(5.0, "it is said", || station.status().rotator.unwrap().why.contains("it stays at azimuth"));
    station.mast.handles.faults.clear();
    until(20.0, "it goes on", || station.mast.position().azimuth > 20.0);
    station.mast.handles.faults.switch_on(Fault::TurnedByHand { deg_s: -6.0 });
    until(10.0, "it is handed over", || station.status().rotator.unwrap().why.contains("left to you"));
    station.mast.handles.faults.clear();
    let left = Utc::now();
    let_pass(4.0);
    assert!(station.mast.frames_after(left, is_aim).is_empty());
    assert_eq!(station.status().rotator.unwrap().state, DeviceState::Idle);
    station.say(&["point", "180", "60"]).assert_done();
    until(20.0, "it goes there", || station.mast.position().angle_to(AzEl::new(180.0, 60.0)) < 1.0);
}
