//! The plan of the mount's axes through a pass.

use crate::sky::{Look, Track};
use crate::terms::{AzEl, Generation, Plan, Time, Validity, later, seconds_between};

use super::path::Path;
use super::plan::{Run, Sample, Start, plan, quieten, speeding_up_s};
use super::{Mount, loss_db};

/// The satellite moves by so much from sample to sample at most, degrees on the sky, unless a tick is
/// longer. Between two samples the mount goes straight; beside the zenith, where that differs most
/// from the satellite's way, it is off by some hundredths of a degree.
const SAMPLE_DEG: f64 = 0.5;
/// Samples are so many seconds apart, times a power of two.
const TICK_S: f64 = 0.5;
/// Ticks between two samples at most, and samples of a pass that lasts for hours.
const LONGEST: u64 = 16;
const SAMPLES: f64 = 2000.0;
/// How often a summary looks at the beam, seconds; a pass of hours is looked at so many times.
const LOOK_S: f64 = 0.25;
const LOOKS: f64 = 20_000.0;

/// A mount's aim through one pass: the path that loses the least which the mount can take (see
/// [`plan`]), its corners rounded as far as the motors need to speed up and to brake. Before AOS it stands
/// where that begins, after LOS where it ends.
#[derive(Clone)]
pub struct Aim {
    track: Track,
    mount: Mount,
    /// In seconds from AOS on.
    path: Path,
    /// When azimuth and elevation are sent where, in quiet motion.
    runs: Option<[Vec<Run>; 2]>,
    pass: Validity,
    start: Option<Start>,
    generation: Generation,
}

/// What a plan comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prospect {
    /// Where the mount waits for the satellite, in its own coordinates.
    pub rises_at: AzEl,
    /// Where it ends.
    pub sets_at: AzEl,
    /// Whether it looks over the top at some time.
    pub flips: bool,
    /// The largest error, degrees on the sky, and when.
    pub worst_deg: f64,
    /// When that is.
    pub worst_at: Time,
    /// The mean error, degrees, each moment weighted by how useful it is.
    pub mean_deg: f64,
    /// What the beam loses at the worst moment, dB.
    pub worst_loss_db: f64,
    /// For how long it loses more than 3 dB, seconds.
    pub beyond_3_db_s: f64,
    /// How often azimuth and elevation start in quiet motion; `None` where they are led closely.
    pub starts: Option<[usize; 2]>,
}

impl Aim {
    /// Plans `pass` (AOS to LOS) of `track`. `None` where the orbit can't be followed through it, or
    /// the mount has no way.
    pub fn new(track: Track, mount: Mount, pass: Validity, generation: Generation) -> Option<Self> {
        Self::from_start(track, mount, pass, generation, None)
    }

    /// The same for a mount that is not free to wait for the satellite: it stands somewhere so shortly
    /// before that it may not get to the best place.
    pub fn from_start(
        track: Track,
        mount: Mount,
        pass: Validity,
        generation: Generation,
        start: Option<Start>,
    ) -> Option<Self> {
        let sky = samples(&track, &mount, pass)?;
        let course = plan(&mount, &sky, start)?;
        let quiet = mount.quiet.and_then(|more| quieten(&mount, &sky, start, &course, more));
        let closely = || sky.iter().map(|sample| sample.seconds).zip(course.places).collect();
        let (points, runs) = match quiet {
            Some(quiet) => (quiet.points, Some(quiet.runs)),
            None => (closely(), None),
        };
        let path = Path::new(points, &mount);
        Some(Self { track, mount, path, runs, pass, start, generation })
    }

    /// Where it was planned from, if not from anywhere.
    pub fn start(&self) -> Option<Start> {
        self.start
    }

    /// The places between which the mount goes straight but for its corners, and when it is there.
    pub fn points(&self) -> impl Iterator<Item = (Time, AzEl)> {
        self.path.points().iter().map(|(seconds, place)| (later(self.pass.from, *seconds), *place))
    }

    /// What the plan comes to, looked at several times a second.
    pub fn prospect(&self) -> Option<Prospect> {
        let seconds = seconds_between(self.pass.from, self.pass.until).max(0.0);
        let step = LOOK_S.max(seconds / LOOKS);
        let points = self.path.points();
        let (rises_at, sets_at) = (points.first()?.1, points.last()?.1);
        let tilts = self.mount.elevation.is_some();
        let flips = tilts && points.iter().any(|(_, place)| place.elevation > 90.0);
        let (mut worst_deg, mut worst_at, mut sum, mut weight) = (0.0, self.pass.from, 0.0, 0.0);
        let mut beyond = 0_u32;
        for index in 0..=(seconds / step) as u32 {
            let time = later(self.pass.from, f64::from(index) * step);
            let look = self.track.at(time).ok()?;
            let error = self.mount.error(self.at(time)?, look.direction());
            if error > worst_deg {
                (worst_deg, worst_at) = (error, time);
            }
            beyond += u32::from(loss_db(error, self.mount.beam_width) > 3.0);
            sum += usefulness(&look) * error;
            weight += usefulness(&look);
        }
        let (mean_deg, worst_loss_db) = (sum / weight, loss_db(worst_deg, self.mount.beam_width));
        let beyond_3_db_s = f64::from(beyond) * step;
        Some(Prospect {
            rises_at,
            sets_at,
            flips,
            worst_deg,
            worst_at,
            mean_deg,
            worst_loss_db,
            beyond_3_db_s,
            starts: self.runs.as_ref().map(|runs| [0, 1].map(|axis| runs[axis].len().saturating_sub(1))),
        })
    }
}

impl Plan<AzEl> for Aim {
    fn at(&self, time: Time) -> Option<AzEl> {
        let (lasts, spill) = (seconds_between(self.pass.from, self.pass.until), self.path.spill_s());
        let seconds = seconds_between(self.pass.from, time);
        // A mean of places at an end stop may lie beyond it by a rounding.
        let place = self.path.at(seconds.max(-spill).min(lasts + spill))?;
        Some(self.mount.clamp(place))
    }

    fn rests_at(&self, time: Time) -> Option<(AzEl, Option<Time>)> {
        let seconds = seconds_between(self.pass.from, time);
        let [turn, tilt] = self.runs.as_ref()?;
        // A motor that has to speed up sets off half of that earlier.
        let earlier = speeding_up_s(&self.mount);
        let ((azimuth, turns), (elevation, tilts)) =
            (next_rest(turn, seconds + earlier.azimuth)?, next_rest(tilt, seconds + earlier.elevation)?);
        let wait = [turns, tilts].into_iter().flatten().min_by(f64::total_cmp);
        Some((self.mount.clamp(AzEl::new(azimuth, elevation)), wait.map(|wait| later(time, wait))))
    }

    fn validity(&self) -> Validity {
        self.pass
    }

    fn generation(&self) -> Generation {
        self.generation
    }
}

/// Where an axis is sent at a moment, and in how many seconds it is sent on.
fn next_rest(runs: &[Run], seconds: f64) -> Option<(f64, Option<f64>)> {
    let begun = runs.partition_point(|run| run.seconds <= seconds).max(1);
    let run = runs.get(begun - 1)?;
    Some((run.to, runs.get(begun).map(|next| next.seconds - seconds)))
}

/// A moment counts by the power that arrives from the satellite: a beam that is off loses more where
/// there is more (free space, ITU-R P.525).
fn usefulness(look: &Look) -> f64 {
    1e6 / (look.range_km * look.range_km).max(1.0)
}

/// Where the satellite is through a pass, as the mount sees it, as often as it takes.
fn samples(track: &Track, mount: &Mount, pass: Validity) -> Option<Vec<Sample>> {
    let seconds = seconds_between(pass.from, pass.until).max(0.0);
    let longest = LONGEST.max((seconds / SAMPLES / TICK_S).ceil() as u64).next_power_of_two();
    let sample = |ticks: u64| {
        let seconds = (ticks as f64 * TICK_S).min(seconds);
        let look = track.at(later(pass.from, seconds)).ok()?;
        Some(Sample { seconds, direction: mount.seen(look.direction()), weight: usefulness(&look) })
    };
    let (mut ticks, mut step) = (0, 1);
    let mut sky = vec![sample(0)?];
    while (ticks as f64) * TICK_S < seconds {
        let last = sky.last()?.direction;
        step = (2 * step).min(longest);
        let mut next = sample(ticks + step)?;
        while step > 1 && next.direction.angle_to(last) > SAMPLE_DEG {
            step /= 2;
            next = sample(ticks + step)?;
        }
        sky.push(next);
        ticks += step;
    }
    Some(sky)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::AngleRange;

    fn mount(from: f64, to: f64) -> Mount {
        Mount {
            azimuth: AngleRange::new(from, to),
            elevation: Some(AngleRange::new(0.0, 90.0)),
            slew: AzEl::new(3.0, 3.0),
            acceleration: AzEl::new(4.0, 4.0),
            park: AzEl::new(180.0, 0.0),
            beam_width: 30.0,
            no_go: Vec::new(),
            lean: crate::beam::Lean::NONE,
            quiet: None,
            resolution: 0.1,
        }
    }

    /// Every pass of four invented satellites in a day, over four kinds of mounts: wherever following
    /// directly is possible, the plan is on the satellite; nowhere does it leave the reach or the speed.
    #[test]
    fn the_aim_keeps_the_mounts_reach_and_speed_and_looks_at_the_satellite_where_it_can() {
        let mounts = [mount(0.0, 450.0), mount(0.0, 360.0), mount(-180.0, 180.0), mount(30.0, 300.0)];
        let (mut looks, mut exact) = (0, 0);
        for (track, pass) in passes_of_a_day() {
            for mount in &mounts {
                let aim = Aim::new(track.clone(), mount.clone(), pass, 1).unwrap();
                let prospect = aim.prospect().unwrap();
                let is_easy = can_follow(&track, pass, mount);
                assert!(!is_easy || prospect.worst_deg < 0.1, "{prospect:?}");
                assert!(prospect.mean_deg <= prospect.worst_deg);
                exact += usize::from(is_easy);
                for second in 0..seconds_between(pass.from, pass.until) as i32 {
                    let place = |after: f64| aim.at(later(pass.from, f64::from(second) + after)).unwrap();
                    let (at, soon, after) = (place(0.0), place(0.5), place(1.0));
                    assert!(mount.reaches(at), "{at:?}");
                    assert!((soon.azimuth - at.azimuth).abs() <= 1.5 + 1e-6, "{at:?} {soon:?}");
                    assert!((soon.elevation - at.elevation).abs() <= 1.5 + 1e-6, "{at:?} {soon:?}");
                    // By hand: the speed over one half second is within 4 x 0.5 of that over the next.
                    let turn = (after.azimuth - 2.0 * soon.azimuth + at.azimuth) / 0.5;
                    let tilt = (after.elevation - 2.0 * soon.elevation + at.elevation) / 0.5;
                    assert!(
                        turn.abs() <= 2.0 + 1e-6 && tilt.abs() <= 2.0 + 1e-6,
                        "{at:?} {soon:?} {after:?}"
                    );
                    looks += 1;
                }
            }
        }
        assert!(looks > 10_000 && exact > 20, "{looks} {exact}");
    }

    /// Whether one wrap holds the whole pass and the satellite is never quicker than the mount.
    fn can_follow(track: &Track, pass: Validity, mount: &Mount) -> bool {
        let seconds = seconds_between(pass.from, pass.until) as u32;
        let looks = (0..=seconds).map(|s| track.at(later(pass.from, f64::from(s))).unwrap().azimuth_deg);
        let mut path: Vec<f64> = Vec::new();
        for azimuth in looks {
            let last = path.last().copied().unwrap_or(azimuth);
            path.push(azimuth + 360.0 * ((last - azimuth) / 360.0).round());
        }
        let slow = path.windows(2).all(|pair| (pair[1] - pair[0]).abs() < 2.9);
        let holds = |turn: f64| path.iter().all(|az| mount.azimuth.contains(az + turn));
        slow && [-720.0, -360.0, 0.0, 360.0, 720.0].into_iter().any(holds)
    }

    #[test]
    fn before_and_after_the_pass_it_stands_at_the_ends() {
        let (track, pass) = passes_of_a_day().into_iter().next().unwrap();
        let aim = Aim::new(track, mount(0.0, 450.0), pass, 1).unwrap();
        let prospect = aim.prospect().unwrap();
        let off = |time, place: AzEl| aim.at(time).unwrap().angle_to(place);
        assert!(off(later(pass.from, -600.0), prospect.rises_at) < 1e-6);
        assert!(off(later(pass.until, 600.0), prospect.sets_at) < 1e-6);
        assert!(off(pass.from, prospect.rises_at) < 0.2 && off(pass.until, prospect.sets_at) < 0.2);
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
