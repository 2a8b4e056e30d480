//! `beamhand antenna`: what the antenna is called.

use clap::Args;

use crate::config::antenna_label;
use crate::control::{AntennaParams, Method};

use super::Failure;
use super::remote::Daemon;

/// Say what the antenna is called, or call it so from now on
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand antenna                     what it is called
  beamhand antenna \"beam on the roof\"

What is heard is stored with this label, so that two antennas can be compared. Say it when you \
have changed the cable. It holds over restarts, until `antenna` in [listening] of the \
configuration changes.")]
pub(super) struct Antenna {
    /// The label, 60 bytes at most
    #[arg(value_name = "LABEL", value_parser = label)]
    label: Option<String>,
    #[command(flatten)]
    daemon: Daemon,
}

impl Antenna {
    pub(super) fn run(self) -> Result<(), Failure> {
        self.daemon.ask(Method::Antenna(AntennaParams { label: self.label }))
    }
}

fn label(text: &str) -> Result<String, String> {
    antenna_label(text).ok_or_else(|| "write a text on one line, of 60 bytes at most".to_owned())
}
