//! What the mount can do.

use crate::terms::{AngleRange, AzEl, NoGo};

use super::Lean;

/// An azimuth/elevation mount. Its azimuth counts like a compass but may go beyond 0..360: 370
/// is 10 degrees reached over the north with the cable wrapped once more.
#[derive(Debug, Clone, PartialEq)]
pub struct Mount {
    /// Travel in azimuth.
    pub azimuth: AngleRange,
    /// Travel in elevation; `None` where only the azimuth turns and the beam stays level.
    pub elevation: Option<AngleRange>,
    /// How fast it turns and tilts, degrees per second.
    pub slew: AzEl,
    /// How quickly it speeds up and brakes, degrees per second squared; infinite where that takes no time.
    pub acceleration: AzEl,
    /// Where the beam rests between passes.
    pub park: AzEl,
    /// Width of the beam between its half-power points, degrees.
    pub beam_width: f64,
    /// Where the beam must not go, in its own coordinates: see [`Lean::covering`].
    pub no_go: Vec<NoGo>,
    /// How its mast leans.
    pub lean: Lean,
    /// In quiet motion, how much farther than it must the beam may be off so that the motors start rarely,
    /// degrees; `None` where it is led as closely as it can be.
    pub quiet: Option<f64>,
    /// What its read-out and its commands are rounded to, degrees.
    pub resolution: f64,
}

impl Mount {
    /// A direction in the sky, as this mount counts it: where its axes have to be to look there.
    pub fn seen(&self, direction: AzEl) -> AzEl {
        self.lean.seen(direction)
    }

    /// How far the beam is off a direction in the sky, degrees; one that only turns is taken to be as high as
    /// the satellite.
    pub fn error(&self, place: AzEl, satellite: AzEl) -> f64 {
        let satellite = self.seen(satellite);
        let elevation = self.elevation.map_or(satellite.elevation, |_| place.elevation);
        AzEl { elevation, ..place }.angle_to(satellite)
    }

    /// Whether the beam may look there: from this place it looks into no sector where it must not go.
    pub fn may_look_from(&self, place: AzEl) -> bool {
        !self.no_go.iter().any(|sector| sector.forbids(place))
    }

    /// Whether both axes can stand there.
    pub fn reaches(&self, aim: AzEl) -> bool {
        self.azimuth.contains(aim.azimuth) && self.tilt(aim.elevation) == aim.elevation
    }

    /// Whether what may be off by so much, a standard deviation in degrees, is within the beam nineteen
    /// times out of twenty.
    pub fn forgives(&self, deviation_deg: f64) -> bool {
        2.0 * deviation_deg <= self.beam_width / 2.0
    }

    /// The nearest place to `aim` that both axes can reach, without going around.
    pub fn clamp(&self, aim: AzEl) -> AzEl {
        AzEl::new(self.azimuth.clamp(aim.azimuth), self.tilt(aim.elevation))
    }

    /// The mount's azimuths that look to compass direction `azimuth`, rising; none where the
    /// range has a gap there.
    pub fn wraps_of(&self, azimuth: f64) -> impl Iterator<Item = f64> {
        let range = self.azimuth;
        let first = azimuth + 360.0 * ((range.from - azimuth) / 360.0).ceil();
        (0..8).map(move |turn| first + 360.0 * f64::from(turn)).take_while(move |az| *az <= range.to)
    }

    /// How `direction` in the sky is reached from `near` with the least turning, or as nearly as
    /// the mount allows.
    pub fn nearest_to(&self, direction: AzEl, near: AzEl) -> AzEl {
        let distance = |azimuth: &f64| (azimuth - near.azimuth).abs();
        let azimuth = self
            .wraps_of(direction.azimuth)
            .min_by(|a, b| distance(a).total_cmp(&distance(b)))
            .unwrap_or_else(|| self.nearer_end(direction.azimuth));
        AzEl::new(azimuth, self.tilt(direction.elevation))
    }

    /// The elevation nearest to `degrees` that the mount can reach.
    fn tilt(&self, degrees: f64) -> f64 {
        self.elevation.map_or(0.0, |range| range.clamp(degrees))
    }

    /// The end stop that looks closer to a compass direction which the mount can't reach.
    fn nearer_end(&self, azimuth: f64) -> f64 {
        let off = |end: f64| {
            let turn = (azimuth - end).rem_euclid(360.0);
            turn.min(360.0 - turn)
        };
        if off(self.azimuth.from) <= off(self.azimuth.to) { self.azimuth.from } else { self.azimuth.to }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mount(from: f64, to: f64) -> Mount {
        Mount {
            azimuth: AngleRange::new(from, to),
            elevation: Some(AngleRange::new(0.0, 90.0)),
            slew: AzEl::new(3.0, 3.0),
            acceleration: AzEl::new(10.0, 10.0),
            park: AzEl::new(180.0, 0.0),
            beam_width: 30.0,
            no_go: Vec::new(),
            lean: Lean::NONE,
            quiet: None,
            resolution: 0.1,
        }
    }

    #[test]
    fn a_direction_may_be_reached_in_two_wraps_in_one_or_in_none() {
        let wraps = |from, to, az| mount(from, to).wraps_of(az).collect::<Vec<f64>>();
        assert_eq!(wraps(0.0, 450.0, 10.0), [10.0, 370.0]);
        assert_eq!(wraps(0.0, 450.0, 100.0), [100.0]);
        assert_eq!(wraps(-180.0, 180.0, 270.0), [-90.0]);
        assert_eq!(wraps(0.0, 360.0, 0.0), [0.0, 360.0]);
        assert!(wraps(90.0, 270.0, 0.0).is_empty());
    }

    /// By hand: half of 30 degrees is 15, and 15 is twice 7.5.
    #[test]
    fn a_beam_forgives_a_quarter_of_its_width() {
        let mount = mount(0.0, 360.0);
        assert!(mount.forgives(7.4) && !mount.forgives(7.6));
    }

    #[test]
    fn the_shorter_way_is_taken_and_a_gap_is_approached() {
        let near = |az| AzEl::new(az, 0.0);
        let wide = mount(0.0, 450.0);
        assert_eq!(wide.nearest_to(near(10.0), near(350.0)).azimuth, 370.0);
        assert_eq!(wide.nearest_to(near(10.0), near(100.0)).azimuth, 10.0);
        let narrow = mount(90.0, 270.0);
        assert_eq!(narrow.nearest_to(near(300.0), near(100.0)).azimuth, 270.0);
        assert_eq!(narrow.nearest_to(near(30.0), near(100.0)).azimuth, 90.0);
        assert_eq!(wide.nearest_to(AzEl::new(5.0, -3.0), near(0.0)).elevation, 0.0);
    }

    #[test]
    fn what_is_no_number_never_leaves_the_range() {
        let clamped = mount(0.0, 450.0).clamp(AzEl::new(f64::NAN, f64::INFINITY));
        assert!(mount(0.0, 450.0).reaches(clamped), "{clamped:?}");
    }
}
