//! A station at work on real pseudo-terminals, of which one device can be made sick.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::{Child, Command};
use std::sync::Arc;

use beamhand::clock::{SystemClock, TrustPolicy};
use beamhand::control::{Client, DeviceState, Method, StartParams, State, Status};
use beamhand::sim::mount::{AxisSettings, Limits, MountSettings, Words, WordsSettings};
use beamhand::sim::radio::frames::{Frames, FramesSettings};
use beamhand::sim::radio::semicolon::{Layout, Semicolon, SemicolonSettings};
use beamhand::sim::radio::{Offsets, RadioSettings, Vfo};
use beamhand::sim::{Device, Handles, Outlet, Wire, WireSettings};
use beamhand::sky::{Station as Place, Track, read_elements};
use beamhand::terms::{Hertz, Segment, Segments, Time, later, seconds_between};
use chrono::Utc;
use tempfile::TempDir;

use crate::orbit::crossing;
use crate::patience::{until, within};
use crate::patient::{Heard, Ill, Patient, frames};
use crate::vital_signs;

const LATITUDE: f64 = 54.0;
const LONGITUDE: f64 = -2.5;
const LICENCE: Segment = Segment { from: Hertz(144_000_000), to: Hertz(146_000_000) };
/// The demo's repeater.
const DOWNLINK: f64 = 435_217_000.0;
/// Kilometres a second, by definition.
const LIGHT: f64 = 299_792.458;
/// The bus address of a radio that has one.
pub(crate) const ADDRESS: u8 = 0x4C;

/// Which wire language the radio speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Tongue {
    Semicolon,
    Frames,
}

/// A device behind its port.
pub(crate) struct Bed {
    pub(crate) outlet: Outlet,
    handles: Handles,
    ill: Ill,
    heard: Heard,
}

impl Bed {
    fn make(port: &Path, device: impl Device + 'static, one_wire: bool) -> Self {
        let handles = device.handles().clone();
        let (patient, ill, heard) = Patient::new(Box::new(device));
        let clock = Arc::new(SystemClock::new(TrustPolicy::default()));
        let wire = Wire::new(patient, WireSettings { one_wire, ..WireSettings::default() });
        Self { outlet: Outlet::open(port, wire, clock).unwrap(), handles, ill, heard }
    }

    fn radio(port: &Path, tongue: Tongue) -> Self {
        let mut radio = RadioSettings {
            opening_offsets: Offsets { shift: Hertz(-600_000), rit: Hertz(350), xit: Hertz(-200) },
            segments: Some(Segments::new(vec![LICENCE])),
            ..RadioSettings::default()
        };
        radio.opening = [Vfo::fm(Hertz(435_000_000)), Vfo::fm(Hertz(145_000_000))];
        match tongue {
            Tongue::Semicolon => {
                let settings = SemicolonSettings { radio, ..SemicolonSettings::new(Layout::Eleven) };
                Self::make(port, Semicolon::new(settings, Handles::default()), false)
            }
            Tongue::Frames => {
                let settings = FramesSettings {
                    radio: RadioSettings { duplex: false, segments: None, ..radio },
                    address: ADDRESS,
                    satellite_function: false,
                };
                Self::make(port, Frames::new(settings, Handles::default()), true)
            }
        }
    }

    fn mast(port: &Path) -> Self {
        let axis = |to| AxisSettings {
            from: 0.0,
            to,
            limits: Limits { rate: 20.0, acceleration: 40.0 },
            backlash: 0.0,
        };
        let mount =
            MountSettings { azimuth: axis(450.0), elevation: axis(180.0), ..MountSettings::default() };
        let settings = WordsSettings { mount, ..WordsSettings::default() };
        Self::make(port, Words::new(settings, Handles::default()), false)
    }

    pub(crate) fn falls_ill(&mut self, with: crate::patient::Ailment) {
        use crate::patient::Ailment;
        match with {
            Ailment::Fault(fault) => self.handles.faults.switch_on(fault),
            Ailment::CableOut => self.outlet.pull().unwrap(),
            other => *self.ill.lock().unwrap() = Some(other),
        }
    }

    /// The first thing that it heard after an instant and that is wanted.
    pub(crate) fn first_after(&self, after: Time, wanted: impl Fn(&str) -> bool) -> Option<Time> {
        let heard = frames(&self.heard).into_iter();
        heard.filter(|(at, text)| *at > after && wanted(text)).map(|(at, _)| at).next()
    }

    /// How many bytes it heard so far.
    pub(crate) fn bytes_heard(&self) -> usize {
        self.heard.lock().unwrap().len()
    }

    /// The longest pause between two things that it heard within a span, seconds.
    pub(crate) fn longest_pause(&self, from: Time, until: Time) -> f64 {
        let inside = frames(&self.heard).into_iter().map(|(at, _)| at).filter(|at| *at > from && *at < until);
        let times: Vec<Time> = [from].into_iter().chain(inside).chain([until]).collect();
        times.windows(2).map(|pair| seconds_between(pair[0], pair[1])).fold(0.0, f64::max)
    }

    /// Nothing that must never happen reached it.
    pub(crate) fn assert_no_violation(&self) {
        assert_eq!(self.handles.record.violations(), []);
    }

    pub(crate) fn receive_landings(&self, after: Time) -> Vec<(Time, f64)> {
        let hertz = |landing: &beamhand::sim::Landing| match landing.what {
            beamhand::sim::Change::Receive(hertz) if landing.at > after => Some((landing.at, hertz.0 as f64)),
            _ => None,
        };
        self.handles.record.landings().iter().filter_map(hertz).collect()
    }
}

/// The whole station, with its daemon in mid-pass.
pub(crate) struct Ward {
    folder: TempDir,
    pub(crate) radio: Bed,
    pub(crate) mast: Bed,
    track: Track,
    daemon: Child,
}

impl Ward {
    /// A healthy station that follows a satellite.
    pub(crate) fn open(tongue: Tongue) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
        let elements = crossing(LATITUDE, LONGITUDE + 3.0, later(Utc::now(), 120.0));
        write("elements.txt", &elements);
        let place = Place::new(LATITUDE, LONGITUDE, 0.0).unwrap();
        let track = Track::new(&read_elements(&elements).sets[0], place).unwrap();
        write("satellites.toml", include_str!("../../config/demo/satellites.toml"));
        write("beamhand.toml", &config(tongue));
        let radio = Bed::radio(&folder.path().join("radio"), tongue);
        let mast = Bed::mast(&folder.path().join("mast"));
        let daemon = Command::new(env!("CARGO_BIN_EXE_beamhand"))
            .args(["run", "--config"])
            .arg(folder.path().join("beamhand.toml"))
            .env_clear()
            .env("HOME", folder.path())
            .current_dir(folder.path())
            .stderr(File::create(folder.path().join("log")).unwrap())
            .spawn()
            .unwrap();
        let ward = Self { folder, radio, mast, track, daemon };
        until(20.0, "the daemon is there", || Client::connect(&ward.path("control")).is_ok());
        ward
    }

    /// Starts the pass in progress, and waits until both devices follow it.
    pub(crate) fn work(&self) {
        let params = StartParams { satellite: "GANNET-1".into(), ..StartParams::default() };
        Client::connect(&self.path("control")).unwrap().call(Method::Start(params)).unwrap();
        until(60.0, "the station follows", || {
            let status = self.status();
            let mast = status.rotator.as_ref().map(|mast| mast.state);
            status.state == State::Following
                && status.radios[0].state == DeviceState::Following
                && mast == Some(DeviceState::Following)
        });
    }

    pub(crate) fn control(&self) -> PathBuf {
        self.path("control")
    }

    /// Where the receiving dial belongs at an instant: the textbook's formula, not the plan's.
    pub(crate) fn wanted_receive(&self, at: Time) -> f64 {
        DOWNLINK * (1.0 - self.track.at(at).unwrap().range_rate_km_s / LIGHT)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn status(&self) -> Status {
        Client::connect(&self.path("control")).unwrap().status().unwrap()
    }

    pub(crate) fn call(&self, method: Method) {
        let _ = Client::connect(&self.path("control")).unwrap().call(method);
    }

    /// What the status says of a device.
    pub(crate) fn why(&self, which: Which) -> String {
        let status = self.status();
        match which {
            Which::Radio => status.radios[0].why.clone(),
            Which::Mast => status.rotator.map(|mast| mast.why).unwrap_or_default(),
        }
    }

    pub(crate) fn bed(&self, which: Which) -> &Bed {
        match which {
            Which::Radio => &self.radio,
            Which::Mast => &self.mast,
        }
    }

    pub(crate) fn bed_mut(&mut self, which: Which) -> &mut Bed {
        match which {
            Which::Radio => &mut self.radio,
            Which::Mast => &mut self.mast,
        }
    }

    pub(crate) fn log(&self) -> Vec<String> {
        std::fs::read_to_string(self.path("log")).unwrap().lines().map(str::to_owned).collect()
    }

    /// The daemon's resident memory, kB.
    pub(crate) fn memory_kb(&self) -> i64 {
        vital_signs::memory_kb(self.daemon.id())
    }

    /// The daemon's processor time, seconds.
    pub(crate) fn processor_s(&self) -> f64 {
        vital_signs::processor_s(self.daemon.id())
    }

    /// How many files the daemon holds open.
    pub(crate) fn open_files(&self) -> usize {
        vital_signs::open_files(self.daemon.id())
    }

    /// Waits until the status says this of a device; when that was.
    pub(crate) fn until_named(&self, which: Which, says: &str, seconds: f64) -> Time {
        within(seconds, says, || self.why(which).contains(says).then(Utc::now))
    }
}

impl Drop for Ward {
    fn drop(&mut self) {
        let _ = self.daemon.kill();
        let _ = self.daemon.wait();
    }
}

/// One of the two devices.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Which {
    Radio,
    Mast,
}

impl Which {
    pub(crate) fn other(self) -> Self {
        match self {
            Which::Radio => Which::Mast,
            Which::Mast => Which::Radio,
        }
    }
}

fn config(tongue: Tongue) -> String {
    let radio = match tongue {
        Tongue::Semicolon => "dialect = \"semicolon-eleven\"\nuse = \"both\"".to_owned(),
        Tongue::Frames => format!("dialect = \"fe-frames\"\nuse = \"receive\"\naddress = {ADDRESS}"),
    };
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
name = "radio"
port = "radio"
{radio}
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
