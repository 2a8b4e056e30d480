//! The scripted operator of a rehearsal: `key@60s-90s` presses and releases the simulated transmit
//! key, `turn=+3000@100s` turns the receive dial. The key exists in the simulated radio only.

use std::fmt;
use std::str::FromStr;

use crate::sim::Act;
use crate::terms::{Direction, Hertz, Time, later};

use super::Simulated;
use super::spans::Span;

/// One thing that the operator will do, as it was written.
#[derive(Debug, Clone, PartialEq)]
pub struct OperatorOrder {
    deed: Deed,
    written: String,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Deed {
    /// Presses the key and lets it go, seconds after the clock's start.
    Key(f64, f64),
    /// Turns the receive dial.
    Turn(Hertz, f64),
}

impl FromStr for OperatorOrder {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let form = || "write key@SECONDSs-SECONDSs or turn=HERTZ@SECONDSs".to_owned();
        let (what, when) = text.split_once('@').ok_or_else(form)?;
        let Span { from_s, until_s } = when.parse()?;
        let deed = match (what.split_once('='), until_s) {
            (None, Some(until_s)) if what == "key" => Deed::Key(from_s, until_s),
            (Some(("turn", hertz)), None) => Deed::Turn(Hertz(hertz.parse().map_err(|_| form())?), from_s),
            _ => return Err(form()),
        };
        Ok(Self { deed, written: text.to_owned() })
    }
}

impl fmt::Display for OperatorOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written)
    }
}

/// Has the operator act at the times that are meant, counted from `begin`.
///
/// # Errors
/// In words, where no radio has a key or a dial to receive by.
pub fn plan_operator(orders: &[OperatorOrder], devices: &[Simulated], begin: Time) -> Result<(), String> {
    for order in orders {
        let direction = match order.deed {
            Deed::Key(..) => Direction::Transmit,
            Deed::Turn(..) => Direction::Receive,
        };
        let serves = |device: &&Simulated| device.uses.is_some_and(|uses| uses.serves(direction));
        let radio = devices.iter().find(serves);
        let radio =
            radio.ok_or_else(|| format!("{order}: no radio of the configuration has this direction"))?;
        let script = &radio.handles.script;
        match order.deed {
            Deed::Key(press, release) => {
                script.at(later(begin, press), Act::Press);
                script.at(later(begin, release), Act::Release);
            }
            Deed::Turn(by, at) => script.at(later(begin, at), Act::Turn(by)),
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::Use;
    use crate::sim::Handles;
    use crate::terms::parse_time;

    fn order(text: &str) -> Result<OperatorOrder, String> {
        text.parse()
    }

    #[test]
    fn what_is_written_comes_at_its_time_to_the_radio_that_it_concerns() {
        let begin = parse_time("2026-11-25T18:30:00Z").unwrap();
        let devices =
            [Use::Receive, Use::Transmit].map(|uses| Simulated::radio("r", uses, Handles::default()));
        let orders = [order("key@60s-90s").unwrap(), order("turn=-3000@100s").unwrap()];
        plan_operator(&orders, &devices, begin).unwrap();
        let next = |device: &Simulated| device.handles.script.next_event();
        assert_eq!(next(&devices[0]), Some(later(begin, 100.0)));
        assert_eq!(next(&devices[1]), Some(later(begin, 60.0)));
        let error = plan_operator(&orders, &devices[..1], begin).unwrap_err();
        assert!(error.starts_with("key@60s-90s: no radio"), "{error}");
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        assert_eq!(order("turn=+3000@100s").unwrap().deed, Deed::Turn(Hertz(3_000), 100.0));
        for wrong in
            ["key@60s", "turn@60s", "turn=x@60s", "turn=1@60s-70s", "sing@1s-2s", "key", "key=1@1s-2s"]
        {
            assert!(order(wrong).is_err(), "{wrong}");
        }
    }
}
