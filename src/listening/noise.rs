//! What is heard while the satellite is down: the noise of one link with one antenna.
//!
//! A block is compared with what was heard in the same spell at the same setting of the dial while the
//! satellite was down (the *reference*); what is left over is its *excess*. A local carrier stands still,
//! so it opens the squelch at the same dial settings with the satellite or without it, and leaves nothing
//! over; a noisy evening does so at all settings. What still differs by chance is known from *controls*:
//! the noise before a pass, compared with the noise after it, and the other way round.

use std::collections::BTreeMap;

use chrono::Timelike as _;

use super::digest::{Block, Digest, Part, STEP_HZ};
use super::evidence::Why;
use super::reference::{Reference, level, thousandths};
use crate::terms::{Time, seconds_between};

/// Blocks in a window: a minute. Beacons that send every half minute are in it.
pub const WINDOW: usize = 6;

/// A window needs so many blocks that can be compared.
const FEWEST: usize = 5;

/// The longest that a window of blocks may last from the first middle to the last, seconds.
const LONGEST_S: f64 = 70.0;

/// Noise counts as usual up to so much above the link's typical noise (levels run from 0 to 1.25).
const USUAL: i32 = 100;

/// At most so much of a free block's readings are at covered steps: at the edge of a carrier blocks hear
/// less than elsewhere.
const COVERED: f32 = 0.1;

/// What a block has over its reference up to here may have come from a click or a packet of two seconds;
/// a carrier that stands still for ten has more (thousandths).
const BRIEF: i32 = 300;

/// The share of noise blocks that pass for a signal when single blocks are looked at.
pub(super) const SPECK: f64 = 0.02;

/// Hours of the day count as the same when so near, hours: evenings have their own noise.
const SAME_HOURS: f32 = 2.5;

/// With so many controls of the same hours, only those are used: enough for three windows of a pass.
const ENOUGH: usize = 299;

fn lasting(excess: i32) -> i32 {
    (excess - BRIEF).max(0)
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
    /// Hardly any of it is at covered steps of the dial.
    is_free: bool,
}

/// A window's mean, and where its dial stood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scores {
    pub(super) excess: i32,
    /// The mean of what its blocks have above [`BRIEF`].
    pub(super) lasting: i32,
    pub(super) reference: i32,
    pub(super) steps: (i32, i32),
    pub(super) hour: f32,
}

impl Scores {
    fn of(scored: &[Scored], hour: f32) -> Option<Self> {
        let mean = |of: fn(&Scored) -> i32| -> i32 {
            (scored.iter().map(|scored| f64::from(of(scored))).sum::<f64>() / scored.len() as f64).round()
                as i32
        };
        let steps = scored.iter().map(|scored| scored.step);
        Some(Self {
            // Near the edge of a carrier the reference is too loud; that must not hide anything else.
            excess: mean(|scored| scored.excess.max(0)),
            lasting: mean(|scored| lasting(scored.excess)),
            reference: mean(|scored| scored.reference),
            steps: (steps.clone().min()?, steps.max()?),
            hour,
        })
    }
}

/// What is left over of noise in one window or block with no satellite.
#[derive(Debug, Clone, Copy)]
struct Control {
    excess: i32,
    is_usual: bool,
    hour: f32,
}

fn hour(time: Time) -> f32 {
    time.num_seconds_from_midnight() as f32 / 3600.0
}

fn is_same_hour(one: f32, other: f32) -> bool {
    let apart = (one - other).abs();
    apart.min(24.0 - apart) <= SAME_HOURS
}

/// Controls in the making.
#[derive(Debug, Default)]
struct Controls {
    windows: Vec<Scores>,
    blocks: Vec<(Scored, f32)>,
    /// Free blocks that make no window yet.
    rest: Vec<(Scored, f32)>,
}

impl Controls {
    fn window(&mut self, blocks: &[(Scored, f32)]) {
        let scored: Vec<Scored> = blocks.iter().map(|(scored, _)| *scored).collect();
        let hour = blocks.first().map_or(0.0, |(_, hour)| *hour);
        self.windows.extend(Scores::of(&scored, hour));
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
    /// Blocks by the dial's step, with what lasted in them.
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
        let mut found = Controls::default();
        for digest in digests {
            noise.controls(digest, &mut found);
        }
        let Controls { windows, blocks, .. } = found;
        let mut references: Vec<i32> = windows.iter().map(|window| window.reference).collect();
        references.sort_unstable();
        noise.typical = references.get(references.len() / 2).copied().unwrap_or_default();
        noise.windows = windows.iter().map(|window| noise.control(window.excess, window)).collect();
        let mut usual = Vec::new();
        for (scored, hour) in blocks {
            let is_usual = noise.is_usual(scored.reference);
            usual.extend(is_usual.then_some(scored.excess));
            let control = Control { excess: lasting(scored.excess), is_usual, hour };
            noise.blocks.entry(scored.step).or_default().push(control);
        }
        usual.sort_unstable();
        let at = (usual.len() as f64 * (1.0 - SPECK)) as usize;
        noise.cutoff = usual.get(at).copied().unwrap_or_default().max(thousandths(0.1));
        noise
    }

    fn control(&self, excess: i32, window: &Scores) -> Control {
        let is_usual = self.is_usual(window.reference);
        Control { excess, is_usual, hour: window.hour }
    }

    /// The noise of one spell: each side against the other, and the middle of a time of nothing against
    /// both. Where a carrier leaves less than a window free, what is free of several spells makes one.
    fn controls(&self, digest: &Digest, found: &mut Controls) {
        let sides = [Part::Before, Part::After];
        let against: [(Part, &[Part]); 3] =
            [(Part::Before, &sides[1..]), (Part::After, &sides[..1]), (Part::Nothing, &sides)];
        for (part, reference) in against {
            let reference = Reference::of(digest, reference);
            let of_part = digest.blocks.iter().filter(|block| block.part == part);
            let scored = of_part.filter_map(|block| Some((self.scored(block, &reference)?, hour(block.at))));
            let free: Vec<(Scored, f32)> = scored.filter(|(scored, _)| scored.is_free).collect();
            found.blocks.extend(&free);
            if free.len() < WINDOW {
                found.rest.extend(&free);
                if found.rest.len() >= WINDOW {
                    let window: Vec<_> = found.rest.drain(..WINDOW).collect();
                    found.window(&window);
                }
            }
            free.chunks_exact(WINDOW).for_each(|window| found.window(window));
        }
    }

    /// What the blocks of a pass are compared with.
    pub(super) fn reference(&self, digest: &Digest) -> Reference {
        Reference::of(digest, &[Part::Before, Part::After])
    }

    /// A block against its reference; `None` for one that is shared, or where nothing was heard at this
    /// setting of the dial while the satellite was down.
    pub(super) fn scored(&self, block: &Block, reference: &Reference) -> Option<Scored> {
        if block.is_shared {
            return None;
        }
        let expected = reference.expected(block, self.top)?;
        let (open, meter) = (block.open.map(|_| expected.open), block.meter.map(|_| expected.meter));
        let noise = level(open, meter, self.top);
        Some(Scored {
            excess: thousandths(level(block.open, block.meter, self.top) - noise),
            reference: thousandths(noise),
            meter_excess: block.meter.map(|meter| meter - expected.mean_meter),
            step: (block.shift_hz / STEP_HZ).round() as i32,
            is_free: expected.covered <= COVERED,
        })
    }

    /// A window's means over its free blocks; what hinders, where too few are.
    pub(super) fn window(&self, blocks: &[&Block], reference: &Reference) -> Result<Scores, Why> {
        let (Some(first), Some(last)) = (blocks.first(), blocks.last()) else { return Err(Why::Short) };
        if seconds_between(first.at, last.at) > LONGEST_S {
            return Err(Why::Short);
        }
        let scored: Vec<Scored> = blocks.iter().filter_map(|block| self.scored(block, reference)).collect();
        if scored.len() < FEWEST {
            let is_shared = blocks.iter().any(|block| block.is_shared);
            return Err(if is_shared { Why::Shared } else { Why::NoReference });
        }
        let free: Vec<Scored> = scored.into_iter().filter(|scored| scored.is_free).collect();
        Scores::of(&free, hour(first.at)).filter(|_| free.len() >= FEWEST).ok_or(Why::Covered)
    }

    /// Whether a reference is as quiet as this link's noise mostly is.
    pub(super) fn is_usual(&self, reference: i32) -> bool {
        reference <= self.typical + USUAL
    }

    /// Whether a block has more over its reference than noise mostly has.
    pub(super) fn is_signal(&self, scored: &Scored) -> bool {
        scored.excess > self.cutoff
    }

    /// How a window stands among noise: among whole windows, which know how long noise lasts; and, by what
    /// lasts for seconds in it, among single blocks at its own settings of the dial, which know what stands
    /// there now and then. Both must be beaten: the larger p-value counts, and the smaller number of
    /// controls.
    pub(super) fn rank(&self, window: &Scores) -> (f64, usize) {
        let minutes = Rank::among(self.windows.iter(), self, window, window.excess);
        let steps = self.blocks.range(window.steps.0 - 2..=window.steps.1 + 2);
        let dial = Rank::among(steps.flat_map(|(_, controls)| controls), self, window, window.lasting);
        let p = if window.lasting > 0 { minutes.p().max(dial.p()) } else { minutes.p() };
        (p, minutes.of.min(dial.of))
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
struct Rank {
    as_loud: usize,
    of: usize,
}

impl Rank {
    fn among<'c>(
        controls: impl Iterator<Item = &'c Control>,
        noise: &Noise,
        window: &Scores,
        excess: i32,
    ) -> Self {
        let is_usual = noise.is_usual(window.reference);
        let (mut all, mut near) = (Self { as_loud: 0, of: 0 }, Self { as_loud: 0, of: 0 });
        for control in controls.filter(|control| control.is_usual == is_usual) {
            let as_loud = usize::from(control.excess >= excess);
            all.of += 1;
            all.as_loud += as_loud;
            if is_same_hour(control.hour, window.hour) {
                near.of += 1;
                near.as_loud += as_loud;
            }
        }
        if near.of >= ENOUGH { near } else { all }
    }

    fn p(self) -> f64 {
        (1 + self.as_loud) as f64 / (1 + self.of) as f64
    }
}
