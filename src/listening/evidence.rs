//! Whether a satellite was heard in a pass, against the noise outside it.

use super::digest::{Block, Digest, Part};
use super::noise::{Noise, Scores, WINDOW};
use super::reference::Reference;
use super::spell::Sight;
use crate::terms::{Time, Validity};

/// A pass in which nothing but noise was heard is called heard at most so often.
pub const FALSE_ALARMS: f64 = 0.01;

/// So many controls are needed to say so of one window: the least p-value is one over their number and
/// one.
pub const CONTROLS: usize = (1.0 / FALSE_ALARMS) as usize - 1;

/// The most windows of a pass that are looked at.
const MOST: usize = 5;

/// What is said of one pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Finding {
    /// More was heard than noise explains.
    Heard,
    /// Noise explains what was heard.
    NotHeard,
    /// Nothing can be said.
    NotJudged(Why),
}

/// Why nothing can be said of a pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Less than a minute was listened to.
    Short,
    /// Another satellite was above that is heard on the same dial.
    Shared,
    /// The noise around the pass was not listened to, or not at these settings of the dial.
    NoReference,
    /// That noise was so loud that nothing more could be heard.
    Covered,
    /// Too little noise of this kind is known yet: so many windows of it, of those needed.
    LittleNoise {
        /// Windows of noise like that of this pass.
        known: usize,
    },
}

/// A block of a pass, for what is told by elevation, azimuth and hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// Its middle.
    pub at: Time,
    /// Where the satellite was.
    pub sight: Sight,
    /// The dial's shift, Hz.
    pub shift_hz: f32,
    /// Level over the noise around the pass at the same setting of the dial: open squelch (0 to 1) and
    /// meter (0 to 1 of its largest reading) together.
    pub excess: f32,
    /// The level of that noise.
    pub noise: f32,
    /// The meter over that noise's, in the radio's own units.
    pub meter_excess: Option<f32>,
    /// Whether that is more than all but two in a hundred blocks of noise have.
    pub is_heard: bool,
}

/// What was heard in one pass.
#[derive(Debug, Clone, PartialEq)]
pub struct Pass {
    /// From rising to setting.
    pub span: Validity,
    /// The label of the antenna.
    pub antenna: String,
    /// What is said of it.
    pub finding: Finding,
    /// How likely noise alone does as much; 1 where nothing is said.
    pub p: f64,
    /// The highest elevation that was listened to, degrees.
    pub highest_deg: f32,
    /// Whether the satellite was in sunlight in all windows that were looked at, or in none; `None` where
    /// it was in both.
    pub is_sunlit: Option<bool>,
    /// Blocks that can be compared, where the noise was as usual.
    pub marks: Vec<Mark>,
}

impl Pass {
    /// Whether something is said of it.
    pub fn is_judged(&self) -> bool {
        !matches!(self.finding, Finding::NotJudged(_))
    }

    /// Whether the satellite was heard.
    pub fn is_heard(&self) -> bool {
        self.finding == Finding::Heard
    }

    /// When it was heard first and last in this pass; nothing for a pass without.
    pub fn heard(&self) -> Option<(Time, Time)> {
        let mut heard = self.marks.iter().filter(|mark| self.is_heard() && mark.is_heard);
        let first = heard.next()?.at;
        Some((first, heard.next_back().map_or(first, |last| last.at)))
    }
}

/// A window of a pass that can be judged.
struct Candidate<'b> {
    scores: Scores,
    blocks: &'b [&'b Block],
    controls: usize,
}

/// Judges a pass; `None` for a time with no satellite, and for a pass of which nothing was heard.
///
/// One window of a minute, at the highest elevation, is compared with windows of noise; where enough noise
/// is known, three or five windows spread over the pass, and the smallest p-value counts so many times
/// (Bonferroni; holds however the windows depend on each other). How many are looked at, and which,
/// follows from the geometry and the noise, never from what was heard in the pass.
pub(super) fn judge(digest: &Digest, noise: &Noise) -> Option<Pass> {
    let span = digest.pass?;
    let up: Vec<&Block> = digest.blocks.iter().filter(|block| block.part == Part::Up).collect();
    let highest = up.iter().enumerate().max_by(|a, b| elevation(a.1).total_cmp(&elevation(b.1)))?;
    let reference = noise.reference(digest);
    let mut pass = Pass {
        span,
        antenna: digest.antenna.clone(),
        finding: Finding::NotJudged(Why::Short),
        p: 1.0,
        highest_deg: elevation(highest.1),
        is_sunlit: None,
        marks: marks(&up, noise, &reference),
    };
    let starts = starts(up.len(), highest.0);
    let windows = starts.iter().filter_map(|start| up.get(*start..start + WINDOW));
    let mut seen = Why::Short;
    let candidates: Vec<Candidate<'_>> = windows
        .filter_map(|blocks| {
            let scores = noise.window(blocks, &reference).inspect_err(|why| seen = *why).ok()?;
            Some(Candidate { scores, blocks, controls: noise.rank(&scores).1 })
        })
        .collect();
    pass.finding = Finding::NotJudged(seen);
    let known = candidates.iter().map(|candidate| candidate.controls).max();
    let mut chosen: Vec<Candidate<'_>> =
        candidates.into_iter().filter(|candidate| candidate.controls >= CONTROLS).collect();
    let Some(count) = affordable(&chosen) else {
        if let Some(known) = known {
            pass.finding = Finding::NotJudged(Why::LittleNoise { known });
        }
        return Some(pass);
    };
    chosen.truncate(count);
    rule(&mut pass, &chosen, noise);
    Some(pass)
}

fn rule(pass: &mut Pass, windows: &[Candidate<'_>], noise: &Noise) {
    let p = windows.iter().map(|window| {
        // Less than the noise around it is no signal, whatever its place in the order.
        if window.scores.excess > 0 { noise.rank(&window.scores).0 } else { 1.0 }
    });
    pass.p = (windows.len() as f64 * p.fold(1.0, f64::min)).min(1.0);
    pass.finding = if pass.p <= FALSE_ALARMS { Finding::Heard } else { Finding::NotHeard };
    let mut sunlit = windows.iter().flat_map(|window| window.blocks).map(|block| block.sight.is_sunlit);
    pass.is_sunlit = sunlit.next().filter(|first| sunlit.all(|is_sunlit| is_sunlit == *first));
}

/// The most of these windows, 5, 3 or 1 from the first on, that can be looked at with as much noise as is
/// known.
fn affordable(windows: &[Candidate<'_>]) -> Option<usize> {
    (1..=MOST).rev().step_by(2).find(|count| {
        let first = windows.get(..*count);
        first.is_some_and(|first| first.iter().all(|window| window.controls + 1 >= count * (CONTROLS + 1)))
    })
}

fn elevation(block: &Block) -> f32 {
    block.sight.elevation_deg
}

/// Where windows begin, in the order in which they are wanted: around the highest block, half-way from it
/// to both ends, a quarter of the way; then all others, from the highest down, for passes of which a local
/// carrier covers some.
fn starts(blocks: usize, highest: usize) -> Vec<usize> {
    let Some(last) = blocks.checked_sub(WINDOW) else { return Vec::new() };
    let rest = blocks - highest;
    let mut centres =
        vec![highest, highest / 2, highest + rest / 2, highest - highest / 4, highest + rest / 4];
    let mut others: Vec<usize> = (0..blocks).step_by(WINDOW).collect();
    others.sort_by_key(|centre| centre.abs_diff(highest));
    centres.append(&mut others);
    let mut starts: Vec<usize> = Vec::new();
    for centre in centres {
        let start = centre.saturating_sub(WINDOW / 2).min(last);
        if !starts.contains(&start) {
            starts.push(start);
        }
    }
    starts
}

fn marks(up: &[&Block], noise: &Noise, reference: &Reference) -> Vec<Mark> {
    let mark = |block: &&Block| {
        let scored = noise.scored(block, reference)?;
        noise.is_usual(scored.reference).then(|| Mark {
            at: block.at,
            sight: block.sight,
            shift_hz: block.shift_hz,
            excess: scored.excess as f32 / 1000.0,
            noise: scored.reference as f32 / 1000.0,
            meter_excess: scored.meter_excess,
            is_heard: noise.is_signal(&scored),
        })
    };
    up.iter().filter_map(mark).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_begin_at_the_highest_and_never_leave_the_pass() {
        assert_eq!(starts(60, 30)[..8], [27, 12, 42, 20, 34, 21, 33, 15]);
        assert_eq!(starts(6, 3), [0]);
        assert_eq!(starts(5, 3), [0_usize; 0]);
        for (blocks, highest) in [(7, 0), (9, 8), (100, 99), (31, 2)] {
            assert!(starts(blocks, highest).iter().all(|start| start + WINDOW <= blocks));
        }
    }
}
