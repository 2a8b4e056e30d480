//! `beamhand run`: the daemon.

use std::io::IsTerminal;
use std::path::PathBuf;

use clap::Args;
use tracing::Level;

use crate::daemon::{self, Startup};

use super::Failure;
use super::check::checked;
use super::text::plain;

/// Run the daemon: it owns the radios and the rotator and answers on the control socket
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand run
  beamhand run --config ./beamhand.toml

Before the first run with a radio: turn line keying (by DTR or RTS) off in the radio's menu. \
The system raises both lines for an instant whenever a port is opened, and a radio that keys \
on them would transmit. Before the first run with a rotator: nobody near the antenna, and its \
cables free to turn. SIGTERM or Ctrl-C ends the daemon orderly: motors stop, and the radios \
get their frequencies and modes back. BEAMHAND_LOG=debug says more.")]
pub(super) struct Run {
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

impl Run {
    pub(super) fn run(self) -> Result<(), Failure> {
        let (config, satellites) = checked(self.config.as_deref())?;
        log_to_standard_error();
        for warning in config.warnings() {
            tracing::warn!("{warning}");
        }
        let (startup, complaints) = Startup::real(config, satellites);
        for complaint in complaints {
            tracing::warn!("{}", plain(&complaint));
        }
        Ok(daemon::run(startup)?)
    }
}

/// The service manager adds times to what it collects, so they are left to it.
fn log_to_standard_error() {
    let asked = std::env::var("BEAMHAND_LOG").ok().and_then(|level| level.parse().ok());
    let level = asked.unwrap_or(Level::INFO);
    let to_terminal = std::io::stderr().is_terminal();
    let log = tracing_subscriber::fmt().with_max_level(level).with_writer(std::io::stderr).with_target(false);
    let started = if to_terminal {
        log.with_ansi(true).try_init()
    } else {
        log.with_ansi(false).without_time().try_init()
    };
    // A second logger can only be there in a test, and then the first one goes on.
    drop(started);
}
