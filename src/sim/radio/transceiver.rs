//! The thing itself, whatever its language: every change of the panel goes through one door,
//! where it is recorded and judged.

use super::meter::{self, SignalSource};
use super::{DialError, Offsets, Panel, Vfo};
use crate::sim::{Act, Cause, Change, Fault, Handles, Landing, Violation};
use crate::terms::{Hertz, Segment, Segments, Time};

/// How a simulated radio is made.
#[derive(Debug, Clone)]
pub struct RadioSettings {
    /// The dial's step.
    pub step: Hertz,
    /// Seconds between the end of a question and the start of its answer.
    pub thinking_s: f64,
    /// Whether it hears while it transmits, on another band. One that does not has only the
    /// transmitting dial in use then.
    pub duplex: bool,
    /// Whether it takes settings while it transmits.
    pub tunes_while_transmitting: bool,
    /// The bands that it can be tuned to; from memory, the two usual ones.
    pub bands: Vec<Segment>,
    /// The opening state of the first and the second dial (of the main and the sub band).
    pub opening: [Vfo; 2],
    /// Shift and clarifiers that were left on; a radio has to be prepared.
    pub opening_offsets: Offsets,
    /// How wrong its dials are, receiving and transmitting. The record and the licence know the
    /// true frequency only.
    pub errors: [DialError; 2],
    /// Whether turning its knob is reported on the line from the start.
    pub reports: bool,
    /// The operator's licence; `None` judges nothing.
    pub segments: Option<Segments>,
    /// What there is to hear.
    pub signal: Option<SignalSource>,
}

impl Default for RadioSettings {
    fn default() -> Self {
        let band = |from, to| Segment { from: Hertz(from), to: Hertz(to) };
        Self {
            step: Hertz(10),
            thinking_s: 0.020,
            duplex: true,
            tunes_while_transmitting: true,
            bands: vec![band(144_000_000, 148_000_000), band(430_000_000, 450_000_000)],
            opening: [Vfo::fm(Hertz(145_000_000)), Vfo::fm(Hertz(435_000_000))],
            opening_offsets: Offsets::default(),
            errors: [DialError::default(); 2],
            reports: false,
            segments: None,
            signal: None,
        }
    }
}

pub(super) struct Transceiver {
    pub(super) settings: RadioSettings,
    pub(super) handles: Handles,
    panel: Panel,
    /// Whether the knob is dead.
    locked: bool,
    /// The latest instant that it has lived through; `None` before it was switched on.
    reached: Option<Time>,
}

impl Transceiver {
    /// A radio with these dials and the indices of those that receive and transmit.
    pub(super) fn new(
        settings: RadioSettings,
        handles: Handles,
        vfos: Vec<Vfo>,
        (receive, transmit): (usize, usize),
    ) -> Self {
        let (offsets, errors) = (settings.opening_offsets, settings.errors);
        let panel = Panel { vfos, receive, transmit, offsets, errors, keyed: false };
        Self { settings, handles, panel, locked: false, reached: None }
    }

    pub(super) fn panel(&self) -> &Panel {
        &self.panel
    }

    /// The dial in use: the receiving one, but on the air, where one receiver has to be silent, the
    /// transmitting one.
    pub(super) fn dial_in_use(&self) -> usize {
        if self.is_deaf() { self.panel.transmit } else { self.panel.receive }
    }

    /// Whether the receiver is silent because the radio transmits.
    fn is_deaf(&self) -> bool {
        self.panel.keyed && !self.settings.duplex
    }

    /// The one door: changes the panel, records what that changed, judges it.
    pub(super) fn change(&mut self, at: Time, cause: Cause, change: impl FnOnce(&mut Panel)) {
        self.live_until(at);
        let before = self.panel.clone();
        change(&mut self.panel);
        self.note(at, cause, Some(&before));
        self.judge(at, cause, &before);
    }

    /// Tunes a dial to the nearest step; `None` where the radio can't go.
    pub(super) fn tune(&mut self, at: Time, dial: usize, hertz: Hertz) -> Option<()> {
        let hertz = hertz.to_step(self.settings.step);
        self.band_of(hertz)?;
        if self.handles.faults.is_on(Fault::DialStuck) {
            return Some(());
        }
        self.change(at, Cause::Command, |panel| panel.vfos[dial].hertz = hertz);
        if dial == self.panel.transmit && !self.panel.keyed {
            self.judge_segments(at);
        }
        Some(())
    }

    /// Changes what belongs to a dial; `None`, and no change, where `change` says so.
    pub(super) fn change_vfo(
        &mut self,
        at: Time,
        dial: usize,
        change: impl FnOnce(&mut Vfo) -> Option<()>,
    ) -> Option<()> {
        let mut vfo = self.panel.vfos[dial];
        change(&mut vfo)?;
        self.change(at, Cause::Command, |panel| panel.vfos[dial] = vfo);
        Some(())
    }

    /// The index of the band that `hertz` lies in.
    pub(super) fn band_of(&self, hertz: Hertz) -> Option<usize> {
        self.settings.bands.iter().position(|band| band.from <= hertz && hertz <= band.to)
    }

    /// The operator's acts due by `now`; gives the times at which the knob was turned.
    pub(super) fn let_the_operator_act(&mut self, now: Time) -> Vec<Time> {
        let reached = self.live_until(now);
        let mut turns = Vec::new();
        for (due, act) in self.handles.script.take_due(now) {
            let due = due.max(reached);
            match act {
                Act::Turn(_) if self.locked => {}
                Act::Turn(by) => {
                    let hertz = (self.panel.vfos[self.panel.receive].hertz + by).to_step(self.settings.step);
                    self.change(due, Cause::Operator, |panel| panel.vfos[panel.receive].hertz = hertz);
                    turns.push(due);
                }
                Act::Press => self.change(due, Cause::Operator, |panel| panel.keyed = true),
                Act::Release => self.change(due, Cause::Operator, |panel| panel.keyed = false),
            }
        }
        turns
    }

    /// A command to key or unkey: recorded as a violation, and obeyed as a radio would.
    pub(super) fn key(&mut self, at: Time, on: bool, command: &[u8]) {
        self.handles.record.breached(at, Violation::KeyCommand(command.to_vec()));
        self.change(at, Cause::Command, |panel| panel.keyed = on);
    }

    /// Another command of the never-list: recorded, and without further effect.
    pub(super) fn forbidden(&self, at: Time, command: &[u8]) {
        self.handles.record.breached(at, Violation::ForbiddenCommand(command.to_vec()));
    }

    /// A command that takes the knob from the operator, or gives it back.
    pub(super) fn lock(&mut self, at: Time, on: bool) {
        if on {
            self.handles.record.breached(at, Violation::KnobLocked);
        }
        self.locked = on;
    }

    /// Whether the knob is dead.
    pub(super) fn is_locked(&self) -> bool {
        self.locked
    }

    /// Whether commands that set something are refused at present.
    pub(super) fn refuses_sets(&self, at: Time) -> bool {
        let on_air = self.panel.keyed && !self.settings.tunes_while_transmitting;
        if on_air {
            self.handles.record.breached(at, Violation::SetOnAir);
        }
        on_air
    }

    /// Whether the fault says to refuse everything.
    pub(super) fn refuses_all(&self) -> bool {
        self.handles.faults.is_on(Fault::Refusals)
    }

    /// The signal at the antenna socket, dBm; the noise where nothing is heard.
    pub(super) fn signal_dbm(&self, at: Time) -> f64 {
        let source = self.settings.signal.as_ref().filter(|_| !self.is_deaf());
        source.map_or(meter::NOISE_DBM, |source| source.level_dbm(at, self.panel.receive_hertz()))
    }

    /// Time goes on to `at`; gives the instant that was reached before.
    fn live_until(&mut self, at: Time) -> Time {
        let before = self.reached.replace(at);
        if before.is_none() {
            self.note(at, Cause::Opening, None);
        }
        before.unwrap_or(at)
    }

    fn note(&self, at: Time, cause: Cause, before: Option<&Panel>) {
        let after = seen(&self.panel);
        let before = before.map(seen);
        for (index, what) in after.into_iter().enumerate() {
            if before.is_none_or(|before| before[index] != what) {
                self.handles.record.landed(Landing { at, cause, what });
            }
        }
    }

    fn judge(&self, at: Time, cause: Cause, before: &Panel) {
        let after = &self.panel;
        if before.keyed && cause == Cause::Command && before.transmit != after.transmit {
            self.handles.record.breached(at, Violation::RolesChangedOnAir);
        }
        // Switching an offset off leaves the transmitter where the operator had put the dial.
        let (old, new) = (before.offsets, after.offsets);
        let offset_on = [(old.shift, new.shift), (old.xit, new.xit)]
            .into_iter()
            .any(|(old, new)| new != old && new != Hertz(0));
        let moved_on_air =
            after.keyed && (!before.keyed || before.transmit_hertz() != after.transmit_hertz());
        if moved_on_air || offset_on {
            self.judge_segments(at);
        }
    }

    fn judge_segments(&self, at: Time) {
        let hertz = self.panel.transmit_hertz();
        if self.settings.segments.as_ref().is_some_and(|segments| !segments.allow(hertz)) {
            let keyed = self.panel.keyed;
            self.handles.record.breached(at, Violation::OutsideSegments { hertz, keyed });
        }
    }
}

/// What the air sees of a panel, always in the same order.
fn seen(panel: &Panel) -> [Change; 7] {
    [
        Change::Receive(panel.receive_hertz()),
        Change::Transmit(panel.transmit_hertz()),
        Change::ReceiveMode(panel.vfos[panel.receive].mode),
        Change::TransmitMode(panel.vfos[panel.transmit].mode),
        Change::Tone(panel.tone()),
        Change::Split(panel.receive != panel.transmit),
        Change::Keyed(panel.keyed),
    ]
}
