//! `beamhand trim`: the operator's shift of the dials.

use clap::Args;

use crate::control::{Method, TrimAct, TrimAction, TrimParams, TrimShift};
use crate::terms::{Direction, Hertz};

use super::Failure;
use super::remote::Daemon;

/// Shift one direction, because a satellite's oscillator is off
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand trim +500              the receiver, 500 Hz above the published
  beamhand trim -200 transmit
  beamhand trim reset             both directions as published, this session
  beamhand trim keep              later sessions of this link begin with it
  beamhand trim forget            they don't any more; this session's stays

The shift is the whole shift, not a step: +500 twice is still 500 Hz.")]
pub(super) struct Trim {
    /// Hertz; or "reset", "keep" or "forget"
    #[arg(value_name = "HZ|WORD", allow_hyphen_values = true, value_parser = shift)]
    shift: Shift,
    /// "receive" or "transmit"
    #[arg(value_parser = direction)]
    direction: Option<Direction>,
    #[command(flatten)]
    daemon: Daemon,
}

#[derive(Debug, Clone, Copy)]
enum Shift {
    To(Hertz),
    Act(TrimAction),
}

impl Trim {
    pub(super) fn run(self) -> Result<(), Failure> {
        let one = |direction, hertz| {
            self.daemon.ask(Method::Trim(TrimParams::Shift(TrimShift { direction, hertz })))
        };
        match (self.shift, self.direction) {
            (Shift::To(hertz), direction) => one(direction.unwrap_or(Direction::Receive), hertz),
            (Shift::Act(TrimAction::Reset), Some(direction)) => one(direction, Hertz(0)),
            (Shift::Act(_), Some(_)) => {
                Err(Failure::Usage("keep and forget are for both directions at once".to_owned()))
            }
            (Shift::Act(action), None) => self.daemon.ask(Method::Trim(TrimParams::Act(TrimAct { action }))),
        }
    }
}

fn shift(text: &str) -> Result<Shift, String> {
    if let Some(action) = TrimAction::named(text) {
        return Ok(Shift::Act(action));
    }
    let hertz: Option<i64> = text.parse().ok().filter(|hertz: &i64| hertz.unsigned_abs() <= 50_000);
    hertz
        .map(|hertz| Shift::To(Hertz(hertz)))
        .ok_or_else(|| "write whole hertz from -50000 to +50000, or reset, keep or forget".to_owned())
}

fn direction(text: &str) -> Result<Direction, String> {
    Direction::BOTH
        .into_iter()
        .find(|direction| direction.name().eq_ignore_ascii_case(text))
        .ok_or_else(|| "write receive or transmit".to_owned())
}
