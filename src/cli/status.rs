//! `beamhand status`: what the daemon is doing, and why.

use std::io::IsTerminal;

use clap::Args;

use crate::control::Status as Now;

use super::Failure;
use super::changes::changes;
use super::remote::Daemon;
use super::screen;
use super::text::{say, show};

/// What the daemon is doing, and why
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand status
  beamhand status --follow             again and again, until Ctrl-C
  beamhand status --follow --lines     a line for each change, as in a file or pipe
  beamhand status --json               one JSON object")]
pub(super) struct Status {
    /// Go on showing it as it changes
    #[arg(long)]
    follow: bool,
    /// With --follow: a line for each change, also on a terminal
    #[arg(long, requires = "follow", conflicts_with = "json")]
    lines: bool,
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
            let now = client.status()?;
            return show(if self.json { json(&now) } else { screen::page(&now) });
        }
        let page = std::io::stdout().is_terminal() && !self.lines;
        let mut before = None;
        for event in client.subscribe()? {
            let now = event?.status;
            if self.json {
                show(json(&now))?;
            } else if page {
                screen::clear(&mut std::io::stdout().lock())?;
                show(screen::page(&now))?;
            } else {
                changes(before.as_ref(), &now).iter().try_for_each(say)?;
            }
            before = Some(now);
        }
        Ok(())
    }
}

fn json(status: &Now) -> String {
    format!("{}\n", serde_json::to_string(status).unwrap_or_default())
}
