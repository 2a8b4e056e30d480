//! Simulated equipment for what a configuration names.

use crate::config::{Config, Radio, Rotator};
use crate::device::{Correction, DeviceSetup, LinePlan, RadioSetup, Use, Values};
use crate::sim::mount::{
    AxisSettings, Limits, MountSettings, ThirteenByte, ThirteenByteSettings, WLines, WLinesSettings, Words,
    WordsSettings,
};
use crate::sim::radio::five_byte::{FiveByte, FiveByteDuplex};
use crate::sim::radio::frames::{Frames, FramesSettings};
use crate::sim::radio::semicolon::{Layout, Semicolon, SemicolonSettings};
use crate::sim::radio::{DialError, Offsets, RadioSettings, SignalSource, Vfo};
use crate::sim::{Bus, Device, Fault, Faults, Handles, Wire, WireSettings};
use crate::terms::{AngleRange, Hertz};

/// The far end of one line.
pub struct SimulatedLine {
    /// What is plugged into the line.
    pub wire: Wire,
    /// The devices on it, in the order of the line's plan.
    pub devices: Vec<Simulated>,
}

/// One simulated device, as a judge sees it.
#[derive(Debug, Clone)]
pub struct Simulated {
    /// The name that the configuration gives it.
    pub name: String,
    /// Its record, faults and script.
    pub handles: Handles,
    /// What is wrong with its cable: on a bus it is that of all, else the device's own.
    pub cable: Faults,
    /// Its line's number.
    pub line: usize,
    /// Whether it is the rotator.
    pub is_rotator: bool,
    /// What it does in a pass, if it is a radio.
    pub uses: Option<Use>,
    /// Whether its language has addresses.
    pub has_address: bool,
}

impl Simulated {
    /// A radio on the first line, by itself.
    pub(super) fn radio(name: &str, uses: Use, handles: Handles) -> Self {
        Self {
            name: name.to_owned(),
            cable: handles.faults.clone(),
            handles,
            line: 0,
            is_rotator: false,
            uses: Some(uses),
            has_address: false,
        }
    }

    /// The rotator, on a line of its own.
    pub(super) fn rotator(name: &str, line: usize, handles: Handles) -> Self {
        let radio = Self::radio(name, Use::Both, handles);
        Self { line, is_rotator: true, uses: None, ..radio }
    }

    /// The switches that `fault` belongs to. What is wrong with one device of a bus leaves its
    /// neighbours alone; what is wrong with the cable concerns all.
    pub(super) fn switches(&self, fault: Fault) -> &Faults {
        match fault {
            Fault::Mute
            | Fault::Off
            | Fault::Refusals
            | Fault::OtherAddress
            | Fault::MotorStalled
            | Fault::MotorsReversed
            | Fault::TurnedByHand { .. }
            | Fault::ReadOutOff { .. }
            | Fault::ReadOutFrozen
            | Fault::DialStuck => &self.handles.faults,
            _ => &self.cable,
        }
    }
}

/// Simulated equipment for each of `lines`, which were made from `config`.
///
/// # Errors
/// A dialect for which there is no simulated equipment.
pub fn simulate(
    config: &Config,
    lines: &[LinePlan],
    signal: Option<&SignalSource>,
) -> Result<Vec<SimulatedLine>, String> {
    lines.iter().enumerate().map(|(number, plan)| line(config, number, plan, signal)).collect()
}

fn line(
    config: &Config,
    number: usize,
    plan: &LinePlan,
    signal: Option<&SignalSource>,
) -> Result<SimulatedLine, String> {
    let (mut devices, mut known): (Vec<Box<dyn Device>>, Vec<Simulated>) = (Vec::new(), Vec::new());
    let mut one_wire = false;
    for radio in config.radios.iter().filter(|radio| radio.line.port == plan.port.port) {
        let handles = Handles::default();
        let setup = plan.devices.iter().filter_map(DeviceSetup::radio).find(|setup| setup.name == radio.name);
        let second_receiver = setup.is_some_and(tunes_a_second_receiver);
        devices.push(self::radio(config, radio, signal, second_receiver, handles.clone())?);
        one_wire |= radio.line.dialect.root() == Some("fe-frames");
        let has_address = setup.is_some_and(|setup| setup.dialect.family().is_addressed());
        let radio = Simulated::radio(&radio.name, radio.uses, handles);
        known.push(Simulated { line: number, has_address, ..radio });
    }
    for rotator in config.rotator.iter().filter(|rotator| rotator.line.port == plan.port.port) {
        let handles = Handles::default();
        devices.push(self::rotator(rotator, handles.clone())?);
        known.push(Simulated::rotator(&rotator.name, number, handles));
    }
    let bits_per_byte = 9 + u32::from(plan.port.stop_bits);
    let settings = WireSettings { baud: plan.port.baud, bits_per_byte, one_wire, seed: 1 };
    let wire = match devices.len() {
        1 => Wire::boxed(devices.remove(0), settings),
        _ => Wire::new(Bus::new(devices, Handles::default()), settings),
    };
    known.iter_mut().for_each(|device| device.cable = wire.handles().faults.clone());
    Ok(SimulatedLine { wire, devices: known })
}

fn radio(
    config: &Config,
    radio: &Radio,
    signal: Option<&SignalSource>,
    second_receiver: bool,
    handles: Handles,
) -> Result<Box<dyn Device>, String> {
    let dialect = radio.line.dialect.root().unwrap_or(radio.line.dialect.name());
    let mut settings = RadioSettings {
        step: radio.step.least().unwrap_or(Hertz(10)),
        duplex: radio.uses == Use::Both,
        // As an operator may well leave it: a radio that is not prepared shows.
        opening_offsets: Offsets { shift: Hertz(-600_000), rit: Hertz(350), xit: Hertz(-200) },
        // The radio is as wrong as its calibration says, so that the true frequency is judged.
        errors: [radio.calibration.receive, radio.calibration.transmit].map(dial_error),
        segments: (!config.transmit.is_empty() && radio.uses != Use::Receive)
            .then(|| config.transmit.clone()),
        signal: signal.cloned(),
        opening: [Vfo::fm(Hertz(145_850_000)), Vfo::fm(Hertz(435_000_000))],
        ..RadioSettings::default()
    };
    match dialect {
        "semicolon-eleven" | "semicolon-nine" | "semicolon-two-bands" => {
            let layout = if dialect == "semicolon-nine" { Layout::Nine } else { Layout::Eleven };
            // The first dial receives: it is left on the band of the usual downlink.
            settings.opening.reverse();
            let usual = SemicolonSettings::new(layout);
            if second_receiver {
                // The second receiver's dial is the second one, and the first transmits.
                settings.opening.reverse();
            }
            Ok(Box::new(Semicolon::new(
                SemicolonSettings { radio: settings, second_receiver, ..usual },
                handles,
            )))
        }
        "fe-frames" => {
            let address = radio.address.or(radio.line.dialect.address()).unwrap_or(0x5A);
            Ok(Box::new(Frames::new(
                FramesSettings { radio: settings, address, satellite_function: false },
                handles,
            )))
        }
        "five-byte" => Ok(Box::new(FiveByte::new(settings, handles))),
        "five-byte-duplex" => Ok(Box::new(FiveByteDuplex::new(settings, handles))),
        other => Err(none_for(other)),
    }
}

fn dial_error(correction: Correction) -> DialError {
    DialError { ppm: correction.ppm, hertz: correction.hz }
}

/// Whether the radio receives on a second receiver: in `semicolon` languages the word is `FC`.
fn tunes_a_second_receiver(setup: &RadioSetup) -> bool {
    let values = Values::of_hertz(Hertz(435_000_000));
    let tune = setup.dialect.exchange("do.rx_hz", &values, setup.address);
    setup.uses == Use::Both && tune.is_ok_and(|tune| tune.frames().any(|frame| frame.starts_with(b"FC")))
}

fn rotator(rotator: &Rotator, handles: Handles) -> Result<Box<dyn Device>, String> {
    let axis = |range: AngleRange, rate, acceleration| AxisSettings {
        from: range.from,
        to: range.to,
        limits: Limits { rate, acceleration },
        backlash: 0.0,
    };
    let tilt = rotator.elevation.unwrap_or(AngleRange::new(0.0, 90.0));
    let mount = MountSettings {
        azimuth: axis(rotator.azimuth, rotator.slew.azimuth, rotator.acceleration.azimuth),
        elevation: axis(tilt, rotator.slew.elevation, rotator.acceleration.elevation),
        azimuth_only: rotator.elevation.is_none(),
        start: rotator.park,
        ..MountSettings::default()
    };
    Ok(match rotator.line.dialect.root().unwrap_or(rotator.line.dialect.name()) {
        "az-el-words" => Box::new(Words::new(WordsSettings { mount, ..WordsSettings::default() }, handles)),
        "w-lines" => Box::new(WLines::new(WLinesSettings { mount, ..WLinesSettings::default() }, handles)),
        "thirteen-byte" => {
            let settings = ThirteenByteSettings { mount, ..ThirteenByteSettings::default() };
            Box::new(ThirteenByte::new(settings, handles))
        }
        other => return Err(none_for(other)),
    })
}

fn none_for(dialect: &str) -> String {
    format!(
        "there is no simulated equipment for dialect \"{dialect}\"; there is for semicolon-eleven, \
         semicolon-nine, semicolon-two-bands, fe-frames, five-byte, five-byte-duplex, az-el-words, w-lines \
         and thirteen-byte"
    )
}
