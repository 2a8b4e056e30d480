//! `beamhand status`: what the daemon is doing, and why.

use std::io::IsTerminal;

use clap::Args;

use crate::control::Status as Now;

use super::Failure;
use super::remote::Daemon;
use super::screen;
use super::text::show;

/// What the daemon is doing, and why
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand status
  beamhand status --follow             again and again, until Ctrl-C
  beamhand status --json               one JSON object")]
pub(super) struct Status {
    /// Go on showing it as it changes
    #[arg(long)]
    follow: bool,
    /// JSON, one object a line
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    daemon: Daemon,
}

impl Status {
    pub(super) fn run(self) -> Result<(), Failure> {
        let mut client = self.daemon.connect()?;
        if !self.follow {
            return self.show(&client.status()?, false);
        }
        let redraw = std::io::stdout().is_terminal() && !self.json;
        for event in client.subscribe()? {
            self.show(&event?.status, redraw)?;
        }
        Ok(())
    }

    fn show(&self, status: &Now, redraw: bool) -> Result<(), Failure> {
        let text = if self.json {
            format!("{}\n", serde_json::to_string(status).unwrap_or_default())
        } else {
            screen::page(status)
        };
        if redraw {
            screen::clear(&mut std::io::stdout().lock())?;
        }
        show(text)
    }
}
