//! From the configuration's words to the devices' setups.

use std::sync::Arc;
use std::time::Duration;

use crate::beam::Mount;
use crate::config::{Config, Line, Radio, Rotator};
use crate::device::line::LineSetup;
use crate::device::{DeviceSetup, LinePlan, RadioSetup, RotatorSetup, Use};
use crate::session::{SessionSetup, ToneSender};
use crate::terms::{AngleRange, AzEl, Direction, NoGo};

/// The lines that the configuration names, each with its devices. `speed` is 1, but for simulated
/// equipment on a rehearsal's clock.
pub fn lines(config: &Config, speed: f64) -> Vec<LinePlan> {
    let mut plans: Vec<LinePlan> = Vec::new();
    for radio in &config.radios {
        let device = DeviceSetup::Radio(radio_setup(config, radio));
        match plans.iter_mut().find(|plan| plan.port.port == radio.line.port) {
            Some(bus) => share(bus, &radio.line, device),
            None => plans.push(line(&radio.line, device, speed)),
        }
    }
    if let Some(rotator) = &config.rotator {
        let device = DeviceSetup::Rotator(rotator_setup(rotator));
        plans.push(line(&rotator.line, device, speed));
    }
    plans
}

/// The mount that the configuration describes, in its true degrees. Its ends are the last places that the
/// controller can be sent to.
pub fn mount(rotator: &Rotator) -> Mount {
    let on_grid = |range: AngleRange, offset: f64| {
        let step = rotator.resolution;
        let ends = ((range.from / step - 1e-9).ceil() * step, (range.to / step + 1e-9).floor() * step);
        // A travel between two steps is no use, and not for this to judge.
        let (from, to) = if ends.0 < ends.1 { ends } else { (range.from, range.to) };
        AngleRange::new(from + offset, to + offset)
    };
    let AzEl { azimuth, elevation } = rotator.offset;
    Mount {
        azimuth: on_grid(rotator.azimuth, azimuth),
        elevation: rotator.elevation.map(|range| on_grid(range, elevation)),
        slew: rotator.slew,
        acceleration: rotator.acceleration,
        park: parked(rotator),
        beam_width: rotator.beam_width,
        no_go: no_go(rotator),
        lean: rotator.lean,
        quiet: rotator.quiet.then(|| rotator.quiet_deg()),
        resolution: rotator.resolution,
    }
}

/// Where it rests, in its true degrees.
fn parked(rotator: &Rotator) -> AzEl {
    AzEl::new(
        rotator.park.azimuth + rotator.offset.azimuth,
        rotator.park.elevation + rotator.offset.elevation,
    )
}

/// The sectors as the mount counts.
fn no_go(rotator: &Rotator) -> Vec<NoGo> {
    rotator.no_go.iter().map(|sector| rotator.lean.covering(*sector)).collect()
}

fn shifted(range: AngleRange, by: f64) -> AngleRange {
    AngleRange::new(range.from + by, range.to + by)
}

/// How a session works at this station.
pub fn session_setup(config: &Config, mount: Option<Mount>) -> SessionSetup {
    SessionSetup {
        radios: config.radios.len(),
        receivers: (0..)
            .zip(&config.radios)
            .filter(|(_, radio)| receives(radio))
            .map(|(index, _)| index)
            .collect(),
        mount,
        slew: config.rotator.as_ref().map(|rotator| rotator.slew),
        park_after: config.session.park_after,
        restore_radio: config.session.restore_radio,
        tone: tone_sender(config),
        arming_s: config.session.arming_s,
    }
}

fn receives(radio: &Radio) -> bool {
    radio.uses.serves(Direction::Receive)
}

/// The radio that sends the tone, or why none does.
fn tone_sender(config: &Config) -> ToneSender {
    let nobody = |why: String| ToneSender::Nobody(why);
    let Some(index) = config.radios.iter().position(|radio| radio.uses != Use::Receive) else {
        return nobody("no radio transmits here, so no tone is sent".to_owned());
    };
    let radio = &config.radios[index];
    if config.transmit.is_empty() {
        return nobody("the transmitter is left alone: no [transmit] segments are configured".to_owned());
    }
    let dialect = &radio.line.dialect;
    let setup = radio_setup(config, radio);
    if !dialect.can(&format!("do.{}", setup.item(Direction::Transmit, "tone"))) {
        let (name, language) = (&radio.name, dialect.name());
        return nobody(format!("{name} can't be given a tone in its language, {language}: set it by hand"));
    }
    ToneSender::Radio { index, tells_overs: dialect.can("ask.transmitting") }
}

fn line(wired: &Line, device: DeviceSetup, speed: f64) -> LinePlan {
    let usual = wired.dialect.line();
    LinePlan {
        port: LineSetup {
            port: wired.port.clone(),
            baud: wired.baud.unwrap_or(usual.baud),
            stop_bits: usual.stop_bits,
            raise: wired.raise,
        },
        answer: wired.answer_ms.map_or(usual.answer, |ms| Duration::from_millis(ms.into())),
        speed,
        devices: vec![device],
    }
}

/// One more device on a bus: the slower answer counts, and a line that either needs high is raised.
fn share(bus: &mut LinePlan, wired: &Line, device: DeviceSetup) {
    bus.answer = bus.answer.max(Duration::from_millis(wired.answer_ms.unwrap_or(0).into()));
    bus.port.raise.dtr |= wired.raise.dtr;
    bus.port.raise.rts |= wired.raise.rts;
    bus.devices.push(device);
}

fn radio_setup(config: &Config, radio: &Radio) -> RadioSetup {
    RadioSetup {
        name: radio.name.clone(),
        dialect: Arc::clone(&radio.line.dialect),
        address: radio.address,
        uses: radio.uses,
        step: radio.step,
        worthwhile: radio.worthwhile,
        calibration: radio.calibration,
        hold_uplink: radio.hold_uplink,
        segments: config.transmit.clone(),
        receive_only: false,
    }
}

fn rotator_setup(rotator: &Rotator) -> RotatorSetup {
    RotatorSetup {
        name: rotator.name.clone(),
        dialect: Arc::clone(&rotator.line.dialect),
        resolution: rotator.resolution,
        offset: rotator.offset,
        azimuth: shifted(rotator.azimuth, rotator.offset.azimuth),
        elevation: rotator.elevation.map(|range| shifted(range, rotator.offset.elevation)),
        no_go: no_go(rotator),
        slew: rotator.slew,
        acceleration: rotator.acceleration,
        dead_band: rotator.dead_band,
        worthwhile: rotator.worthwhile_deg(),
        approach: rotator.approach,
        by_hand: rotator.by_hand,
    }
}
