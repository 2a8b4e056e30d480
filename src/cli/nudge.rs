//! `beamhand nudge`: the operator's shift of the beam.

use clap::Args;

use crate::control::{Method, NudgeAct, NudgeParams, NudgeShift, TrimAction};

use super::Failure;
use super::remote::Daemon;

/// Shift the beam, because it points a little to one side
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand nudge 2 -1                  two degrees clockwise, one down
  beamhand nudge reset                 as planned, this session
  beamhand nudge keep                  later sessions and `point` begin with it
  beamhand nudge forget                they don't any more; this session's stays

The shift is the whole shift, not a step, in the mount's own degrees. It holds in a session, and \
after `point`: point at the Sun, nudge until the boom's shadow is shortest or the noise is loudest, then keep it. NEVER LOOK \
AT THE SUN ALONG THE BOOM.")]
pub(super) struct Nudge {
    /// Degrees clockwise; or "reset", "keep" or "forget"
    #[arg(value_name = "AZ|WORD", allow_hyphen_values = true, value_parser = shift)]
    shift: Shift,
    /// Degrees up
    #[arg(value_name = "EL", allow_negative_numbers = true)]
    elevation: Option<f64>,
    #[command(flatten)]
    daemon: Daemon,
}

#[derive(Debug, Clone, Copy)]
enum Shift {
    By(f64),
    Act(TrimAction),
}

impl Nudge {
    pub(super) fn run(self) -> Result<(), Failure> {
        let params = match (self.shift, self.elevation) {
            (Shift::By(azimuth), Some(elevation)) if elevation.is_finite() => {
                NudgeParams::Shift(NudgeShift { azimuth, elevation })
            }
            (Shift::By(_), _) => {
                return Err(Failure::Usage("write degrees for azimuth and elevation".to_owned()));
            }
            (Shift::Act(action), None) => NudgeParams::Act(NudgeAct { action }),
            (Shift::Act(_), Some(_)) => {
                return Err(Failure::Usage("reset, keep and forget take no degrees".to_owned()));
            }
        };
        self.daemon.ask(Method::Nudge(params))
    }
}

fn shift(text: &str) -> Result<Shift, String> {
    if let Some(action) = TrimAction::named(text) {
        return Ok(Shift::Act(action));
    }
    let degrees: Option<f64> = text.parse().ok().filter(|degrees: &f64| degrees.is_finite());
    degrees.map(Shift::By).ok_or_else(|| "write degrees, or reset, keep or forget".to_owned())
}
