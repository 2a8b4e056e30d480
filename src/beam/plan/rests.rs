//! One axis that stands as long as it may: the fewest starts that keep it within bounds, found exactly on
//! a grid by going from moment to moment.

use std::collections::VecDeque;

use crate::terms::AngleRange;

/// A start costs more than any deviation.
const START: f64 = 1e6;

/// What one moment asks of the axis.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moment {
    /// Seconds, rising.
    pub(super) seconds: f64,
    /// Where it should rather be, degrees.
    pub(super) target: f64,
    /// What a degree off counts among paths with as many starts.
    pub(super) weight: f64,
    /// Where it must be.
    pub(super) bounds: AngleRange,
    /// How far it gets from the moment before, degrees.
    pub(super) step: f64,
}

/// The axis at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stand {
    pub(super) seconds: f64,
    pub(super) at: f64,
    /// Whether it is running through.
    pub(super) runs: bool,
}

impl Stand {
    pub(super) fn rest(seconds: f64) -> Self {
        Self { seconds, at: 0.0, runs: false }
    }
}

/// What the axis does.
const REST: usize = 0;
const UP: usize = 1;
const DOWN: usize = 2;

/// The places of one moment: what it costs at least to be there, standing or running, and from where.
struct Layer {
    /// The number of the first place on the grid.
    first: i64,
    cost: [Vec<f64>; 3],
    /// The state and place of the moment before.
    from: [Vec<(u8, i64)>; 3],
}

impl Layer {
    fn new(moment: &Moment, origin: f64, cell: f64) -> Option<Self> {
        let number = |degrees: f64| (degrees - origin) / cell;
        let first = (number(moment.bounds.from) - 1e-6).ceil() as i64;
        let last = (number(moment.bounds.to) + 1e-6).floor() as i64;
        let count = usize::try_from(last - first + 1).ok().filter(|count| *count > 0)?;
        let none = || vec![f64::INFINITY; count];
        let from = || vec![(0_u8, 0_i64); count];
        Some(Self { first, cost: [none(), none(), none()], from: [from(), from(), from()] })
    }

    fn offer(&mut self, state: usize, index: usize, cost: f64, from: (usize, i64)) {
        if cost < self.cost[state][index] {
            self.cost[state][index] = cost;
            self.from[state][index] = (from.0 as u8, from.1);
        }
    }
}

/// The path with the fewest starts; among those, the one with the least sum of weight times distance from
/// the targets. Places are steps of `cell` degrees from `origin`. One that `comes` may be running when it
/// begins. An axis that runs through a moment is at full speed before and after it.
pub(super) fn fewest(moments: &[Moment], origin: f64, cell: f64, comes: bool) -> Option<Vec<Stand>> {
    let weight = moments.iter().map(|moment| moment.weight).sum::<f64>().max(1e-12);
    let off = |moment: &Moment, number: i64| {
        moment.weight / weight * (origin + number as f64 * cell - moment.target).abs()
    };
    let mut layers: Vec<Layer> = Vec::with_capacity(moments.len());
    for moment in moments {
        let mut layer = Layer::new(moment, origin, cell)?;
        match layers.last() {
            Some(last) => advance(last, &mut layer, (moment.step / cell + 1e-6).floor() as i64),
            None => (0..if comes { 3 } else { 1 }).for_each(|state| layer.cost[state].fill(0.0)),
        }
        for index in 0..layer.cost[REST].len() {
            let more = off(moment, layer.first + index as i64);
            (0..3).for_each(|state| layer.cost[state][index] += more);
        }
        layers.push(layer);
    }
    traced(moments, &layers, origin, cell)
}

/// All ways from one moment to the next.
fn advance(last: &Layer, next: &mut Layer, step: i64) {
    let count = next.cost[REST].len();
    for index in 0..count {
        let place = next.first + index as i64;
        // It stands on.
        if let Some(cost) = cost_at(last, REST, place) {
            next.offer(REST, index, cost, (REST, place));
        }
        // It runs on.
        for (state, by) in [(UP, step), (DOWN, -step)] {
            if let Some(cost) = cost_at(last, state, place - by).filter(|_| step > 0) {
                next.offer(state, index, cost, (state, place - by));
            }
        }
    }
    // It sets off, or sets off and stops, or stops.
    let ways = [
        (REST, REST, -step, step, START),
        (REST, UP, -step, -1, START),
        (REST, DOWN, 1, step, START),
        (UP, REST, -step, 0, 0.0),
        (DOWN, REST, 0, step, 0.0),
    ];
    for (from, to, low, high, costs) in ways {
        least_within(&last.cost[from], last.first, next.first, count, (low, high), |index, place, cost| {
            next.offer(to, index, cost + costs, (from, place));
        });
    }
}

fn cost_at(layer: &Layer, state: usize, place: i64) -> Option<f64> {
    let index = usize::try_from(place - layer.first).ok()?;
    layer.cost[state].get(index).copied().filter(|cost| cost.is_finite())
}

/// For each place of the next moment, the cheapest place of the last one that is between `low` and `high`
/// beside it.
fn least_within(
    costs: &[f64],
    costs_first: i64,
    first: i64,
    count: usize,
    (low, high): (i64, i64),
    mut found: impl FnMut(usize, i64, f64),
) {
    let mut window: VecDeque<(i64, f64)> = VecDeque::new();
    let mut taken = 0_usize;
    for index in 0..count {
        let place = first + index as i64;
        while let Some(cost) = costs.get(taken).filter(|_| costs_first + taken as i64 <= place + high) {
            while window.back().is_some_and(|(_, other)| other >= cost) {
                window.pop_back();
            }
            window.push_back((costs_first + taken as i64, *cost));
            taken += 1;
        }
        while window.front().is_some_and(|(from, _)| *from < place + low) {
            window.pop_front();
        }
        if let Some((from, cost)) = window.front().filter(|(_, cost)| cost.is_finite()) {
            found(index, *from, *cost);
        }
    }
}

/// The cheapest way back from the end.
fn traced(moments: &[Moment], layers: &[Layer], origin: f64, cell: f64) -> Option<Vec<Stand>> {
    let last = layers.last()?;
    let ends = (0..3).flat_map(|state| {
        last.cost[state].iter().enumerate().map(move |(index, cost)| (state, index, *cost))
    });
    let (mut state, index, _) = ends.filter(|end| end.2.is_finite()).min_by(|a, b| a.2.total_cmp(&b.2))?;
    let mut place = last.first + index as i64;
    let mut path = Vec::with_capacity(moments.len());
    for (moment, layer) in moments.iter().zip(layers).rev() {
        path.push(Stand { seconds: moment.seconds, at: origin + place as f64 * cell, runs: state != REST });
        let index = usize::try_from(place - layer.first).ok()?;
        let (before, from) = *layer.from[state].get(index)?;
        (state, place) = (usize::from(before), from);
    }
    path.reverse();
    Some(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moments(bounds: &[(f64, f64)], step: f64) -> Vec<Moment> {
        let moment = |(index, (from, to)): (usize, &(f64, f64))| Moment {
            seconds: index as f64,
            target: (from + to) / 2.0,
            weight: 1.0,
            bounds: AngleRange::new(*from, *to),
            step,
        };
        bounds.iter().enumerate().map(moment).collect()
    }

    fn starts(path: &[Stand]) -> usize {
        let begins = |pair: &&[Stand]| !pair[0].runs && pair[1].at != pair[0].at;
        path.windows(2).filter(begins).count()
    }

    #[test]
    fn it_stands_while_it_may_and_runs_as_far_as_it_pays() {
        let slide: Vec<(f64, f64)> =
            (0..40).map(|t| (f64::from(t) * 0.5, f64::from(t) * 0.5 + 4.0)).collect();
        let path = fewest(&moments(&slide, 3.0), 0.0, 0.5, false).unwrap();
        // By hand: the bounds move by 19.5 degrees and are 4 wide. A place lasts for 4 degrees, and a run of
        // two moments while they move by half a degree more: three runs to 19.5.
        assert_eq!(starts(&path), 3, "{path:?}");
        let still = fewest(&moments(&[(0.0, 4.0); 10], 3.0), 0.0, 0.5, false).unwrap();
        assert_eq!(starts(&still), 0);
        assert!(still.iter().all(|stand| stand.at == 2.0), "it stands at the target: {still:?}");
    }

    #[test]
    fn a_long_way_is_one_run() {
        let mut bounds = vec![(0.0, 1.0); 3];
        bounds.extend([(0.0, 20.0); 10]);
        bounds.extend([(19.0, 20.0); 3]);
        let path = fewest(&moments(&bounds, 3.0), 0.0, 0.5, false).unwrap();
        assert_eq!(starts(&path), 1, "{path:?}");
        assert!(path.windows(2).all(|pair| (pair[1].at - pair[0].at).abs() <= 3.0));
        bounds.drain(3..10);
        assert!(fewest(&moments(&bounds, 3.0), 0.0, 0.5, false).is_none(), "there is no time for it");
    }

    /// Every path on the grid, with the rule of running told again: from moment to moment the axis stands,
    /// or makes a start, or goes on at full speed what it has begun.
    #[test]
    fn no_path_has_fewer_starts() {
        let mut seed = 11_u64;
        let mut below = |bound: u64| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            ((seed >> 33) % bound) as f64
        };
        let (mut solved, mut moved) = (0, 0);
        for _ in 0..400 {
            let step = 1.0 + below(3);
            let bounds: Vec<(f64, f64)> = (0..6)
                .map(|_| {
                    let from = below(5);
                    (from, from + below(5))
                })
                .collect();
            let moments = moments(&bounds, step);
            let mut least = usize::MAX;
            every(&moments, &mut Vec::new(), 0, 0, &mut least);
            let found = fewest(&moments, 0.0, 1.0, false);
            assert_eq!(found.is_some(), least != usize::MAX, "{moments:?}");
            let Some(path) = found else { continue };
            assert_eq!(starts(&path), least, "{path:?} {moments:?}");
            assert!(path.iter().zip(&moments).all(|(stand, moment)| moment.bounds.contains(stand.at)));
            assert!(path.windows(2).all(|pair| (pair[1].at - pair[0].at).abs() <= step));
            solved += 1;
            moved += usize::from(least > 1);
        }
        assert!(solved > 150 && moved > 50, "{solved} {moved}");
    }

    fn every(moments: &[Moment], path: &mut Vec<(i64, i64)>, so_far: usize, running: i64, least: &mut usize) {
        let Some(moment) = moments.get(path.len()) else {
            *least = (*least).min(so_far);
            return;
        };
        let step = moment.step as i64;
        for place in 0..12_i64 {
            if !moment.bounds.contains(place as f64) {
                continue;
            }
            let Some((last, _)) = path.last().copied() else {
                path.push((place, 0));
                every(moments, path, 0, 0, least);
                path.pop();
                continue;
            };
            let by = place - last;
            for next in [-1, 0, 1] {
                let allowed = match (running, next) {
                    (0, 0) => by.abs() <= step,
                    (0, way) => by * way > 0 && by.abs() <= step,
                    (way, 0) => by * way >= 0 && by.abs() <= step,
                    (way, other) => way == other && by == way * step,
                };
                let begins = running == 0 && (by != 0 || next != 0);
                if allowed && so_far + usize::from(begins) < *least {
                    path.push((place, next));
                    every(moments, path, so_far + usize::from(begins), next, least);
                    path.pop();
                }
            }
        }
    }
}
