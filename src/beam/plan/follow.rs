//! One axis that follows a target as closely as its speed and its bounds allow: exactly, by the
//! breakpoints of the convex cost ("slope trick", common practice).

use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;

use crate::terms::AngleRange;

/// So much a step outside the bounds would cost: more than any path.
const NEVER: f64 = 1e9;

/// The axis at one moment.
#[derive(Debug, Clone, Copy)]
pub(super) struct Want {
    /// Where it should be, degrees.
    pub(super) target: f64,
    /// What a degree off costs.
    pub(super) weight: f64,
    /// Where it must be.
    pub(super) bounds: AngleRange,
    /// How far it gets from the moment before, degrees.
    pub(super) step: f64,
}

/// The path of least cost, the sum of weight times distance; where several are, it rests rather
/// than turns. `None` where no path keeps the bounds.
pub(super) fn follow(wants: &[Want]) -> Option<Vec<f64>> {
    let mut cost = Cost::default();
    let mut best: Vec<AngleRange> = Vec::with_capacity(wants.len());
    for want in wants {
        cost.widen(want.step);
        cost.add(want.target, want.weight, true);
        cost.add(want.target, want.weight, false);
        cost.add(want.bounds.from, NEVER, false);
        cost.add(want.bounds.to, NEVER, true);
        best.push(cost.least()?);
    }
    let last = wants.last()?;
    let mut place = best.last()?.clamp(last.target);
    let mut path = vec![place];
    for (best, step) in best.iter().rev().skip(1).zip(wants.iter().rev().map(|want| want.step)) {
        let rather = best.clamp(place);
        place = rather.max(place - step).min(place + step);
        path.push(place);
    }
    path.reverse();
    let kept =
        |(place, want): (&f64, &Want)| want.bounds.from - 1e-6 <= *place && *place <= want.bounds.to + 1e-6;
    path.iter().zip(wants).all(kept).then_some(path)
}

/// A convex function of the axis' place: where its slope changes, left and right of its least, each
/// side shifted by so much.
#[derive(Default)]
struct Cost {
    left: BinaryHeap<Bend>,
    right: BinaryHeap<Reverse<Bend>>,
    shift: f64,
}

/// The slope changes there by so much.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Bend {
    at: f64,
    by: f64,
}

impl Eq for Bend {}

impl PartialOrd for Bend {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Bend {
    fn cmp(&self, other: &Self) -> Ordering {
        self.at.total_cmp(&other.at).then(self.by.total_cmp(&other.by))
    }
}

impl Cost {
    /// From anywhere within `by` it comes here.
    fn widen(&mut self, by: f64) {
        self.shift += by;
    }

    /// Adds `weight` for each degree above (or below) `at`.
    fn add(&mut self, at: f64, weight: f64, above: bool) {
        let (to_left, to_right) = (at + self.shift, at - self.shift);
        if above {
            // What lies left of the least may have to go right.
            self.left.push(Bend { at: to_left, by: weight });
            let mut owed = weight;
            while let Some(bend) = self.left.pop() {
                let by = bend.by.min(owed);
                self.right.push(Reverse(Bend { at: bend.at - 2.0 * self.shift, by }));
                owed -= by;
                if bend.by > by {
                    self.left.push(Bend { by: bend.by - by, ..bend });
                }
                if owed <= 0.0 {
                    break;
                }
            }
        } else {
            self.right.push(Reverse(Bend { at: to_right, by: weight }));
            let mut owed = weight;
            while let Some(Reverse(bend)) = self.right.pop() {
                let by = bend.by.min(owed);
                self.left.push(Bend { at: bend.at + 2.0 * self.shift, by });
                owed -= by;
                if bend.by > by {
                    self.right.push(Reverse(Bend { by: bend.by - by, ..bend }));
                }
                if owed <= 0.0 {
                    break;
                }
            }
        }
    }

    /// Where it is least.
    fn least(&self) -> Option<AngleRange> {
        let (left, right) = (self.left.peek()?, self.right.peek()?);
        Some(AngleRange::new(left.at - self.shift, right.0.at + self.shift))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wants(targets: &[f64], bounds: (f64, f64), step: f64) -> Vec<Want> {
        let bounds = AngleRange::new(bounds.0, bounds.1);
        targets.iter().map(|target| Want { target: *target, weight: 1.0, bounds, step }).collect()
    }

    #[test]
    fn a_slow_target_is_followed_exactly_and_a_quick_one_is_met_half_way() {
        let slow = [0.0, 1.0, 2.0, 1.5];
        assert_eq!(follow(&wants(&slow, (-50.0, 50.0), 1.0)).unwrap(), slow);
        // By hand: from 0 to 10 in one step, with 2 degrees a step: it sets off before.
        let path = follow(&wants(&[0.0, 0.0, 0.0, 10.0, 10.0, 10.0], (-50.0, 50.0), 2.0)).unwrap();
        let cost: f64 = path.iter().zip([0.0, 0.0, 0.0, 10.0, 10.0, 10.0]).map(|(a, b)| (a - b).abs()).sum();
        assert!((cost - 12.0).abs() < 1e-6, "{path:?}: 0, 2 and 4 off on each side");
    }

    #[test]
    fn bounds_are_kept_and_what_can_not_be_is_none() {
        let path = follow(&wants(&[0.0, 10.0, 0.0], (1.0, 4.0), 2.0)).unwrap();
        assert!(path.iter().all(|place| (1.0..=4.0).contains(place)), "{path:?}");
        let mut apart = wants(&[0.0, 0.0], (0.0, 1.0), 2.0);
        apart[1].bounds = AngleRange::new(5.0, 6.0);
        assert!(follow(&apart).is_none());
    }

    /// Every path of whole degrees, against the exact one: with whole targets, bounds and steps there
    /// is a best path of whole degrees.
    #[test]
    fn no_path_costs_less() {
        let mut seed = 7_u64;
        let mut below = |bound: u64| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            ((seed >> 33) % bound) as f64
        };
        let mut solved = 0;
        for _ in 0..300 {
            let step = 1.0 + below(2);
            let mut random: Vec<Want> = (0..5)
                .map(|_| {
                    let from = below(4);
                    let bounds = AngleRange::new(from, from + below(6));
                    Want { target: below(9), weight: 1.0 + below(3), bounds, step }
                })
                .collect();
            random[0].step = 0.0;
            let mut least = f64::INFINITY;
            every(&random, &mut Vec::new(), 0.0, &mut least);
            let found = follow(&random);
            assert_eq!(found.is_some(), least.is_finite(), "{random:?}");
            let Some(path) = found else { continue };
            let cost: f64 = path.iter().zip(&random).map(|(at, w)| w.weight * (at - w.target).abs()).sum();
            assert!((cost - least).abs() < 1e-4, "{cost} {least} {path:?} {random:?}");
            assert!(path.windows(2).all(|pair| (pair[1] - pair[0]).abs() <= step + 1e-6));
            solved += 1;
        }
        assert!(solved > 100, "{solved}");
    }

    fn every(wants: &[Want], so_far: &mut Vec<f64>, cost: f64, least: &mut f64) {
        let Some(want) = wants.get(so_far.len()) else {
            *least = least.min(cost);
            return;
        };
        for place in 0..10 {
            let place = f64::from(place);
            let is_near = so_far.last().is_none_or(|last| (place - last).abs() <= want.step);
            if is_near && want.bounds.contains(place) {
                so_far.push(place);
                every(wants, so_far, cost + want.weight * (place - want.target).abs(), least);
                so_far.pop();
            }
        }
    }
}
