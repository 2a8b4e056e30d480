//! The station's real horizon, from where satellites were heard and where not.

use super::evidence::{Mark, Pass};

/// Between the corners of the mask, degrees of azimuth.
const CORNER_DEG: f64 = 10.0;

/// How far to both sides of a corner blocks count, degrees of azimuth; the nearer the more.
const REACH_DEG: f64 = 7.0;

/// Elevations that are tried, degrees.
const STEP_DEG: f64 = 0.25;
const HIGHEST_DEG: f64 = 60.0;

/// The chance that a block below the horizon counts as heard all the same: noise makes two in a hundred,
/// and what bends round an edge some more (common practice, no source).
const BELOW: f64 = 0.05;

/// From this elevation on a satellite counts as free, to learn how often it is heard then, degrees.
const FREE_DEG: f32 = 40.0;

/// By so much the log likelihood falls towards the ends of a 95 % interval (chi-squared with one degree of
/// freedom, halved), times two: neighbouring blocks say the same thing again.
const FALL: f64 = 2.0 * 1.92;

/// An interval that is wider, degrees, means that the direction is not known yet.
const WIDEST_DEG: f64 = 6.0;

/// One direction of a proposed horizon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// From true north, clockwise, degrees.
    pub azimuth_deg: f64,
    /// From here on satellites are heard, degrees.
    pub elevation_deg: f64,
    /// Between which elevations that lies at about 95 %.
    pub low_deg: f64,
    /// The upper one.
    pub high_deg: f64,
    /// Blocks within reach of this direction.
    pub blocks: u32,
}

impl Corner {
    /// Whether enough was heard in this direction to say anything.
    pub fn is_known(&self) -> bool {
        self.high_deg - self.low_deg <= WIDEST_DEG
    }
}

/// The horizon in every tenth degree of azimuth, from the passes in which satellites were heard. What hides
/// a satellite is not known, only that it is heard above and not below: a weak satellite sets the horizon
/// too high, so strong ones should be asked.
///
/// In each direction the blocks around it, weighted down linearly with their distance in azimuth, are parted
/// by one elevation: below it a block is heard with a chance of 5 %, above it with the chance with which
/// blocks above forty degrees are. The elevation of the largest likelihood is taken (a change point; Hinkley,
/// Biometrika 57 (1970)).
pub fn horizon<'p>(passes: impl IntoIterator<Item = &'p Pass>) -> Vec<Corner> {
    let heard = passes.into_iter().filter(|pass| pass.is_heard());
    let marks: Vec<&Mark> = heard.flat_map(|pass| &pass.marks).collect();
    let free = marks.iter().filter(|mark| mark.sight.elevation_deg >= FREE_DEG);
    let (count, hits) = free
        .fold((1.0, 1.0), |(count, hits), mark| (count + 1.0, hits + if mark.is_heard { 1.0 } else { 0.0 }));
    let above = f64::clamp(hits / count, 0.3, 0.98);
    let corners = (360.0 / CORNER_DEG) as u32;
    (0..corners).map(|corner| direction(f64::from(corner) * CORNER_DEG, &marks, above)).collect()
}

/// What heard and silent blocks add to the log likelihood when the horizon is below them instead of above.
fn direction(azimuth_deg: f64, marks: &[&Mark], above: f64) -> Corner {
    let (if_heard, if_silent) = ((above / BELOW).ln(), ((1.0 - above) / (1.0 - BELOW)).ln());
    let steps = (HIGHEST_DEG / STEP_DEG) as usize + 1;
    let mut gains = vec![0.0; steps];
    let mut blocks = 0;
    for mark in marks {
        let apart = (f64::from(mark.sight.azimuth_deg) - azimuth_deg + 180.0).rem_euclid(360.0) - 180.0;
        let weight = 1.0 - apart.abs() / REACH_DEG;
        let step = (f64::from(mark.sight.elevation_deg) / STEP_DEG) as usize;
        if weight <= 0.0 {
            continue;
        }
        blocks += 1;
        if let Some(gain) = gains.get_mut(step) {
            *gain += weight * if mark.is_heard { if_heard } else { if_silent };
        }
    }
    // likelihood[s]: the horizon at step s, so that the steps from s on are free.
    let mut likelihood = vec![0.0; steps + 1];
    for step in (0..steps).rev() {
        likelihood[step] = likelihood[step + 1] + gains[step];
    }
    let largest = likelihood.iter().copied().fold(f64::MIN, f64::max);
    let within = |fall: f64| {
        let mut fit = (0..=steps).filter(|step| likelihood[*step] >= largest - fall);
        let first = fit.next().unwrap_or_default();
        (first as f64 * STEP_DEG, fit.next_back().unwrap_or(first) as f64 * STEP_DEG)
    };
    let (low_deg, high_deg) = within(FALL);
    let best = within(1e-9);
    Corner { azimuth_deg, elevation_deg: (best.0 + best.1) / 2.0, low_deg, high_deg, blocks }
}

/// The corners that a mask needs: those that are known, without those that lie on a straight line between
/// their neighbours within so many degrees.
pub fn mask(corners: &[Corner], within_deg: f64) -> Vec<(f64, f64)> {
    let known = corners.iter().filter(|corner| corner.is_known());
    let known: Vec<(f64, f64)> = known.map(|corner| (corner.azimuth_deg, corner.elevation_deg)).collect();
    let mut kept: Vec<(f64, f64)> = Vec::new();
    let mut skipped: Vec<(f64, f64)> = Vec::new();
    for (at, corner) in known.iter().enumerate() {
        let (Some(last), Some(next)) = (kept.last(), known.get(at + 1)) else {
            kept.push(*corner);
            continue;
        };
        skipped.push(*corner);
        let line = |azimuth: f64| last.1 + (next.1 - last.1) * (azimuth - last.0) / (next.0 - last.0);
        if skipped.iter().any(|(azimuth, elevation)| (line(*azimuth) - elevation).abs() > within_deg) {
            kept.push(*corner);
            skipped.clear();
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corner(azimuth_deg: f64, elevation_deg: f64) -> Corner {
        let (low_deg, high_deg) = (elevation_deg - 1.0, elevation_deg + 1.0);
        Corner { azimuth_deg, elevation_deg, low_deg, high_deg, blocks: 9 }
    }

    #[test]
    fn a_mask_has_only_the_corners_that_it_needs() {
        let heights = [0.0, 1.0, 2.0, 3.0, 3.1, 3.0, 3.0, 9.0, 3.0];
        let mut corners: Vec<Corner> =
            heights.iter().enumerate().map(|(at, height)| corner(at as f64 * 10.0, *height)).collect();
        let wanted = [(0.0, 0.0), (30.0, 3.0), (60.0, 3.0), (70.0, 9.0), (80.0, 3.0)];
        assert_eq!(mask(&corners, 0.25), wanted);
        corners[7].high_deg = 40.0;
        assert_eq!(mask(&corners, 0.25), [(0.0, 0.0), (30.0, 3.0), (80.0, 3.0)]);
    }

    #[test]
    fn where_nothing_was_heard_nothing_is_known() {
        let corners = horizon([]);
        assert_eq!(corners.len(), 36);
        assert!(corners.iter().all(|corner| !corner.is_known() && corner.blocks == 0));
    }
}
