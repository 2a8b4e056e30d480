//! `[[radio]]` and `[rotator]`.

use std::ops::RangeInclusive;
use std::path::Path;
use std::sync::Arc;

use crate::beam::Lean;
use crate::config::defaults;
use crate::config::dialects::Dialects;
use crate::config::document::Section;
use crate::config::document::kind::{Kind, choice, dialect, flag, number, path, whole, word};
use crate::config::equipment::{Line, Radio, Rotator};
use crate::config::service::Service;
use crate::device::dialect::Dialect;
use crate::device::family::ADDRESSES;
use crate::device::line::Raise;
use crate::device::{Approach, ByHand, ByMode, Calibration, Correction, RotatorSetup, Use};
use crate::terms::{AngleRange, AzEl, Hertz, NoGo};

/// `[[radio]]`.
pub(super) fn radio(radio: &mut Section<'_>, dialects: &Dialects) -> Option<Radio> {
    let name = radio.required("name", &word());
    let uses = radio.required("use", &choice(&USES));
    let wired = line(radio, Service::Radio(uses), dialects);
    let address = radio.optional("address", &address());
    let step = by_mode(radio, "step_hz");
    let worthwhile = by_mode(radio, "worthwhile_hz");
    let calibration = calibration(radio.section("calibration", "calibration"));
    let hold_uplink = radio.or("hold_uplink", &flag(), false);
    radio.finish();
    let line = wired?;
    check_address(radio, &line.dialect, address);
    check_step(radio, &line.dialect, step);
    check_hold(radio, &line.dialect, hold_uplink);
    let (name, uses) = (name?, uses?);
    Some(Radio { name, line, uses, address, step, worthwhile, hold_uplink, calibration })
}

/// `[rotator]`; `None` also where there is none.
pub(super) fn rotator(rotator: &mut Section<'_>, dialects: &Dialects) -> Option<Rotator> {
    if !rotator.is_there() {
        return None;
    }
    let name = rotator.required("name", &word());
    let wired = line(rotator, Service::Rotator, dialects);
    let azimuth = limits(rotator.section("azimuth", "azimuth"), -360.0..=720.0, defaults::AZIMUTH);
    let elevation = elevation(rotator);
    let (slew, slew_is_default) = slew(rotator.section("slew_deg_s", "slew_deg_s"), elevation.is_some());
    let acceleration = acceleration(rotator.section("acceleration_deg_s2", "acceleration_deg_s2"));
    let park = park(rotator.section("park", "park"), azimuth, elevation);
    let beam_width_is_default = !rotator.has("beam_width");
    let beam_width = rotator.or("beam_width", &number(1.0..=180.0, "degrees"), defaults::BEAM_WIDTH);
    let dead_band = dead_band(rotator, beam_width);
    let quiet = rotator.or("motion", &choice(&MOTIONS), false);
    let no_go = no_go(rotator);
    let offset = offset(rotator.section("offset", "offset"));
    let lean = lean(rotator.section("lean", "lean"));
    let resolution = rotator.optional("resolution_deg", &number(0.01..=15.0, "degrees"));
    let approach = approach(rotator);
    let by_hand = rotator.or("by_hand", &choice(&BY_HAND), ByHand::Follow);
    rotator.finish();
    let (name, line) = (name?, wired?);
    let resolution = resolution.unwrap_or(0.0).max(line.dialect.resolution());
    check_park(rotator, park, &no_go);
    let setup = RotatorSetup {
        name: name.clone(),
        dialect: Arc::clone(&line.dialect),
        resolution,
        // What can be said does not depend on what it means.
        offset: AzEl::ZERO,
        azimuth,
        elevation,
        no_go: no_go.clone(),
        slew,
        acceleration,
        dead_band,
        worthwhile: dead_band,
        approach,
        by_hand,
    };
    check_reach(rotator, &setup);
    Some(Rotator {
        name,
        line,
        azimuth,
        elevation,
        slew,
        acceleration,
        slew_is_default,
        park,
        beam_width,
        beam_width_is_default,
        dead_band,
        quiet,
        no_go,
        offset,
        lean,
        resolution,
        approach,
        by_hand,
    })
}

/// How the beam is moved, and whether that is quietly.
const MOTIONS: [(&str, bool); 2] = [("close", false), ("quiet", true)];

const BY_HAND: [(&str, ByHand); 2] = [("follow", ByHand::Follow), ("hand over", ByHand::HandOver)];

const USES: [(&str, Use); 4] = [
    ("receive", Use::Receive),
    ("transmit", Use::Transmit),
    ("both", Use::Both),
    ("half-duplex", Use::HalfDuplex),
];

fn line(device: &mut Section<'_>, service: Service, dialects: &Dialects) -> Option<Line> {
    let port = device.required("port", &path(device.folder()));
    let dialect = fitting(device, service, dialects);
    let baud = device.optional("baud", &baud());
    let answer_ms = device.optional("answer_ms", &answer_ms());
    let raise = device.list("raise", &choice(&[("dtr", "dtr"), ("rts", "rts")])).unwrap_or_default();
    let raise = Raise { dtr: raise.contains(&"dtr"), rts: raise.contains(&"rts") };
    let dialect = dialect?;
    let dialect_file = dialects.file(dialect.name()).map(Path::to_owned);
    Some(Line { port: port?, dialect, dialect_file, baud, answer_ms, raise })
}

/// The dialect that the device names, if it is in order and fits.
fn fitting(device: &mut Section<'_>, service: Service, dialects: &Dialects) -> Option<Arc<Dialect>> {
    let name = device.required("dialect", &dialect(service, dialects))?;
    let dialect = match dialects.get(&name)? {
        Ok(dialect) => dialect,
        Err(faults) => {
            device.refuse_elsewhere(&faults);
            return None;
        }
    };
    if let Some(objection) = service.objection(&dialect) {
        device.refuse_among("dialect", objection, service.names(dialects));
        return None;
    }
    Some(dialect)
}

fn check_address(radio: &Section<'_>, dialect: &Dialect, address: Option<u8>) {
    let missing = dialect.family().is_addressed() && dialect.address().or(address).is_none();
    if missing && !radio.has("address") {
        let what = format!("`{}` needs the radio's `address`, as its menu shows it", dialect.name());
        radio.refuse_among("dialect", what, self::address().accepted());
    }
}

fn check_step(radio: &Section<'_>, dialect: &Dialect, step: ByMode) {
    let least = dialect.step();
    if let Some(step) = step.least().filter(|step| *step < least) {
        let what = format!("`step_hz` {} is finer than `{}` tunes", step.0, dialect.name());
        radio.refuse_among("step_hz", what, format!("{} or more", least.0));
    }
}

fn check_hold(radio: &Section<'_>, dialect: &Dialect, hold_uplink: bool) {
    if hold_uplink && !dialect.can("ask.transmitting") {
        let name = dialect.name();
        let what =
            format!("`{name}` can't ask a radio whether it transmits, so nothing can be held meanwhile");
        radio.refuse_among("hold_uplink", what, "false".to_owned());
    }
}

/// Every place that the mount can be sent to must be one that the dialect has words for.
fn check_reach(rotator: &Section<'_>, setup: &RotatorSetup) {
    let Some(what) = setup.unsayable() else { return };
    let verb = if setup.elevation.is_some() { "do.aim" } else { "do.azimuth" };
    let level = setup.elevation.map(|_| AngleRange { from: 0.0, to: 0.0 });
    let by_azimuth = RotatorSetup { elevation: level, ..setup.clone() }.unsayable().is_some();
    let key = match (setup.dialect.can(verb), setup.elevation.is_some()) {
        (false, true) => "dialect",
        (false, false) => "azimuth_only",
        _ if by_azimuth => "azimuth",
        _ => "elevation",
    };
    let name = setup.dialect.name();
    let more = if key == "azimuth" { counted_from_zero(setup) } else { String::new() };
    rotator.refuse(key, format!("`{name}` can't send the mount to all of its limits: {what}{more}"));
}

/// What to write for the same circle where a language has no numbers below zero: mounts that stop
/// in the south count from 0, or from 180 on.
fn counted_from_zero(setup: &RotatorSetup) -> String {
    let AngleRange { from, to } = setup.azimuth;
    let counted = AngleRange { from: from + 360.0, to: to + 360.0 };
    let is_sayable = RotatorSetup { azimuth: counted, ..setup.clone() }.unsayable().is_none();
    if from >= 0.0 || !is_sayable {
        return String::new();
    }
    format!(
        "; from = 0, to = 360 if your controller counts from north, from = {}, to = {} if your controller \
         counts so; its display tells",
        counted.from, counted.to
    )
}

fn address() -> Kind<u8> {
    let within = |address: i64| u8::try_from(address).ok().filter(|address| ADDRESSES.contains(address));
    whole(0..=0xFF, "").map("a whole number from 0x03 to 0xDF, set in the radio's menu", within)
}

fn baud() -> Kind<u32> {
    const SPEEDS: [i64; 11] = [300, 600, 1200, 2400, 4800, 9600, 19_200, 38_400, 57_600, 76_800, 115_200];
    whole(300..=115_200, "").map(SPEEDS.map(|speed| speed.to_string()).join(", "), |baud| {
        SPEEDS.contains(&baud).then(|| u32::try_from(baud).ok()).flatten()
    })
}

fn answer_ms() -> Kind<u32> {
    whole(10..=5000, "").map("a whole number from 10 to 5000 milliseconds", |ms| u32::try_from(ms).ok())
}

/// A frequency for all modes, or one for each kind of mode.
fn by_mode(radio: &mut Section<'_>, key: &'static str) -> ByMode {
    let hertz = |more| {
        let accepted = format!("a whole number from 1 to 100_000 hertz{more}");
        whole(1..=100_000, "").map(accepted, |hertz| Some(Hertz(hertz)))
    };
    if !radio.has_table(key) {
        let one = radio.optional(key, &hertz(", or a table of fm, ssb, cw and am"));
        return one.map_or_else(ByMode::default, ByMode::all);
    }
    let mut modes = radio.section(key, key);
    let by_mode = ByMode {
        fm: modes.optional("fm", &hertz("")),
        ssb: modes.optional("ssb", &hertz("")),
        cw: modes.optional("cw", &hertz("")),
        am: modes.optional("am", &hertz("")),
    };
    modes.finish();
    by_mode
}

/// A cheap crystal is off by tens of millionths at most; more is a mistake in the file.
fn calibration(mut calibration: Section<'_>) -> Calibration {
    let ppm = || number(-200.0..=200.0, "millionths");
    let hz = || whole(-100_000..=100_000, "hertz").map("a whole number from -100_000 to 100_000 hertz", Some);
    let mut correction = |ppm_key, hz_key| Correction {
        ppm: calibration.or(ppm_key, &ppm(), 0.0),
        hz: Hertz(calibration.or(hz_key, &hz(), 0)),
    };
    let read = Calibration {
        receive: correction("receive_ppm", "receive_hz"),
        transmit: correction("transmit_ppm", "transmit_hz"),
    };
    calibration.finish();
    read
}

fn limits(mut limits: Section<'_>, range: RangeInclusive<f64>, default: AngleRange) -> AngleRange {
    let from = limits.or("from", &number(range.clone(), "degrees"), default.from);
    let to = limits.or("to", &number(range, "degrees"), default.to);
    if from >= to {
        limits.refuse("to", format!("`to` ({to}) is not above `from` ({from}): the mount could not move"));
    }
    limits.finish();
    AngleRange { from, to }
}

fn elevation(rotator: &mut Section<'_>) -> Option<AngleRange> {
    let azimuth_only = rotator.or("azimuth_only", &flag(), false);
    let elevation = limits(rotator.section("elevation", "elevation"), -10.0..=190.0, defaults::ELEVATION);
    if azimuth_only && rotator.has("elevation") {
        rotator.refuse("elevation", "`elevation` stands beside `azimuth_only = true`: take one of them out");
    }
    (!azimuth_only).then_some(elevation)
}

/// How fast it moves, and whether an axis that it has is only taken to do so.
fn slew(mut slew: Section<'_>, tilts: bool) -> (AzEl, bool) {
    let speed = || number(0.1..=60.0, "degrees per second");
    let azimuth = slew.or("azimuth", &speed(), defaults::SLEW.azimuth);
    let elevation = slew.or("elevation", &speed(), defaults::SLEW.elevation);
    let is_default = !slew.has("azimuth") || (tilts && !slew.has("elevation"));
    slew.finish();
    (AzEl { azimuth, elevation }, is_default)
}

/// How quickly the motors speed up.
fn acceleration(mut acceleration: Section<'_>) -> AzEl {
    let rate = || number(0.1..=100.0, "degrees per second squared");
    let usual = defaults::ACCELERATION;
    let azimuth = acceleration.or("azimuth", &rate(), usual.azimuth);
    let elevation = acceleration.or("elevation", &rate(), usual.elevation);
    acceleration.finish();
    AzEl { azimuth, elevation }
}

fn park(mut park: Section<'_>, azimuth: AngleRange, elevation: Option<AngleRange>) -> AzEl {
    let axis = |park: &mut Section<'_>, key, limits: AngleRange, default: f64| {
        // Not by `clamp`, which panics on exchanged limits; those were reported already.
        let default = default.max(limits.from).min(limits.to);
        let angle = park.or(key, &number(-360.0..=720.0, "degrees"), default);
        if park.has(key) && limits.from < limits.to && !limits.contains(angle) {
            let (from, to) = (limits.from, limits.to);
            park.refuse(key, format!("`{key}` {angle} is outside the mount's limits, {from} to {to}"));
        }
        angle
    };
    let tilt = elevation.unwrap_or(defaults::ELEVATION);
    let parked = AzEl {
        azimuth: axis(&mut park, "azimuth", azimuth, defaults::PARK.azimuth),
        elevation: axis(&mut park, "elevation", tilt, defaults::PARK.elevation),
    };
    park.finish();
    parked
}

/// What the controller's figures are off by; more is a wrong cable or a wrong mount.
fn offset(mut offset: Section<'_>) -> AzEl {
    let azimuth = offset.or("azimuth", &number(-180.0..=180.0, "degrees"), 0.0);
    let elevation = offset.or("elevation", &number(-30.0..=30.0, "degrees"), 0.0);
    offset.finish();
    AzEl { azimuth, elevation }
}

/// How the mast leans; one that leans more is falling.
fn lean(mut lean: Section<'_>) -> Lean {
    let degrees = lean.or("degrees", &number(0.0..=15.0, "degrees"), 0.0);
    let towards = lean.or("towards", &number(-360.0..=720.0, "degrees"), 0.0);
    if lean.has("degrees") && !lean.has("towards") {
        lean.refuse(
            "degrees",
            "`lean` needs `towards`, the compass direction that the mast leans in".to_owned(),
        );
    }
    lean.finish();
    Lean { degrees, towards }
}

/// Sectors for the beam: compass azimuths, clockwise, and elevations; all of them where none are given.
fn no_go(rotator: &mut Section<'_>) -> Vec<NoGo> {
    let mut sectors = rotator.sections("no_go", "no_go");
    if sectors.len() > MOST_SECTORS {
        rotator.refuse("no_go", format!("more than {MOST_SECTORS} sectors: join some of them"));
    }
    sectors.iter_mut().filter_map(sector).collect()
}

/// More would make the search for a way around slow, and no station has so many walls.
const MOST_SECTORS: usize = 8;

fn sector(sector: &mut Section<'_>) -> Option<NoGo> {
    let edge = || number(-360.0..=720.0, "degrees");
    let mut azimuth = sector.section("azimuth", "azimuth");
    let turn = [("from", 0.0), ("to", 360.0)].map(|(key, usual)| azimuth.or(key, &edge(), usual));
    azimuth.finish();
    let elevation =
        limits(sector.section("elevation", "elevation"), -90.0..=90.0, AngleRange::new(-90.0, 90.0));
    sector.finish();
    if !sector.has("azimuth") && !sector.has("elevation") {
        sector.refuse("azimuth", "a sector of the whole sky leaves the beam nowhere to go");
        return None;
    }
    Some(NoGo { azimuth: AngleRange::new(turn[0], turn[1]), elevation })
}

/// The side from which azimuths are approached, with the play that it is for.
fn approach(rotator: &mut Section<'_>) -> Option<Approach> {
    let side = rotator.optional("approach", &choice(&[("clockwise", true), ("counter-clockwise", false)]));
    let play = rotator.or("play", &number(0.1..=20.0, "degrees"), defaults::PLAY);
    if rotator.has("play") && !rotator.has("approach") {
        rotator.refuse("play", "`play` needs `approach`, the side from which the azimuth is right");
    }
    side.map(|clockwise| Approach { clockwise, play })
}

/// The beam must be able to rest.
fn check_park(rotator: &Section<'_>, park: AzEl, no_go: &[NoGo]) {
    if no_go.iter().any(|sector| sector.forbids(park)) {
        let key = if rotator.has("park") { "park" } else { "no_go" };
        let what = format!("the park position, {} {}, lies in a no-go sector", park.azimuth, park.elevation);
        rotator.refuse(key, what);
    }
}

fn dead_band(rotator: &mut Section<'_>, beam_width: f64) -> f64 {
    let dead_band = rotator.or("dead_band", &number(0.1..=45.0, "degrees"), defaults::DEAD_BAND);
    if dead_band > beam_width / 2.0 {
        let key = if rotator.has("dead_band") { "dead_band" } else { "beam_width" };
        let what = format!("`dead_band` ({dead_band}) is more than half of `beam_width` ({beam_width})");
        rotator.refuse(key, what + ": the satellite would leave the beam");
    }
    dead_band
}
