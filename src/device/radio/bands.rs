//! The bands of a duplex radio that transmits on its main band: main and sub can't sit in one
//! band, so going from an uplink on one band to an uplink on the other begins with an exchange.

use crate::device::status::RadioStage;
use crate::terms::{Direction, Hertz, Moment};

use super::errand::Errand;
use super::{ATTEMPTS, RadioPlayer, RadioSetup, Use};

/// The dialect's step that exchanges the bands.
const EXCHANGE: &str = "exchange_bands";

/// What brings the bands the right way round: both dials are read, and then it is decided.
pub(super) fn in_order(setup: &RadioSetup) -> Vec<Errand> {
    let asks = Direction::BOTH.map(|direction| Errand::Ask(setup.item(direction, "hz")));
    let able = |errand: &Errand| setup.dialect.can(&errand.verb(setup));
    let exchange = Errand::Prepare(EXCHANGE.to_owned());
    let may_transmit = setup.may_transmit();
    if setup.uses != Use::Both || !may_transmit || !able(&exchange) || !asks.iter().all(able) {
        return Vec::new();
    }
    asks.into_iter().chain([exchange]).collect()
}

impl RadioPlayer {
    /// Takes the exchange from the front of the queue if it is not needed, or did not help.
    pub(super) fn drop_needless_exchange(&mut self, now: Moment) {
        let exchange = Errand::Prepare(EXCHANGE.to_owned());
        if self.queue.front() != Some(&exchange) {
            return;
        }
        let crossed = self.bands_are_crossed(now);
        if crossed && self.exchanges < ATTEMPTS {
            return;
        }
        self.queue.pop_front();
        if crossed {
            let why = "main and sub are still the other way round; exchange them by hand";
            self.leave_to_operator(&exchange, why);
        }
    }

    /// The bands were exchanged: they are read again, and judged again.
    pub(super) fn bands_were_exchanged(&mut self) {
        self.exchanges = ATTEMPTS;
        self.read_both_dials();
    }

    /// An exchange that was not answered may have taken place, and a second one would undo it: the
    /// dials are read before it is tried again. Whether it was one.
    pub(super) fn reconsiders_exchange(&mut self, errand: &Errand) -> bool {
        let was_one = *errand == Errand::Prepare(EXCHANGE.to_owned());
        if was_one {
            self.queue.pop_front();
            self.exchanges += 1;
            self.read_both_dials();
        }
        was_one
    }

    fn read_both_dials(&mut self) {
        Direction::BOTH.into_iter().for_each(|direction| self.known.forget_dial(direction));
        in_order(&self.setup).into_iter().rev().for_each(|errand| self.queue.push_front(errand));
    }

    /// Whether each dial stands nearer to what is wanted of the other one; without an uplink, the
    /// receiving one.
    fn bands_are_crossed(&self, now: Moment) -> bool {
        let wanted = |direction| {
            let planned = || {
                let dial = self.wanted(now)?.dial(direction)?;
                Some(self.setup.on_dial(direction, dial.hertz))
            };
            match (self.stage, direction) {
                (RadioStage::GivingBack, Direction::Receive) => self.giving_back.receive.hertz,
                (RadioStage::GivingBack, Direction::Transmit) => self.giving_back.transmit.hertz,
                _ => planned(),
            }
        };
        let nearer = |to: Hertz, one: Hertz, other: Hertz| (to - one).abs() < (to - other).abs();
        let (stands, sends) = (self.known.receive.hertz, self.known.transmit.hertz);
        match (wanted(Direction::Receive), wanted(Direction::Transmit), stands, sends) {
            (Some(receive), Some(transmit), Some(stands), Some(sends)) => {
                nearer(transmit, stands, sends) && nearer(receive, sends, stands)
            }
            (Some(receive), None, Some(stands), Some(sends)) => nearer(receive, sends, stands),
            _ => false,
        }
    }
}
