//! Sets of azimuths: spans in rising order that have no place in common.

use crate::terms::AngleRange;

/// Makes one set of spans in any order, from the one numbered `first` on; spans that touch become one.
pub(super) fn unite(spans: &mut Vec<AngleRange>, first: usize) {
    let Some(part) = spans.get_mut(first..) else { return };
    part.sort_by(|a, b| a.from.total_cmp(&b.from));
    let mut last = first;
    for index in first + 1..spans.len() {
        if spans[index].from <= spans[last].to {
            spans[last].to = spans[last].to.max(spans[index].to);
        } else {
            last += 1;
            spans[last] = spans[index];
        }
    }
    spans.truncate((last + 1).min(spans.len()));
}

/// Adds what two sets have in common to `out`.
pub(super) fn common(a: &[AngleRange], b: &[AngleRange], out: &mut Vec<AngleRange>) {
    let (mut i, mut j) = (0, 0);
    while let (Some(one), Some(other)) = (a.get(i), b.get(j)) {
        let (from, to) = (one.from.max(other.from), one.to.min(other.to));
        if from <= to {
            out.push(AngleRange::new(from, to));
        }
        if one.to < other.to { i += 1 } else { j += 1 }
    }
}

/// Takes the inside of `hole` out of the spans from the one numbered `first` on; its edges stay.
pub(super) fn take_out(spans: &mut Vec<AngleRange>, first: usize, hole: AngleRange) {
    for index in (first..spans.len()).rev() {
        let span = spans[index];
        if span.to <= hole.from || span.from >= hole.to {
            continue;
        }
        let below = (span.from <= hole.from).then(|| AngleRange::new(span.from, hole.from));
        let above = (span.to >= hole.to).then(|| AngleRange::new(hole.to, span.to));
        spans.splice(index..=index, below.into_iter().chain(above));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(spans: &[(f64, f64)]) -> Vec<AngleRange> {
        spans.iter().map(|(from, to)| AngleRange::new(*from, *to)).collect()
    }

    #[test]
    fn spans_that_touch_are_one() {
        let mut spans = set(&[(50.0, 60.0), (0.0, 10.0), (10.0, 20.0), (5.0, 8.0), (30.0, 40.0)]);
        unite(&mut spans, 0);
        assert_eq!(spans, set(&[(0.0, 20.0), (30.0, 40.0), (50.0, 60.0)]));
        let mut behind = set(&[(90.0, 95.0), (3.0, 4.0), (1.0, 3.0)]);
        unite(&mut behind, 1);
        assert_eq!(behind, set(&[(90.0, 95.0), (1.0, 4.0)]));
        unite(&mut behind, 2);
        assert_eq!(behind.len(), 2);
    }

    #[test]
    fn what_is_common_is_in_both() {
        let mut out = Vec::new();
        common(&set(&[(0.0, 10.0), (20.0, 30.0)]), &set(&[(5.0, 25.0), (30.0, 40.0)]), &mut out);
        assert_eq!(out, set(&[(5.0, 10.0), (20.0, 25.0), (30.0, 30.0)]));
    }

    #[test]
    fn a_hole_leaves_its_edges() {
        let mut spans = set(&[(0.0, 10.0), (20.0, 30.0), (40.0, 50.0)]);
        take_out(&mut spans, 0, AngleRange::new(5.0, 45.0));
        assert_eq!(spans, set(&[(0.0, 5.0), (45.0, 50.0)]));
        take_out(&mut spans, 1, AngleRange::new(46.0, 47.0));
        assert_eq!(spans, set(&[(0.0, 5.0), (45.0, 46.0), (47.0, 50.0)]));
    }
}
