//! Halt: what is said of the stop, which may be somebody's reason to walk up to the antenna.

use std::time::Duration;

use crate::control::{Ack, RpcError};
use crate::daemon::report;
use crate::device::{Contact, DeviceStatus, Motion};
use crate::session::Command;

use super::requests::Reply;
use super::{Engine, Seen, to_value};

/// How long an answer waits for the stop to leave.
const PATIENCE: Duration = Duration::from_millis(500);

/// An answer that waits.
pub(super) struct Owed {
    reply: Reply,
    until: Duration,
}

impl Engine {
    /// The lines may be halted already: by the latch, where the request was read.
    pub(super) fn heed_halt(&mut self, seen: &Seen) {
        if self.parts.fleet.halt_latch().is_set() && !self.parts.session.is_halted() {
            let halted = self.order_session(Command::Halt, seen);
            self.carry_out(halted.unwrap_or_default(), "the session");
            self.writer.halted(true);
        }
    }

    /// A halt outlives the daemon that was told of it.
    pub(super) fn remember_halt(&mut self) {
        if self.keepsake.is_halted() {
            tracing::warn!("motors were halted when the last daemon ended: nothing moves until resume");
            self.parts.fleet.halt();
            let seen = self.seen();
            self.heed_halt(&seen);
        }
    }

    /// Halts; the answer comes when the stop has left, or when it is known that it did not.
    pub(super) fn halt(&mut self, reply: Reply) {
        let until = self.parts.clock.now().mono + PATIENCE;
        match self.command(Command::Halt) {
            Ok(_) => {
                self.writer.halted(true);
                self.owed.push(Owed { reply, until });
            }
            Err(refused) => {
                let _ = reply.send(Err(refused));
            }
        }
    }

    /// Answers those that asked to halt, as soon as there is something to say.
    pub(super) fn tell_of_stops(&mut self, seen: &Seen) {
        let said = told(seen.rotator.as_ref());
        for owed in std::mem::take(&mut self.owed) {
            let too_late = seen.now.mono >= owed.until;
            match &said {
                None if !too_late => self.owed.push(owed),
                said => {
                    let _ = owed.reply.send(self.stop_told(seen, said.as_deref()));
                }
            }
        }
    }

    fn stop_told(&self, seen: &Seen, said: Option<&str>) -> Result<serde_json::Value, RpcError> {
        let unsent = || {
            let name = seen.rotator.as_ref().map_or("the mount", |mount| &mount.name);
            format!("the stop has NOT left yet: {name} may still turn; cut its motors' power")
        };
        let why = said.map_or_else(unsent, str::to_owned) + "; nothing moves until resume";
        to_value(&Ack { state: report::state(&self.parts.session), why, note: None })
    }
}

/// What became of the stop, in words; `None` while it is on its way.
fn told(mount: Option<&DeviceStatus>) -> Option<String> {
    let Some(mount) = mount else { return Some("halted; there is no rotator".to_owned()) };
    let name = &mount.name;
    let view = mount.rotator()?;
    match &mount.contact {
        Contact::Closed(why) => Some(format!(
            "the stop could NOT be sent: {name}: {why}. If it turns, cut its motors' power; the stop goes out \
             as soon as the port is back"
        )),
        _ if view.motion != Motion::Halted || view.stop_pending => None,
        Contact::Bad(why) => Some(format!(
            "the stop was sent, but {name} does not answer ({why}): if it turns, cut its motors' power"
        )),
        _ => Some(format!("the stop was sent to {name}")),
    }
}
