//! How well a pass was played, heard from the far end: the equipment's own record against the
//! plan. Pure.

use crate::beam::Mount;
use crate::device::{Correction, LinePlan};
use crate::sim::Record;
use crate::sky::Track;
use crate::terms::{AzEl, Channel, Direction, Hertz, Plan, Time, Validity, later, seconds_between};

/// Seconds of plan time between two looks at the record.
const SAMPLE_S: f64 = 0.05;

/// The least error that a line allows: `half a step + rate x longest wait / 2`, or the worthwhile
/// change where that is larger.
#[derive(Debug, Clone, PartialEq)]
pub struct Floor {
    /// The dial's step.
    pub step: Hertz,
    /// From true frequencies to the dial's scale, on which the steps are.
    pub correction: Correction,
    /// Steps that the language can't say, in order: a dial stands on the one before or behind, so
    /// the step is twice as large there. (Of the five-byte languages two in a hundred: with one
    /// byte too many on the wire they would key.)
    pub unsayable: Vec<Hertz>,
    /// The change that is worth a command.
    pub worthwhile: Hertz,
    /// The time between two tuning commands of one direction when the line is busy with all that
    /// the session needs, seconds of plan time.
    pub wait_s: f64,
}

impl Floor {
    /// The floor where truly `hertz` is wanted and slides by `rate` Hz/s.
    pub fn at(&self, hertz: f64, rate: f64) -> f64 {
        let floor = self.half_step(hertz) + rate.abs() * self.wait_s / 2.0;
        // A worthwhile change of one step is what the half step already counts.
        if self.worthwhile > self.step { floor.max(self.worthwhile.as_f64()) } else { floor }
    }

    /// Half the distance between the two sayable steps around `hertz`.
    fn half_step(&self, hertz: f64) -> f64 {
        let step = self.step.max(Hertz(1));
        let shown = hertz * (1.0 + self.correction.ppm * 1e-6) + self.correction.hz.as_f64();
        let steps_below = (shown / step.as_f64()).floor();
        let mut below = Hertz::rounded(steps_below * step.as_f64());
        let mut above = below + step;
        while self.unsayable.binary_search(&below).is_ok() {
            below = below - step;
        }
        while self.unsayable.binary_search(&above).is_ok() {
            above = above + step;
        }
        (above - below).as_f64() / 2.0
    }
}

/// One dial's errors against its plan, hertz.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct DialScore {
    /// The largest floor of the pass.
    pub floor: f64,
    /// The largest error.
    pub max: f64,
    /// 95 % of the instants were no worse.
    pub p95: f64,
    /// Root mean square.
    pub rms: f64,
    /// Share of instants whose error was within 1.2 times the floor of that instant.
    pub within: f64,
}

/// Compares one direction of a radio's record with the plan over `span`, from the first command
/// that landed on. `None` where nothing was tuned.
pub fn score_dial(
    record: &Record,
    plan: &dyn Plan<Channel>,
    direction: Direction,
    span: Validity,
    floor: &Floor,
) -> Option<DialScore> {
    let wanted = |time| Some(plan.at(time)?.dial(direction)?.hertz.as_f64());
    let at_dial = |time| match direction {
        Direction::Receive => record.receive_at(time),
        Direction::Transmit => record.transmit_at(time),
    };
    let (mut errors, mut within, mut largest_floor) = (Vec::new(), 0_usize, 0.0_f64);
    for time in instants(span) {
        let (Some(wanted_now), Some(wanted_soon), Some(dial)) =
            (wanted(time), wanted(later(time, 1.0)), at_dial(time))
        else {
            continue;
        };
        let error = (dial.as_f64() - wanted_now).abs();
        let floor = floor.at(wanted_now, wanted_soon - wanted_now);
        largest_floor = largest_floor.max(floor);
        within += usize::from(error <= 1.2 * floor);
        errors.push(error);
    }
    let share = within as f64 / errors.len().max(1) as f64;
    let [max, p95, rms] = spread(errors)?;
    Some(DialScore { floor: largest_floor, max, p95, rms, within: share })
}

/// A beam's errors against the satellite, degrees on the sky.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct BeamScore {
    /// Half the dead band and half the resolution: the least that is asked of the mount.
    pub floor: f64,
    /// The largest error.
    pub max: f64,
    /// 95 % of the instants were no worse.
    pub p95: f64,
    /// Root mean square.
    pub rms: f64,
    /// Share of the instants at which the mount's speed allows it, that had the satellite within
    /// a quarter of the beam's width.
    pub within: f64,
}

/// Compares a mount's record with the satellite over `span`. One that only turns is taken to be
/// as high as the satellite. `speed` is the slew rate of each
/// axis, degrees a second. `offset` is what the mount's true figures are beyond its controller's.
pub fn score_beam(
    record: &Record,
    track: &Track,
    mount: &Mount,
    speed: AzEl,
    offset: AzEl,
    floor: f64,
    span: Validity,
) -> Option<BeamScore> {
    let (mut errors, mut within, mut possible) = (Vec::new(), 0_usize, 0_usize);
    for time in instants(span) {
        let (Ok(look), Some(position)) = (track.at(time), record.position_at(time)) else { continue };
        let place = AzEl::new(position.azimuth + offset.azimuth, position.elevation + offset.elevation);
        let error = mount.error(place, look.direction());
        if is_slow_enough(track, time, speed, mount.elevation.is_some()) {
            possible += 1;
            within += usize::from(error <= mount.beam_width / 4.0);
        }
        errors.push(error);
    }
    let [max, p95, rms] = spread(errors)?;
    Some(BeamScore { floor, max, p95, rms, within: within as f64 / possible.max(1) as f64 })
}

/// Whether the satellite moves no faster than the mount can, over the seconds around `time`.
fn is_slow_enough(track: &Track, time: Time, speed: AzEl, tilts: bool) -> bool {
    let (Ok(before), Ok(after)) = (track.at(later(time, -0.5)), track.at(later(time, 0.5))) else {
        return false;
    };
    let turn = (after.azimuth_deg - before.azimuth_deg).rem_euclid(360.0);
    let tilt = (after.elevation_deg - before.elevation_deg).abs();
    turn.min(360.0 - turn) <= speed.azimuth && (!tilts || tilt <= speed.elevation)
}

/// How long the commands of one round keep a line busy, seconds of plan time: what separates two
/// commands of one direction at the worst. `rounds` are the bytes of a command and of its answer.
pub fn busy_wait(plan: &LinePlan, rounds: &[(usize, usize)], thinking_s: f64) -> f64 {
    let byte_s = plan.byte_time().as_secs_f64() * plan.speed;
    let one = |(sent, answered): &(usize, usize)| {
        let thinking = if *answered > 0 { thinking_s } else { 0.0 };
        (sent + answered) as f64 * byte_s + thinking
    };
    rounds.iter().map(one).sum()
}

fn instants(span: Validity) -> impl Iterator<Item = Time> {
    let count = (seconds_between(span.from, span.until) / SAMPLE_S).max(0.0) as u32;
    (0..count).map(move |index| later(span.from, f64::from(index) * SAMPLE_S))
}

/// Largest, 95th percentile and root mean square.
fn spread(mut errors: Vec<f64>) -> Option<[f64; 3]> {
    errors.sort_by(f64::total_cmp);
    let max = *errors.last()?;
    let p95 = errors[((errors.len() - 1) as f64 * 0.95).round() as usize];
    let rms = (errors.iter().map(|error| error * error).sum::<f64>() / errors.len() as f64).sqrt();
    Some([max, p95, rms])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn still() -> Floor {
        let (correction, unsayable) = (Correction::default(), Vec::new());
        Floor { step: Hertz(10), correction, unsayable, worthwhile: Hertz(10), wait_s: 0.0 }
    }

    #[test]
    fn the_floor_is_half_a_step_and_half_a_wait_or_the_worthwhile_change() {
        let fine = Floor { wait_s: 0.03, ..still() };
        assert!((fine.at(145_950_003.0, -150.0) - 7.25).abs() < 1e-12);
        let coarse = Floor { worthwhile: Hertz(500), ..fine };
        assert!((coarse.at(145_950_003.0, 150.0) - 500.0).abs() < 1e-12);
    }

    #[test]
    fn where_a_step_cannot_be_said_the_next_one_has_to_do() {
        let unsayable = vec![Hertz(145_950_080), Hertz(145_950_880), Hertz(145_950_890)];
        let floor = Floor { step: Hertz(10), unsayable, ..still() };
        let at = |hertz| floor.at(hertz, 150.0);
        assert_eq!((at(145_950_069.0), at(145_950_071.0)), (5.0, 10.0));
        assert_eq!((at(145_950_080.0), at(145_950_089.0), at(145_950_091.0)), (10.0, 10.0, 5.0));
        assert_eq!(at(145_950_885.0), 15.0);
    }

    #[test]
    fn what_can_not_be_said_is_on_the_dials_scale() {
        let correction = Correction { ppm: 0.0, hz: Hertz(700) };
        let floor = Floor { correction, unsayable: vec![Hertz(145_950_080)], ..still() };
        assert_eq!((floor.at(145_950_071.0, 0.0), floor.at(145_949_371.0, 0.0)), (5.0, 10.0));
    }

    #[test]
    fn the_spread_of_known_errors_is_known() {
        let [max, p95, rms] = spread((0..=100).map(f64::from).collect()).unwrap();
        assert_eq!((max, p95), (100.0, 95.0));
        assert!((rms - 57.879).abs() < 0.001, "{rms}");
        assert!(spread(Vec::new()).is_none());
    }
}
