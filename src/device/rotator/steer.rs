//! When the motors are worth starting, and where to.

use crate::terms::AzEl;

use super::RotatorSetup;
use super::axes::axes;

/// A plan is not looked at further ahead than this to lead a mount, seconds.
const FARTHEST_LEAD_S: f64 = 5.0;
/// A mount that has to run for long is sent so far ahead at most, and at least, seconds.
const RUNS_AHEAD_S: [f64; 5] = [8.0, 6.0, 4.0, 3.0, 2.0];
/// A mount takes so long to start or to brake, and an answer is so old, seconds.
const REACTS_S: f64 = 1.0;
const READ_AGO_S: f64 = 0.7;
/// A run that is over sooner is none, seconds.
const RUNS_FOR_S: f64 = 6.0;
/// An axis runs if it uses so much of its speed.
const RUNS: f64 = 0.7;
/// A plan is looked through so far for a run that has to begin in time: the longest turn of a slow
/// mount takes as long. Seconds.
const LOOKS_AHEAD_S: f64 = 240.0;
/// A place is ahead if the plan comes by it so soon, seconds; looked at so often.
const COMES_WITHIN_S: f64 = 10.0;
const COMES_STEP_S: f64 = 0.25;
/// How often a mount is looked at that rests for good, seconds.
const LOOKS_AT_RESTS_S: f64 = 1.0;
/// A run may have been begun so much too early, seconds: the longest lag that is learnt.
const EARLY_S: f64 = 2.0;

/// What steering says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Steering {
    /// Turn there now.
    Turn(AzEl),
    /// The plan leads outside the limits.
    Refuse,
    /// Nothing is worth a command for this many seconds of plan time.
    Rest(f64),
}

/// A mount that is led along a plan.
pub(super) struct Led<'a, P: Fn(f64) -> Option<AzEl>> {
    pub(super) setup: &'a RotatorSetup,
    /// How fast it turns and tilts, degrees per second.
    pub(super) slew: AzEl,
    /// Where it was read.
    pub(super) position: AzEl,
    /// Where it should be so many seconds from now.
    pub(super) plan: P,
}

impl<P: Fn(f64) -> Option<AzEl>> Led<'_, P> {
    /// Steers a mount that was last sent to `commanded`. The aim leads by half the dead band, so that
    /// the error is centred on zero; where the plan runs as fast as the mount can, by more, so that it
    /// need not brake before the next command.
    pub(super) fn steer(&self, commanded: Option<AzEl>) -> Steering {
        let (Some(now), Some(soon)) = ((self.plan)(0.0), (self.plan)(1.0)) else {
            return Steering::Rest(1.0);
        };
        let half = self.setup.worthwhile / 2.0;
        let speed = now.angle_to(soon);
        let mut runs = false;
        if let Some(aim) = commanded {
            let off = self.off(aim, now);
            let ahead = off >= half && self.comes_to(aim);
            runs = self.has_to_run(aim);
            if (off < half || ahead) && !runs {
                let until = if ahead { off + half } else { half - off };
                return Steering::Rest((until / speed.max(1e-6)).clamp(0.05, 0.5));
            }
        }
        let mut lead = (half / speed.max(1e-6)).min(FARTHEST_LEAD_S);
        // A plan that sets off meanwhile is not as slow as it looks.
        while lead > 0.5 && (self.plan)(lead).is_some_and(|aim| self.off(aim, now) > 1.5 * half) {
            lead /= 2.0;
        }
        let run = self.run(now).and_then(|aim| self.setup.admit(aim));
        match run.or_else(|| (self.plan)(lead).and_then(|aim| self.setup.admit(aim))) {
            Some(aim) if commanded == Some(aim) => Steering::Rest(0.1),
            Some(aim) if runs && commanded.is_some_and(|last| self.is_beside(last, aim)) => {
                Steering::Rest(0.1)
            }
            Some(aim) => Steering::Turn(aim),
            None => Steering::Refuse,
        }
    }

    /// Steers a mount that was last sent to `commanded` along a plan that says where to rest so many seconds
    /// from now, and after how many seconds from now that changes. `None` where it doesn't go from rest to
    /// rest.
    pub(super) fn rest(
        &self,
        commanded: Option<AzEl>,
        rests: impl Fn(f64) -> Option<(AzEl, Option<f64>)>,
    ) -> Option<Steering> {
        let (place, until) = rests(0.0)?;
        let Some(aim) = self.setup.admit(place) else { return Some(Steering::Refuse) };
        let Some(last) = commanded else { return Some(Steering::Turn(aim)) };
        if self.is_same(last, aim) {
            return Some(Steering::Rest(until.unwrap_or(LOOKS_AT_RESTS_S).clamp(0.02, 1.0)));
        }
        // What was begun when the mount seemed to take longer is soon due, and not taken back.
        let mut next = until;
        while let Some(wait) = next.filter(|wait| *wait <= EARLY_S) {
            let Some((place, until)) = rests(wait + 1e-3) else { break };
            if self.setup.admit(place).is_some_and(|soon| self.is_same(last, soon)) {
                return Some(Steering::Rest(wait.clamp(0.02, 1.0)));
            }
            next = until.filter(|until| *until > wait);
        }
        Some(Steering::Turn(aim))
    }

    /// Whether the controller takes both for the same place.
    fn is_same(&self, a: AzEl, b: AzEl) -> bool {
        let off = axes(a).into_iter().zip(axes(b)).map(|(a, b)| (a - b).abs());
        off.fold(0.0, f64::max) < self.setup.resolution / 2.0
    }

    fn off(&self, a: AzEl, b: AzEl) -> f64 {
        off_by(a, b, self.setup.azimuth_only())
    }

    /// Whether the plan comes by there shortly, in each axis at its own time.
    fn comes_to(&self, place: AzEl) -> bool {
        let steps =
            || (0..=(COMES_WITHIN_S / COMES_STEP_S) as u32).map(|step| f64::from(step) * COMES_STEP_S);
        let places: Vec<AzEl> = steps().map_while(|wait| (self.plan)(wait)).collect();
        (0..2).all(|axis| {
            let near =
                |at: &AzEl| (axes(*at)[axis] - axes(place)[axis]).abs() < 0.6 * self.tolerance(*at)[axis];
            places.iter().any(near)
        })
    }

    /// Whether a mount that waited at `place` could not be back on the plan in time, and does not run
    /// there yet.
    fn has_to_run(&self, place: AzEl) -> bool {
        let mut wait = RUNS_FOR_S;
        while wait < LOOKS_AHEAD_S {
            let Some(at) = (self.plan)(wait) else { return false };
            for axis in 0..2 {
                let to_go = axes(at)[axis] - axes(place)[axis];
                let reach = axes(self.slew)[axis] * (wait - REACTS_S);
                if to_go.abs() > reach + self.tolerance(at)[axis] {
                    let left = (axes(place)[axis] - axes(self.position)[axis]) * to_go.signum();
                    return left < axes(self.slew)[axis] * (REACTS_S + READ_AGO_S);
                }
            }
            wait += (wait / 8.0).max(1.0);
        }
        false
    }

    /// How far each axis may be off where the mount should be at `place`, so that the beam is off by
    /// half the dead band.
    fn tolerance(&self, place: AzEl) -> [f64; 2] {
        let half = self.setup.worthwhile / 2.0;
        if self.setup.azimuth_only() {
            return [half, f64::INFINITY];
        }
        [half / place.elevation.to_radians().cos().abs().max(0.01), half]
    }

    /// Where to send a mount of which an axis runs: as far ahead as it still keeps to the plan at full
    /// speed, the axis that does not run half as far; `None` where none runs.
    fn run(&self, now: AzEl) -> Option<AzEl> {
        RUNS_AHEAD_S.into_iter().find_map(|lead| {
            let (middle, end) = ((self.plan)(lead / 2.0)?, (self.plan)(lead)?);
            let runs = [0, 1]
                .map(|axis| (axes(end)[axis] - axes(now)[axis]).abs() > RUNS * axes(self.slew)[axis] * lead);
            let [azimuth, elevation] = [0, 1].map(|axis| axes(if runs[axis] { end } else { middle })[axis]);
            let aim = AzEl::new(azimuth, elevation);
            (runs[0] || runs[1]).then_some(aim).filter(|aim| self.keeps(now, *aim, lead))
        })
    }

    /// Whether a mount that goes at full speed to `aim` keeps to the plan for so long.
    fn keeps(&self, now: AzEl, aim: AzEl, seconds: f64) -> bool {
        (1..=8).all(|part| {
            let wait = seconds * f64::from(part) / 8.0;
            let gone = |from: f64, to: f64, slew: f64| from + (to - from).clamp(-slew * wait, slew * wait);
            let place = AzEl::new(
                gone(now.azimuth, aim.azimuth, self.slew.azimuth),
                gone(now.elevation, aim.elevation, self.slew.elevation),
            );
            (self.plan)(wait).is_some_and(|at| self.off(place, at) <= self.setup.worthwhile / 2.0)
        })
    }

    /// Whether neither axis would go on by what is worth a command.
    fn is_beside(&self, last: AzEl, aim: AzEl) -> bool {
        axes(last)
            .into_iter()
            .zip(axes(aim))
            .all(|(last, aim)| (aim - last).abs() < self.setup.worthwhile / 2.0)
    }
}

/// How far apart two aims are, degrees: on the sky, or along the compass where only the azimuth
/// turns.
pub(super) fn off_by(a: AzEl, b: AzEl, azimuth_only: bool) -> f64 {
    if azimuth_only { (a.azimuth - b.azimuth).abs() } else { a.angle_to(b) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::rotator::setup::tests::setup;

    fn steer(position: AzEl, commanded: Option<AzEl>, plan: impl Fn(f64) -> Option<AzEl>) -> Steering {
        let setup = setup();
        Led { setup: &setup, slew: setup.slew, position, plan }.steer(commanded)
    }

    /// Beside the zenith half a turn is 5 degrees on the sky, and a mount that waited for them to be due
    /// would be late: it is kept running, and with few commands.
    #[test]
    fn a_plan_that_runs_at_the_mounts_own_speed_is_kept_up_with() {
        let plan = |t: f64| {
            let run = (t - 20.0).clamp(0.0, 36.0);
            AzEl::new(100.0 + 5.0 * run, 87.5 - 30.0 * (run / 36.0))
        };
        let (mut commanded, mut place, mut worst, mut commands) = (None::<AzEl>, plan(0.0), 0.0_f64, 0);
        for tick in 0..7000 {
            let now = f64::from(tick) * 0.01;
            if let Steering::Turn(aim) = steer(place, commanded, |wait| Some(plan(now + wait))) {
                commanded = Some(aim);
                commands += 1;
            }
            let Some(aim) = commanded else { continue };
            let turned = (aim.azimuth - place.azimuth).clamp(-0.05, 0.05);
            let tilted = (aim.elevation - place.elevation).clamp(-0.03, 0.03);
            place = AzEl::new(place.azimuth + turned, place.elevation + tilted);
            worst = worst.max(place.angle_to(plan(now)));
        }
        assert!(worst < 1.5, "{worst} degrees");
        assert!(commands < 40, "{commands} commands");
    }

    /// Follows 60 s of a slide of `rate` deg/s along the horizon with a mount that is there at
    /// once; returns the largest error and the number of commands.
    fn follow(rate: f64) -> (f64, usize) {
        let (mut commanded, mut worst, mut commands) = (None::<AzEl>, 0.0_f64, 0);
        for tick in 0..6000 {
            let now = f64::from(tick) * 0.01;
            let place = |t: f64| AzEl::new(300.0 + rate * t, 0.0);
            let position = commanded.unwrap_or(place(0.0));
            if let Steering::Turn(aim) = steer(position, commanded, |wait| Some(place(now + wait))) {
                commanded = Some(aim);
                commands += 1;
            }
            worst = worst.max(commanded.map_or(0.0, |aim| aim.angle_to(place(now))));
        }
        (worst, commands)
    }

    #[test]
    fn the_beam_stays_within_half_the_dead_band_at_one_command_a_dead_band() {
        for rate in [0.1, 1.0, -4.0] {
            let (worst, commands) = follow(rate);
            let needed = (60.0 * rate.abs() / 2.0).ceil() as usize + 1;
            assert!(worst <= 1.0 + 0.11, "{worst} deg at {rate} deg/s");
            assert!(commands <= needed + 1, "{commands} commands at {rate} deg/s, {needed} needed");
        }
    }

    /// It seemed to take half a second to start, was sent on so early, and is found to take a tenth.
    #[test]
    fn a_run_that_was_begun_early_is_not_taken_back() {
        let (before, then, after) = (AzEl::new(100.0, 20.0), AzEl::new(106.0, 20.0), AzEl::new(106.0, 25.0));
        let rests = |wait: f64| match wait {
            wait if wait < 0.4 => Some((before, Some(0.4))),
            wait if wait < 0.5 => Some((then, Some(0.5))),
            _ => Some((after, None)),
        };
        let setup = setup();
        let led = Led { setup: &setup, slew: setup.slew, position: before, plan: |_| None };
        for begun in [then, after] {
            let steering = led.rest(Some(begun), rests);
            assert!(matches!(steering, Some(Steering::Rest(_))), "{begun:?}: {steering:?}");
        }
        assert_eq!(led.rest(Some(AzEl::new(90.0, 20.0)), rests), Some(Steering::Turn(before)));
        assert_eq!(led.rest(None, rests), Some(Steering::Turn(before)));
        assert_eq!(led.rest(Some(before), |_| None), None);
    }

    #[test]
    fn an_aim_beyond_the_limits_is_refused() {
        let beyond = |_| Some(AzEl::new(500.0, 10.0));
        assert_eq!(steer(AzEl::ZERO, None, beyond), Steering::Refuse);
        assert!(matches!(steer(AzEl::ZERO, None, |_| None), Steering::Rest(_)));
    }
}
