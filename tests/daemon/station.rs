//! A whole station in a folder of its own: configuration, equipment, and a satellite overhead.

use std::path::PathBuf;
use std::process::Command;

use beamhand::control::{Client, DeviceState, State, Status};
use beamhand::sky::{Look, Station as Place, Track, read_elements};
use beamhand::terms::{Direction, Time, later};
use chrono::Utc;
use tempfile::TempDir;

use crate::far_end::{FarEnd, LICENCE};
use crate::orbit::crossing;
use crate::patience::until;
use crate::process::{Daemon, Ran, beamhand};

const LATITUDE: f64 = 54.0;
const LONGITUDE: f64 = -2.5;
/// The demo's repeater.
const DOWNLINK: f64 = 435_217_000.0;
const UPLINK: f64 = 145_927_000.0;
/// Kilometres a second, by definition.
const LIGHT: f64 = 299_792.458;

/// A station at work, or about to be.
pub(crate) struct Station {
    folder: TempDir,
    pub(crate) radio: FarEnd,
    pub(crate) mast: FarEnd,
    track: Track,
}

impl Station {
    /// The satellite is in mid-pass: it was as high as it gets a minute ago or will be soon.
    pub(crate) fn in_mid_pass() -> Self {
        Self::with(&|config| config, later(Utc::now(), 60.0))
    }

    /// The same with a receiver that listens to the satellite, once `auto` is on.
    pub(crate) fn that_listens() -> Self {
        let to_listen = |config: String| {
            let watch = "[listening]\nsatellites = [\"GANNET-1\"]\nantenna = \"wire\"\n[[radio]]";
            config.replace("[[radio]]", watch).replace("use = \"both\"", "use = \"receive\"")
        };
        Self::with(&to_listen, later(Utc::now(), 60.0))
    }

    /// With another configuration, and the middle of the pass at another time.
    pub(crate) fn with(change: &dyn Fn(String) -> String, middle: Time) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
        // Three degrees of longitude beside the station, so that it passes high and not overhead.
        let elements = crossing(LATITUDE, LONGITUDE + 3.0, middle);
        write("elements.txt", &elements);
        write("satellites.toml", include_str!("../../config/demo/satellites.toml"));
        let config = change(config());
        write("beamhand.toml", &config);
        let baud = if config.contains("\nbaud = 600\n") { 600 } else { 9600 };
        let radio = FarEnd::radio(&folder.path().join("radio"));
        let mast = FarEnd::mast(&folder.path().join("mast"), baud);
        let place = Place::new(LATITUDE, LONGITUDE, 0.0).unwrap();
        let track = Track::new(&read_elements(&elements).sets[0], place).unwrap();
        Self { folder, radio, mast, track }
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The file that keeps what the radios had.
    pub(crate) fn keepsake(&self) -> PathBuf {
        self.path("state/radios-before-session.json")
    }

    /// Runs the daemon; it is ready when this returns.
    pub(crate) fn run(&self) -> Daemon {
        Daemon::start(self.command(&["run"]), self.folder.path())
    }

    /// Runs a verb to its end.
    pub(crate) fn say(&self, arguments: &[&str]) -> Ran {
        Ran::new(self.command(arguments).output().unwrap())
    }

    /// A verb with this station's configuration.
    pub(crate) fn command(&self, arguments: &[&str]) -> Command {
        let mut command = beamhand(self.folder.path(), arguments);
        command.arg("--config").arg(self.path("beamhand.toml"));
        command
    }

    /// How things are.
    pub(crate) fn status(&self) -> Status {
        Client::connect(&self.path("control")).unwrap().status().unwrap()
    }

    /// Starts the pass in progress and waits until radio and mount follow it.
    pub(crate) fn work(&self) {
        self.say(&["start", "GANNET-1"]).assert_done();
        until(20.0, "the station follows", || {
            let now = Utc::now();
            self.off(Direction::Receive, now).is_some_and(|off| off < 30.0)
                && self.off(Direction::Transmit, now).is_some_and(|off| off < 30.0)
                && !self.mast.record().aims().is_empty()
                && self.status().radios[0].state == DeviceState::Following
        });
        assert_eq!(self.status().state, State::Following);
    }

    pub(crate) fn look(&self, at: Time) -> Look {
        self.track.at(at).unwrap()
    }

    /// Where a dial belongs at an instant: the textbook's formula, not the plan's.
    pub(crate) fn wanted(&self, direction: Direction, at: Time) -> f64 {
        let slower = 1.0 - self.look(at).range_rate_km_s / LIGHT;
        match direction {
            Direction::Receive => DOWNLINK * slower,
            Direction::Transmit => UPLINK / slower,
        }
    }

    /// How far off the radio itself was at an instant, hertz.
    pub(crate) fn off(&self, direction: Direction, at: Time) -> Option<f64> {
        let record = self.radio.record();
        let dial = match direction {
            Direction::Receive => record.receive_at(at),
            Direction::Transmit => record.transmit_at(at),
        };
        dial.map(|hertz| (hertz.0 as f64 - self.wanted(direction, at)).abs())
    }

    /// Nothing that must never happen reached any device.
    pub(crate) fn assert_no_violation(&self) {
        assert_eq!(self.radio.record().violations(), []);
        assert_eq!(self.mast.record().violations(), []);
    }
}

fn config() -> String {
    format!(
        r#"
format = 1
[station]
callsign = "Q0TEST"
latitude = {LATITUDE}
longitude = {LONGITUDE}
[files]
elements = "elements.txt"
satellites = "satellites.toml"
state = "state"
[transmit]
segments = [{{ from = {}, to = {} }}]
[clock]
trust = "always"
[control]
socket = "control"
[session]
prepare_before_s = 10
[[radio]]
name = "duplex"
port = "radio"
dialect = "semicolon-eleven"
use = "both"
step_hz = 10
worthwhile_hz = 10
[rotator]
name = "mast"
port = "mast"
dialect = "az-el-words"
azimuth = {{ from = 0, to = 450 }}
elevation = {{ from = 0, to = 180 }}
slew_deg_s = {{ azimuth = 20, elevation = 20 }}
"#,
        LICENCE.from.0, LICENCE.to.0
    )
}
