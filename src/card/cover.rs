//! The least cover of a span of range rates.

use crate::link::{SPEED_OF_LIGHT_KM_S, received, to_arrive_on};
use crate::terms::{Direction, Hertz};

/// An interval of range rates, km/s, both ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Span {
    pub(super) from: f64,
    pub(super) to: f64,
}

/// One dial: what it has to follow, how near, and the frequencies at which it can stand.
#[derive(Debug, Clone)]
pub(super) struct Side {
    pub(super) direction: Direction,
    /// What is right at the satellite, hertz.
    pub(super) at_satellite: f64,
    /// How far off the dial may be, hertz.
    pub(super) within: f64,
    pub(super) choices: Vec<Hertz>,
}

impl Side {
    /// The right setting at a range rate, hertz.
    pub(super) fn right(&self, range_rate: f64) -> f64 {
        match self.direction {
            Direction::Receive => received(self.at_satellite, range_rate),
            Direction::Transmit => to_arrive_on(self.at_satellite, range_rate),
        }
    }

    /// Where a setting is good, with `share` of the bound.
    pub(super) fn reach(&self, hertz: Hertz, share: f64) -> Span {
        let (low, high) = (hertz.as_f64() - self.within * share, hertz.as_f64() + self.within * share);
        let rate = |dial: f64| match self.direction {
            Direction::Receive => SPEED_OF_LIGHT_KM_S * (1.0 - dial / self.at_satellite),
            Direction::Transmit => SPEED_OF_LIGHT_KM_S * (1.0 - self.at_satellite / dial),
        };
        let (a, b) = (rate(low), rate(high));
        Span { from: a.min(b), to: a.max(b) }
    }

    /// How far right a setting can reach that is good at `from`.
    fn furthest(&self, from: f64, share: f64) -> Option<f64> {
        let reaches = self.choices.iter().map(|hertz| self.reach(*hertz, share));
        reaches.filter(|reach| reach.from <= from).map(|reach| reach.to).max_by(f64::total_cmp)
    }

    /// The setting that is good throughout, with the smallest error at the ends.
    pub(super) fn best(&self, span: Span) -> Option<Hertz> {
        let is_good = |hertz: &&Hertz| {
            let reach = self.reach(**hertz, 1.0);
            reach.from <= span.from && span.to <= reach.to
        };
        let error = |hertz: &&Hertz| self.error(**hertz, span);
        self.choices.iter().filter(is_good).min_by(|a, b| error(a).total_cmp(&error(b))).copied()
    }

    /// How far off a setting comes to be in a span, hertz. The right setting slides one way, so it is at
    /// an end.
    pub(super) fn error(&self, hertz: Hertz, span: Span) -> f64 {
        let off = |rate: f64| (self.right(rate) - hertz.as_f64()).abs();
        off(span.from).max(off(span.to))
    }
}

/// The fewest cells, in order, each of which every dial can serve with one setting; `None` where a part
/// of the span can't be served at all.
pub(super) fn least_cells(sides: &[Side], span: Span) -> Option<Vec<Span>> {
    let whole = cells(sides, span, 1.0)?;
    // As few with smaller errors: the share of the bounds below which it takes more.
    let (mut too_small, mut enough, mut best) = (0.0, 1.0, whole);
    for _ in 0..24 {
        let share = (too_small + enough) / 2.0;
        match cells(sides, span, share).filter(|cells| cells.len() == best.len()) {
            Some(cells) => (enough, best) = (share, cells),
            None => too_small = share,
        }
    }
    Some(best)
}

fn cells(sides: &[Side], span: Span, share: f64) -> Option<Vec<Span>> {
    let (mut found, mut at) = (Vec::new(), span.from);
    loop {
        let mut to = span.to;
        for side in sides {
            to = to.min(side.furthest(at, share)?);
        }
        if to <= at && to < span.to {
            return None;
        }
        found.push(Span { from: at, to });
        if to >= span.to {
            return Some(found);
        }
        at = to;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn side(direction: Direction, at_satellite: i64, within: f64, step: i64, about: i64) -> Side {
        let middle = at_satellite / step;
        let choices = (middle - about..=middle + about).map(|number| Hertz(number * step)).collect();
        Side { direction, at_satellite: at_satellite as f64, within, choices }
    }

    /// Whether any `count` pairs of settings cover the span, by trying all of them.
    fn some_set_covers(sides: &[Side], span: Span, count: usize) -> bool {
        let mut pairs = vec![Span { from: f64::NEG_INFINITY, to: f64::INFINITY }];
        for side in sides {
            pairs = pairs
                .iter()
                .flat_map(|pair| {
                    side.choices.iter().map(|hertz| {
                        let reach = side.reach(*hertz, 1.0);
                        Span { from: pair.from.max(reach.from), to: pair.to.min(reach.to) }
                    })
                })
                .collect();
        }
        covers(&pairs, span, count)
    }

    /// No order and no choice is left out: some pair must be good at the left end.
    fn covers(pairs: &[Span], span: Span, count: usize) -> bool {
        let good = |pair: &&Span| pair.from <= span.from && span.from <= pair.to;
        count > 0
            && pairs.iter().filter(good).any(|pair| {
                pair.to >= span.to
                    || pair.to > span.from && covers(pairs, Span { from: pair.to, ..span }, count - 1)
            })
    }

    #[test]
    fn no_smaller_set_exists() {
        let (mut tried, mut most) = (0, 0);
        for down in [435_217_000, 435_500_000, 437_262_499] {
            for (step, within) in [(5_000, 2_500.0), (5_000, 4_100.0), (6_250, 3_200.0)] {
                for transmit_within in [900.0, 1_700.0, 5_000.0] {
                    for largest in [1.3, 3.9, 7.1] {
                        let sides = [
                            side(Direction::Receive, down, within, step, 4),
                            side(Direction::Transmit, 145_927_000, transmit_within, 1_250, 4),
                        ];
                        let span = Span { from: -largest, to: largest };
                        let count = least_cells(&sides, span).unwrap().len();
                        assert!(some_set_covers(&sides, span, count));
                        assert!(!some_set_covers(&sides, span, count - 1), "{down} {step} {within} {count}");
                        (tried, most) = (tried + 1, most.max(count));
                    }
                }
            }
        }
        assert!(tried == 81 && most >= 6, "{tried} {most}");
    }

    #[test]
    fn settings_that_only_touch_leave_no_hole_and_wider_steps_do() {
        let span = Span { from: -7.0, to: 7.0 };
        for direction in Direction::BOTH {
            assert!(least_cells(&[side(direction, 435_500_000, 2_500.0, 5_000, 4)], span).is_some());
            assert!(least_cells(&[side(direction, 435_500_000, 2_499.0, 5_000, 4)], span).is_none());
        }
    }

    #[test]
    fn of_sets_of_one_size_the_errors_are_evened_out() {
        let fine = side(Direction::Receive, 435_500_000, 2_500.0, 10, 2_000);
        let cells = least_cells(std::slice::from_ref(&fine), Span { from: -7.0, to: 7.0 }).unwrap();
        assert_eq!(cells.len(), 5);
        let errors: Vec<f64> =
            cells.iter().map(|cell| fine.error(fine.best(*cell).unwrap(), *cell)).collect();
        // By hand: 435.5 MHz x 14 km/s / c = 20,337 Hz, a tenth of which is 2,034 Hz.
        assert!(errors.iter().all(|error| (error - 2_034.0).abs() < 12.0), "{errors:?}");
    }
}
