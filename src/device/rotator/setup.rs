//! A rotator, as the configuration describes it.

use std::sync::Arc;

use crate::device::dialect::{Dialect, Exchange};
use crate::device::values::{Value, Values};
use crate::terms::{AngleRange, AzEl};

/// What a rotator's player needs to know of the mount.
#[derive(Debug, Clone)]
pub struct RotatorSetup {
    /// The name from the configuration.
    pub name: String,
    /// How to speak to the controller.
    pub dialect: Arc<Dialect>,
    /// Its travel in azimuth.
    pub azimuth: AngleRange,
    /// Its travel in elevation; `None` where there is no elevation motor.
    pub elevation: Option<AngleRange>,
    /// A change of direction smaller than this is not worth starting the motors, degrees.
    pub dead_band: f64,
}

impl RotatorSetup {
    /// What says `verb` to the controller.
    pub(super) fn say(&self, verb: &str, values: &Values) -> Result<Exchange, String> {
        self.dialect.exchange(verb, values, None).map_err(|error| error.to_string())
    }

    /// What sends the mount to `aim`; `scale` holds what the controller said of its own pulses.
    pub(super) fn aim(&self, aim: AzEl, scale: &Values) -> Result<Exchange, String> {
        let verb = if self.azimuth_only() { "do.azimuth" } else { "do.aim" };
        let values =
            scale.clone().with("az", Value::Number(aim.azimuth)).with("el", Value::Number(aim.elevation));
        self.say(verb, &values)
    }

    /// The first corner of the mount's travel that the dialect has no words for.
    pub fn unsayable(&self) -> Option<String> {
        let pulses = Values::new().with("ph", Value::Number(4.0)).with("pv", Value::Number(4.0));
        let tilt = self.elevation.unwrap_or(AngleRange::new(0.0, 0.0));
        let corners =
            [self.azimuth.from, self.azimuth.to].into_iter().flat_map(|az| [(az, tilt.from), (az, tilt.to)]);
        corners.filter_map(|(az, el)| self.aim(AzEl::new(az, el), &pulses).err()).next()
    }

    /// Whether only the azimuth turns.
    pub(super) fn azimuth_only(&self) -> bool {
        self.elevation.is_none()
    }

    /// `aim` on the controller's grid and inside the limits, or `None` if it lies outside: the
    /// last look before a command is encoded, whatever asked for it.
    pub(super) fn admit(&self, aim: AzEl) -> Option<AzEl> {
        let resolution = self.dialect.resolution();
        let azimuth = admit_axis(aim.azimuth, self.azimuth, resolution)?;
        let elevation = match self.elevation {
            Some(range) => admit_axis(aim.elevation, range, resolution)?,
            None => 0.0,
        };
        Some(AzEl::new(azimuth, elevation))
    }
}

fn admit_axis(degrees: f64, range: AngleRange, resolution: f64) -> Option<f64> {
    if !range.contains(degrees) {
        return None;
    }
    let nearest = (degrees / resolution).round();
    // The grid may not contain the end itself: step back inside.
    [nearest, nearest - 1.0, nearest + 1.0]
        .map(|n| n * resolution)
        .into_iter()
        .find(|on_grid| range.contains(*on_grid))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_grid_never_leads_outside_the_limits() {
        assert_eq!(admit_axis(89.8, AngleRange::new(0.0, 89.9), 1.0), Some(89.0));
        assert_eq!(admit_axis(0.2, AngleRange::new(0.1, 90.0), 1.0), Some(1.0));
        assert_eq!(
            admit_axis(45.04, AngleRange::new(0.0, 90.0), 0.1).map(|x| (x * 10.0).round()),
            Some(450.0)
        );
        assert_eq!(admit_axis(90.01, AngleRange::new(0.0, 90.0), 0.1), None);
        assert_eq!(admit_axis(f64::NAN, AngleRange::new(0.0, 90.0), 0.1), None);
        assert_eq!(admit_axis(0.3, AngleRange::new(0.2, 0.4), 1.0), None);
    }
}
