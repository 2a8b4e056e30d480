//! What the operator wishes of the beam, and where it is when the satellite rises.

use std::sync::Arc;

use crate::beam::{Aim, Mount, Start};
use crate::device::{DeviceStatus, Motion, Pace, RotatorOrder, RotatorView};
use crate::session::nudge::{beam_plan, how};
use crate::terms::{AzEl, Plan, Validity, seconds_between};

use super::taking::in_use;
use super::{Circumstances, Job, Output, Phase, Refusal, Session, THERE_DEG};

/// A mount that is farther off than this is mounted wrongly, or its read-out is, degrees.
const FARTHEST_NUDGE: f64 = 30.0;
/// A mount that has to turn far sets off so many times earlier than it needs, and so much more:
/// it has to speed up and to brake, and its speed may not be known well. Seconds.
const SPARE: (f64, f64) = (1.25, 15.0);
/// Nobody minds a beam that is in place so much later, seconds.
const LATE_S: f64 = 2.0;

impl Session {
    /// How the beam is shifted, in the mount's own degrees.
    pub fn nudge(&self) -> AzEl {
        self.nudge
    }

    /// Sessions begin with this shift from now on, as it was found for the mount.
    pub fn keep_nudge(&mut self, kept: AzEl) {
        self.kept_nudge = kept;
        if self.job.is_none() && self.pointed.is_none() {
            self.nudge = kept;
        }
    }

    /// The mount, where there is one.
    pub fn mount(&self) -> Option<&Mount> {
        self.setup.mount.as_ref()
    }

    /// Whether there is anything that a nudge would shift.
    pub fn has_beam(&self) -> bool {
        self.setup.mount.is_some() && (self.phase.has_devices() || self.pointed.is_some())
    }

    pub(super) fn set_nudge(&mut self, by: AzEl, around: &Circumstances) -> Result<Vec<Output>, Refusal> {
        if self.halted {
            return Refusal::because("halted: nothing moves until resume");
        }
        if !by.is_finite() || by.azimuth.abs() > FARTHEST_NUDGE || by.elevation.abs() > FARTHEST_NUDGE {
            return Refusal::because(&format!("a nudge is at most {FARTHEST_NUDGE} degrees either way"));
        }
        if let Some(Motion::ByHand | Motion::Stopped) = view(around).map(|view| view.motion) {
            return Refusal::because("the mount is left alone: resume, start or point first");
        }
        let is_straight = by == AzEl::ZERO;
        let how =
            if is_straight { "not nudged any more".to_owned() } else { format!("nudged by {}", how(by)) };
        let mut out = vec![Output::Say(format!("the beam is {how}"))];
        match (self.job.clone(), self.pointed) {
            (Some(job), _) if self.phase.has_devices() => {
                self.nudge = by;
                self.order_beam(&job, &mut out);
            }
            (_, Some(place)) => {
                let target = self.reached(place, by)?;
                self.nudge = by;
                out.push(Output::Rotator(RotatorOrder::GoTo(target)));
            }
            _ => {
                return Refusal::because(
                    "no session is running and the beam was not pointed, so there is nothing to nudge",
                );
            }
        }
        Ok(out)
    }

    pub(super) fn point(&mut self, to: AzEl, around: &Circumstances) -> Result<Vec<Output>, Refusal> {
        let Some(mount) = &self.setup.mount else { return Refusal::because("no rotator is configured") };
        self.beam_is_free()?;
        let stands = view(around).and_then(|view| view.position).map(|(at, _)| at);
        let near = stands.unwrap_or(mount.park);
        // A wrap can only be told in the mount's own degrees; all else is a direction in the sky.
        let to = if to.azimuth >= 360.0 { to } else { mount.seen(to) };
        let to = if mount.elevation.is_some() { to } else { AzEl::new(to.azimuth, 0.0) };
        let place = if to.azimuth >= 360.0 { to } else { mount.nearest_to(to, near) };
        if !to.is_finite() || !mount.reaches(place) || place.angle_to(to) > 0.01 {
            return Err(out_of_reach(mount, to));
        }
        let target = self.reached(place, self.nudge)?;
        self.pointed = Some(place);
        let say = format!(
            "the beam turns to azimuth {:.1} elevation {:.1}{}",
            target.azimuth,
            target.elevation,
            turning(target, to, stands)
        );
        Ok(vec![Output::Rotator(RotatorOrder::GoTo(target)), Output::Say(say)])
    }

    /// A place, shifted.
    fn reached(&self, place: AzEl, by: AzEl) -> Result<AzEl, Refusal> {
        let Some(mount) = &self.setup.mount else { return Refusal::because("no rotator is configured") };
        let elevation = if mount.elevation.is_some() { place.elevation + by.elevation } else { 0.0 };
        let target = AzEl::new(place.azimuth + by.azimuth, elevation);
        if !mount.reaches(target) {
            return Err(out_of_reach(mount, target));
        }
        if !mount.may_look_from(target) {
            return Refusal::because(&format!(
                "azimuth {} elevation {} lies in a no-go sector: the beam is not pointed there",
                rounded(target.azimuth),
                rounded(target.elevation)
            ));
        }
        Ok(target)
    }

    pub(super) fn park(&mut self) -> Result<Vec<Output>, Refusal> {
        let Some(mount) = &self.setup.mount else { return Refusal::because("no rotator is configured") };
        self.beam_is_free()?;
        let say = "the beam turns to its park position".to_owned();
        let go = Output::Rotator(RotatorOrder::GoTo(mount.park));
        self.leave_place();
        Ok(vec![go, Output::Say(say)])
    }

    /// The beam is not where the operator pointed it any more; a shift that was found there counts
    /// from now on if it was kept.
    pub(super) fn leave_place(&mut self) {
        if self.pointed.take().is_some() {
            self.nudge = self.kept_nudge;
        }
    }

    fn beam_is_free(&self) -> Result<(), Refusal> {
        if self.halted {
            return Refusal::because("halted: nothing moves until resume");
        }
        let stays = self.job.as_ref().is_some_and(|job| job.only_listens() && job.aim.is_none());
        if self.phase.has_devices() && !stays {
            return Refusal::because("a session holds the beam: stop it first");
        }
        Ok(())
    }

    pub(super) fn order_beam(&self, job: &Job, out: &mut Vec<Output>) {
        let Some(mount) = self.setup.mount.as_ref().filter(|_| !self.halted) else { return };
        if job.only_listens() && job.aim.is_none() {
            return;
        }
        match &job.aim {
            Some(aim) => {
                out.push(Output::Rotator(RotatorOrder::Follow(beam_plan(aim, self.nudge, mount))));
            }
            None => {
                out.push(Output::Say(format!("{}: the beam can't be planned, so it stays", job.satellite)));
                out.push(Output::Rotator(RotatorOrder::Stop));
            }
        }
    }

    /// A mount that has far to turn sets off before the radios are prepared.
    pub(super) fn send_beam_early(&mut self, job: &Job, around: &Circumstances, out: &mut Vec<Output>) {
        let waits = job.when_free && in_use(around.radios).is_some();
        if self.sent_early || self.halted || waits || !around.trust.is_trusted() {
            return;
        }
        let (Some(view), Some(slew)) = (view(around), self.setup.slew) else { return };
        let rises = job.aim.as_ref().and_then(|aim| aim.at(job.span.from));
        let (Some((at, _)), Some(rises)) = (view.position, rises) else { return };
        let needs = turning_s(view.pace, slew, at, rises);
        if seconds_between(around.now.utc, job.span.from) <= needs * SPARE.0 + SPARE.1 {
            self.sent_early = true;
            self.leave_place();
            out.push(Output::Say(format!(
                "{}: the beam sets off now: it needs {needs:.0} s to where the satellite rises",
                job.satellite
            )));
            self.order_beam(job, out);
        }
    }

    /// The same job with the beam planned from where it is, if it can't be on its way in time.
    pub(super) fn planned_from_here(&self, job: &Job, around: &Circumstances) -> Option<Job> {
        let (view, slew, mount) = (view(around)?, self.setup.slew?, self.setup.mount.as_ref()?);
        let (aim, (stands, _), now) = (job.aim.as_ref()?, view.position?, around.now.utc);
        let begins = job.span.from.max(now);
        let left = seconds_between(now, begins);
        if turning_s(view.pace, slew, stands, aim.at(begins)?) <= left + LATE_S {
            return None;
        }
        let span = Validity { from: begins, until: job.span.until };
        let start = Start { place: mount.clamp(stands), seconds: left };
        let late = Aim::from_start(job.track.clone(), mount.clone(), span, aim.generation(), Some(start))?;
        Some(Job { aim: Some(Arc::new(late)), ..job.clone() })
    }

    pub(super) fn rest_beam(&self, out: &mut Vec<Output>) {
        match &self.setup.mount {
            Some(_) if self.halted => {}
            Some(mount) if self.setup.park_after => {
                out.push(Output::Rotator(RotatorOrder::GoTo(mount.park)));
            }
            Some(_) => out.push(Output::Rotator(RotatorOrder::Stop)),
            None => {}
        }
    }

    /// At the end of a session; a mount that was turned by hand is the operator's, and stays.
    pub(super) fn rest_beam_after(&mut self, around: &Circumstances, out: &mut Vec<Output>) {
        if self.job.as_ref().is_some_and(|job| job.only_listens() && job.aim.is_none()) {
            self.parking = false;
            return;
        }
        self.parking = self.setup.park_after && around.rotator.is_some();
        if view(around).is_some_and(|view| view.motion == Motion::ByHand) {
            self.parking = false;
            out.push(Output::Say("the beam was turned by hand, so it stays where it is".to_owned()));
        } else {
            self.rest_beam(out);
        }
    }

    /// Whether a mount that was told nothing stands where it is not to rest.
    pub(in crate::session) fn rests_elsewhere(&self, around: &Circumstances) -> bool {
        let (Some(mount), Some(view)) = (&self.setup.mount, view(around)) else { return false };
        let is_away = |(at, _): (AzEl, _)| at.angle_to(mount.park) >= THERE_DEG;
        let is_told_nothing = self.phase == Phase::Idle && view.motion == Motion::Resting;
        self.setup.park_after && is_told_nothing && view.position.is_some_and(is_away)
    }
}

fn view<'a>(around: &Circumstances<'a>) -> Option<&'a RotatorView> {
    around.rotator.and_then(DeviceStatus::rotator)
}

/// How long a mount turns, at the speed that it was seen to have, or is said to have, seconds.
fn turning_s(pace: Pace, slew: AzEl, from: AzEl, to: AzEl) -> f64 {
    let axis = |from: f64, to: f64, seen: Option<f64>, said: f64| (to - from).abs() / seen.unwrap_or(said);
    let turn = axis(from.azimuth, to.azimuth, pace.azimuth_deg_s, slew.azimuth);
    let tilt = axis(from.elevation, to.elevation, pace.elevation_deg_s, slew.elevation);
    turn.max(tilt) + pace.lag_s.unwrap_or(0.0)
}

fn out_of_reach(mount: &Mount, to: AzEl) -> Refusal {
    let tilt = mount.elevation.map_or(String::new(), |r| format!(" and tilts from {} to {}", r.from, r.to));
    Refusal(format!(
        "the mount does not reach azimuth {} elevation {}: it turns from {} to {}{tilt}",
        rounded(to.azimuth),
        rounded(to.elevation),
        mount.azimuth.from,
        mount.azimuth.to
    ))
}

/// To a hundredth of a degree.
fn rounded(degrees: f64) -> f64 {
    (degrees * 100.0).round() / 100.0
}

/// Which way, and how far. Where the mount counts otherwise than the operator did, that is said.
fn turning(target: AzEl, said: AzEl, stands: Option<AzEl>) -> String {
    let counts_otherwise = (target.azimuth - said.azimuth).abs() > 0.01;
    let whose = if counts_otherwise { " in the mount's own degrees" } else { "" };
    let way = stands.map_or(String::new(), |stands| {
        let by = target.azimuth - stands.azimuth;
        let way = if by < 0.0 { "counter-clockwise" } else { "clockwise" };
        format!(", {:.0} degrees {way}", by.abs())
    });
    format!("{whose}{way}")
}

pub(super) fn is_there(status: &DeviceStatus) -> bool {
    let Some(view) = status.rotator() else { return true };
    match (view.target, view.position) {
        (Some(target), Some((position, _))) => target.angle_to(position) < THERE_DEG,
        _ => view.motion == Motion::Resting,
    }
}
