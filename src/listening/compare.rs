//! Which of two antennas hears more, with the geometry taken out.

use std::collections::BTreeMap;

use super::evidence::{Mark, Pass};
use super::exact::student;

/// Elevations within which passes are compared, degrees.
const BAND_DEG: f32 = 5.0;

/// Meters are compared where each antenna hears the satellite for at least this share of the time: below a
/// hill or in the noise there is nothing to compare.
const MOSTLY: f64 = 0.8;

/// Fewer passes with an antenna than these tell nothing.
pub const FEWEST: u32 = 6;

/// A difference, and between which limits the true one lies at 95 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The second antenna over the first one.
    pub value: f64,
    /// The lower limit.
    pub low: f64,
    /// The upper limit.
    pub high: f64,
}

impl Estimate {
    /// `Some(true)` where the second antenna is better for sure, `Some(false)` where the first one is.
    pub fn is_settled(&self) -> Option<bool> {
        (self.low > 0.0 || self.high < 0.0).then_some(self.low > 0.0)
    }
}

/// Two antennas on the same satellites.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Their labels.
    pub antennas: (String, String),
    /// Passes with each, of links that both have heard.
    pub passes: (u32, u32),
    /// Signal over the noise around the pass, in the units of the radio's own meter, which are as even
    /// or uneven as it makes them.
    pub meter: Option<Estimate>,
    /// Share of the time in which the satellite was heard, 0 to 1.
    pub share: Option<Estimate>,
}

/// Compares two antennas on the passes of links that are active, each with the link's number.
///
/// Blocks of the same link, the same five degrees of elevation, in sunlight or not, are compared with each
/// other; within them a straight line over the free-space loss of the slant range (20 log10 of it; ITU-R
/// P.525) takes out what is left of the distance. That is the least-squares fit with an intercept for each
/// such cell. Blocks of one pass depend on each other, so the limits come from leaving out one pass at a
/// time (cluster jackknife, "CV3": Bell and McCaffrey, Survey Methodology 28 (2002); MacKinnon, Nielsen and
/// Webb, Journal of Applied Econometrics 38 (2023)), with Student's t of the smaller number of passes less
/// one.
pub fn compare<'p>(
    antennas: (&str, &str),
    passes: impl IntoIterator<Item = (usize, &'p Pass)>,
) -> Comparison {
    let (mut metered, mut heard, mut counts) = (Vec::new(), Vec::new(), [Vec::new(), Vec::new()]);
    for (link, pass) in passes {
        let is_second = pass.antenna == antennas.1;
        if !pass.is_judged() || (!is_second && pass.antenna != antennas.0) {
            continue;
        }
        let share = |mark: &Mark| Some(if mark.is_heard { 1.0 } else { 0.0 });
        heard.extend(Cluster::of(link, pass, is_second, share));
        metered.extend(Cluster::of(link, pass, is_second, |mark| mark.meter_excess.map(f64::from)));
    }
    // Cells that only one antenna has tell nothing.
    let shares = cells(&heard);
    let both = |cell: &Cell, is_good: fn(&Sums) -> bool| {
        shares.get(cell).is_some_and(|sums| sums.iter().all(is_good))
    };
    keep(&mut heard, |cell| both(cell, |sums| sums.count > 0.0));
    keep(&mut metered, |cell| both(cell, |sums| sums.count > 0.0 && sums.value >= MOSTLY * sums.count));
    for cluster in &heard {
        counts[usize::from(cluster.is_second)].push(());
    }
    Comparison {
        antennas: (antennas.0.to_owned(), antennas.1.to_owned()),
        passes: (counts[0].len() as u32, counts[1].len() as u32),
        meter: estimate(&metered),
        share: estimate(&heard),
    }
}

/// Link, band of elevation, sunlight.
type Cell = (usize, i32, bool);

/// Sums over blocks: their number, the loss, the value, and the products.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    count: f64,
    loss: f64,
    value: f64,
    loss_loss: f64,
    loss_value: f64,
}

impl Sums {
    fn add(&mut self, other: &Self, sign: f64) {
        self.count += sign * other.count;
        self.loss += sign * other.loss;
        self.value += sign * other.value;
        self.loss_loss += sign * other.loss_loss;
        self.loss_value += sign * other.loss_value;
    }
}

/// One pass.
#[derive(Debug)]
struct Cluster {
    is_second: bool,
    cells: BTreeMap<Cell, Sums>,
}

impl Cluster {
    fn of(link: usize, pass: &Pass, is_second: bool, value: impl Fn(&Mark) -> Option<f64>) -> Option<Self> {
        let mut cells: BTreeMap<Cell, Sums> = BTreeMap::new();
        for mark in &pass.marks {
            let Some(value) = value(mark) else { continue };
            let band = (mark.sight.elevation_deg / BAND_DEG).floor() as i32;
            // From 1000 km, so that sums of squares stay small.
            let loss = 20.0 * (f64::from(mark.sight.range_km.max(1.0)) / 1000.0).log10();
            let sums = cells.entry((link, band, mark.sight.is_sunlit)).or_default();
            let one = Sums { count: 1.0, loss, value, loss_loss: loss * loss, loss_value: loss * value };
            sums.add(&one, 1.0);
        }
        (!cells.is_empty()).then_some(Self { is_second, cells })
    }
}

/// The sums of each cell, by antenna.
fn cells(clusters: &[Cluster]) -> BTreeMap<Cell, [Sums; 2]> {
    let mut cells: BTreeMap<Cell, [Sums; 2]> = BTreeMap::new();
    for cluster in clusters {
        for (cell, sums) in &cluster.cells {
            cells.entry(*cell).or_default()[usize::from(cluster.is_second)].add(sums, 1.0);
        }
    }
    cells
}

/// Leaves out the cells that can't be compared, and the passes that then have none.
fn keep(clusters: &mut Vec<Cluster>, is_good: impl Fn(&Cell) -> bool) {
    for cluster in clusters.iter_mut() {
        cluster.cells.retain(|cell, _| is_good(cell));
    }
    clusters.retain(|cluster| !cluster.cells.is_empty());
}

fn estimate(clusters: &[Cluster]) -> Option<Estimate> {
    let count = |is_second: bool| clusters.iter().filter(|cluster| cluster.is_second == is_second).count();
    let fewest = count(false).min(count(true));
    if fewest < FEWEST as usize {
        return None;
    }
    let cells = cells(clusters);
    let mut totals = Normal::default();
    cells.values().for_each(|cell| totals.add(cell, 1.0));
    let value = totals.solve()?;
    let mut left_out = Vec::new();
    for cluster in clusters {
        let mut without = totals.clone();
        for (cell, sums) in &cluster.cells {
            let whole = cells.get(cell)?;
            let mut rest = *whole;
            rest[usize::from(cluster.is_second)].add(sums, -1.0);
            without.add(whole, -1.0);
            without.add(&rest, 1.0);
        }
        left_out.push(without.solve()?);
    }
    let passes = left_out.len() as f64;
    let squares: f64 = left_out.iter().map(|without| (without - value).powi(2)).sum();
    let half = student(0.95, fewest as f64 - 1.0) * (squares * (passes - 1.0) / passes).sqrt();
    Some(Estimate { value, low: value - half, high: value + half })
}

/// The normal equations of: value = cell + a (second antenna) + b (loss), with the cells taken out.
#[derive(Debug, Clone, Default)]
struct Normal {
    aa: f64,
    ab: f64,
    bb: f64,
    ay: f64,
    by: f64,
}

impl Normal {
    fn add(&mut self, [first, second]: &[Sums; 2], sign: f64) {
        let mut all = *first;
        all.add(second, 1.0);
        // The count of a cell that was emptied can be a rounding error beside zero.
        if all.count < 0.5 {
            return;
        }
        let n = all.count;
        self.aa += sign * (second.count - second.count * second.count / n);
        self.ab += sign * (second.loss - second.count * all.loss / n);
        self.bb += sign * (all.loss_loss - all.loss * all.loss / n);
        self.ay += sign * (second.value - second.count * all.value / n);
        self.by += sign * (all.loss_value - all.loss * all.value / n);
    }

    /// The antenna's part. Where the distance is the same everywhere it has no part.
    fn solve(&self) -> Option<f64> {
        let determinant = self.aa * self.bb - self.ab * self.ab;
        let value = if self.bb > 1e-6 && determinant > 1e-9 * self.aa * self.bb {
            (self.ay * self.bb - self.by * self.ab) / determinant
        } else {
            self.ay / self.aa
        };
        (self.aa > 1e-6 && value.is_finite()).then_some(value)
    }
}
