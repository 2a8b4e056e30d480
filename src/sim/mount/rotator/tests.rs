use super::*;
use crate::terms::parse_time;

fn at(seconds: f64) -> Time {
    later(parse_time("2026-11-25T18:30:00Z").unwrap(), seconds)
}

fn mount(change: impl FnOnce(&mut MountSettings)) -> Rotator {
    let mut settings = MountSettings::default();
    change(&mut settings);
    let mut mount = Rotator::new(settings, Handles::default());
    mount.advance(at(0.0));
    mount
}

fn azimuth_at(mount: &Rotator, seconds: f64) -> f64 {
    mount.handles.record.position_at(at(seconds)).unwrap().azimuth
}

#[test]
fn a_turn_is_recorded_every_tenth_of_a_second_however_rarely_it_is_looked_at() {
    let mut mount = mount(|_| ());
    mount.aim(Some(100.0), None, at(10.0));
    mount.advance(at(60.0));
    let positions = mount.handles.record.positions();
    // 0.5 s up, 19.5 s at 5 deg/s, 0.5 s down: 20.5 s of turning.
    assert_eq!(positions.len(), 1 + 1 + 205);
    let largest =
        positions[1..].windows(2).map(|pair| seconds_between(pair[0].at, pair[1].at)).fold(0.0, f64::max);
    assert!(largest < 0.1 + 1e-6, "{largest}");
    assert!((azimuth_at(&mount, 20.25) - 50.0).abs() < 0.01);
    assert!((azimuth_at(&mount, 40.0) - 100.0).abs() < 1e-6);
}

#[test]
fn a_new_aim_in_mid_turn_is_taken_up_without_a_jump() {
    let mut mount = mount(|_| ());
    mount.aim(Some(100.0), Some(30.0), at(0.0));
    mount.aim(Some(0.0), None, at(5.0));
    mount.advance(at(60.0));
    let positions = mount.handles.record.positions();
    for pair in positions.windows(2) {
        let seconds = seconds_between(pair[0].at, pair[1].at);
        let turned = (pair[1].direction.azimuth - pair[0].direction.azimuth).abs();
        assert!(turned <= 5.0 * seconds + 1e-6, "{turned} deg in {seconds} s");
    }
    let end = mount.handles.record.position_at(at(60.0)).unwrap();
    assert!(end.azimuth.abs() < 1e-6 && (end.elevation - 30.0).abs() < 1e-6);
}

#[test]
fn a_stopped_axis_stands_after_its_braking_way_and_the_other_goes_on() {
    let mut mount = mount(|_| ());
    mount.aim(Some(100.0), Some(30.0), at(0.0));
    mount.stop(Which::Azimuth, at(4.0));
    mount.advance(at(60.0));
    let end = mount.handles.record.position_at(at(60.0)).unwrap();
    // 4 s give 18.75 deg, braking from 5 deg/s at 10 deg/s2 another 1.25.
    assert!((end.azimuth - 20.0).abs() < 1e-6 && (end.elevation - 30.0).abs() < 1e-6);
}

#[test]
fn an_aim_beyond_the_range_is_a_violation_and_ends_at_the_stop() {
    let mut mount = mount(|_| ());
    mount.aim(Some(450.0), Some(180.0), at(0.0));
    assert!(mount.handles.record.violations().is_empty());
    mount.aim(Some(-5.0), None, at(1.0));
    let seen = mount.handles.record.violations();
    assert_eq!(seen[0].what, Violation::OutsideRange(AzEl::new(-5.0, 180.0)));
    mount.advance(at(60.0));
    assert!(azimuth_at(&mount, 60.0).abs() < 1e-6);
}

#[test]
fn backlash_shows_on_the_antenna_and_not_on_the_read_out() {
    let mut mount = mount(|settings| settings.azimuth.backlash = 2.0);
    mount.aim(Some(50.0), None, at(0.0));
    mount.advance(at(30.0));
    assert!((azimuth_at(&mount, 30.0) - 49.0).abs() < 1e-6);
    assert_eq!(mount.read(Which::Azimuth, at(30.0)), 50.0);
    mount.aim(Some(49.0), None, at(30.0));
    mount.advance(at(60.0));
    assert!((azimuth_at(&mount, 60.0) - 49.0).abs() < 1e-6);
    mount.aim(Some(40.0), None, at(60.0));
    mount.advance(at(90.0));
    assert!((azimuth_at(&mount, 90.0) - 41.0).abs() < 1e-6);
}

#[test]
fn a_stalled_motor_stands_and_goes_on_to_its_aim_afterwards() {
    let mut mount = mount(|_| ());
    mount.aim(Some(100.0), None, at(0.0));
    mount.advance(at(4.0));
    let faults = mount.handles.faults.clone();
    faults.switch_on(Fault::MotorStalled);
    mount.advance(at(4.01));
    mount.advance(at(10.0));
    mount.aim(Some(80.0), None, at(11.0));
    let stuck = azimuth_at(&mount, 4.01);
    assert!((18.0..19.0).contains(&stuck));
    assert!((azimuth_at(&mount, 10.0) - stuck).abs() < 1e-6);
    faults.clear();
    mount.advance(at(12.0));
    mount.advance(at(60.0));
    assert!((azimuth_at(&mount, 12.0) - stuck).abs() < 1e-6);
    assert!((azimuth_at(&mount, 60.0) - 80.0).abs() < 1e-6);
}

#[test]
fn the_read_out_has_steps_and_bounded_noise() {
    let mut mount = mount(|settings| {
        settings.start = AzEl::new(123.456, 0.0);
        settings.resolution = 0.5;
        settings.noise = 1.0;
    });
    let shown: Vec<f64> = (0..200).map(|_| mount.read(Which::Azimuth, at(0.0))).collect();
    assert!(shown.iter().all(|degrees| (degrees * 2.0).fract() == 0.0));
    assert!(shown.iter().all(|degrees| (degrees - 123.456).abs() <= 1.25));
    assert!(shown.iter().any(|degrees| *degrees != shown[0]));
}

#[test]
fn a_knob_turns_the_mount_whatever_it_was_told_and_it_stays_where_the_hand_left_it() {
    let mut mount = mount(|settings| settings.start = AzEl::new(100.0, 0.0));
    mount.aim(Some(200.0), None, at(0.0));
    let faults = mount.handles.faults.clone();
    mount.advance(at(4.0));
    faults.switch_on(Fault::TurnedByHand { deg_s: -2.0 });
    mount.advance(at(4.01));
    mount.aim(Some(300.0), None, at(5.0));
    mount.stop(Which::Azimuth, at(5.5));
    mount.advance(at(14.0));
    faults.clear();
    mount.advance(at(14.01));
    mount.advance(at(30.0));
    // Some 19 degrees out, and nearly 10 s at 2 deg/s back.
    assert!((98.0..101.0).contains(&azimuth_at(&mount, 30.0)), "{}", azimuth_at(&mount, 30.0));
}

#[test]
fn a_read_out_may_jump_or_freeze_while_the_mount_turns_on() {
    let mut mount = mount(|_| ());
    let faults = mount.handles.faults.clone();
    mount.aim(Some(100.0), None, at(0.0));
    mount.advance(at(10.5));
    faults.switch_on(Fault::ReadOutOff { degrees: 90.0 });
    mount.advance(at(10.5));
    // Half a second to speed up, and 10 s at 5 deg/s: 51.25, shown in tenths.
    assert!((mount.read(Which::Azimuth, at(10.5)) - 141.3).abs() < 1e-9);
    faults.switch_off(Fault::ReadOutOff { degrees: 0.0 });
    faults.switch_on(Fault::ReadOutFrozen);
    mount.advance(at(10.5));
    mount.advance(at(60.0));
    assert!((mount.read(Which::Azimuth, at(60.0)) - 51.3).abs() < 1e-9);
    assert!((azimuth_at(&mount, 60.0) - 100.0).abs() < 1e-6);
}

#[test]
fn reversed_motors_turn_away_from_the_aim() {
    let mut mount = mount(|settings| settings.start = AzEl::new(100.0, 0.0));
    mount.handles.faults.switch_on(Fault::MotorsReversed);
    mount.advance(at(0.0));
    mount.aim(Some(120.0), None, at(0.0));
    mount.advance(at(60.0));
    assert!((azimuth_at(&mount, 60.0) - 80.0).abs() < 1e-6);
}
