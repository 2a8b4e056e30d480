//! The beam, as the operator asks for it: the Sun, a nudge that is kept, and the caution before a
//! mount is moved for the first time.

use serde_json::Value;

use crate::control::{NudgeParams, NudgeShift, PointParams, PointTarget, RpcError, TrimAction, code};
use crate::daemon::kept_nudge::KeptNudge;
use crate::session::Command;
use crate::sky::sun_seen_from;
use crate::terms::AzEl;

use super::requests::Reply;
use super::{Engine, News};

/// What everybody should know who stands near a mount that a computer turns.
const CAUTION: &str = "this rotator is run for the first time: it MOVES BY ITSELF. Keep people, ladders and \
                       loose cables clear of the antenna, put up a sign, and know how to cut the motors' \
                       power; `beamhand halt` stops it";

impl Engine {
    /// Looks up what is known of the mount from earlier days.
    pub(super) fn remember_beam(&mut self) {
        let Some(mount) = self.parts.fleet.rotator().filter(|_| !self.parts.clock.is_rehearsal()) else {
            return;
        };
        match KeptNudge::in_folder(&self.parts.state, &mount.name).load() {
            Ok(Some(kept)) => self.parts.session.keep_nudge(kept),
            Ok(None) => {}
            Err(why) => tracing::warn!("{why}"),
        }
        if !self.keepsake.is_cautioned() {
            tracing::warn!("{}: {CAUTION}", mount.name);
            self.caution = Some(CAUTION.to_owned());
            if let Err(error) = self.keepsake.cautioned() {
                tracing::warn!("that this was said can't be stored: {error}");
            }
        }
    }

    pub(super) fn point(&mut self, to: PointParams) -> Result<Value, RpcError> {
        let place = match to {
            PointParams::Place(place) => AzEl::new(place.azimuth, place.elevation),
            PointParams::At(at) => match at.target {
                PointTarget::Sun => self.sun()?,
            },
        };
        self.command(Command::Point(place))
    }

    /// Where the Sun is, if it is up.
    fn sun(&self) -> Result<AzEl, RpcError> {
        let sun = sun_seen_from(&self.parts.planner.station, self.parts.clock.now().utc);
        if sun.elevation < 0.0 {
            let down = -sun.elevation;
            let why = format!("the Sun is {down:.1} degrees below the horizon, so the beam stays");
            return Err(RpcError::new(code::NOT_NOW, why));
        }
        Ok(sun)
    }

    /// Shifts the beam, or keeps what is shifted.
    pub(super) fn nudge(&mut self, params: NudgeParams, reply: Reply) {
        let answer = match params {
            NudgeParams::Shift(NudgeShift { azimuth, elevation }) => {
                self.command(Command::Nudge(AzEl::new(azimuth, elevation)))
            }
            NudgeParams::Act(act) => match act.action {
                TrimAction::Reset => self.command(Command::Nudge(AzEl::ZERO)),
                TrimAction::Keep if !self.parts.session.has_beam() => Err(RpcError::new(
                    code::NOT_NOW,
                    "no session is running and the beam was not pointed, so there is nothing to keep",
                )),
                TrimAction::Keep => return self.store_nudge(self.parts.session.nudge(), reply),
                TrimAction::Forget => return self.store_nudge(AzEl::ZERO, reply),
            },
        };
        let _ = reply.send(answer);
    }

    /// Stores the mount's shift, away from the loop.
    fn store_nudge(&mut self, by: AzEl, reply: Reply) {
        let Some(mount) = self.parts.fleet.rotator() else {
            let _ = reply.send(Err(RpcError::new(code::NOT_NOW, "no rotator is configured")));
            return;
        };
        let kept = KeptNudge::in_folder(&self.parts.state, &mount.name);
        let (tell, now) = (self.tell.clone(), self.parts.clock.now().utc);
        self.aside("what is kept of a nudge", move || {
            let done = kept.keep(by, now).map(|()| by);
            let _ = tell.send(News::NudgeStored(done, reply));
        });
    }

    /// Answers who asked for a nudge to be kept or forgotten.
    pub(super) fn nudge_stored(&mut self, done: Result<AzEl, String>, reply: Reply) {
        let said = done.map(|by| {
            self.parts.session.keep_nudge(by);
            if by == AzEl::ZERO {
                return "no nudge is kept for the mount any more; this session's stays".to_owned();
            }
            format!(
                "azimuth {:+.1} elevation {:+.1} degrees are kept for the mount",
                by.azimuth, by.elevation
            )
        });
        self.stored(said, reply);
    }
}
