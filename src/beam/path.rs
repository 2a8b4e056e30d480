//! A path as a mount with motors can take it: straight from place to place, its corners rounded so that no
//! axis is asked to speed up or to brake harder than it can.

use crate::terms::{AzEl, Sweep};

use super::Mount;

/// Windows are tried in so many parts of the one that always does.
const PARTS: u32 = 16;
/// How often a path beside a sector is looked at, seconds.
const LOOK_S: f64 = 0.25;
/// How often the rounding is halved where it would lead by a sector.
const HALVINGS: u32 = 4;

/// Where the mount is at any time.
///
/// Each axis is at the mean of its straight path over a window of time around the moment. A mean is
/// never quicker than the path, never beyond its ends, and its speed changes by no more than the
/// difference of the path's speeds at both ends of the window, divided by the window. A mount that sets
/// off, runs and stops comes out as the quickest motion that its motors can make.
#[derive(Debug, Clone)]
pub(super) struct Path {
    /// Seconds, rising, and the place then. Before and after it rests.
    points: Vec<(f64, AzEl)>,
    /// The sums of the place times the seconds, up to each point.
    sums: Vec<AzEl>,
    /// How long each axis' window is, seconds.
    windows: AzEl,
}

impl Path {
    /// The path through these points, for `mount`. Where a no-go sector leaves no room for rounding, the
    /// corners stay sharper than the mount can take them: it comes by them a little late.
    pub(super) fn new(points: Vec<(f64, AzEl)>, mount: &Mount) -> Self {
        let window =
            |pick: fn(AzEl) -> f64| window(&points, pick, pick(mount.slew), pick(mount.acceleration));
        let windows = AzEl::new(window(|place| place.azimuth), window(|place| place.elevation));
        let mut path = Self { sums: sums(&points), points, windows };
        for _ in 0..HALVINGS {
            if path.keeps_clear(mount) {
                return path;
            }
            path.windows = AzEl::new(path.windows.azimuth / 2.0, path.windows.elevation / 2.0);
        }
        path.windows = AzEl::ZERO;
        path
    }

    /// Where the mount is so many seconds after the path's zero.
    pub(super) fn at(&self, seconds: f64) -> Option<AzEl> {
        let straight = self.straight(seconds)?;
        let mean = |window: f64, pick: fn(AzEl) -> f64| {
            let half = window / 2.0;
            let sum = |seconds: f64| self.sum(seconds).map(pick);
            if half > 0.0 {
                Some((sum(seconds + half)? - sum(seconds - half)?) / window)
            } else {
                Some(pick(straight))
            }
        };
        Some(AzEl::new(
            mean(self.windows.azimuth, |place| place.azimuth)?,
            mean(self.windows.elevation, |place| place.elevation)?,
        ))
    }

    /// The places between which it goes straight but for its corners, and when.
    pub(super) fn points(&self) -> &[(f64, AzEl)] {
        &self.points
    }

    /// How long before its first point, and after its last, an axis may move already or still, seconds.
    pub(super) fn spill_s(&self) -> f64 {
        self.windows.azimuth.max(self.windows.elevation) / 2.0
    }

    /// Without the rounding.
    fn straight(&self, seconds: f64) -> Option<AzEl> {
        let next = self.points.partition_point(|(at, _)| *at < seconds);
        let (_, last) = *self.points.last()?;
        let Some((until, to)) = self.points.get(next).copied() else { return Some(last) };
        let Some((since, from)) = next.checked_sub(1).map(|before| self.points[before]) else {
            return Some(to);
        };
        let part = (seconds - since) / (until - since);
        let between = |from: f64, to: f64| from + part * (to - from);
        Some(AzEl::new(between(from.azimuth, to.azimuth), between(from.elevation, to.elevation)))
    }

    /// The sum of place times seconds from the first point on, counted backward before it.
    fn sum(&self, seconds: f64) -> Option<AzEl> {
        let next = self.points.partition_point(|(at, _)| *at < seconds);
        let known = next.saturating_sub(1);
        let ((since, from), sum, to) =
            (*self.points.get(known)?, *self.sums.get(known)?, self.straight(seconds)?);
        let add = |sum: f64, from: f64, to: f64| sum + (seconds - since) * (from + to) / 2.0;
        Some(AzEl::new(
            add(sum.azimuth, from.azimuth, to.azimuth),
            add(sum.elevation, from.elevation, to.elevation),
        ))
    }

    fn keeps_clear(&self, mount: &Mount) -> bool {
        let (Some((from, _)), Some((until, _))) = (self.points.first(), self.points.last()) else {
            return true;
        };
        if mount.no_go.is_empty() || self.windows == AzEl::ZERO {
            return true;
        }
        let (from, until) = (from - self.spill_s(), until + self.spill_s());
        let looks = ((until - from) / LOOK_S).ceil() as u64;
        let places = (0..=looks).filter_map(|look| self.at(from + look as f64 * LOOK_S));
        let mut last = None;
        places.into_iter().all(|place| {
            let way = Sweep::at(last.replace(place).unwrap_or(place)).with(place);
            !mount.no_go.iter().any(|sector| sector.is_met_by(way))
        })
    }
}

fn sums(points: &[(f64, AzEl)]) -> Vec<AzEl> {
    let mut sum = AzEl::ZERO;
    let mut all = Vec::with_capacity(points.len());
    for (index, (at, place)) in points.iter().enumerate() {
        if let Some((since, from)) = index.checked_sub(1).map(|before| points[before]) {
            let half = (at - since) / 2.0;
            sum.azimuth += half * (from.azimuth + place.azimuth);
            sum.elevation += half * (from.elevation + place.elevation);
        }
        all.push(sum);
    }
    all
}

/// The shortest window in which an axis has time for all changes of its speed: twice the time that it
/// takes to reach its speed is always enough, for turning round at full speed.
fn window(points: &[(f64, AzEl)], pick: fn(AzEl) -> f64, slew: f64, acceleration: f64) -> f64 {
    let longest = 2.0 * slew / acceleration;
    if longest <= 0.0 || !longest.is_finite() {
        return 0.0;
    }
    let speeds = speeds(points, pick);
    let fits = |window: &f64| changes_within(&speeds, *window) <= acceleration * window * (1.0 + 1e-9);
    let tried = (1..PARTS).map(|part| longest * f64::from(part) / f64::from(PARTS));
    tried.into_iter().find(fits).unwrap_or(longest)
}

/// The speed between each two points, and the rest before and after: since when, and how fast.
fn speeds(points: &[(f64, AzEl)], pick: fn(AzEl) -> f64) -> Vec<(f64, f64)> {
    let mut all = vec![(f64::NEG_INFINITY, 0.0)];
    all.extend(points.windows(2).map(|pair| {
        let ((since, from), (until, to)) = (pair[0], pair[1]);
        (since, (pick(to) - pick(from)) / (until - since))
    }));
    all.extend(points.last().map(|(at, _)| (*at, 0.0)));
    all
}

/// The largest difference of two speeds that are less than `window` apart.
fn changes_within(speeds: &[(f64, f64)], window: f64) -> f64 {
    let mut most = 0.0_f64;
    for (index, (_, speed)) in speeds.iter().enumerate() {
        let Some((ends, _)) = speeds.get(index + 1) else { break };
        let soon = speeds[index + 1..].iter().take_while(|(since, _)| since - ends < window);
        most = soon.map(|(_, later)| (later - speed).abs()).fold(most, f64::max);
    }
    most
}

#[cfg(test)]
mod tests {
    use super::super::plan::tests::mount;
    use super::*;
    use crate::terms::{AngleRange, NoGo};

    fn points(azimuths: &[(f64, f64)]) -> Vec<(f64, AzEl)> {
        azimuths.iter().map(|(at, azimuth)| (*at, AzEl::new(*azimuth, 20.0))).collect()
    }

    fn slow(acceleration: f64) -> Mount {
        Mount { acceleration: AzEl::new(acceleration, acceleration), ..mount((-360.0, 720.0), (0.0, 90.0)) }
    }

    /// By hand: 3 degrees a second at 1.5 a second more each second takes 2 s and 3 degrees; 30 degrees
    /// are 2 s of speeding up, 8 s of running and 2 s of braking, around the 10 s of a mount without mass.
    #[test]
    fn a_run_becomes_the_quickest_motion_of_a_motor() {
        let path =
            Path::new(points(&[(0.0, 100.0), (20.0, 100.0), (30.0, 130.0), (60.0, 130.0)]), &slow(1.5));
        for (seconds, azimuth) in [
            (0.0, 100.0),
            (19.0, 100.0),
            (20.0, 100.75),
            (21.0, 103.0),
            (25.0, 115.0),
            (29.0, 127.0),
            (31.0, 130.0),
        ] {
            let at = path.at(seconds).unwrap();
            assert!((at.azimuth - azimuth).abs() < 1e-9, "{seconds}: {at:?}, {azimuth} by hand");
            assert!((at.elevation - 20.0).abs() < 1e-9);
        }
    }

    #[test]
    fn no_axis_is_quicker_or_speeds_up_harder_than_it_can_on_any_path() {
        let mut seed = 3_u64;
        let mut below = |bound: u64| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            ((seed >> 33) % bound) as f64
        };
        for acceleration in [0.5, 1.0, 3.0, 10.0] {
            for _ in 0..20 {
                let (mut at, mut azimuth, mut all) = (0.0, 0.0, Vec::new());
                for _ in 0..30 {
                    all.push((at, azimuth));
                    let lasts = 0.5 + below(8) / 2.0;
                    at += lasts;
                    azimuth += lasts * (below(61) / 10.0 - 3.0);
                }
                let path = Path::new(points(&all), &slow(acceleration));
                let place = |seconds: f64| path.at(seconds).unwrap().azimuth;
                let ends = all.iter().map(|(_, azimuth)| *azimuth);
                let (least, most) = ends.fold((f64::MAX, f64::MIN), |(a, b), az| (a.min(az), b.max(az)));
                for tenth in -100..(at * 10.0) as i32 + 100 {
                    let t = f64::from(tenth) / 10.0;
                    let (a, b, c) = (place(t - 0.1), place(t), place(t + 0.1));
                    assert!((c - b).abs() <= 0.3 + 1e-6 && (least - 1e-6..=most + 1e-6).contains(&b));
                    let change = (c - 2.0 * b + a).abs() / 0.01;
                    assert!(change <= acceleration + 1e-4, "{change} of {acceleration} at {t}");
                }
            }
        }
    }

    #[test]
    fn a_mount_that_is_at_once_as_quick_as_it_can_keeps_its_corners() {
        let path = Path::new(points(&[(0.0, 100.0), (10.0, 130.0), (20.0, 110.0)]), &slow(f64::INFINITY));
        assert_eq!(path.at(10.0), Some(AzEl::new(130.0, 20.0)));
        assert_eq!(path.spill_s(), 0.0);
    }

    #[test]
    fn rounding_a_corner_leads_by_no_sector() {
        // Up beside the wall, and over it as soon as it is high enough.
        let corner =
            vec![(0.0, AzEl::new(88.0, 0.0)), (10.0, AzEl::new(88.0, 21.5)), (30.0, AzEl::new(125.0, 21.5))];
        let wall = NoGo { azimuth: AngleRange::new(90.0, 120.0), elevation: AngleRange::new(-90.0, 20.0) };
        let mut mount = slow(0.5);
        assert!(Path::new(corner.clone(), &mount).spill_s() > 1.0);
        mount.no_go = vec![wall];
        let path = Path::new(corner, &mount);
        for tenth in 0..300 {
            let place = path.at(f64::from(tenth) / 10.0).unwrap();
            assert!(!wall.forbids(place), "{place:?}");
        }
    }
}
