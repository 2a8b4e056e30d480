//! A rotator, as the configuration describes it.

use std::sync::Arc;

use crate::device::dialect::{Dialect, Exchange};
use crate::device::values::{Value, Values};
use crate::terms::{AngleRange, AzEl, NoGo, Sweep};

/// What a rotator's player needs to know of the mount.
#[derive(Debug, Clone)]
pub struct RotatorSetup {
    /// The name from the configuration.
    pub name: String,
    /// How to speak to the controller.
    pub dialect: Arc<Dialect>,
    /// What its read-out and its commands are rounded to, degrees; the language's own figure or more.
    pub resolution: f64,
    /// What is added to the controller's figures to have the mount's true ones, degrees. All places here
    /// and in orders are true ones; only the line carries the controller's.
    pub offset: AzEl,
    /// Its travel in azimuth.
    pub azimuth: AngleRange,
    /// Its travel in elevation; `None` where there is no elevation motor.
    pub elevation: Option<AngleRange>,
    /// Where the beam must not go.
    pub no_go: Vec<NoGo>,
    /// How fast it is said to turn and tilt, degrees per second.
    pub slew: AzEl,
    /// How quickly its motors are said to speed up and to brake, degrees per second squared.
    pub acceleration: AzEl,
    /// A change of direction smaller than this is not worth starting the motors, degrees.
    pub dead_band: f64,
    /// The same on a plan that is followed as it goes, degrees; more in quiet motion.
    pub worthwhile: f64,
    /// From which side azimuths are approached, where the gear has play.
    pub approach: Option<Approach>,
    /// What is done when it was turned by hand.
    pub by_hand: ByHand,
}

/// What is done when a mount that was told where to go is turned by hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ByHand {
    /// It goes back to its plan, once the hand rests.
    #[default]
    Follow,
    /// It is the operator's until `resume`, `start` or another order.
    HandOver,
}

/// The side from which azimuths are approached, so that the gear's play is always taken up the
/// same way. The read-out sits on the motor's side of the gear, and is right on this side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Approach {
    /// Clockwise; else counter-clockwise.
    pub clockwise: bool,
    /// The play of the azimuth's gear, degrees.
    pub play: f64,
}

impl RotatorSetup {
    /// What says `verb` to the controller.
    pub(super) fn say(&self, verb: &str, values: &Values) -> Result<Exchange, String> {
        self.dialect.exchange(verb, values, None).map_err(|error| error.to_string())
    }

    /// What sends the mount to `aim`; `scale` holds what the controller said of its own pulses.
    pub(super) fn aim(&self, aim: AzEl, scale: &Values) -> Result<Exchange, String> {
        let verb = if self.azimuth_only() { "do.azimuth" } else { "do.aim" };
        // A sum of a grid's step and an offset may be off the grid by a rounding.
        let told = |degrees: f64, offset: f64| Value::Number(((degrees - offset) * 1e6).round() / 1e6);
        let values = scale.clone().with("az", told(aim.azimuth, self.offset.azimuth));
        self.say(verb, &values.with("el", told(aim.elevation, self.offset.elevation)))
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

    /// Whether both axes can stand there.
    pub(super) fn reaches(&self, aim: AzEl) -> bool {
        self.azimuth.contains(aim.azimuth) && self.elevation.is_none_or(|range| range.contains(aim.elevation))
    }

    /// Whether a mount on this way comes by no no-go sector.
    pub(super) fn is_free(&self, sweep: Sweep) -> bool {
        !self.no_go.iter().any(|no_go| no_go.is_met_by(sweep))
    }

    /// All places of the mount's travel, and these two.
    pub(super) fn swept_by(&self, from: AzEl, to: AzEl) -> Sweep {
        let elevation = self.elevation.unwrap_or(AngleRange::new(0.0, 0.0));
        Sweep { azimuth: self.azimuth, elevation }.with(from).with(to)
    }

    /// `aim` on the controller's grid, inside the limits and outside every no-go sector, or `None`
    /// if it lies otherwise: the last look before a command is encoded, whatever asked for it.
    pub(super) fn admit(&self, aim: AzEl) -> Option<AzEl> {
        let resolution = self.resolution;
        let AzEl { azimuth, elevation } = self.offset;
        let azimuths = on_grid(aim.azimuth, self.azimuth, resolution, azimuth);
        let elevations = match self.elevation {
            Some(range) => on_grid(aim.elevation, range, resolution, elevation),
            None => vec![0.0],
        };
        let places = azimuths.iter().flat_map(|az| elevations.iter().map(|el| AzEl::new(*az, *el)));
        let mut free = places.filter(|place| self.is_free(Sweep::at(*place)));
        free.next().filter(|_| self.is_free(Sweep::at(aim)))
    }
}

/// The places of the controller's grid beside `degrees` that lie within the range, the nearest
/// first; none where `degrees` itself lies outside. The grid is one of the controller's figures, which are
/// smaller by `offset`.
fn on_grid(degrees: f64, range: AngleRange, resolution: f64, offset: f64) -> Vec<f64> {
    if !range.contains(degrees) {
        return Vec::new();
    }
    let nearest = ((degrees - offset) / resolution).round();
    // The grid may not contain the end itself: step back inside.
    let beside = [nearest, nearest - 1.0, nearest + 1.0].map(|n| n * resolution + offset);
    beside.into_iter().filter(|place| range.contains(*place)).collect()
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A mount of 0..450 and 0..180 degrees that speaks words.
    pub(in crate::device::rotator) fn setup() -> RotatorSetup {
        RotatorSetup {
            name: "mount".to_owned(),
            dialect: Dialect::builtin("az-el-words").unwrap(),
            resolution: 0.1,
            offset: AzEl::ZERO,
            azimuth: AngleRange::new(0.0, 450.0),
            elevation: Some(AngleRange::new(0.0, 180.0)),
            no_go: Vec::new(),
            slew: AzEl::new(5.0, 3.0),
            acceleration: AzEl::new(10.0, 10.0),
            dead_band: 2.0,
            worthwhile: 2.0,
            approach: None,
            by_hand: ByHand::Follow,
        }
    }

    fn nearest(degrees: f64, from: f64, to: f64, resolution: f64) -> Option<f64> {
        on_grid(degrees, AngleRange::new(from, to), resolution, 0.0).first().copied()
    }

    #[test]
    fn the_grid_never_leads_outside_the_limits() {
        assert_eq!(nearest(89.8, 0.0, 89.9, 1.0), Some(89.0));
        assert_eq!(nearest(0.2, 0.1, 90.0, 1.0), Some(1.0));
        assert_eq!(nearest(45.04, 0.0, 90.0, 0.1).map(|x| (x * 10.0).round()), Some(450.0));
        assert_eq!(nearest(90.01, 0.0, 90.0, 0.1), None);
        assert_eq!(nearest(f64::NAN, 0.0, 90.0, 0.1), None);
        assert_eq!(nearest(0.3, 0.2, 0.4, 1.0), None);
    }

    #[test]
    fn the_grid_never_leads_into_a_sector() {
        let wall = NoGo { azimuth: AngleRange::new(90.0, 120.0), elevation: AngleRange::new(-90.0, 20.0) };
        let dialect = Dialect::builtin("w-lines").unwrap();
        let setup = RotatorSetup { no_go: vec![wall], dialect, resolution: 1.0, ..setup() };
        assert_eq!(setup.admit(AzEl::new(89.6, 5.0)), Some(AzEl::new(89.0, 5.0)));
        assert_eq!(setup.admit(AzEl::new(100.0, 20.2)), Some(AzEl::new(100.0, 21.0)));
        assert_eq!(setup.admit(AzEl::new(100.0, 20.0)), None);
        assert_eq!(setup.admit(AzEl::new(280.0, 170.0)), None, "flipped over");
    }
}
