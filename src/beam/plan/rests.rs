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

/// The places of one moment: what it costs at least to be there, standing or running.
#[derive(Default)]
struct Layer {
    /// The number of the first place on the grid.
    first: i64,
    cost: [Vec<f64>; 3],
}

/// How the places of one moment are come to.
struct Trail {
    first: i64,
    /// The place of the moment before, counted from this one, times four, and its state. What is come to
    /// from nowhere is never asked for.
    from: [Vec<i32>; 3],
}

impl Layer {
    /// Takes the place of another layer; how many places it has, `None` where it has none.
    fn begin(&mut self, moment: &Moment, origin: f64, cell: f64) -> Option<usize> {
        let number = |degrees: f64| (degrees - origin) / cell;
        self.first = (number(moment.bounds.from) - 1e-6).ceil() as i64;
        let last = (number(moment.bounds.to) + 1e-6).floor() as i64;
        let count = usize::try_from(last - self.first + 1).ok().filter(|count| *count > 0)?;
        for cost in &mut self.cost {
            cost.clear();
            cost.resize(count, f64::INFINITY);
        }
        Some(count)
    }
}

/// The layer that is being filled, and its trail.
struct Filling<'a> {
    layer: &'a mut Layer,
    trail: &'a mut Trail,
}

impl Filling<'_> {
    fn offer(&mut self, state: usize, index: usize, cost: f64, from: (usize, i64)) {
        if cost < self.layer.cost[state][index] {
            self.layer.cost[state][index] = cost;
            let by = from.1 - (self.layer.first + index as i64);
            self.trail.from[state][index] = by as i32 * 4 + from.0 as i32;
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
    let (mut last, mut next, mut window) = (Layer::default(), Layer::default(), Window::default());
    let mut trails: Vec<Trail> = Vec::with_capacity(moments.len());
    for moment in moments {
        let count = next.begin(moment, origin, cell)?;
        let mut trail = Trail { first: next.first, from: [(); 3].map(|()| vec![0; count]) };
        if trails.is_empty() {
            (0..if comes { 3 } else { 1 }).for_each(|state| next.cost[state].fill(0.0));
        } else {
            let step = (moment.step / cell + 1e-6).floor() as i64;
            advance(&last, Filling { layer: &mut next, trail: &mut trail }, step, &mut window);
        }
        for index in 0..count {
            let more = off(moment, next.first + index as i64);
            (0..3).for_each(|state| next.cost[state][index] += more);
        }
        trails.push(trail);
        std::mem::swap(&mut last, &mut next);
    }
    traced(moments, &last, &trails, origin, cell)
}

/// All ways from one moment to the next.
fn advance(last: &Layer, mut next: Filling<'_>, step: i64, window: &mut Window) {
    let (first, count) = (next.layer.first, next.layer.cost[REST].len());
    for index in 0..count {
        let place = first + index as i64;
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
    // It sets off, and may stop at once, or it stops.
    for (from, to, low, high) in
        [(REST, UP, -step, -1), (REST, DOWN, 1, step), (UP, REST, -step, 0), (DOWN, REST, 0, step)]
    {
        let costs = if from == REST { START } else { 0.0 };
        window.least_within(last, from, first, count, (low, high), |index, place, cost| {
            next.offer(to, index, cost + costs, (from, place));
            if from == REST {
                next.offer(REST, index, cost + costs, (from, place));
            }
        });
    }
}

fn cost_at(layer: &Layer, state: usize, place: i64) -> Option<f64> {
    let index = usize::try_from(place - layer.first).ok()?;
    layer.cost[state].get(index).copied().filter(|cost| cost.is_finite())
}

/// Costs that may still be the least of a window that slides upward, the least first.
#[derive(Default)]
struct Window {
    costs: VecDeque<(i64, f64)>,
}

impl Window {
    /// For each of `count` places from `first` on, the cheapest place of the layer that is between `low` and
    /// `high` beside it.
    fn least_within(
        &mut self,
        layer: &Layer,
        state: usize,
        first: i64,
        count: usize,
        (low, high): (i64, i64),
        mut found: impl FnMut(usize, i64, f64),
    ) {
        let (window, costs) = (&mut self.costs, &layer.cost[state]);
        window.clear();
        // What lies below the first window is of no use to any.
        let mut taken = usize::try_from(first + low - layer.first).unwrap_or(0).min(costs.len());
        for index in 0..count {
            let place = first + index as i64;
            let until = usize::try_from(place + high - layer.first + 1).unwrap_or(0).min(costs.len());
            while taken < until {
                let cost = costs[taken];
                // What can't be come to is no candidate.
                if cost.is_finite() {
                    while window.back().is_some_and(|(_, other)| *other >= cost) {
                        window.pop_back();
                    }
                    window.push_back((layer.first + taken as i64, cost));
                }
                taken += 1;
            }
            while window.front().is_some_and(|(from, _)| *from < place + low) {
                window.pop_front();
            }
            if let Some((from, cost)) = window.front() {
                found(index, *from, *cost);
            }
        }
    }
}

/// The cheapest way back from the end.
fn traced(moments: &[Moment], last: &Layer, trails: &[Trail], origin: f64, cell: f64) -> Option<Vec<Stand>> {
    let ends = (0..3).flat_map(|state| {
        last.cost[state].iter().enumerate().map(move |(index, cost)| (state, index, *cost))
    });
    let (mut state, index, _) = ends.filter(|end| end.2.is_finite()).min_by(|a, b| a.2.total_cmp(&b.2))?;
    let mut place = last.first + index as i64;
    let mut path = Vec::with_capacity(moments.len());
    for (moment, trail) in moments.iter().zip(trails).rev() {
        path.push(Stand { seconds: moment.seconds, at: origin + place as f64 * cell, runs: state != REST });
        let from = *trail.from[state].get(usize::try_from(place - trail.first).ok()?)?;
        (state, place) = (from.rem_euclid(4) as usize, place + i64::from(from.div_euclid(4)));
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
