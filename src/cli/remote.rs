//! Verbs that ask the daemon for one thing: each is its own short declaration.

use std::path::PathBuf;

use clap::Args;

use crate::config::{Config, DefaultPaths};
use crate::control::{Ack, Client, ClientError, Method, PointParams, StartParams};

use super::Failure;
use super::text::{noted, say, wrap};

/// Where the daemon is.
#[derive(Args, Debug, Default)]
pub(super) struct Daemon {
    /// The daemon's control socket [default: the configuration's]
    #[arg(long, value_name = "PATH")]
    socket: Option<PathBuf>,
    /// The configuration that the daemon runs with [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

impl Daemon {
    /// Connects to it.
    pub(super) fn connect(&self) -> Result<Client, Failure> {
        Ok(Client::connect(&self.socket()?)?)
    }

    /// The socket that is named, or the configuration's; a configuration that can't be read (the
    /// service's may be private) leaves its usual place. One that is named must be there.
    fn socket(&self) -> Result<PathBuf, Failure> {
        if let Some(socket) = &self.socket {
            return Ok(socket.clone());
        }
        let env = |name: &str| std::env::var_os(name);
        let paths = match &self.config {
            Some(path) => DefaultPaths::beside(path, &env),
            None => DefaultPaths::find(&env, &|path| path.exists()),
        };
        match Config::load(&paths.config, &paths) {
            Ok(config) => Ok(config.control.socket),
            Err(errors) if self.config.is_some() && matches!(paths.config.try_exists(), Ok(false)) => {
                Err(errors.into())
            }
            Err(_) => Ok(paths.socket),
        }
    }

    /// Asks for one thing and prints how things are then.
    pub(super) fn ask(&self, method: Method) -> Result<(), Failure> {
        let ack: Ack = self.connect()?.call_as(method)?;
        say(wrap(&format!("{}: {}", ack.state.name(), ack.why)).join("\n"))?;
        ack.note.iter().try_for_each(|note| say(wrap(&noted(note)).join("\n")))
    }
}

impl From<ClientError> for Failure {
    fn from(error: ClientError) -> Self {
        if error.is_not_reachable() {
            Failure::NotReachable(error.to_string())
        } else {
            Failure::Failed(error.to_string())
        }
    }
}

/// Work a satellite's pass: the one in progress, else the next
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand start GANNET-1
  beamhand start GANNET-1 beacon       one of its other links
  beamhand start GANNET-1 --when-free  leaves a radio alone while you use it
  beamhand start TERN-1 --instead      gives up another pass that is in progress

Start it before AOS: two minutes before the satellite rises the radio is read and prepared, and \
the beam turns to where it will rise. In the middle of a pass it may turn at once. Look first \
that nobody is near the antenna.

You hold the microphone: Beamhand never keys the transmitter. It sets the access tone; `beamhand \
tone arm` sets the arming tone for once.")]
pub(super) struct Start {
    /// By name or catalog number
    satellite: String,
    /// One of its links [default: its first]
    link: Option<String>,
    /// The transmitting dial stays on the uplink's frequency through the pass (FM only)
    #[arg(long)]
    fixed_uplink: bool,
    /// Wait while a radio is in use; without this, it is taken
    #[arg(long)]
    when_free: bool,
    /// Give up another pass that is in progress; without this, it goes on
    #[arg(long)]
    instead: bool,
    #[command(flatten)]
    daemon: Daemon,
}

impl Start {
    pub(super) fn run(self) -> Result<(), Failure> {
        self.daemon.ask(Method::Start(StartParams {
            satellite: self.satellite,
            link: self.link,
            fixed_uplink: self.fixed_uplink,
            when_free: self.when_free,
            instead: self.instead,
        }))
    }
}

/// Turn the beam to a direction
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand point 180 10                south, ten degrees up
  beamhand point 370 0                 north, with the cable wrapped once more

Look first that nobody is near the antenna and that its cables run free.")]
pub(super) struct Point {
    /// Degrees from true north, clockwise; from 360 on it is the mount's own coordinate
    #[arg(value_name = "AZ", allow_negative_numbers = true)]
    azimuth: f64,
    /// Degrees above the horizon
    #[arg(value_name = "EL", allow_negative_numbers = true)]
    elevation: f64,
    #[command(flatten)]
    daemon: Daemon,
}

impl Point {
    pub(super) fn run(self) -> Result<(), Failure> {
        let (azimuth, elevation) = (self.azimuth, self.elevation);
        if !azimuth.is_finite() || !elevation.is_finite() {
            return Err(Failure::Usage("azimuth and elevation must be numbers of degrees".to_owned()));
        }
        self.daemon.ask(Method::Point(PointParams { azimuth, elevation }))
    }
}

/// Verbs that ask for one thing and take no argument.
macro_rules! plain_verb {
    ($(#[$documentation:meta])* $name:ident, $method:expr) => {
        #[derive(Args, Debug)]
        $(#[$documentation])*
        pub(super) struct $name {
            #[command(flatten)]
            daemon: Daemon,
        }

        impl $name {
            pub(super) fn run(self) -> Result<(), Failure> {
                self.daemon.ask($method)
            }
        }
    };
}

plain_verb!(
    /// End the session now: the beam parks, the radios get back what they had
    #[command(after_help = "The beam may move at once, to its resting place. Look first that nobody is near it.")]
    Stop,
    Method::Stop
);
plain_verb!(
    /// Turn the beam to its resting place
    #[command(after_help = "The beam moves at once. Look first that nobody is near it.")]
    Park,
    Method::Park
);
plain_verb!(
    /// Stop every motor at once; nothing moves until `resume`
    Halt,
    Method::Halt
);
plain_verb!(
    /// Let the motors move again after `halt`
    #[command(after_help = "\
The beam may move at once: in a pass it goes to where the satellite is now; after a session that \
ended while it was halted, to its resting place. Look first that nobody is near it.")]
    Resume,
    Method::Resume
);
