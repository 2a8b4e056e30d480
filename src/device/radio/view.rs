//! What the status shows of a radio.

use crate::device::status::{DialView, RadioStage, RadioView};
use crate::terms::{Dial, Direction, Moment};

use super::RadioPlayer;

impl RadioPlayer {
    /// What is particular to a radio.
    pub(super) fn view(&self, now: Moment) -> RadioView {
        RadioView {
            stage: self.stage,
            receive: self.dial_view(Direction::Receive, now),
            transmit: self.dial_view(Direction::Transmit, now),
            transmitting: self.known.transmitting(now.mono),
            last_over: self.last_over,
            in_use: self.usage.words(&self.known, now.mono).filter(|_| self.is_left_to_hands()),
            memory: self.memory.clone(),
            notes: self.notes.clone(),
            heard: self.hearing.shown(),
        }
    }

    /// Whether a hand at the radio is the operator's own business.
    fn is_left_to_hands(&self) -> bool {
        let listens = self.setup.receive_only && self.stage == RadioStage::Following;
        listens || self.stage == RadioStage::Idle
    }

    fn dial_view(&self, direction: Direction, now: Moment) -> Option<DialView> {
        if !self.setup.directions().any(|served| served == direction) {
            return None;
        }
        let dial = self.known.dial(direction);
        let on_dial = |dial: Dial| Dial { hertz: self.setup.on_dial(direction, dial.hertz), ..dial };
        let plan = self.wanted(now).and_then(|channel| channel.dial(direction)).map(on_dial);
        let tone = self.known.tone.flatten().filter(|_| direction == Direction::Transmit);
        let behind = self.behind(direction, now).filter(|_| self.is_held(direction));
        Some(DialView { plan, hertz: dial.hertz, mode: dial.mode, tone, behind })
    }
}
