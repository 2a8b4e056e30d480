//! How a mount gets there: around sectors, from the right side, ahead of its lag.

use beamhand::device::*;
use beamhand::sim::mount::MountSettings;
use beamhand::terms::*;
use std::sync::Arc;

use crate::bench::*;

/// A wall from 150 to 200 degrees, 40 degrees high.
fn wall() -> NoGo {
    NoGo { azimuth: AngleRange::new(150.0, 200.0), elevation: AngleRange::new(-90.0, 40.0) }
}

#[test]
fn a_wall_is_passed_above_on_every_way_and_back() {
    let setup = RotatorSetup { no_go: vec![wall()], ..setup() };
    let mount = mount_of(&setup);
    let mut bench = Bench::new(setup, mount);
    bench.run(1.0);
    for (azimuth, elevation, until) in [(300.0, 10.0, 150.0), (100.0, 0.0, 300.0), (20.0, 0.0, 340.0)] {
        bench.go(azimuth, elevation);
        bench.run(until);
        assert!(bench.antenna().angle_to(AzEl::new(azimuth, elevation)) < 1.0, "{:?}", bench.antenna());
    }
    let positions = bench.handles().record.positions();
    let behind = |at: &AzEl| (150.0..=200.0).contains(&at.azimuth) && at.elevation <= 40.0;
    assert!(positions.len() > 500 && !positions.iter().any(|position| behind(&position.direction)));
    assert!(bench.aims(0.0).len() <= 9, "{:?}", bench.aims(0.0));
}

#[test]
fn an_aim_in_a_sector_is_refused_with_the_reason_and_so_is_one_without_a_way() {
    let high = NoGo { elevation: AngleRange::new(-90.0, 90.0), ..wall() };
    for (no_go, azimuth, says) in [(wall(), 170.0, "in a no-go sector"), (high, 300.0, "there is no way")] {
        let elevation = Some(AngleRange::new(0.0, 90.0));
        let setup = RotatorSetup { no_go: vec![no_go], elevation, ..setup() };
        let mount = mount_of(&setup);
        let mut bench = Bench::new(setup, mount);
        bench.run(1.0);
        bench.go(azimuth, 10.0);
        bench.run(30.0);
        assert!(bench.aims(0.0).is_empty(), "{:?}", bench.aims(0.0));
        assert!(bench.said().contains(says), "{}", bench.said());
    }
}

#[test]
fn play_is_taken_up_from_one_side_whichever_way_the_mount_comes() {
    let approach = Some(Approach { clockwise: true, play: 4.0 });
    for (approach, off) in [(None, 3.0), (approach, 0.3)] {
        let setup = RotatorSetup { approach, ..setup() };
        let mut mount = mount_of(&setup);
        mount.azimuth.backlash = 4.0;
        let mut bench = Bench::new(setup, mount);
        bench.run(1.0);
        // Calibrated where it comes clockwise: the antenna is then half the play behind the motor.
        let mut ends = Vec::new();
        for (azimuth, until) in [(200.0, 40.0), (120.0, 80.0), (150.0, 110.0), (60.0, 150.0)] {
            bench.go(azimuth, 10.0);
            bench.run(until);
            ends.push(bench.antenna().azimuth - (azimuth - 2.0));
        }
        let worst = ends.iter().fold(0.0_f64, |worst, end| worst.max(end.abs()));
        assert_eq!(worst > 1.0, approach.is_none(), "{ends:?}");
        assert!(worst < off + 1.5, "{ends:?}");
    }
}

struct Slide(f64);

impl Plan<AzEl> for Slide {
    fn at(&self, time: Time) -> Option<AzEl> {
        Some(AzEl::new(150.0 + self.0 * seconds_between(at(60.0), time).max(0.0), 30.0))
    }
    fn validity(&self) -> Validity {
        Validity { from: at(60.0), until: at(2000.0) }
    }
    fn generation(&self) -> u64 {
        1
    }
}

#[test]
fn speed_and_lag_are_learnt_and_stated() {
    let setup = RotatorSetup { slew: AzEl::new(2.0, 2.0), ..setup() };
    let mount = MountSettings { thinking_s: 0.1, ..mount_of(&self::setup()) };
    let mut bench = Bench::new(setup, mount);
    bench.run(1.0);
    assert_eq!(bench.view().pace, Pace::default());
    for turn in 0..4_u32 {
        bench.go(if turn % 2 == 0 { 180.0 } else { 100.0 }, if turn % 2 == 0 { 60.0 } else { 10.0 });
        bench.run(bench.now + 30.0);
    }
    let pace = bench.view().pace;
    // The simulated mount really turns 5 and tilts 3 degrees a second.
    assert!((pace.azimuth_deg_s.unwrap() - 5.0).abs() < 0.2, "{pace:?}");
    assert!((pace.elevation_deg_s.unwrap() - 3.0).abs() < 0.2, "{pace:?}");
    assert!(pace.lag_s.is_some_and(|lag| lag <= 1.0), "{pace:?}");
}

#[test]
fn a_satellite_is_followed_with_one_command_a_dead_band() {
    let mut bench = Bench::new(setup(), mount_of(&setup()));
    bench.run(1.0);
    bench.order(RotatorOrder::Follow(Arc::new(Slide(1.0))));
    bench.run(180.0);
    let commands = bench.aims(60.0).len();
    // 120 degrees on the compass are 104 on the sky at 30 degrees of elevation.
    assert!((45..=60).contains(&commands), "{commands}");
    let worst = (700..1800).map(|tenth| {
        let time = at(f64::from(tenth) / 10.0);
        let really = bench.handles().record.position_at(time).unwrap();
        really.angle_to(Slide(1.0).at(time).unwrap())
    });
    let worst = worst.fold(0.0, f64::max);
    assert!(worst < 1.6, "{worst} degrees, half the dead band is 1");
}

#[test]
fn a_mount_is_stopped_when_what_it_is_to_do_next_is_refused() {
    let wall = NoGo { azimuth: AngleRange::new(90.0, 120.0), elevation: AngleRange::new(-90.0, 20.0) };
    let setup = RotatorSetup { no_go: vec![wall], ..setup() };
    let start = MountSettings { start: AzEl::new(150.0, 40.0), ..mount_of(&setup) };
    let mut bench = Bench::new(setup, start);
    bench.run(3.0);
    bench.go(300.0, 60.0);
    bench.run(8.0);
    assert!(bench.antenna().azimuth > 155.0, "{:?}", bench.antenna());
    bench.go(100.0, 5.0);
    bench.run(12.0);
    assert!(!bench.stops(8.0).is_empty() && bench.aims(8.0).is_empty(), "{:?}", bench.sent);
    let stands = bench.antenna();
    assert!(stands.azimuth < 200.0, "{stands:?}");
    bench.run(60.0);
    assert_eq!(bench.antenna(), stands);
    assert!(bench.stops(20.0).is_empty(), "one that stands is told nothing more");
    assert!(bench.said().contains("in a no-go sector"), "{}", bench.said());
}
