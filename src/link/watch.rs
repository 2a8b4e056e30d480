//! Where a receiver's dial goes while it is only listened with: with the satellite while that is up, and
//! along the same shifts while it is not, so that what is heard then is known as local noise.

use serde::{Deserialize, Serialize};

use crate::terms::{Time, Validity, seconds_between};

/// The shifts of one watch. Range rates in km/s, positive when receding.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Watch {
    /// From the first moment to the last.
    pub span: Validity,
    /// From rising to setting; `None` where the satellite is not up meanwhile.
    pub up: Option<Validity>,
    /// The range rate as it rises.
    pub rising_km_s: f64,
    /// The range rate as it sets.
    pub setting_km_s: f64,
}

impl Watch {
    /// The range rate for whose shift the dial is set at `time`; `None` while the satellite is up, and
    /// its own counts.
    ///
    /// Before the pass the dial goes from the shift of rising to that of setting and back again, so that
    /// it is in place when the satellite rises; after it, the other way round.
    pub fn swept_km_s(&self, time: Time) -> Option<f64> {
        let (rising, setting) = (self.rising_km_s, self.setting_km_s);
        match self.up {
            Some(up) if up.contains(time) => None,
            Some(up) if time < up.from => {
                Some(there_and_back(self.span.from, up.from, time, rising, setting))
            }
            Some(up) => Some(there_and_back(up.until, self.span.until, time, setting, rising)),
            None => Some(there_and_back(self.span.from, self.span.until, time, rising, setting)),
        }
    }
}

/// From `one` to `other` in the first half of a time, and back in the second.
fn there_and_back(from: Time, until: Time, time: Time, one: f64, other: f64) -> f64 {
    let part = seconds_between(from, time) / seconds_between(from, until).max(1e-3);
    let way = 1.0 - (2.0 * part.clamp(0.0, 1.0) - 1.0).abs();
    one + way * (other - one)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::{later, parse_time};

    #[test]
    fn the_shifts_of_a_pass_are_gone_through_before_it_and_after_it() {
        let at = |seconds: f64| later(parse_time("2026-11-30T18:00:00Z").unwrap(), seconds);
        let span = Validity { from: at(0.0), until: at(840.0) };
        let up = Some(Validity { from: at(120.0), until: at(720.0) });
        let watch = Watch { span, up, rising_km_s: -7.0, setting_km_s: 6.0 };
        let swept = |seconds: f64| watch.swept_km_s(at(seconds)).unwrap();
        for (seconds, km_s) in [(0.0, -7.0), (30.0, -0.5), (60.0, 6.0), (119.99, -7.0), (780.0, -7.0)] {
            assert!((swept(seconds) - km_s).abs() < 0.01, "{seconds}: {}", swept(seconds));
        }
        for seconds in [720.1, 840.0, 9000.0] {
            assert!((swept(seconds) - 6.0).abs() < 0.05, "{seconds}: {}", swept(seconds));
        }
        assert_eq!(watch.swept_km_s(at(400.0)), None);
        let nothing = Watch { up: None, ..watch };
        assert!((nothing.swept_km_s(at(420.0)).unwrap() - 6.0).abs() < 0.01);
    }
}
