//! What a rehearsal comes to: one object for programs, a few lines for people.

use serde::Serialize;

use crate::control::{PassStatus, Status};
use crate::device::{LinePlan, RadioSetup};
use crate::sim::{Cause, Record};
use crate::terms::{AzEl, Direction, Validity};

use super::broken::{Broken, by_kind};
use super::score::{score_beam, score_dial};
use super::{Seen, Simulated, Stage, floor};

/// The whole of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    /// The pass that was played.
    pub pass: PassStatus,
    /// Every device, in the configuration's order.
    pub devices: Vec<DeviceSummary>,
    /// What was ordered to go wrong, as it was written; left out where nothing was.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub faults: Vec<String>,
    /// What the scripted operator did, as it was written; left out where it was nothing.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub operator: Vec<String>,
    /// What Beamhand noticed meanwhile; left out where nothing was ordered.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub seen: Vec<Seen>,
    /// For how many more changes there was no room in `seen`; left out where for all.
    #[serde(skip_serializing_if = "is_none")]
    pub seen_left_out: u64,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over references")]
fn is_none(count: &u64) -> bool {
    *count == 0
}

/// One device, as heard at its far end. Errors are null where nothing could be judged.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DeviceSummary {
    /// The name that the configuration gives it.
    pub device: String,
    /// `radio` or `rotator`.
    pub kind: &'static str,
    /// What the errors are in: `Hz`, or `deg` of sky.
    pub unit: &'static str,
    /// Commands that had an effect; questions are not counted.
    pub commands: u64,
    /// Bytes that reached it; null where nobody counted.
    pub bytes: Option<u64>,
    /// Commands that it refused.
    pub refused: u64,
    /// What must never happen, but did: key commands, frequencies outside the segments, limits.
    pub violations: u64,
    /// The same by kind; left out where nothing happened.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub broken: Vec<Broken>,
    /// A mount that only turns is judged as if it were as high as the satellite; left out for others.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub azimuth_only: bool,
    /// The errors; a radio's are those of its worse direction.
    #[serde(flatten)]
    pub errors: Errors,
    /// A radio's directions, each by itself.
    pub directions: Vec<DirectionErrors>,
}

/// The errors of one direction of a radio.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DirectionErrors {
    /// Which.
    pub direction: Direction,
    /// Its errors.
    #[serde(flatten)]
    pub errors: Errors,
}

/// Errors against the plan over the pass.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Errors {
    /// The least error that the line or the mount allows.
    pub floor: Option<f64>,
    /// The largest.
    pub max: Option<f64>,
    /// 95 % of the instants were no worse.
    pub p95: Option<f64>,
    /// Root mean square.
    pub rms: Option<f64>,
    /// Share of instants: a dial within 1.2 times the floor, the satellite within a quarter of
    /// the beam's width where the mount's speed allows it.
    pub within: Option<f64>,
}

impl Errors {
    fn new([floor, max, p95, rms, within]: [f64; 5]) -> Self {
        let short = |value: f64| Some((value * 1000.0).round() / 1000.0);
        Self { floor: short(floor), max: short(max), p95: short(p95), rms: short(rms), within: short(within) }
    }

    /// Each figure's worse one.
    fn worse(self, other: Self) -> Self {
        let one_of = |a: Option<f64>, b: Option<f64>, choose: fn(f64, f64) -> f64| match (a, b) {
            (Some(a), Some(b)) => Some(choose(a, b)),
            (a, b) => a.or(b),
        };
        let larger = |a, b| one_of(a, b, f64::max);
        Self {
            floor: larger(self.floor, other.floor),
            max: larger(self.max, other.max),
            p95: larger(self.p95, other.p95),
            rms: larger(self.rms, other.rms),
            within: one_of(self.within, other.within, f64::min),
        }
    }
}

impl Summary {
    fn new(pass: PassStatus, devices: Vec<DeviceSummary>) -> Self {
        Self { pass, devices, faults: Vec::new(), operator: Vec::new(), seen: Vec::new(), seen_left_out: 0 }
    }

    /// How often happened what must never happen.
    pub fn violations(&self) -> u64 {
        self.devices.iter().map(|device| device.violations).sum()
    }

    /// For real equipment, which keeps no record: what was sent, and no judgement.
    pub fn of_status(pass: PassStatus, status: &Status) -> Self {
        let of = |name: &str, kind, unit, commands, refused| DeviceSummary {
            device: name.to_owned(),
            kind,
            unit,
            commands,
            bytes: None,
            refused,
            violations: 0,
            azimuth_only: false,
            broken: Vec::new(),
            errors: Errors::default(),
            directions: Vec::new(),
        };
        let radios =
            status.radios.iter().map(|radio| of(&radio.name, "radio", "Hz", radio.commands, radio.refused));
        let rotator = status
            .rotator
            .iter()
            .map(|mount| of(&mount.name, "rotator", "deg", mount.commands, mount.refused));
        Self::new(pass, radios.chain(rotator).collect())
    }
}

/// Judges every device over the part `span` of the pass, by its own record.
pub fn summarise(
    stage: &Stage,
    plans: &[LinePlan],
    devices: &[Simulated],
    span: Validity,
    pass: PassStatus,
) -> Summary {
    let devices = devices.iter().map(|device| {
        let record = &device.handles.record;
        let mut summary = if device.is_rotator {
            DeviceSummary { errors: beam(stage, record, span), ..blank(stage, device, "rotator", "deg") }
        } else {
            DeviceSummary {
                directions: dials(stage, plans, device, span),
                ..blank(stage, device, "radio", "Hz")
            }
        };
        summary.errors = summary.directions.iter().fold(summary.errors, |all, one| all.worse(one.errors));
        summary
    });
    Summary::new(pass, devices.collect())
}

fn blank(stage: &Stage, device: &Simulated, kind: &'static str, unit: &'static str) -> DeviceSummary {
    let record = &device.handles.record;
    let counts = record.counts();
    let violations = record.violations();
    let landed = record.landings().iter().filter(|landing| landing.cause == Cause::Command).count();
    DeviceSummary {
        device: device.name.clone(),
        kind,
        unit,
        commands: (landed + record.aims().len()) as u64,
        bytes: Some(counts.bytes_heard),
        refused: counts.refused,
        violations: violations.len() as u64,
        azimuth_only: device.is_rotator
            && stage.planner.mount.as_ref().is_some_and(|mount| mount.elevation.is_none()),
        broken: by_kind(&violations, stage.curtain()),
        errors: Errors::default(),
        directions: Vec::new(),
    }
}

fn beam(stage: &Stage, record: &Record, span: Validity) -> Errors {
    let (Some(mount), Some(rotator)) = (&stage.planner.mount, &stage.config.rotator) else {
        return Errors::default();
    };
    let speed = AzEl::new(rotator.slew.azimuth, rotator.slew.elevation);
    score_beam(record, &stage.job.track, mount, speed, rotator.offset, rotator.worthwhile_deg() / 2.0, span)
        .map_or_else(Errors::default, |score| {
            Errors::new([score.floor, score.max, score.p95, score.rms, score.within])
        })
}

fn dials(stage: &Stage, plans: &[LinePlan], device: &Simulated, span: Validity) -> Vec<DirectionErrors> {
    let find = |plan: &LinePlan| -> Option<RadioSetup> {
        plan.devices
            .iter()
            .filter_map(|device| device.radio())
            .find(|radio| radio.name == device.name)
            .cloned()
    };
    let Some((plan, radio)) = plans.iter().find_map(|plan| Some((plan, find(plan)?))) else {
        return Vec::new();
    };
    let judge = |direction| {
        let floor = floor(plan, &radio, direction, &stage.job)?;
        let score = score_dial(&device.handles.record, &*stage.job.tuning, direction, span, &floor)?;
        let errors = Errors::new([score.floor, score.max, score.p95, score.rms, score.within]);
        Some(DirectionErrors { direction, errors })
    };
    radio.directions().filter_map(judge).collect()
}
