//! Hand-written equipment on a real pseudo-terminal, with an ear at its far end.

use std::path::Path;
use std::sync::{Arc, Mutex};

use beamhand::clock::{SystemClock, TrustPolicy};
use beamhand::sim::mount::{AxisSettings, Limits, MountSettings, Words, WordsSettings};
use beamhand::sim::radio::semicolon::{Layout, Semicolon, SemicolonSettings};
use beamhand::sim::radio::{Offsets, RadioSettings};
use beamhand::sim::{Device, Handles, Outlet, Record, Utterance, Wire, WireSettings};
use beamhand::terms::{Hertz, Segment, Segments, Time};
use chrono::Utc;

/// Where the radio's dials stand before anybody tunes it.
pub(crate) const RECEIVE_BEFORE: Hertz = Hertz(435_000_000);
pub(crate) const TRANSMIT_BEFORE: Hertz = Hertz(145_000_000);
/// The licence, wide enough for what the transmitter had.
pub(crate) const LICENCE: Segment = Segment { from: Hertz(144_000_000), to: Hertz(146_000_000) };

/// A device behind a port.
pub(crate) struct FarEnd {
    pub(crate) outlet: Outlet,
    pub(crate) handles: Handles,
    heard: Heard,
}

/// One command or question, and when its last byte had arrived.
#[derive(Debug, Clone)]
pub(crate) struct Frame {
    pub(crate) at: Time,
    pub(crate) text: String,
}

type Heard = Arc<Mutex<Vec<(Time, u8)>>>;

impl FarEnd {
    fn plug_in(port: &Path, device: impl Device + 'static) -> Self {
        Self::at_speed(port, device, WireSettings::default())
    }

    fn at_speed(port: &Path, device: impl Device + 'static, wire: WireSettings) -> Self {
        let (handles, heard) = (device.handles().clone(), Heard::default());
        let ear = Ear { device: Box::new(device), heard: heard.clone() };
        let clock = Arc::new(SystemClock::new(TrustPolicy::default()));
        let outlet = Outlet::open(port, Wire::new(ear, wire), clock).unwrap();
        Self { outlet, handles, heard }
    }

    /// A duplex radio as an operator may well leave it: with shift and clarifiers on.
    pub(crate) fn radio(port: &Path) -> Self {
        let mut radio = RadioSettings {
            opening_offsets: Offsets { shift: Hertz(-600_000), rit: Hertz(350), xit: Hertz(-200) },
            segments: Some(Segments::new(vec![LICENCE])),
            ..RadioSettings::default()
        };
        radio.opening.reverse();
        let settings = SemicolonSettings { radio, ..SemicolonSettings::new(Layout::Eleven) };
        Self::plug_in(port, Semicolon::new(settings, Handles::default()))
    }

    /// A mount that turns 20 degrees a second and stands at north, level.
    pub(crate) fn mast(port: &Path, baud: u32) -> Self {
        let axis = |to| AxisSettings {
            from: 0.0,
            to,
            limits: Limits { rate: 20.0, acceleration: 40.0 },
            backlash: 0.0,
        };
        let mount =
            MountSettings { azimuth: axis(450.0), elevation: axis(180.0), ..MountSettings::default() };
        let settings = WordsSettings { mount, ..WordsSettings::default() };
        let wire = WireSettings { baud, ..WireSettings::default() };
        Self::at_speed(port, Words::new(settings, Handles::default()), wire)
    }

    pub(crate) fn record(&self) -> &Record {
        &self.handles.record
    }

    /// All that was heard, in order.
    pub(crate) fn frames(&self) -> Vec<Frame> {
        let (mut frames, mut text) = (Vec::new(), String::new());
        for (at, byte) in self.heard.lock().unwrap().iter() {
            match byte {
                b';' | b'\r' | b'\n' => frames.push(Frame { at: *at, text: std::mem::take(&mut text) }),
                byte => text.push(char::from(*byte)),
            }
        }
        frames
    }

    /// What was heard after an instant and is wanted.
    pub(crate) fn frames_after(&self, after: Time, wanted: impl Fn(&str) -> bool) -> Vec<Frame> {
        self.frames().into_iter().filter(|frame| frame.at > after && wanted(&frame.text)).collect()
    }

    /// Where a mount is now.
    pub(crate) fn position(&self) -> beamhand::terms::AzEl {
        self.record().position_at(Utc::now()).unwrap()
    }
}

/// Whether a mount is told to go somewhere, and not only asked where it is.
pub(crate) fn is_aim(frame: &str) -> bool {
    frame.starts_with("AZ") && frame.contains(|c: char| c.is_ascii_digit())
}

/// Whether a mount is told to stop both motors.
pub(crate) fn is_stop(frame: &str) -> bool {
    frame == "SA SE"
}

/// Notes every byte and hands it on.
struct Ear {
    device: Box<dyn Device>,
    heard: Heard,
}

impl Device for Ear {
    fn hear(&mut self, byte: u8, at: Time) {
        self.heard.lock().unwrap().push((at, byte));
        self.device.hear(byte, at);
    }

    fn advance(&mut self, now: Time) {
        self.device.advance(now);
    }

    fn next_event(&self) -> Option<Time> {
        self.device.next_event()
    }

    fn say(&mut self) -> Vec<Utterance> {
        self.device.say()
    }

    fn handles(&self) -> &Handles {
        self.device.handles()
    }
}
