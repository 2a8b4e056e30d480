//! A path of least mean error over some places of each moment: the next stone is chosen with all that come
//! after it in mind.

use crate::terms::AzEl;

use super::field::Field;
use super::reach::{Layer, nearest};
use super::{Sample, share};

/// So many places of a moment are looked at, but for those of the paths that are known; and more of them in a
/// path of few moments, up to so many steps from one place to the next in all.
const STONES: usize = 64;
const STEPS: f64 = 3e6;
/// A rate that is just kept is kept, degrees.
const SLACK_DEG: f64 = 1e-9;

/// The path of least mean error among those that step from the best and outermost places of the layers' rows,
/// or from places of the `known` paths, to others of them.
pub(super) fn over_stones(
    field: &Field<'_>,
    layers: &[Layer],
    sky: &[Sample],
    known: &[Vec<AzEl>],
) -> Option<Vec<AzEl>> {
    let count = STONES.max((STEPS / sky.len() as f64).sqrt() as usize);
    let stones: Vec<Vec<AzEl>> =
        (0..sky.len()).map(|index| stones(field, layers, sky, known, index, count)).collect();
    let mut costs: Vec<Vec<(f64, usize)>> = Vec::with_capacity(sky.len());
    for (index, here) in stones.iter().enumerate() {
        let counts = sky[index].weight * share(sky, index);
        let off = |place: AzEl| counts * field.error(place, sky[index].direction);
        let best = |place: AzEl| match costs.last() {
            None => Some((off(place), 0)),
            Some(costs) => {
                let gets = field.gets(sky[index - 1].seconds, sky[index].seconds);
                let near = |from: AzEl| {
                    (place.azimuth - from.azimuth).abs() <= gets.azimuth + SLACK_DEG
                        && (place.elevation - from.elevation).abs() <= gets.elevation + SLACK_DEG
                };
                let (mut least, mut by) = (f64::INFINITY, 0);
                for (number, (from, (cost, _))) in stones[index - 1].iter().zip(costs).enumerate() {
                    if *cost < least && near(*from) && field.is_free(*from, place) {
                        (least, by) = (*cost, number);
                    }
                }
                least.is_finite().then(|| (least + off(place), by))
            }
        };
        let next = here.iter().map(|place| best(*place).unwrap_or((f64::INFINITY, 0))).collect();
        costs.push(next);
    }
    let ends = costs.last()?.iter().enumerate().filter(|(_, (cost, _))| cost.is_finite());
    let (mut number, _) = ends.min_by(|a, b| a.1.0.total_cmp(&b.1.0))?;
    let mut path = Vec::with_capacity(sky.len());
    for (here, costs) in stones.iter().zip(&costs).rev() {
        path.push(*here.get(number)?);
        number = costs.get(number)?.1;
    }
    path.reverse();
    Some(path)
}

fn stones(
    field: &Field<'_>,
    layers: &[Layer],
    sky: &[Sample],
    known: &[Vec<AzEl>],
    index: usize,
    count: usize,
) -> Vec<AzEl> {
    let spans: Vec<_> = layers[index].places().collect();
    let mut all: Vec<AzEl> = known.iter().filter_map(|path| path.get(index).copied()).collect();
    let every = (3 * spans.len()).div_ceil(count).max(1);
    // Where rows are few, places between their ends count too.
    let parts = (count / (2 * spans.len().max(1))).max(1);
    for (elevation, span) in spans.into_iter().step_by(every) {
        all.extend(nearest(field, sky[index].direction, elevation, span));
        all.extend(
            (0..=parts)
                .map(|part| span.from + (span.to - span.from) * part as f64 / parts as f64)
                .map(|azimuth| AzEl::new(azimuth, elevation)),
        );
    }
    all
}
