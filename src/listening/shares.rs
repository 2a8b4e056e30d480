//! For what share of the time a link was heard: by elevation, azimuth and hour; and from which elevation
//! on.

use std::collections::BTreeMap;

use super::evidence::{Mark, Pass};
use super::exact::middle;

/// Bands of elevation and azimuth, degrees.
const ELEVATION_DEG: f32 = 10.0;
const AZIMUTH_DEG: f32 = 30.0;

/// Passes lower than this say little about the elevation from which on a link is heard, degrees.
const HIGH_DEG: f32 = 30.0;

/// Time listened to in one band, in blocks, and heard in it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Share {
    /// Passes that came through it.
    pub passes: u32,
    /// Blocks in which it was heard.
    pub heard: u32,
    /// All blocks.
    pub blocks: u32,
}

impl Share {
    /// From 0 to 1; `None` of nothing.
    pub fn value(&self) -> Option<f64> {
        (self.blocks > 0).then(|| f64::from(self.heard) / f64::from(self.blocks))
    }
}

/// By what time is told apart. Each value is where a band begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// Bands of ten degrees, within the passes in which the link was heard.
    Elevation,
    /// Bands of thirty degrees, within the same.
    Azimuth,
}

impl By {
    /// How wide a band is, degrees.
    pub fn width_deg(self) -> f32 {
        match self {
            By::Elevation => ELEVATION_DEG,
            By::Azimuth => AZIMUTH_DEG,
        }
    }

    fn of(self, mark: &Mark) -> f32 {
        match self {
            By::Elevation => mark.sight.elevation_deg.min(89.9),
            By::Azimuth => mark.sight.azimuth_deg.rem_euclid(360.0),
        }
    }
}

/// Where a link is heard while it is active: of the passes in which it was heard, the share of time in each
/// band, by where the band begins, degrees. A block counts as heard where it has more over the noise than
/// all but two in a hundred blocks of noise: so of a time of silence, two in a hundred still count.
pub fn shares<'p>(passes: impl IntoIterator<Item = &'p Pass>, by: By) -> BTreeMap<i32, Share> {
    let mut bands = BTreeMap::new();
    for pass in passes.into_iter().filter(|pass| pass.is_heard()) {
        let band = |mark: &Mark| ((by.of(mark) / by.width_deg()).floor() * by.width_deg()) as i32;
        add(&mut bands, &pass.marks, band);
    }
    bands
}

/// When a link is heard: of all passes that were judged, the share of time in each hour of the day, 0 to
/// 23, as `hour` tells it.
pub fn by_hour<'p>(
    passes: impl IntoIterator<Item = &'p Pass>,
    hour: impl Fn(&Mark) -> u32,
) -> BTreeMap<i32, Share> {
    let mut bands = BTreeMap::new();
    for pass in passes.into_iter().filter(|pass| pass.is_judged()) {
        add(&mut bands, &pass.marks, |mark| hour(mark) as i32);
    }
    bands
}

fn add(bands: &mut BTreeMap<i32, Share>, marks: &[Mark], band: impl Fn(&Mark) -> i32) {
    let mut met: BTreeMap<i32, Share> = BTreeMap::new();
    for mark in marks {
        let share = met.entry(band(mark)).or_default();
        share.blocks += 1;
        share.heard += u32::from(mark.is_heard);
    }
    for (band, Share { heard, blocks, .. }) in met {
        let share = bands.entry(band).or_default();
        share.passes += 1;
        share.heard += heard;
        share.blocks += blocks;
    }
}

/// From which elevation on a station hears a link.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Threshold {
    /// Half of the passes were heard from here on, degrees.
    pub middle_deg: f64,
    /// The limits of that at 95 %; infinite where there are too few passes to say.
    pub low_deg: f64,
    /// The upper one.
    pub high_deg: f64,
    /// Passes that it is taken from.
    pub passes: u32,
}

/// The elevation above which a link is heard: of each heard pass that gets above thirty degrees, the
/// elevation that best parts heard blocks from those that are not; the middle of these, with its exact
/// interval ([`middle`]), because whole passes are independent and blocks are not.
pub fn threshold<'p>(passes: impl IntoIterator<Item = &'p Pass>) -> Option<Threshold> {
    let high = passes.into_iter().filter(|pass| pass.is_heard() && pass.highest_deg >= HIGH_DEG);
    let mut edges: Vec<f64> = high.filter_map(|pass| edge(&pass.marks)).collect();
    let (middle_deg, low_deg, high_deg) = middle(&mut edges, 0.95)?;
    Some(Threshold { middle_deg, low_deg, high_deg, passes: edges.len() as u32 })
}

/// The elevation with the fewest blocks on the wrong side of it; of several, the middle one.
fn edge(marks: &[Mark]) -> Option<f64> {
    let mut sorted: Vec<(f32, bool)> =
        marks.iter().map(|mark| (mark.sight.elevation_deg, mark.is_heard)).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    // With the edge below all: every silent block is wrong.
    let mut wrong = sorted.iter().filter(|(_, heard)| !heard).count() as i64;
    let mut best = vec![0.0];
    let mut least = wrong;
    for (at, (elevation, heard)) in sorted.iter().enumerate() {
        wrong += if *heard { 1 } else { -1 };
        let next = sorted.get(at + 1).map_or(*elevation, |next| next.0);
        let here = f64::from(elevation + next) / 2.0;
        if wrong < least {
            (least, best) = (wrong, vec![here]);
        } else if wrong == least {
            best.push(here);
        }
    }
    best.get(best.len() / 2).copied().filter(|_| !sorted.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::listening::Sight;
    use crate::terms::Time;

    fn mark(elevation_deg: f32, is_heard: bool) -> Mark {
        let sight = Sight { azimuth_deg: 370.0, elevation_deg, range_km: 900.0, is_sunlit: true };
        Mark {
            at: Time::default(),
            sight,
            shift_hz: 0.0,
            excess: 0.0,
            noise: 0.0,
            meter_excess: None,
            is_heard,
        }
    }

    #[test]
    fn the_edge_is_between_what_is_silent_and_what_is_heard() {
        let marks: Vec<Mark> = (0..60).map(|step| mark(step as f32, step > 12)).collect();
        assert_eq!(edge(&marks), Some(12.5));
        let mut fading = marks.clone();
        fading[30].is_heard = false;
        fading[5].is_heard = true;
        assert_eq!(edge(&fading), Some(12.5));
        assert_eq!(edge(&marks[13..]), Some(0.0));
        assert_eq!(edge(&[]), None);
    }

    #[test]
    fn azimuths_go_round_and_the_zenith_is_in_the_last_band() {
        let mut bands = BTreeMap::new();
        let by = By::Azimuth;
        add(&mut bands, &[mark(90.0, true)], |mark| (by.of(mark) / by.width_deg()).floor() as i32);
        assert_eq!(bands[&0], Share { passes: 1, heard: 1, blocks: 1 });
        assert!(By::Elevation.of(&mark(90.0, true)) < 90.0);
    }
}
