//! A station in virtual time with simulated equipment, and its judges.

use beamhand::config::{Config, DEMO_CONFIG, DefaultPaths};
use beamhand::device::LinePlan;
use beamhand::rehearsal::{BeamScore, DialScore};
use beamhand::rehearsal::{Simulated, Stage, VirtualStation, demo, floor, score_beam, score_dial, simulate};
use beamhand::session::Command;
use beamhand::sim::Record;
use beamhand::terms::{AzEl, Direction, Time, later, parse_time};

/// A pass on its way.
pub(crate) struct Theatre {
    pub(crate) stage: Stage,
    pub(crate) station: VirtualStation,
    pub(crate) plans: Vec<LinePlan>,
    devices: Vec<Simulated>,
}

/// The demo's configuration with another list of equipment; its dials follow every step.
pub(crate) fn demo_with(equipment: &str) -> Config {
    let head = DEMO_CONFIG.split("[[radio]]").next().unwrap();
    let text = format!("{head}\n{equipment}");
    Config::parse("test.toml".as_ref(), &text, &DefaultPaths::system()).unwrap()
}

pub(crate) const MAST: &str = "[rotator]\nname = \"mast\"\nport = \"/dev/mast\"\ndialect = \"az-el-words\"\n\
    azimuth = { from = 0, to = 450 }\nelevation = { from = 0, to = 180 }\n\
    slew_deg_s = { azimuth = 6, elevation = 6 }\n";

/// The same mast behind a controller that speaks another language.
pub(crate) fn mast(dialect: &str) -> String {
    MAST.replace("az-el-words", dialect)
}

pub(crate) fn radio(name: &str, dialect: &str, uses: &str) -> String {
    format!(
        "[[radio]]\nname = \"{name}\"\nport = \"/dev/{name}\"\ndialect = \"{dialect}\"\nuse = \"{uses}\"\n\
         step_hz = 10\nworthwhile_hz = 10\n"
    )
}

impl Theatre {
    /// The good pass of the demo's repeater, with this configuration.
    pub(crate) fn open(config: Config) -> Self {
        Self::open_for(config, "GANNET-1", None)
    }

    /// The next pass of a link of the demo.
    pub(crate) fn open_for(config: Config, satellite: &str, link: Option<&str>) -> Self {
        let (_, catalog) = demo().unwrap();
        let evening = parse_time("2026-11-25T18:00:00Z").unwrap();
        let stage = Stage::set(config, catalog, satellite, link, evening).unwrap();
        let plans = stage.lines(1.0);
        let far_ends = simulate(&stage.config, &plans, None).unwrap();
        let (mut devices, mut lines) = (Vec::new(), Vec::new());
        for (plan, far) in plans.iter().zip(far_ends) {
            devices.extend(far.devices);
            lines.push((plan.clone(), far.wire));
        }
        let station = VirtualStation::new(stage.curtain(), stage.session(), lines);
        Self { stage, station, plans, devices }
    }

    /// Starts the session.
    pub(crate) fn start(&mut self) {
        self.station.command(Command::Start(Box::new(self.stage.job.clone()))).unwrap();
    }

    /// Plays until so many seconds after AOS.
    pub(crate) fn play_until(&mut self, after_aos: f64) {
        self.station.run_until(self.after_aos(after_aos));
    }

    /// Plays to the end and three minutes on.
    pub(crate) fn play_out(&mut self) {
        self.station.run_until(later(self.stage.job.span.until, 190.0));
    }

    pub(crate) fn after_aos(&self, seconds: f64) -> Time {
        later(self.stage.job.span.from, seconds)
    }

    /// What a device says of itself.
    pub(crate) fn record(&self, name: &str) -> &Record {
        &self.device(name).handles.record
    }

    pub(crate) fn device(&self, name: &str) -> &Simulated {
        self.devices.iter().find(|device| device.name == name).unwrap()
    }

    pub(crate) fn dial(&self, name: &str, direction: Direction) -> DialScore {
        let find = |plan: &LinePlan| {
            plan.devices.iter().find_map(|device| Some(device.radio().filter(|r| r.name == name)?.clone()))
        };
        let (plan, radio) = self.plans.iter().find_map(|plan| Some((plan, find(plan)?))).unwrap();
        let floor = floor(plan, &radio, direction, &self.stage.job).unwrap();
        score_dial(self.record(name), &*self.stage.job.tuning, direction, self.stage.job.span, &floor)
            .unwrap()
    }

    pub(crate) fn beam(&self) -> BeamScore {
        let mount = self.stage.planner.mount.clone().unwrap();
        let rotator = self.stage.config.rotator.as_ref().unwrap();
        let speed = AzEl::new(rotator.slew.azimuth, rotator.slew.elevation);
        let (job, floor) = (&self.stage.job, rotator.dead_band / 2.0 + 0.05);
        score_beam(self.record("mast"), &job.track, &mount, speed, rotator.offset, floor, job.span).unwrap()
    }

    /// Nothing forbidden reached any device.
    pub(crate) fn assert_no_violation(&self) {
        for device in &self.devices {
            assert_eq!(device.handles.record.violations(), [], "{}", device.name);
        }
    }
}
