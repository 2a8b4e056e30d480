//! How fast a mount really is, and how long it takes to start: learnt from its read-back. Times
//! are seconds of plan time.

use std::collections::VecDeque;

use serde::{Deserialize, Serialize};

use crate::terms::AzEl;

use super::RotatorSetup;
use super::axes::axes;
use crate::device::status::Pace;

/// So many runs are remembered; their median counts, so that a wrong one is outvoted.
const REMEMBERED: usize = 5;
/// A run is judged when it lasted so long, and went so far.
const RUN: (f64, f64) = (2.0, 5.0);
/// A run ends so long before the aim: the mount brakes there, degrees.
const BRAKES_WITHIN: f64 = 5.0;
/// A start that seems so much too early is one at once, seconds: readings are not told to the moment.
const EARLY_S: f64 = 0.3;
/// A learnt speed lies within so many times the one that the mount is said to have, and above and
/// below what any rotator does, degrees per second.
const TIMES: f64 = 5.0;
const SPEEDS: (f64, f64) = (0.1, 60.0);
/// No mount takes longer to start; what takes longer is something else.
const LONGEST_LAG_S: f64 = 2.0;

#[derive(Debug, Clone, Default, Serialize, Deserialize)]
struct Median(VecDeque<f64>);

impl Median {
    fn add(&mut self, value: f64) {
        self.0.push_back(value);
        if self.0.len() > REMEMBERED {
            self.0.pop_front();
        }
    }

    fn value(&self) -> Option<f64> {
        let mut sorted: Vec<f64> = self.0.iter().copied().collect();
        sorted.sort_by(f64::total_cmp);
        sorted.get(sorted.len() / 2).copied()
    }
}

#[derive(Debug, Clone, Default, Serialize, Deserialize)]
struct AxisPace {
    speed: Median,
    /// When and where the run began that is in progress, and which way it goes.
    run: Option<(f64, f64, f64)>,
    /// The run's speed so far.
    running: Option<f64>,
    /// When it was sent away from where it stood, and where that was.
    start: Option<(f64, f64)>,
    /// Whether the last two readings were the same.
    still: bool,
}

/// Learns from the readings of one mount.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub(super) struct Learner {
    axes: [AxisPace; 2],
    lag: Median,
    /// The lag without what a motor loses by speeding up.
    reacts: Median,
    last: Option<(f64, AzEl)>,
}

impl Learner {
    /// What is known by now.
    pub(super) fn pace(&self) -> Pace {
        let [azimuth, elevation] = [0, 1].map(|axis| self.axes[axis].speed.value());
        Pace { azimuth_deg_s: azimuth, elevation_deg_s: elevation, lag_s: self.lag.value() }
    }

    /// How far ahead of the moment a command has to look, seconds.
    pub(super) fn lag(&self) -> f64 {
        self.lag.value().unwrap_or(0.0)
    }

    /// How long a command takes until a motor sets off, seconds: what a plan has to be looked ahead by that
    /// counts the speeding up itself.
    pub(super) fn reacts(&self) -> f64 {
        self.reacts.value().unwrap_or(0.0)
    }

    /// How fast it turns and tilts, where it was seen; else as it is said to.
    pub(super) fn slew(&self, said: AzEl) -> AzEl {
        let Pace { azimuth_deg_s, elevation_deg_s, .. } = self.pace();
        AzEl::new(azimuth_deg_s.unwrap_or(said.azimuth), elevation_deg_s.unwrap_or(said.elevation))
    }

    /// It was sent to `aim`.
    pub(super) fn sent(&mut self, aim: AzEl, t: f64) {
        let Some((_, at)) = self.last else { return };
        for ((axis, aim), at) in self.axes.iter_mut().zip(axes(aim)).zip(axes(at)) {
            let far = (aim - at).abs() > 2.0 * BRAKES_WITHIN;
            axis.start = (axis.still && far && axis.start.is_none()).then_some((t, at)).or(axis.start);
        }
    }

    /// Whatever it was doing is void.
    pub(super) fn over(&mut self) {
        for axis in &mut self.axes {
            axis.end_run();
            axis.start = None;
        }
    }

    /// Another controller may be on the line.
    pub(super) fn forget(&mut self) {
        *self = Self::default();
    }

    /// It was read at `position`, on its way to `aim`.
    pub(super) fn read(&mut self, position: AzEl, aim: Option<AzEl>, setup: &RotatorSetup, t: f64) {
        let Some((then, last)) = self.last.replace((t, position)) else { return };
        let resolution = setup.resolution;
        for index in 0..2 {
            let [at, last, slew, acceleration] =
                [position, last, setup.slew, setup.acceleration].map(|place| axes(place)[index]);
            let axis = &mut self.axes[index];
            let left = aim.map_or(0.0, |aim| axes(aim)[index] - at);
            axis.still = (at - last).abs() < resolution / 2.0;
            axis.start = axis.start.filter(|(_, from)| !axis.still || (at - from).abs() < BRAKES_WITHIN);
            axis.follow_run(at, last, left, then, t, slew);
            if let Some((lag, speed)) = axis.started() {
                self.lag.add(lag.min(LONGEST_LAG_S));
                self.reacts.add((lag - speed / acceleration / 2.0).clamp(0.0, LONGEST_LAG_S));
            }
        }
    }
}

impl AxisPace {
    /// A run lasts while the axis turns towards an aim that is still far.
    fn follow_run(&mut self, at: f64, last: f64, left: f64, then: f64, t: f64, slew: f64) {
        let way = (at - last).signum();
        let runs = at != last && left * way > BRAKES_WITHIN;
        match self.run {
            Some((since, from, before)) if runs && before == way => {
                if t - since >= RUN.0 && (at - from).abs() >= RUN.1 {
                    let speed = (at - from).abs() / (t - since);
                    let most = (slew * TIMES).min(SPEEDS.1);
                    self.running = Some(speed.clamp((slew / TIMES).max(SPEEDS.0), most));
                }
            }
            // The first interval is not counted: it holds the start.
            _ if runs && t > then => {
                self.end_run();
                self.run = Some((t, at, way));
            }
            _ => self.end_run(),
        }
    }

    /// How long after it was sent it started, once its run has shown how fast it is: the run is traced back
    /// to where it stood, as if it had been at full speed at once. At the speed that the mount is said to
    /// have a slow one would seem to start late. The speed comes with it.
    fn started(&mut self) -> Option<(f64, f64)> {
        let ((since, at, _), speed) = (self.run?, self.running?);
        let (sent, from) = self.start.take()?;
        let lag = since - (at - from).abs() / speed - sent;
        (lag >= -EARLY_S).then_some((lag.max(0.0), speed))
    }

    /// A run that was too short to be judged says nothing of when it started, and nor does the next one.
    fn end_run(&mut self) {
        if self.run.take().is_some() {
            self.start = None;
        }
        if let Some(speed) = self.running.take() {
            self.speed.add(speed);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::rotator::setup::tests::setup;

    /// A mount that starts `lag` seconds after it was sent from 0 to `to` and back, at `speed`, read
    /// each half second in steps of 0.1 degrees; the setup says 5 deg/s.
    fn drive(learner: &mut Learner, speed: f64, lag: f64, times: usize) {
        let mut t = 0.0;
        for time in 0..times {
            let (from, to) = if time % 2 == 0 { (0.0, 90.0) } else { (90.0, 0.0) };
            (0..2).for_each(|_| {
                t += 0.5;
                learner.read(AzEl::new(from, 0.0), None, &setup(), t);
            });
            let sent = t + 0.1;
            learner.sent(AzEl::new(to, 0.0), sent);
            loop {
                t += 0.5;
                let went = ((t - sent - lag).max(0.0) * speed).min(90.0);
                let at = from + (to - from).signum() * (went * 10.0).round() / 10.0;
                learner.read(AzEl::new(at, 0.0), Some(AzEl::new(to, 0.0)), &setup(), t);
                if went >= 90.0 {
                    break;
                }
            }
            learner.over();
        }
    }

    #[test]
    fn speed_and_lag_are_learnt_from_a_few_turns() {
        for (speed, lag) in [(2.0, 0.0), (3.0, 0.4), (6.0, 0.8), (10.0, 0.2)] {
            let mut learner = Learner::default();
            drive(&mut learner, speed, lag, 4);
            let pace = learner.pace();
            assert!((pace.azimuth_deg_s.unwrap() - speed).abs() < 0.1, "{pace:?}");
            assert!((pace.lag_s.unwrap() - lag).abs() < 0.2, "{pace:?} of {lag}");
            assert_eq!(pace.elevation_deg_s, None, "it did not tilt");
        }
    }

    /// Nobody had measured the mount, and its first start seemed to take 1.5 s longer than it did.
    #[test]
    fn the_lag_of_a_mount_that_is_slower_than_it_is_said_to_be_is_not_too_long() {
        for (speed, lag) in [(1.0, 0.0), (1.5, 0.3), (2.0, 0.6), (12.0, 0.4)] {
            let mut learner = Learner::default();
            drive(&mut learner, speed, lag, 1);
            let found = learner.pace().lag_s.unwrap();
            assert!((found - lag).abs() < 0.2, "{found} of {lag} s at {speed} deg/s");
        }
    }

    /// Short runs at rest between them, as in quiet motion: what they were sent at is no start of the long one.
    #[test]
    fn a_run_too_short_to_be_judged_is_not_taken_for_the_start_of_the_next() {
        for short in [8.0, 11.0, 14.0] {
            let mut learner = Learner::default();
            let (mut t, mut from, lag) = (0.0, 0.0, 0.4);
            for way in [short, short, 60.0, short, 60.0, short, 60.0] {
                (0..20).for_each(|_| {
                    t += 0.5;
                    learner.read(AzEl::new(from, 0.0), None, &setup(), t);
                });
                let (sent, to) = (t + 0.1, from + way);
                learner.sent(AzEl::new(to, 0.0), sent);
                while t < sent + lag + way / 6.0 {
                    t += 0.5;
                    let at = from + ((t - sent - lag).max(0.0) * 6.0).min(way);
                    learner.read(AzEl::new(at, 0.0), Some(AzEl::new(to, 0.0)), &setup(), t);
                }
                from = to;
            }
            let learnt = learner.lag();
            assert!((learnt - lag).abs() < 0.2, "{learnt} after runs of {short} degrees");
        }
    }

    /// By hand: 3 deg/s at 6 deg/s each second takes half a second and 0.75 degrees, half of what full speed is.
    #[test]
    fn what_speeding_up_takes_is_in_the_lag_and_not_in_the_reaction() {
        let setup = RotatorSetup { acceleration: AzEl::new(6.0, 6.0), ..setup() };
        let went = |t: f64| if t < 0.5 { 3.0 * t.max(0.0).powi(2) } else { 0.75 + 3.0 * (t - 0.5) };
        let mut learner = Learner::default();
        for half in 0..30 {
            let t = f64::from(half) / 2.0;
            let at = (went(t - 1.0 - 0.4) * 10.0).round() / 10.0;
            learner.read(AzEl::new(at, 0.0), Some(AzEl::new(90.0, 0.0)), &setup, t);
            if half == 2 {
                learner.sent(AzEl::new(90.0, 0.0), t);
            }
        }
        let (lag, reacts) = (learner.lag(), learner.reacts());
        assert!((lag - (0.4 + 0.25)).abs() < 0.1 && (reacts - 0.4).abs() < 0.1, "{lag} {reacts}");
    }

    #[test]
    fn an_axis_that_turns_beside_the_zenith_does_not_seem_to_stand() {
        let mut learner = Learner::default();
        for half in 0..20 {
            let t = f64::from(half) / 2.0;
            let turning = AzEl::new(100.0 + 2.5 * f64::from(half), 89.9);
            learner.read(turning, Some(AzEl::new(300.0, 89.9)), &setup(), t);
            learner.sent(AzEl::new(300.0, 89.9), t + 0.1);
        }
        assert_eq!(learner.pace().lag_s, None, "it was under way when it was told");
    }

    #[test]
    fn what_is_learnt_is_bounded_and_one_wrong_run_is_outvoted() {
        let mut learner = Learner::default();
        drive(&mut learner, 3.0, 0.3, 4);
        drive(&mut learner, 50.0, 0.0, 1);
        assert!((learner.pace().azimuth_deg_s.unwrap() - 3.0).abs() < 0.1);
        let mut learner = Learner::default();
        drive(&mut learner, 40.0, 0.0, 3);
        let speed = learner.pace().azimuth_deg_s;
        assert!(speed.is_none_or(|speed| speed <= 25.0), "{speed:?}: five times what was said");
    }
}
