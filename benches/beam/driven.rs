//! The plan as it is driven: the player on its line, over a modelled wire, against a simulated mount
//! with motors that speed up and brake.

use std::sync::Arc;

use beamhand::beam::{Aim, Mount};
use beamhand::device::{RotatorOrder, RotatorSetup};
use beamhand::sim::Record;
use beamhand::sim::mount::MountSettings;
use beamhand::terms::{AzEl, Generation, Plan, Time, Validity, later, seconds_between};

use crate::passes::Flight;
use crate::wired::{Bench, at, mount_of, setup};

/// The default, degrees.
pub(crate) const DEAD_BAND: f64 = 2.0;
/// The mount is sent off so long before AOS: enough for its whole travel. Seconds.
const BEFORE_S: f64 = 260.0;
/// How quickly its motors speed up, degrees per second squared.
pub(crate) const ACCELERATION: f64 = 10.0;
/// How often it is looked at, seconds.
const LOOK_S: f64 = 0.1;

/// What came of it.
pub(crate) struct Driven {
    /// The largest error against the satellite, degrees.
    pub(crate) worst: f64,
    /// The mean one.
    pub(crate) mean: f64,
    /// The largest distance from the plan, degrees on the sky.
    pub(crate) off_plan: f64,
    /// How often an axis that stood began to move.
    pub(crate) starts: u32,
}

/// How much farther than it must the beam may be off in quiet motion, degrees.
pub(crate) fn quiet(beam_width: f64) -> f64 {
    0.09 * beam_width
}

/// The plan on the bench's clock.
struct Shifted {
    aim: Aim,
    from: Time,
}

impl Plan<AzEl> for Shifted {
    fn at(&self, time: Time) -> Option<AzEl> {
        self.aim.at(later(self.from, seconds_between(at(BEFORE_S), time)))
    }
    fn rests_at(&self, time: Time) -> Option<(AzEl, Option<Time>)> {
        let since = seconds_between(at(BEFORE_S), time);
        let (place, until) = self.aim.rests_at(later(self.from, since))?;
        Some((place, until.map(|until| later(at(BEFORE_S), seconds_between(self.from, until)))))
    }
    fn validity(&self) -> Validity {
        self.aim.validity()
    }
    fn generation(&self) -> Generation {
        1
    }
}

/// Drives a pass, from where the mount rests on.
pub(crate) fn drive(mount: &Mount, flight: &Flight, aim: &Aim) -> Driven {
    let setup = RotatorSetup {
        azimuth: mount.azimuth,
        elevation: mount.elevation,
        slew: mount.slew,
        acceleration: mount.acceleration,
        dead_band: DEAD_BAND,
        worthwhile: DEAD_BAND,
        ..setup()
    };
    let mut settings = MountSettings { start: mount.park, ..mount_of(&setup) };
    settings.azimuth.limits.acceleration = mount.acceleration.azimuth;
    settings.elevation.limits.acceleration = mount.acceleration.elevation;
    let mut bench = Bench::new(setup, settings);
    bench.run(2.0);
    bench.order(RotatorOrder::Follow(Arc::new(Shifted { aim: aim.clone(), from: flight.span.from })));
    let seconds = seconds_between(flight.span.from, flight.span.until);
    bench.run(BEFORE_S + seconds);
    bench.antenna();
    tell(&bench.handles().record, aim, flight, |after| at(BEFORE_S + after))
}

/// What a mount's record tells of the pass, whose seconds the record calls so.
pub(crate) fn tell(record: &Record, aim: &Aim, flight: &Flight, called: impl Fn(f64) -> Time) -> Driven {
    let seconds = seconds_between(flight.span.from, flight.span.until);
    let (mut worst, mut sum, mut off_plan, mut starts) = (0.0_f64, 0.0, 0.0_f64, 0);
    let (mut last, mut moved) = (record.position_at(called(0.0)).unwrap(), [false; 2]);
    let count = (seconds / LOOK_S) as u32;
    for index in 0..=count {
        let after = f64::from(index) * LOOK_S;
        let time = later(flight.span.from, after);
        let place = record.position_at(called(after)).unwrap();
        let error = place.angle_to(flight.track.at(time).unwrap().direction());
        worst = worst.max(error);
        sum += error;
        off_plan = off_plan.max(place.angle_to(aim.at(time).unwrap()));
        let by = [place.azimuth - last.azimuth, place.elevation - last.elevation];
        for axis in 0..2 {
            let moves = by[axis].abs() > 1e-6;
            starts += u32::from(moves && !moved[axis]);
            moved[axis] = moves;
        }
        last = place;
    }
    Driven { worst, mean: sum / f64::from(count + 1), off_plan, starts }
}
