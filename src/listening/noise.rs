//! What is heard while the satellite is down: the noise of one link with one antenna.
//!
//! A block is compared with what was heard in the same spell at the same setting of the dial while the
//! satellite was down (the *reference*); what is left over is its *excess*. A local carrier stands still,
//! so it opens the squelch at the same dial settings with the satellite or without it, and leaves nothing
//! over; a noisy evening does so at all settings. What still differs by chance is known from *controls*:
//! the noise before a pass, compared with the noise after it, and the other way round.

use std::collections::BTreeMap;

use chrono::Timelike as _;

use super::digest::{Block, Digest, Part};
use crate::terms::{Time, seconds_between};

/// Width of a step of the dial within which noise is taken to be the same, Hz. An FM receiver hears 15 kHz
/// at once and a Morse filter half a kilohertz, so a finer step would tell nothing in FM, and a coarser
/// one would mix what a narrow filter tells apart.
const STEP_HZ: f32 = 1000.0;

/// Blocks in a window: a minute. Beacons that send every half minute are in it.
pub const WINDOW: usize = 6;

/// A window needs so many blocks that can be compared.
const FEWEST: usize = 4;

/// The longest that a window of blocks may last from the first middle to the last, seconds.
const LONGEST_S: f64 = 70.0;

/// Noise counts as usual up to so much above the link's typical noise (levels run from 0 to 2).
const USUAL: i32 = 100;

/// The share of noise blocks that pass for a signal when single blocks are looked at.
pub const SPECK: f64 = 0.02;

/// Hours of the day count as the same when so near, hours: evenings have their own noise.
const SAME_HOURS: f32 = 2.5;

/// Levels are compared in thousandths, so that sums made in another order are not told apart.
pub(super) fn thousandths(level: f32) -> i32 {
    (level * 1000.0).round() as i32
}

/// How loud a block was: the share of open squelch, 0 to 1, and the meter as a part of its largest
/// reading, 0 to 1, together. A radio that has only one of them gives the one.
fn level(block: &Block, top: f32) -> f32 {
    block.open.unwrap_or(0.0) + block.meter.map_or(0.0, |meter| meter / top)
}

/// What a block is compared with, and what it has over that.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scored {
    /// Level over the reference, thousandths.
    pub(super) excess: i32,
    /// The level of the reference, thousandths.
    pub(super) reference: i32,
    /// The meter over the reference's, in its own units.
    pub(super) meter_excess: Option<f32>,
    pub(super) step: i32,
}

/// A window's mean, and where its dial stood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scores {
    pub(super) excess: i32,
    pub(super) reference: i32,
    pub(super) steps: (i32, i32),
    pub(super) hour: f32,
}

/// What is left over of noise in one window or block with no satellite.
#[derive(Debug, Clone, Copy)]
struct Control {
    excess: i32,
    is_usual: bool,
    hour: f32,
}

/// The mean of what was heard at one step of the dial.
#[derive(Debug, Clone, Copy, Default)]
struct Mean {
    level: f32,
    meter: f32,
    metered: f32,
    count: f32,
}

/// What one spell heard while the satellite was down, by the dial's steps.
#[derive(Debug, Default)]
pub(super) struct Reference(BTreeMap<i32, Mean>);

fn step(block: &Block) -> i32 {
    (block.shift_hz / STEP_HZ).round() as i32
}

fn hour(time: Time) -> f32 {
    time.num_seconds_from_midnight() as f32 / 3600.0
}

fn is_same_hour(one: f32, other: f32) -> bool {
    let apart = (one - other).abs();
    apart.min(24.0 - apart) <= SAME_HOURS
}

impl Reference {
    /// Of the blocks of these parts.
    fn of(digest: &Digest, parts: &[Part], top: f32) -> Self {
        let mut steps: BTreeMap<i32, Mean> = BTreeMap::new();
        for block in digest.blocks.iter().filter(|block| parts.contains(&block.part) && !block.is_shared) {
            let mean = steps.entry(step(block)).or_default();
            mean.level += level(block, top);
            mean.count += 1.0;
            if let Some(meter) = block.meter {
                mean.meter += meter;
                mean.metered += 1.0;
            }
        }
        Self(steps)
    }

    /// At the same step, or at its neighbours where nothing was heard there.
    fn at(&self, step: i32) -> Option<(f32, Option<f32>)> {
        let one = |step: &i32| self.0.get(step).copied();
        let mean = one(&step).or_else(|| {
            let near = [step - 1, step + 1].iter().filter_map(one).reduce(|a, b| Mean {
                level: a.level + b.level,
                meter: a.meter + b.meter,
                metered: a.metered + b.metered,
                count: a.count + b.count,
            });
            near
        })?;
        Some((mean.level / mean.count, (mean.metered > 0.0).then(|| mean.meter / mean.metered)))
    }
}

/// The noise of one link with one antenna.
#[derive(Debug)]
pub(super) struct Noise {
    /// The largest reading of the meter, at least 1.
    top: f32,
    /// The typical level of noise, thousandths.
    typical: i32,
    windows: Vec<Control>,
    /// Blocks by the dial's step.
    blocks: BTreeMap<i32, Vec<Control>>,
    /// A block counts as a signal when its excess is larger, thousandths.
    cutoff: i32,
}

impl Noise {
    /// From all that was heard on a link with one antenna.
    pub(super) fn of(digests: &[&Digest]) -> Self {
        let all = digests.iter().flat_map(|digest| &digest.blocks);
        let top = all.filter_map(|block| block.meter).fold(1.0, f32::max);
        let mut noise = Self { top, typical: 0, windows: Vec::new(), blocks: BTreeMap::new(), cutoff: 0 };
        let (mut windows, mut blocks) = (Vec::new(), Vec::new());
        for digest in digests {
            noise.controls(digest, &mut windows, &mut blocks);
        }
        let mut references: Vec<i32> = windows.iter().map(|window| window.reference).collect();
        references.sort_unstable();
        noise.typical = references.get(references.len() / 2).copied().unwrap_or_default();
        noise.windows =
            windows.iter().map(|window| noise.control(window.excess, window.reference, window.hour)).collect();
        let mut usual = Vec::new();
        for (scored, hour) in blocks {
            let control = noise.control(scored.excess, scored.reference, hour);
            usual.extend(control.is_usual.then_some(control.excess));
            noise.blocks.entry(scored.step).or_default().push(control);
        }
        usual.sort_unstable();
        let at = (usual.len() as f64 * (1.0 - SPECK)) as usize;
        noise.cutoff = usual.get(at).copied().unwrap_or_default().max(thousandths(0.1));
        noise
    }

    fn control(&self, excess: i32, reference: i32, hour: f32) -> Control {
        Control { excess, is_usual: self.is_usual(reference), hour }
    }

    /// The noise of one spell: each side against the other, and the middle of a time of nothing against
    /// both.
    fn controls(&self, digest: &Digest, windows: &mut Vec<Scores>, blocks: &mut Vec<(Scored, f32)>) {
        let sides = [Part::Before, Part::After];
        let against: [(Part, &[Part]); 3] =
            [(Part::Before, &sides[1..]), (Part::After, &sides[..1]), (Part::Nothing, &sides)];
        for (part, reference) in against {
            let reference = Reference::of(digest, reference, self.top);
            let of_part: Vec<&Block> = digest.blocks.iter().filter(|block| block.part == part).collect();
            for block in &of_part {
                blocks.extend(self.scored(block, &reference).map(|scored| (scored, hour(block.at))));
            }
            let chunks = of_part.chunks_exact(WINDOW);
            windows.extend(chunks.filter_map(|window| self.window(window, &reference)));
        }
    }

    /// What the blocks of a pass are compared with.
    pub(super) fn reference(&self, digest: &Digest) -> Reference {
        Reference::of(digest, &[Part::Before, Part::After], self.top)
    }

    /// A block against its reference; `None` for one that is shared, or where nothing was heard at this
    /// setting of the dial while the satellite was down.
    pub(super) fn scored(&self, block: &Block, reference: &Reference) -> Option<Scored> {
        if block.is_shared {
            return None;
        }
        let step = step(block);
        let (expected, meter) = reference.at(step)?;
        Some(Scored {
            excess: thousandths(level(block, self.top) - expected),
            reference: thousandths(expected),
            meter_excess: block.meter.zip(meter).map(|(here, there)| here - there),
            step,
        })
    }

    /// A window's means; `None` where it has gaps.
    pub(super) fn window(&self, blocks: &[&Block], reference: &Reference) -> Option<Scores> {
        let (first, last) = (blocks.first()?, blocks.last()?);
        if seconds_between(first.at, last.at) > LONGEST_S {
            return None;
        }
        let scored: Vec<Scored> =
            blocks.iter().filter_map(|block| self.scored(block, reference)).collect();
        if scored.len() < FEWEST {
            return None;
        }
        let mean = |of: fn(&Scored) -> i32| {
            (scored.iter().map(|scored| f64::from(of(scored))).sum::<f64>() / scored.len() as f64).round() as i32
        };
        let steps = scored.iter().map(|scored| scored.step);
        Some(Scores {
            excess: mean(|scored| scored.excess),
            reference: mean(|scored| scored.reference),
            steps: (steps.clone().min()?, steps.max()?),
            hour: hour(first.at),
        })
    }

    /// Whether a reference is as quiet as this link's noise mostly is.
    pub(super) fn is_usual(&self, reference: i32) -> bool {
        reference <= self.typical + USUAL
    }

    /// Whether a block has more over its reference than noise mostly has.
    pub(super) fn is_signal(&self, scored: &Scored) -> bool {
        scored.excess > self.cutoff
    }

    /// How many windows of noise there are.
    pub(super) fn windows(&self) -> usize {
        self.windows.len()
    }

    /// How a window stands among noise: see [`Rank`].
    pub(super) fn rank(&self, window: &Scores, least: usize) -> Rank {
        let minutes = Rank::among(self.windows.iter(), self, window, least);
        let steps = self.blocks.range(window.steps.0 - 1..=window.steps.1 + 1);
        let dial = Rank::among(steps.flat_map(|(_, controls)| controls), self, window, least);
        minutes.worse(dial)
    }
}

/// How many controls there were, and how many of them had as much left over.
///
/// If a window of the pass and the controls can be exchanged (which is what "nothing but noise" says),
/// each place in the order is equally likely, so `(1 + as_loud) / (1 + of)` is a p-value, whatever the
/// noise's distribution. Source: conformal p-values, Vovk, Gammerman and Shafer, Algorithmic Learning in a
/// Random World (2005); the same as a Monte Carlo test, Phipson and Smyth, Stat. Appl. Genet. Mol. Biol. 9
/// (2010). Controls are those of the same kind of noise (usual or not, by what was heard around them), and
/// of the same hours of the day if there are enough: the statement then holds within each kind
/// ("Mondrian"), so a noisy evening is compared with noisy evenings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rank {
    pub(super) as_loud: usize,
    pub(super) of: usize,
}

impl Rank {
    fn among<'c>(
        controls: impl Iterator<Item = &'c Control>,
        noise: &Noise,
        window: &Scores,
        least: usize,
    ) -> Self {
        let is_usual = noise.is_usual(window.reference);
        let (mut all, mut near) = (Self { as_loud: 0, of: 0 }, Self { as_loud: 0, of: 0 });
        for control in controls.filter(|control| control.is_usual == is_usual) {
            let as_loud = usize::from(control.excess >= window.excess);
            all.of += 1;
            all.as_loud += as_loud;
            if is_same_hour(control.hour, window.hour) {
                near.of += 1;
                near.as_loud += as_loud;
            }
        }
        if near.of >= least { near } else { all }
    }

    pub(super) fn p(self) -> f64 {
        (1 + self.as_loud) as f64 / (1 + self.of) as f64
    }

    fn worse(self, other: Self) -> Self {
        if self.p() >= other.p() { self } else { other }
    }
}
