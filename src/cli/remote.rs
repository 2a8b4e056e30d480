//! Verbs that ask the daemon for one thing: each is its own short declaration.

use std::path::{Path, PathBuf};

use clap::Args;

use crate::config::{Config, DefaultPaths};
use crate::control::{
    Ack, AutoParams, Client, ClientError, Method, PointAt, PointParams, PointPlace, PointTarget, StartParams,
};

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
    /// The configuration, where one is named.
    pub(super) fn config(&self) -> Option<&Path> {
        self.config.as_deref()
    }

    /// The socket that is named, or that of a configuration that was read already.
    pub(super) fn socket_by(&self, config: &Config) -> PathBuf {
        self.socket.clone().unwrap_or_else(|| config.control.socket.clone())
    }

    /// Connects to it.
    pub(super) fn connect(&self) -> Result<Client, Failure> {
        Ok(Client::connect(&self.socket()?)?)
    }

    /// The socket that is named, or the configuration's; a configuration that can't be read (the
    /// service's may be private) leaves its usual place. One that is named must be there.
    pub(super) fn socket(&self) -> Result<PathBuf, Failure> {
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

/// What is said to whoever is about to look whether the beam is on the Sun.
const SUN_CAUTION: &str = "CAUTION: never look at the Sun along the boom; watch its shadow, or the noise.";

/// Turn the beam to a direction
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand point 180 10                south, ten degrees up
  beamhand point 370 0                 north, with the cable wrapped once more
  beamhand point sun                   where the Sun is now, to calibrate; see `nudge`

Look first that nobody is near the antenna and that its cables run free. NEVER LOOK AT THE SUN \
ALONG THE BOOM: use its shadow, or the noise in the receiver.")]
pub(super) struct Point {
    /// Degrees from true north, clockwise, from 360 on the mount's own; or "sun"
    #[arg(value_name = "AZ|sun", allow_hyphen_values = true, value_parser = towards)]
    to: Towards,
    /// Degrees above the horizon
    #[arg(value_name = "EL", allow_negative_numbers = true)]
    elevation: Option<f64>,
    #[command(flatten)]
    daemon: Daemon,
}

impl Point {
    pub(super) fn run(self) -> Result<(), Failure> {
        let params = match (self.to, self.elevation) {
            (Towards::Sun, None) => PointParams::At(PointAt { target: PointTarget::Sun }),
            (Towards::Azimuth(azimuth), Some(elevation)) if elevation.is_finite() => {
                PointParams::Place(PointPlace { azimuth, elevation })
            }
            (Towards::Sun, Some(_)) => {
                return Err(Failure::Usage("the Sun is where it is: leave the elevation out".to_owned()));
            }
            (Towards::Azimuth(_), _) => {
                return Err(Failure::Usage("azimuth and elevation must be numbers of degrees".to_owned()));
            }
        };
        self.daemon.ask(Method::Point(params))?;
        match self.to {
            Towards::Sun => say(SUN_CAUTION),
            Towards::Azimuth(_) => Ok(()),
        }
    }
}

/// Where `point` points.
#[derive(Debug, Clone, Copy)]
enum Towards {
    Azimuth(f64),
    Sun,
}

fn towards(text: &str) -> Result<Towards, String> {
    if text.eq_ignore_ascii_case("sun") {
        return Ok(Towards::Sun);
    }
    let degrees: Option<f64> = text.parse().ok().filter(|degrees: &f64| degrees.is_finite());
    degrees.map(Towards::Azimuth).ok_or_else(|| "write degrees, or sun".to_owned())
}

/// Work the agenda unattended, or stop doing so
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand agenda                      first: what would be worked, and why
  beamhand auto on
  beamhand auto off                    a pass in progress goes on; `stop` ends it

While it is on, the antenna moves and the radio is tuned at any time of the day WITHOUT ANYBODY \
ASKING, also after a restart or a power cut. See that nobody can be near the antenna, put up a \
sign, and think of wind and lightning. A radio that you are using is left alone until you are \
done. Your own commands come first: what you `stop` is not begun again, and after `halt` nothing \
begins until `resume`.")]
pub(super) struct Auto {
    /// Whether the agenda is worked
    switch: Switch,
    #[command(flatten)]
    daemon: Daemon,
}

/// The two positions of a switch.
#[derive(clap::ValueEnum, Clone, Copy, Debug, PartialEq)]
enum Switch {
    On,
    Off,
}

impl Auto {
    pub(super) fn run(self) -> Result<(), Failure> {
        self.daemon.ask(Method::SwitchAuto(AutoParams { on: self.switch == Switch::On }))
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
    /// End the session now: the beam parks, the radios get their frequencies and modes back
    #[command(after_help = "The beam may move at once, to its resting place. Look first that nobody is near it.\n\n\
        Split, repeater shift, clarifiers and tone are not given back: look at the radio before you \
        transmit again.")]
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
plain_verb!(
    /// Read the configuration, the satellites and the elements again
    #[command(after_help = "\
A session in progress goes on to its end with what it has. Files with errors change nothing. What \
concerns equipment, the transmit segments, the clock or the socket waits for a restart; the \
answer says so.")]
    Reload,
    Method::Reload
);
