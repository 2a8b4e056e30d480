//! Every place that the mount can have come to, moment by moment, without the beam having been off
//! the satellite by more than a given error. Azimuths are exact spans; elevations are rows.

use crate::terms::{AngleRange, AzEl};

use super::field::Field;
use super::spans::{common, take_out, unite};
use super::{Sample, Start};

/// A rate that is just kept is kept, degrees.
const SLACK_DEG: f64 = 1e-9;

/// The places at one moment.
#[derive(Debug, Default)]
pub(super) struct Layer {
    rows: Vec<Row>,
    spans: Vec<AngleRange>,
}

/// The spans of one elevation, by their numbers in the layer.
#[derive(Debug, Clone, Copy)]
struct Row {
    elevation: f64,
    from: usize,
    to: usize,
}

/// Elevations are looked at in such rows, from the lower end stop on; the upper one is a row too.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rows {
    pub(super) tilt: AngleRange,
    pub(super) step: f64,
}

impl Rows {
    /// The rows from which the beam may be within `error` of a satellite at `elevation`, rising.
    fn near(self, elevation: f64, error: f64) -> Vec<f64> {
        let last = ((self.tilt.to - self.tilt.from) / self.step - 1e-9).ceil().max(0.0) as i64;
        let band = |centre: f64| {
            let number = |degrees: f64| (degrees - self.tilt.from) / self.step;
            let first = (number(centre - error) - 1e-9).ceil().clamp(0.0, last as f64 + 1.0) as i64;
            // The last row may lie nearer to the one before it.
            let top =
                if centre + error >= self.tilt.to { last } else { number(centre + error).floor() as i64 };
            (first, top.min(last))
        };
        let ((first, top), (flipped, flipped_top)) = (band(elevation), band(180.0 - elevation));
        let all = (first..=top).chain(flipped.max(top + 1)..=flipped_top);
        all.map(|number| (self.tilt.from + number as f64 * self.step).min(self.tilt.to)).collect()
    }
}

impl Layer {
    fn spans(&self, row: &Row) -> &[AngleRange] {
        &self.spans[row.from..row.to]
    }

    fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// All spans, with their elevations.
    pub(super) fn places(&self) -> impl Iterator<Item = (f64, AngleRange)> {
        self.rows.iter().flat_map(|row| self.spans(row).iter().map(|span| (row.elevation, *span)))
    }

    /// Ends a row that began with the span numbered `from`.
    fn close(&mut self, elevation: f64, from: usize) {
        let to = self.spans.len();
        if to > from {
            self.rows.push(Row { elevation, from, to });
        }
    }
}

/// The layers of all moments; `None` where some moment has none.
pub(super) fn reach(
    field: &Field<'_>,
    rows: Rows,
    sky: &[Sample],
    start: Option<Start>,
    error: f64,
) -> Option<Vec<Layer>> {
    let mut layers: Vec<Layer> = Vec::with_capacity(sky.len());
    let (first, rest) = sky.split_first()?;
    layers.push(begin(field, rows, first, start, error));
    let mut before = first;
    for sample in rest {
        let last = layers.last().filter(|layer| !layer.is_empty())?;
        let next = Step::new(field, last, before, sample).to(rows, sample, error);
        layers.push(next);
        before = sample;
    }
    layers.last().is_some_and(|layer| !layer.is_empty()).then_some(layers)
}

fn begin(field: &Field<'_>, rows: Rows, first: &Sample, start: Option<Start>, error: f64) -> Layer {
    let mut layer = Layer::default();
    for elevation in rows.near(field.height(first.direction), error) {
        let from = layer.spans.len();
        let mut all = Vec::new();
        field.azimuths(first.direction, elevation, error, &mut all);
        match start.map(|start| start.reach(field.mount)) {
            // A mount that has no time stands between two rows: it counts as being on the nearer one.
            Some(reach)
                if elevation < reach.elevation.from - rows.step / 2.0 - SLACK_DEG
                    || reach.elevation.to + rows.step / 2.0 + SLACK_DEG < elevation => {}
            Some(reach) => common(&all, &[reach.azimuth], &mut layer.spans),
            None => layer.spans.append(&mut all),
        }
        layer.close(elevation, from);
    }
    layer
}

/// From one layer to the next.
struct Step<'a> {
    field: &'a Field<'a>,
    last: &'a Layer,
    /// How far the azimuth turns and the elevation tilts meanwhile, degrees.
    turn: f64,
    tilt: f64,
    /// Where the mount can come to from the rows of this window, of which the numbers are first.
    pool: ((usize, usize), Vec<AngleRange>),
}

impl<'a> Step<'a> {
    fn new(field: &'a Field<'a>, last: &'a Layer, from: &Sample, until: &Sample) -> Self {
        let AzEl { azimuth: turn, elevation: tilt } = field.gets(from.seconds, until.seconds);
        let turn = field.lattice.map_or(turn, |step| ((turn + SLACK_DEG) / step).floor() * step);
        Self { field, last, turn, tilt: tilt + SLACK_DEG, pool: ((0, 0), Vec::new()) }
    }

    fn to(mut self, rows: Rows, sample: &Sample, error: f64) -> Layer {
        let mut next = Layer::default();
        let mut allowed = Vec::new();
        for elevation in rows.near(self.field.height(sample.direction), error) {
            allowed.clear();
            self.field.azimuths(sample.direction, elevation, error, &mut allowed);
            if allowed.is_empty() {
                continue;
            }
            let from = next.spans.len();
            self.gather(elevation);
            common(&self.pool.1, &allowed, &mut next.spans);
            next.close(elevation, from);
        }
        next
    }

    /// Fills the pool with the azimuths that can be reached at `elevation`.
    fn gather(&mut self, elevation: f64) {
        let rows = &self.last.rows;
        let first = rows.partition_point(|row| row.elevation < elevation - self.tilt);
        let end = rows.partition_point(|row| row.elevation <= elevation + self.tilt);
        let lowest = rows.get(first).map_or(elevation, |row| row.elevation.min(elevation));
        let highest = rows[..end].last().map_or(elevation, |row| row.elevation.max(elevation));
        let is_free = self.field.barred(AngleRange::new(lowest, highest)).next().is_none();
        if is_free && self.pool.0 == (first, end) {
            return;
        }
        let pool = &mut self.pool.1;
        pool.clear();
        for row in rows.get(first..end).unwrap_or_default() {
            let spans = self.last.spans(row);
            if is_free {
                pool.extend(
                    spans.iter().map(|span| AngleRange::new(span.from - self.turn, span.to + self.turn)),
                );
            } else {
                let between = AngleRange::new(row.elevation.min(elevation), row.elevation.max(elevation));
                let bars: Vec<AngleRange> = self.field.barred(between).collect();
                spans.iter().for_each(|span| beside(*span, self.turn, &bars, pool));
            }
        }
        unite(pool, 0);
        // What was gathered around sectors fits this row only.
        self.pool.0 = if is_free { (first, end) } else { (0, 0) };
    }
}

/// Adds the azimuths that are reached from `span` without coming by a bar.
fn beside(span: AngleRange, turn: f64, bars: &[AngleRange], out: &mut Vec<AngleRange>) {
    let mut parts = vec![span];
    bars.iter().for_each(|bar| take_out(&mut parts, 0, *bar));
    for part in parts {
        let below = bars.iter().map(|bar| bar.to).filter(|edge| *edge <= part.from).fold(f64::MIN, f64::max);
        let above = bars.iter().map(|bar| bar.from).filter(|edge| *edge >= part.to).fold(f64::MAX, f64::min);
        out.push(AngleRange::new((part.from - turn).max(below), (part.to + turn).min(above)));
    }
}

/// A path through the layers that ends at `end`, a place of the last one: at each moment, backward,
/// the place nearest to the satellite.
pub(super) fn path_to(field: &Field<'_>, layers: &[Layer], sky: &[Sample], end: AzEl) -> Option<Vec<AzEl>> {
    let mut path = vec![end];
    for index in (0..layers.len().saturating_sub(1)).rev() {
        let (next, sample) = (*path.last()?, sky.get(index)?);
        let step = Step::new(field, &layers[index], sample, sky.get(index + 1)?);
        let reach = AngleRange::new(next.azimuth - step.turn, next.azimuth + step.turn);
        let mut best: Option<(f64, AzEl)> = None;
        for (elevation, span) in layers[index].places() {
            let (from, to) = (span.from.max(reach.from), span.to.min(reach.to));
            if from > to + SLACK_DEG || (elevation - next.elevation).abs() > step.tilt {
                continue;
            }
            let mut parts = vec![AngleRange::new(from, to.max(from))];
            let between = AngleRange::new(elevation.min(next.elevation), elevation.max(next.elevation));
            field.barred(between).for_each(|bar| take_out(&mut parts, 0, bar));
            for place in parts.into_iter().flat_map(|part| nearest(field, sample.direction, elevation, part))
            {
                let off = field.error(place, sample.direction);
                if best.is_none_or(|(least, _)| off < least) && field.is_free(place, next) {
                    best = Some((off, place));
                }
            }
        }
        path.push(best?.1);
    }
    path.reverse();
    Some(path)
}

/// The place in a span that looks nearest to the satellite: of a span that is less than a turn wide,
/// beside it or one of the ends. On a lattice only the ends are sure to be places.
pub(super) fn nearest(
    field: &Field<'_>,
    satellite: AzEl,
    elevation: f64,
    span: AngleRange,
) -> impl Iterator<Item = AzEl> + use<> {
    let centre = if elevation > 90.0 { satellite.azimuth + 180.0 } else { satellite.azimuth };
    let middle = (span.from + span.to) / 2.0;
    let turned = centre + 360.0 * ((middle - centre) / 360.0).round();
    let inside = span.contains(turned) && field.lattice.is_none();
    let ends = if inside { [Some(turned), None] } else { [Some(span.from), Some(span.to)] };
    ends.into_iter().flatten().map(move |at| AzEl::new(at, elevation))
}
