//! The plan of the mount's axes through a pass.

use crate::sky::Track;
use crate::terms::{AzEl, Generation, Plan, Time, Validity, later, seconds_between};

use super::Mount;

/// Seconds between the samples from which the cable wrap is chosen. The azimuth turns by less
/// than half a circle in it on any pass whose highest elevation is below 89.9 degrees.
const SAMPLE_S: f64 = 1.0;

/// A mount's aim through one pass: the satellite's own direction, in the cable wrap that keeps
/// the mount on it for the longest part of the pass, clamped to what the mount can reach. Before
/// AOS it stands at the rising direction, after LOS at the setting one.
#[derive(Clone)]
pub struct Aim {
    track: Track,
    mount: Mount,
    /// The azimuth through the pass without jumps, at every `SAMPLE_S` from AOS on.
    unwrapped: Vec<f64>,
    pass: Validity,
    generation: Generation,
}

impl Aim {
    /// Plans `pass` (AOS to LOS) of `track`. `None` where the orbit can't be followed through it.
    pub fn new(track: Track, mount: Mount, pass: Validity, generation: Generation) -> Option<Self> {
        let count = (seconds_between(pass.from, pass.until).max(0.0) / SAMPLE_S).ceil() as usize;
        let azimuths: Option<Vec<f64>> = (0..=count)
            .map(|index| {
                track.at(later(pass.from, index as f64 * SAMPLE_S)).ok().map(|look| look.azimuth_deg)
            })
            .collect();
        let mut unwrapped = without_jumps(&azimuths?);
        let turn = best_turn(&unwrapped, &mount);
        unwrapped.iter_mut().for_each(|azimuth| *azimuth += turn);
        Some(Self { track, mount, unwrapped, pass, generation })
    }

    /// The unwrapped azimuth of the sample nearest to `time`.
    fn unwrapped_near(&self, time: Time) -> f64 {
        let index = (seconds_between(self.pass.from, time) / SAMPLE_S).round().max(0.0) as usize;
        self.unwrapped.get(index).or(self.unwrapped.last()).copied().unwrap_or_default()
    }
}

impl Plan<AzEl> for Aim {
    fn at(&self, time: Time) -> Option<AzEl> {
        let time = time.clamp(self.pass.from, self.pass.until);
        let look = self.track.at(time).ok()?;
        let azimuth = nearest_turn(look.azimuth_deg, self.unwrapped_near(time));
        let on_path = AzEl::new(azimuth, look.elevation_deg);
        Some(self.mount.nearest_to(on_path, on_path))
    }

    fn validity(&self) -> Validity {
        self.pass
    }

    fn generation(&self) -> Generation {
        self.generation
    }
}

/// `azimuth` plus the whole turns that bring it nearest to `near`.
fn nearest_turn(azimuth: f64, near: f64) -> f64 {
    azimuth + 360.0 * ((near - azimuth) / 360.0).round()
}

/// Compass azimuths as a path that never jumps over the north.
fn without_jumps(azimuths: &[f64]) -> Vec<f64> {
    let mut path: Vec<f64> = Vec::with_capacity(azimuths.len());
    for azimuth in azimuths {
        path.push(path.last().map_or(*azimuth, |last| nearest_turn(*azimuth, *last)));
    }
    path
}

/// The whole turns, in degrees, that keep the most of `path` within the mount's travel; the
/// smallest of equals.
fn best_turn(path: &[f64], mount: &Mount) -> f64 {
    let outside = |turn: f64| path.iter().filter(|azimuth| !mount.azimuth.contains(**azimuth + turn)).count();
    let turns = [0.0, -360.0, 360.0, -720.0, 720.0];
    turns.into_iter().min_by_key(|turn| outside(*turn)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::AngleRange;

    fn mount(from: f64, to: f64) -> Mount {
        Mount {
            azimuth: AngleRange::new(from, to),
            elevation: Some(AngleRange::new(0.0, 90.0)),
            park: AzEl::new(180.0, 0.0),
            beam_width: 30.0,
            no_go: Vec::new(),
        }
    }

    #[test]
    fn a_pass_over_the_north_is_one_path() {
        assert_eq!(without_jumps(&[340.0, 350.0, 5.0, 20.0]), [340.0, 350.0, 365.0, 380.0]);
        assert_eq!(without_jumps(&[20.0, 5.0, 350.0]), [20.0, 5.0, -10.0]);
    }

    #[test]
    fn the_wrap_is_chosen_that_keeps_the_whole_pass_in_reach() {
        assert_eq!(best_turn(&[20.0, 5.0, -10.0], &mount(0.0, 450.0)), 360.0);
        assert_eq!(best_turn(&[340.0, 380.0], &mount(0.0, 450.0)), 0.0);
        assert_eq!(best_turn(&[200.0, 260.0], &mount(-180.0, 180.0)), -360.0);
    }

    /// Every pass of four invented satellites in a day, over three kinds of mounts.
    #[test]
    fn the_aim_looks_at_the_satellite_and_never_leaves_the_mounts_reach() {
        let mounts = [mount(0.0, 450.0), mount(0.0, 360.0), mount(-180.0, 180.0), mount(30.0, 300.0)];
        let mut looks = 0;
        for (track, pass) in passes_of_a_day() {
            for mount in &mounts {
                let aim = Aim::new(track.clone(), mount.clone(), pass, 1).unwrap();
                for second in 0..seconds_between(pass.from, pass.until) as i32 {
                    let time = later(pass.from, f64::from(second));
                    let (at, look) = (aim.at(time).unwrap(), track.at(time).unwrap());
                    assert!(mount.reaches(at), "{at:?}");
                    if mount.wraps_of(look.azimuth_deg).next().is_some() {
                        assert!(at.angle_to(look.direction()) < 0.1, "{at:?} {look:?}");
                    }
                    looks += 1;
                }
            }
        }
        assert!(looks > 10_000, "{looks}");
    }

    #[test]
    fn before_and_after_the_pass_it_stands_at_the_ends() {
        let (track, pass) = passes_of_a_day().into_iter().next().unwrap();
        let aim = Aim::new(track, mount(0.0, 450.0), pass, 1).unwrap();
        assert_eq!(aim.at(later(pass.from, -600.0)), aim.at(pass.from));
        assert_eq!(aim.at(later(pass.until, 600.0)), aim.at(pass.until));
    }

    fn passes_of_a_day() -> Vec<(Track, Validity)> {
        let start = crate::terms::parse_time("2026-11-25T00:00:00Z").unwrap();
        let station = crate::sky::Station::new(54.0, -2.5, 120.0).unwrap();
        let mut all = Vec::new();
        for (number, inclination) in [(99_001, 51.6), (99_002, 97.4), (99_003, 66.0), (99_004, 110.0)] {
            let orbit = crate::sky::ElementSet {
                name: "an invented satellite".to_owned(),
                catalog_number: number,
                epoch: start,
                inclination_deg: inclination,
                right_ascension_deg: 40.0,
                eccentricity: 0.002,
                argument_of_perigee_deg: 10.0,
                mean_anomaly_deg: 100.0,
                mean_motion_rev_day: 15.0,
                drag_term: 0.0,
            };
            let track = Track::new(&orbit, station).unwrap();
            for pass in crate::sky::passes(&track, start, 24.0, 0.0).unwrap() {
                if let (Some(from), Some(until)) = (pass.aos, pass.los) {
                    all.push((track.clone(), Validity { from, until }));
                }
            }
        }
        all
    }
}
