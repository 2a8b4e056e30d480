//! Where the mount may be at one moment, so that the beam is off the satellite by no more than a
//! given error.

use crate::beam::Mount;
use crate::terms::{AngleRange, AzEl, Sweep};

use super::Start;
use super::spans::{take_out, unite};

/// A planned path keeps so far from a no-go sector, degrees, or a step of the controller's grid where that
/// is more: the player rounds to the grid and leads by its dead band.
pub(super) const CLEARANCE_DEG: f64 = 1.0;

/// The mount's travel without the no-go sectors.
pub(super) struct Field<'a> {
    pub(super) mount: &'a Mount,
    /// The places of the sectors, each with its clearance.
    barred: Vec<Sweep>,
    /// Azimuths are multiples of this; any, where it is `None`. Small grids are searched through in tests.
    pub(super) lattice: Option<f64>,
    /// How long into the pass each axis still rests, seconds.
    rests: AzEl,
}

impl<'a> Field<'a> {
    pub(super) fn new(mount: &'a Mount, start: Option<Start>) -> Self {
        let clearance = CLEARANCE_DEG.max(mount.resolution);
        let more = |range: AngleRange| AngleRange::new(range.from - clearance, range.to + clearance);
        let places = mount.no_go.iter().flat_map(|no_go| no_go.places(more(mount.azimuth)));
        let barred =
            places.map(|place| Sweep { azimuth: more(place.azimuth), elevation: more(place.elevation) });
        let rests = start.map_or(AzEl::ZERO, |start| start.rests_s(mount));
        Self { mount, barred: barred.collect(), lattice: None, rests }
    }

    /// How far each axis gets between two moments of the pass, degrees.
    pub(super) fn gets(&self, from: f64, until: f64) -> AzEl {
        let runs = |rests: f64| (until - from.max(rests)).max(0.0);
        let slew = self.mount.slew;
        AzEl::new(slew.azimuth * runs(self.rests.azimuth), slew.elevation * runs(self.rests.elevation))
    }

    /// The travel in elevation; none where the beam stays level.
    pub(super) fn tilt(&self) -> AngleRange {
        self.mount.elevation.unwrap_or(AngleRange::new(0.0, 0.0))
    }

    /// The barred places that a mount may meet whose elevation is in this range, the edges not counted.
    pub(super) fn barred(&self, elevation: AngleRange) -> impl Iterator<Item = AngleRange> {
        let meets =
            move |bar: &&Sweep| bar.elevation.from < elevation.to && elevation.from < bar.elevation.to;
        // A mount that does not tilt has a range without an inside.
        let within =
            move |bar: &&Sweep| bar.elevation.from < elevation.from && elevation.to < bar.elevation.to;
        self.barred.iter().filter(move |bar| meets(bar) || within(bar)).map(|bar| bar.azimuth)
    }

    /// Whether a mount gets from one place to the other, whichever axis is the quicker one.
    pub(super) fn is_free(&self, from: AzEl, to: AzEl) -> bool {
        let way = Sweep::at(from).with(to);
        let (low, high) = (way.azimuth.from, way.azimuth.to);
        !self.barred(way.elevation).any(|bar| bar.from < high && low < bar.to)
    }

    /// The elevation of the satellite, or of a beam that stays level.
    pub(super) fn height(&self, satellite: AzEl) -> f64 {
        self.mount.elevation.map_or(0.0, |_| satellite.elevation)
    }

    /// How far off the satellite the beam is, degrees on the sky; one that only turns, along the compass.
    pub(super) fn error(&self, place: AzEl, satellite: AzEl) -> f64 {
        if self.mount.elevation.is_some() {
            return place.angle_to(satellite);
        }
        let off = (place.azimuth - satellite.azimuth).rem_euclid(360.0);
        off.min(360.0 - off)
    }

    /// Adds the mount's azimuths from which, at this elevation, the beam is off by `error` at most.
    pub(super) fn azimuths(&self, satellite: AzEl, elevation: f64, error: f64, out: &mut Vec<AngleRange>) {
        let first = out.len();
        let (centre, half) = match self.mount.elevation {
            None => (satellite.azimuth, Some(error)),
            Some(_) if elevation > 90.0 => {
                (satellite.azimuth + 180.0, half_width(180.0 - elevation, satellite.elevation, error))
            }
            Some(_) => (satellite.azimuth, half_width(elevation, satellite.elevation, error)),
        };
        let Some(half) = half else { return };
        let range = self.mount.azimuth;
        if half >= 180.0 {
            out.push(range);
        } else {
            let begin = centre + 360.0 * ((range.from - half - centre) / 360.0).ceil();
            let turns = (0..8).map(|turn| begin + 360.0 * f64::from(turn));
            out.extend(
                turns
                    .take_while(|at| at - half <= range.to)
                    .map(|at| AngleRange::new((at - half).max(range.from), (at + half).min(range.to))),
            );
        }
        unite(out, first);
        for bar in self.barred(AngleRange::new(elevation, elevation)) {
            take_out(out, first, bar);
        }
        self.to_lattice(out, first);
    }

    fn to_lattice(&self, out: &mut Vec<AngleRange>, first: usize) {
        let Some(step) = self.lattice else { return };
        for span in &mut out[first..] {
            span.from = ((span.from - 1e-9) / step).ceil() * step;
            span.to = ((span.to + 1e-9) / step).floor() * step;
        }
        let kept: Vec<AngleRange> = out.drain(first..).filter(|span| span.from <= span.to).collect();
        out.extend(kept);
    }

    /// The elevations from which, at this azimuth, the beam is off by `error` at most, and the best.
    pub(super) fn elevations(&self, satellite: AzEl, azimuth: f64, error: f64) -> Option<(AngleRange, f64)> {
        let tilt = self.tilt();
        if self.mount.elevation.is_none() {
            return Some((tilt, tilt.from));
        }
        let (sin_el, cos_el) = satellite.elevation.to_radians().sin_cos();
        // The satellite, seen in the plane in which the elevation turns, and beside it.
        let (beside, along) = (azimuth - satellite.azimuth).to_radians().sin_cos();
        // A satellite just below the horizon lies beyond 180 degrees for a mount that has flipped.
        let best = (sin_el.atan2(cos_el * along).to_degrees() + 90.0).rem_euclid(360.0) - 90.0;
        let aside = (cos_el * beside).abs().min(1.0).asin().to_degrees();
        let ratio = error.to_radians().cos() / aside.to_radians().cos();
        if aside > error || !ratio.is_finite() {
            return None;
        }
        let half = ratio.clamp(-1.0, 1.0).acos().to_degrees();
        let range = AngleRange::new((best - half).max(tilt.from), (best + half).min(tilt.to));
        (range.from <= range.to).then_some((range, best))
    }
}

/// By how many degrees of azimuth the beam at `elevation` may be beside a satellite at `satellite`,
/// so that the angle between them is `error` at most; `None` where they are farther apart anyway.
/// From hav(error) = hav(difference of elevation) + cos cos hav(difference of azimuth).
fn half_width(elevation: f64, satellite: f64, error: f64) -> Option<f64> {
    let haversine = |degrees: f64| (degrees.to_radians() / 2.0).sin().powi(2);
    let rest = haversine(error.min(180.0)) - haversine(elevation - satellite);
    if rest < 0.0 {
        return None;
    }
    let scale = elevation.to_radians().cos() * satellite.to_radians().cos();
    if rest >= scale { Some(180.0) } else { Some(2.0 * (rest / scale).sqrt().asin().to_degrees()) }
}

#[cfg(test)]
mod tests {
    use super::super::tests::mount;
    use super::*;
    use crate::terms::NoGo;

    /// Against the angle between the two directions, which is computed otherwise.
    #[test]
    fn at_the_edges_the_beam_is_off_by_just_the_error() {
        let mount = mount((-200.0, 500.0), (0.0, 180.0));
        let field = Field::new(&mount, None);
        let mut edges = 0;
        // A pass may begin a rounding below the horizon.
        let flipped = field.elevations(AzEl::new(10.0, -1e-7), 190.0, 1.0).unwrap();
        assert!((flipped.0.from - 179.0).abs() < 1e-3 && flipped.0.to == 180.0, "{flipped:?}");
        for satellite in [(10.0, 3.0), (200.0, 45.0), (300.0, 80.0), (0.0, 89.5)] {
            let satellite = AzEl::new(satellite.0, satellite.1);
            for error in [0.05, 1.0, 9.0, 40.0] {
                for row in 0..=180 {
                    let (elevation, mut spans) = (f64::from(row), Vec::new());
                    field.azimuths(satellite, elevation, error, &mut spans);
                    for edge in spans.iter().flat_map(|span| [span.from, span.to]) {
                        let off = AzEl::new(edge, elevation).angle_to(satellite);
                        let is_end = edge == -200.0 || edge == 500.0;
                        assert!((off - error).abs() < 1e-6 || (is_end && off < error), "{off} {error}");
                        edges += usize::from(!is_end);
                    }
                }
                for tenth in 0..3600 {
                    let azimuth = f64::from(tenth) / 10.0;
                    let Some((range, best)) = field.elevations(satellite, azimuth, error) else { continue };
                    let off = |elevation| AzEl::new(azimuth, elevation).angle_to(satellite);
                    for edge in [range.from, range.to] {
                        let is_end = edge == 0.0 || edge == 180.0;
                        assert!((off(edge) - error).abs() < 1e-5 || (is_end && off(edge) < error));
                    }
                    assert!(off(best) <= off(range.from) + 1e-9 && off(best) <= off(range.to) + 1e-9);
                }
            }
        }
        assert!(edges > 500, "{edges}");
    }

    #[test]
    fn a_sector_is_left_out_with_its_clearance_in_every_wrap_and_flipped() {
        let mut mount = mount((0.0, 450.0), (0.0, 180.0));
        mount.no_go =
            vec![NoGo { azimuth: AngleRange::new(40.0, 60.0), elevation: AngleRange::new(-90.0, 20.0) }];
        let field = Field::new(&mount, None);
        let spans = |elevation| {
            let mut spans = Vec::new();
            field.azimuths(AzEl::new(0.0, 90.0), elevation, 180.0, &mut spans);
            spans.iter().map(|span| (span.from, span.to)).collect::<Vec<_>>()
        };
        assert_eq!(spans(10.0), [(0.0, 39.0), (61.0, 399.0), (421.0, 450.0)]);
        assert_eq!(spans(170.0), [(0.0, 219.0), (241.0, 450.0)]);
        assert_eq!(spans(21.0), [(0.0, 450.0)]);
        assert!(!field.is_free(AzEl::new(30.0, 30.0), AzEl::new(70.0, 10.0)), "either axis may be quicker");
        assert!(field.is_free(AzEl::new(30.0, 30.0), AzEl::new(70.0, 21.0)));
    }
}
