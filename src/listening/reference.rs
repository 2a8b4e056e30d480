//! What was heard around a pass, by the setting of the dial: with that a block of the pass is compared.

use std::collections::BTreeMap;

use super::digest::{Block, Digest, Part, Step};

/// So much of a block's readings need a reference.
const KNOWN: f32 = 0.7;

/// Where the reference at a step of the dial or beside it is so loud (thousandths), that step is covered:
/// something stands there over which little more is heard.
const LOUD: i32 = 500;

/// Levels are compared in thousandths, so that sums made in another order are not told apart.
pub(super) fn thousandths(level: f32) -> i32 {
    (level * 1000.0).round() as i32
}

/// What the meter counts for beside the squelch.
const METER: f32 = 0.25;

/// How loud a block was: the share of open squelch, 0 to 1, and a quarter of the meter as a part of its
/// largest reading; the meter's whole part where the radio has no squelch. So a satellite's short packets
/// count for more than a single loud click.
pub(super) fn level(open: Option<f32>, meter: Option<f32>, top: f32) -> f32 {
    let meter = meter.map_or(0.0, |meter| meter / top);
    open.map_or(meter, |open| open + METER * meter)
}

/// What one spell heard while the satellite was down: on each side by the dial's steps.
#[derive(Debug, Default)]
pub(super) struct Reference(Vec<Side>);

#[derive(Debug, Default)]
struct Side(BTreeMap<i32, Step>);

/// What is to be expected of a block if there is nothing but noise: the share of open squelch and the
/// meter, and the meter's mean without the caution.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Expected {
    pub(super) open: f32,
    pub(super) meter: f32,
    pub(super) mean_meter: f32,
    /// The share of readings at covered steps.
    pub(super) covered: f32,
}

impl Reference {
    /// Of the blocks of these parts.
    pub(super) fn of(digest: &Digest, parts: &[Part]) -> Self {
        Self(parts.iter().map(|part| Side::of(digest, *part)).collect())
    }

    /// Where the dial stood in a block; `None` where too little of that was listened to. The louder side
    /// counts: a satellite has to beat both, and noise only one.
    pub(super) fn expected(&self, block: &Block, top: f32) -> Option<Expected> {
        let sides = self.0.iter().filter_map(|side| side.expected(block, top));
        sides.reduce(|one, other| Expected {
            open: one.open.max(other.open),
            meter: one.meter.max(other.meter),
            mean_meter: (one.mean_meter + other.mean_meter) / 2.0,
            covered: one.covered.max(other.covered),
        })
    }
}

impl Side {
    fn of(digest: &Digest, part: Part) -> Self {
        let mut steps: BTreeMap<i32, Step> = BTreeMap::new();
        let blocks = digest.blocks.iter().filter(|block| block.part == part && !block.is_shared);
        for step in blocks.flat_map(|block| &block.steps) {
            let sum = steps.entry(step.number).or_default();
            sum.count += step.count;
            sum.open += step.open;
            sum.meter += step.meter;
        }
        Self(steps)
    }

    /// At one step: the louder of it and its neighbours, because the edge of a filter on a carrier is
    /// sharp, and a dial that stands near it must not take the carrier for news.
    fn at(&self, number: i32) -> Option<Expected> {
        let near = self.0.range(number - 1..=number + 1).map(|(_, step)| step);
        let mean_meter = near.clone().fold((0.0, 0.0), |sum, step| (sum.0 + step.meter, sum.1 + step.count));
        let loudest =
            |of: fn(&Step) -> f32| near.clone().map(|step| of(step) / step.count).fold(0.0, f32::max);
        (mean_meter.1 > 0.0).then(|| Expected {
            open: loudest(|step| step.open),
            meter: loudest(|step| step.meter),
            mean_meter: mean_meter.0 / mean_meter.1,
            covered: 0.0,
        })
    }

    fn expected(&self, block: &Block, top: f32) -> Option<Expected> {
        let (mut sum, mut known, mut all) = (Expected::default(), 0.0, 0.0);
        for step in &block.steps {
            all += step.count;
            let Some(expected) = self.at(step.number) else { continue };
            known += step.count;
            sum.open += step.count * expected.open;
            sum.meter += step.count * expected.meter;
            sum.mean_meter += step.count * expected.mean_meter;
            let (open, meter) = (block.open.map(|_| expected.open), block.meter.map(|_| expected.meter));
            if thousandths(level(open, meter, top)) >= LOUD {
                sum.covered += step.count;
            }
        }
        (known >= KNOWN * all && known > 0.0).then(|| Expected {
            open: sum.open / known,
            meter: sum.meter / known,
            mean_meter: sum.mean_meter / known,
            covered: sum.covered / known,
        })
    }
}
