//! What a controller says of its position, and whether that can be believed.

use serde::{Deserialize, Serialize};

use super::RotatorSetup;
use crate::device::values::Values;
use crate::terms::{AngleRange, AzEl};

/// The pulses per degree that controllers are known to have (from memory of manuals); with any
/// other the same command would mean another direction.
const PULSES: [f64; 3] = [1.0, 2.0, 4.0];
/// So many readings in a row have to agree in the pulses per degree before they are used, and so
/// many before they are taken to have changed: the limits are checked in degrees, and a wrong
/// figure would send the mount beyond them.
const AGREE: (u32, u32) = (2, 3);
/// A mount that was turned by hand may stand somewhat beyond its limits, degrees.
const BEYOND: f64 = 45.0;

/// The controller's own pulses per degree, where its language has them.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Scale {
    used: Option<(f64, f64)>,
    last: Option<(f64, f64)>,
    agreeing: u32,
}

/// What a reading's pulses per degree mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Verdict {
    /// They are the known ones, or the language has none.
    Known,
    /// They may be wrong: the reading is not used.
    Doubtful,
    /// They are others now than the ones by which the mount was sent where it goes.
    Changed,
}

impl Scale {
    pub(super) fn judge(&mut self, values: &Values) -> Verdict {
        let Some(read) = values.number("ph").zip(values.number("pv")) else { return Verdict::Known };
        if !PULSES.contains(&read.0) || !PULSES.contains(&read.1) {
            return Verdict::Doubtful;
        }
        self.agreeing = if self.last == Some(read) { self.agreeing.saturating_add(1) } else { 1 };
        self.last = Some(read);
        match self.used {
            Some(used) if used == read => Verdict::Known,
            Some(_) if self.agreeing >= AGREE.1 => {
                self.used = Some(read);
                Verdict::Changed
            }
            None if self.agreeing >= AGREE.0 => {
                self.used = Some(read);
                Verdict::Known
            }
            Some(_) | None => Verdict::Doubtful,
        }
    }

    /// The pulses as the values that an aim needs.
    pub(super) fn values(&self) -> Values {
        use crate::device::values::Value::Number;
        let Some((ph, pv)) = self.used else { return Values::new() };
        Values::new().with("ph", Number(ph)).with("pv", Number(pv))
    }
}

/// A reading as a true direction of the mount; `None` if it is none.
pub(super) fn position(values: &Values, setup: &RotatorSetup) -> Option<AzEl> {
    let azimuth = values.number("az")?;
    let elevation = if setup.azimuth_only() { 0.0 } else { values.number("el")? };
    let AzEl { azimuth: turn, elevation: tilt } = setup.offset;
    let tilt = if setup.azimuth_only() { 0.0 } else { tilt };
    Some(AzEl::new(azimuth + turn, elevation + tilt)).filter(|position| position.is_finite())
}

/// Whether a mount with these limits can stand there.
pub(super) fn is_possible(position: AzEl, setup: &RotatorSetup) -> bool {
    let near = |degrees: f64, range: AngleRange| (range.from - BEYOND..=range.to + BEYOND).contains(&degrees);
    let tilt = setup.elevation.is_none_or(|range| near(position.elevation, range));
    near(position.azimuth, setup.azimuth) && tilt
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::values::Value;

    fn pulses(ph: f64, pv: f64) -> Values {
        Values::of_direction(90.0, 10.0).with("ph", Value::Number(ph)).with("pv", Value::Number(pv))
    }

    #[test]
    fn the_pulses_per_degree_are_used_once_two_readings_agree() {
        let mut scale = Scale::default();
        assert_eq!(scale.judge(&pulses(1.0, 1.0)), Verdict::Doubtful);
        assert_eq!(scale.judge(&pulses(2.0, 2.0)), Verdict::Doubtful);
        assert_eq!(scale.values(), Values::new());
        assert_eq!(scale.judge(&pulses(2.0, 2.0)), Verdict::Known);
        assert_eq!(scale.values().number("ph"), Some(2.0));
        assert_eq!(scale.judge(&pulses(3.0, 2.0)), Verdict::Doubtful);
    }

    #[test]
    fn one_wrong_reading_changes_nothing_and_three_that_agree_are_told() {
        let mut scale = Scale::default();
        assert_eq!([1.0, 1.0].map(|one| scale.judge(&pulses(one, one)))[1], Verdict::Known);
        assert_eq!(scale.judge(&pulses(2.0, 2.0)), Verdict::Doubtful);
        assert_eq!(scale.judge(&pulses(1.0, 1.0)), Verdict::Known);
        for verdict in [Verdict::Doubtful, Verdict::Doubtful, Verdict::Changed, Verdict::Known] {
            assert_eq!(scale.judge(&pulses(2.0, 2.0)), verdict);
        }
        assert_eq!(scale.judge(&Values::of_direction(1.0, 2.0)), Verdict::Known, "a language without");
    }
}
