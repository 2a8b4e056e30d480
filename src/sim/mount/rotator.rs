//! The mount itself, whatever its language: two motors, gears with play, and a read-out.

use super::motion::{Limits, Motion};
use crate::sim::chance::Chance;
use crate::sim::{Fault, Handles, Violation};
use crate::terms::{AzEl, Time, later, seconds_between};

/// Plan time between two samples of a turning mount, seconds.
const SAMPLE_S: f64 = 0.1;

/// One axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisSettings {
    /// Lower end stop, degrees.
    pub from: f64,
    /// Upper end stop, degrees.
    pub to: f64,
    /// The motor.
    pub limits: Limits,
    /// Play between motor and antenna, degrees; the read-out sits on the motor's side.
    pub backlash: f64,
}

/// How a simulated mount is made.
#[derive(Debug, Clone, PartialEq)]
pub struct MountSettings {
    /// The lower motor.
    pub azimuth: AxisSettings,
    /// The upper motor; see `azimuth_only`.
    pub elevation: AxisSettings,
    /// The upper motor is not there, and its controller knows no words for it.
    pub azimuth_only: bool,
    /// Where it stands at the start, in its own coordinates.
    pub start: AzEl,
    /// Smallest difference that the read-out shows, degrees.
    pub resolution: f64,
    /// Largest error of the read-out beyond that, degrees.
    pub noise: f64,
    /// Seed of that noise.
    pub seed: u64,
    /// Seconds between the end of a question and the start of its answer.
    pub thinking_s: f64,
}

impl Default for MountSettings {
    /// 0 to 450 and 0 to 180 degrees, 5 degrees a second in azimuth, 3 in elevation.
    fn default() -> Self {
        let axis = |to, rate| AxisSettings {
            from: 0.0,
            to,
            limits: Limits { rate, acceleration: 10.0 },
            backlash: 0.0,
        };
        Self {
            azimuth: axis(450.0, 5.0),
            elevation: axis(180.0, 3.0),
            azimuth_only: false,
            start: AzEl::ZERO,
            resolution: 0.1,
            noise: 0.0,
            seed: 1,
            thinking_s: 0.020,
        }
    }
}

/// The two motors and what hangs on them.
pub(super) struct Rotator {
    pub(super) handles: Handles,
    pub(super) thinking_s: f64,
    pub(super) azimuth_only: bool,
    axes: [Axis; 2],
    resolution: f64,
    noise: f64,
    chance: Chance,
    reached: Option<Time>,
    sampled: Option<Time>,
}

/// An axis of the mount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Which {
    Azimuth,
    Elevation,
}

struct Axis {
    settings: AxisSettings,
    motion: Motion,
    /// When `motion` began; `None` while the mount was never moved.
    began: Option<Time>,
    /// As commanded; the end stops are not in it.
    aim: f64,
    /// Where the antenna is, somewhere in the play.
    antenna: f64,
    stalled: bool,
    reversed: bool,
    /// The knob is turned, at this speed.
    by_hand: Option<f64>,
    /// What the read-out goes on showing.
    frozen: Option<f64>,
}

impl Axis {
    fn new(settings: AxisSettings, start: f64) -> Self {
        let motion = Motion::rest(start);
        Self {
            settings,
            motion,
            began: None,
            aim: start,
            antenna: start,
            stalled: false,
            reversed: false,
            by_hand: None,
            frozen: None,
        }
    }

    /// The motor's position and speed.
    fn motor(&self, at: Time) -> (f64, f64) {
        self.motion.at(self.began.map_or(0.0, |began| seconds_between(began, at)))
    }

    fn turns_until(&self) -> Option<Time> {
        self.began.map(|began| later(began, self.motion.seconds()))
    }

    fn go(&mut self, aim: f64, at: Time) {
        if self.by_hand.is_some() {
            return;
        }
        let (position, speed) = self.motor(at);
        self.aim = aim;
        let turned = if self.reversed { 2.0 * position - aim } else { aim };
        let target = turned.clamp(self.settings.from, self.settings.to);
        self.begin(Motion::to(target, position, speed, self.settings.limits), at);
    }

    /// A stop stops no hand.
    fn stop(&mut self, at: Time) {
        if self.by_hand.is_some() {
            return;
        }
        self.brake(at);
    }

    fn brake(&mut self, at: Time) {
        let (position, speed) = self.motor(at);
        self.begin(Motion::stop(position, speed, self.settings.limits), at);
        self.aim = self.motion.at(self.motion.seconds()).0;
    }

    /// A motor without power stands at once, and takes up its way again when power is back.
    fn stall(&mut self, stalled: bool, at: Time) {
        if stalled && !self.stalled {
            let (position, _) = self.motor(at);
            self.begin(Motion::rest(position), at);
        } else if self.stalled && !stalled {
            self.stalled = false;
            self.go(self.aim, at);
        }
        self.stalled = stalled;
    }

    /// The knob drives the motor towards an end stop until it is let go.
    fn turn_by_hand(&mut self, deg_s: Option<f64>, at: Time) {
        if deg_s == self.by_hand {
            return;
        }
        self.by_hand = deg_s;
        let Some(deg_s) = deg_s else { return self.brake(at) };
        let (position, speed) = self.motor(at);
        let end = if deg_s > 0.0 { self.settings.to } else { self.settings.from };
        let limits = Limits { rate: deg_s.abs(), ..self.settings.limits };
        self.begin(Motion::to(end, position, speed.clamp(-limits.rate, limits.rate), limits), at);
        self.aim = end;
    }

    fn begin(&mut self, motion: Motion, at: Time) {
        self.motion = if self.stalled { Motion::rest(self.motor(at).0) } else { motion };
        self.began = Some(at);
    }

    /// The antenna follows when the motor has taken up the play.
    fn drag(&mut self, at: Time) {
        let (motor, play) = (self.motor(at).0, self.settings.backlash / 2.0);
        self.antenna = self.antenna.clamp(motor - play, motor + play);
    }
}

impl Rotator {
    pub(super) fn new(settings: MountSettings, handles: Handles) -> Self {
        let MountSettings { azimuth, elevation, azimuth_only, start, resolution, noise, seed, thinking_s } =
            settings;
        Self {
            handles,
            thinking_s,
            azimuth_only,
            axes: [Axis::new(azimuth, start.azimuth), Axis::new(elevation, start.elevation)],
            resolution,
            noise,
            chance: Chance::new(seed),
            reached: None,
            sampled: None,
        }
    }

    /// Lets the motors turn until `now`, and samples the antenna on the way.
    pub(super) fn advance(&mut self, now: Time) {
        let from = *self.reached.get_or_insert(now);
        self.sample_once(from);
        let stops = self.axes.iter().filter_map(Axis::turns_until).max();
        let turning_until = stops.filter(|stop| *stop > from);
        if let Some(until) = turning_until.map(|until| until.min(now)) {
            let mut next = later(self.sampled.unwrap_or(from).max(from), SAMPLE_S);
            while next < until {
                self.sample(next);
                next = later(next, SAMPLE_S);
            }
            self.sample_once(until);
        }
        self.reached = Some(now);
        self.suffer(now);
    }

    /// Faults begin and end.
    fn suffer(&mut self, now: Time) {
        let faults = self.handles.faults.all();
        let is_on = |fault| faults.contains(&fault);
        let (stalled, reversed) = (is_on(Fault::MotorStalled), is_on(Fault::MotorsReversed));
        if self.axes.iter().any(|axis| axis.stalled != stalled) {
            self.sample_once(now);
            self.axes.iter_mut().for_each(|axis| axis.stall(stalled, now));
        }
        let by_hand = faults.iter().find_map(|fault| match fault {
            Fault::TurnedByHand { deg_s } => Some(*deg_s),
            _ => None,
        });
        if self.axes[0].by_hand != by_hand {
            self.sample_once(now);
            self.axes[0].turn_by_hand(by_hand, now);
        }
        for axis in &mut self.axes {
            axis.reversed = reversed;
            let shown = axis.motor(now).0;
            axis.frozen = is_on(Fault::ReadOutFrozen).then(|| axis.frozen.unwrap_or(shown));
        }
    }

    /// How far the azimuth's read-out is off, degrees.
    fn read_out_off(&self) -> f64 {
        let off = |fault| match fault {
            Fault::ReadOutOff { degrees } => Some(degrees),
            _ => None,
        };
        self.handles.faults.all().into_iter().find_map(off).unwrap_or(0.0)
    }

    /// Goes to a direction in its own coordinates; an axis that is not named keeps its aim.
    pub(super) fn aim(&mut self, azimuth: Option<f64>, elevation: Option<f64>, at: Time) {
        self.advance(at);
        self.sample_once(at);
        for (axis, aim) in self.axes.iter_mut().zip([azimuth, elevation]) {
            if let Some(aim) = aim {
                axis.go(aim, at);
            }
        }
        let aim = AzEl::new(self.axes[0].aim, self.axes[1].aim);
        self.handles.record.aimed(at, aim);
        let named_outside = self.axes.iter().zip([azimuth, elevation]).any(|(axis, aim)| {
            aim.is_some_and(|aim| !(axis.settings.from..=axis.settings.to).contains(&aim))
        });
        if named_outside {
            self.handles.record.breached(at, Violation::OutsideRange(aim));
        }
    }

    pub(super) fn stop(&mut self, which: Which, at: Time) {
        self.advance(at);
        self.sample_once(at);
        self.axes[which as usize].stop(at);
    }

    /// What the read-out shows.
    pub(super) fn read(&mut self, which: Which, at: Time) -> f64 {
        let axis = &self.axes[which as usize];
        let off = if which == Which::Azimuth { self.read_out_off() } else { 0.0 };
        let shown = axis.frozen.unwrap_or(axis.motor(at).0) + off + self.noise * self.chance.either_side();
        if self.resolution > 0.0 { (shown / self.resolution).round() * self.resolution } else { shown }
    }

    fn sample_once(&mut self, at: Time) {
        if self.sampled != Some(at) {
            self.sample(at);
        }
    }

    fn sample(&mut self, at: Time) {
        self.sampled = Some(at);
        self.axes.iter_mut().for_each(|axis| axis.drag(at));
        self.handles.record.moved(at, AzEl::new(self.axes[0].antenna, self.axes[1].antenna));
    }
}

#[cfg(test)]
mod tests;
