//! Passes by looking twice a second, with none of the search's ideas.

use beamhand::sky::{EarthAngles, EarthFixed, ElementSet, Geodetic, Pass, Propagator, Station};
use beamhand::terms::{Time, later, seconds_between};

const STEP_S: f64 = 0.5;

/// What was found wrong with a search, over all that it was compared in.
#[derive(Debug, Default)]
pub(crate) struct Verdict {
    pub(crate) passes: usize,
    pub(crate) missed: usize,
    pub(crate) invented: usize,
    pub(crate) worst_s: f64,
}

/// The instants of rising and setting of one satellite at one station.
pub(crate) struct Changes {
    began_up: bool,
    at: Vec<Time>,
}

/// A station's place and zenith.
struct Ground {
    place: [f64; 3],
    zenith: [f64; 3],
    sine: f64,
}

impl Ground {
    fn new(station: &Station, minimum_deg: f64) -> Self {
        let (latitude_deg, longitude_deg) = (station.latitude_deg(), station.longitude_deg());
        let at = |altitude_km| Geodetic { latitude_deg, longitude_deg, altitude_km }.to_earth_fixed();
        let (place, higher) = (at(station.altitude_m() / 1000.0), at(station.altitude_m() / 1000.0 + 1.0));
        let zenith = [0, 1, 2].map(|axis| higher[axis] - place[axis]);
        Self { place, zenith, sine: minimum_deg.to_radians().sin() }
    }

    fn is_up(&self, satellite: [f64; 3]) -> bool {
        let line = [0, 1, 2].map(|axis| satellite[axis] - self.place[axis]);
        let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
        dot(line, self.zenith) >= dot(line, line).sqrt() * self.sine
    }
}

/// Every change within `hours`, to a millisecond, at each station.
pub(crate) fn changes(
    set: &ElementSet,
    stations: &[Station],
    minimum_deg: f64,
    from: Time,
    hours: f64,
) -> Vec<Changes> {
    let propagator = Propagator::new(set).unwrap();
    let place = |seconds: f64| {
        let time = later(from, seconds);
        let state = propagator.at(time).unwrap();
        EarthFixed::from_teme(&state, time, &EarthAngles::default()).position_km
    };
    let grounds: Vec<Ground> = stations.iter().map(|station| Ground::new(station, minimum_deg)).collect();
    let first = place(0.0);
    let mut up: Vec<bool> = grounds.iter().map(|ground| ground.is_up(first)).collect();
    let mut found: Vec<Changes> = up.iter().map(|&began_up| Changes { began_up, at: Vec::new() }).collect();
    for step in 1..=(hours * 3600.0 / STEP_S) as u32 {
        let seconds = f64::from(step) * STEP_S;
        let satellite = place(seconds);
        for (index, ground) in grounds.iter().enumerate() {
            if ground.is_up(satellite) != up[index] {
                let (mut low, mut high) = (seconds - STEP_S, seconds);
                while high - low > 1e-3 {
                    let middle = (low + high) / 2.0;
                    if ground.is_up(place(middle)) == up[index] { low = middle } else { high = middle }
                }
                up[index] = !up[index];
                found[index].at.push(later(from, high));
            }
        }
    }
    found
}

impl Verdict {
    /// Compares a search's passes with the changes of the same window. A pass (or a dip) that is
    /// shorter than brute force can see counts neither way.
    pub(crate) fn judge(&mut self, found: &[Pass], truth: &Changes) {
        let ours: Vec<(Option<Time>, Option<Time>)> = found
            .iter()
            .map(|pass| (pass.aos, pass.los))
            .filter(|(aos, los)| aos.zip(*los).is_none_or(|(aos, los)| seconds_between(aos, los) > STEP_S))
            .collect();
        let mut edges = truth.at.iter().copied().map(Some);
        let mut theirs = Vec::new();
        let mut aos = if truth.began_up { Some(None) } else { edges.next() };
        while let Some(rise) = aos {
            theirs.push((rise, edges.next().flatten()));
            aos = edges.next();
        }
        self.passes += theirs.len();
        let is_near = |a: Option<Time>, b: Option<Time>| match (a, b) {
            (Some(a), Some(b)) => seconds_between(a, b).abs() < 5.0,
            (None, None) => true,
            _ => false,
        };
        let is_same = |a: &(Option<Time>, Option<Time>), b: &(Option<Time>, Option<Time>)| {
            is_near(a.0, b.0) && is_near(a.1, b.1)
        };
        self.missed += theirs.iter().filter(|pass| !ours.iter().any(|own| is_same(own, pass))).count();
        self.invented += ours.iter().filter(|own| !theirs.iter().any(|pass| is_same(own, pass))).count();
        for pass in &theirs {
            let Some(own) = ours.iter().find(|own| is_same(own, pass)) else { continue };
            for (a, b) in [(own.0, pass.0), (own.1, pass.1)] {
                let off = a.zip(b).map_or(0.0, |(a, b)| seconds_between(a, b).abs());
                self.worst_s = self.worst_s.max(off);
            }
        }
    }
}
