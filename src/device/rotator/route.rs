//! How a mount gets from one place to another without coming by a no-go sector: in legs, each of
//! which is free whichever axis is the quicker one.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use crate::terms::{AngleRange, AzEl, Sweep};

use super::RotatorSetup;

/// A leg ends at least so far from a sector that it leads around, degrees.
const CLEARANCE: f64 = 1.0;

/// The next place to send a mount to that stands at `from`, may come by `swept` on its way as it
/// is, and is to come to `to`: the place itself if the way is free, else the first corner of the
/// quickest way around. `None` where there is no way.
pub(super) fn next_leg(setup: &RotatorSetup, swept: Sweep, from: AzEl, to: AzEl) -> Option<AzEl> {
    let is_free = |place: AzEl| setup.is_free(swept.with(place));
    if setup.no_go.is_empty() || is_free(to) {
        return Some(to);
    }
    let way = Grid::around(setup, from, to).quickest_way(setup)?;
    way.into_iter().rev().filter_map(|place| setup.admit(place)).find(|place| is_free(*place))
}

/// The places at which a way around sectors may turn: beside each sector, in line with its ends.
struct Grid {
    azimuths: Vec<f64>,
    elevations: Vec<f64>,
    from: AzEl,
    to: AzEl,
    obstacles: Vec<Sweep>,
}

impl Grid {
    fn around(setup: &RotatorSetup, from: AzEl, to: AzEl) -> Self {
        let level = setup.elevation.unwrap_or(AngleRange::new(0.0, 0.0));
        let clearance = CLEARANCE.max(2.0 * setup.resolution);
        let reach = setup.swept_by(from, to);
        let obstacles: Vec<Sweep> =
            setup.no_go.iter().flat_map(|no_go| no_go.places(reach.azimuth)).collect();
        let lines = |ends: [f64; 2], limits: AngleRange, sides: &dyn Fn(&Sweep) -> AngleRange| {
            let beside = obstacles.iter().map(sides);
            let beside = beside.flat_map(|side| [side.from - clearance, side.to + clearance]);
            let mut all: Vec<f64> = beside.filter(|line| limits.contains(*line)).chain(ends).collect();
            all.sort_by(f64::total_cmp);
            all.dedup();
            all
        };
        let azimuths = lines([from.azimuth, to.azimuth], setup.azimuth, &|place| place.azimuth);
        let elevations = lines([from.elevation, to.elevation], level, &|place| place.elevation);
        Self { azimuths, elevations, from, to, obstacles }
    }

    fn place(&self, node: usize) -> AzEl {
        let rows = self.elevations.len();
        AzEl::new(self.azimuths[node / rows], self.elevations[node % rows])
    }

    fn node(&self, place: AzEl) -> Option<usize> {
        let column = self.azimuths.iter().position(|azimuth| *azimuth == place.azimuth)?;
        let row = self.elevations.iter().position(|elevation| *elevation == place.elevation)?;
        Some(column * self.elevations.len() + row)
    }

    fn neighbours(&self, node: usize) -> impl Iterator<Item = usize> {
        let rows = self.elevations.len();
        let (column, row) = (node / rows, node % rows);
        let left = column.checked_sub(1).map(|_| node - rows);
        let right = (column + 1 < self.azimuths.len()).then_some(node + rows);
        let down = row.checked_sub(1).map(|_| node - 1);
        let up = (row + 1 < rows).then_some(node + 1);
        [left, right, down, up].into_iter().flatten()
    }

    /// Microseconds from one place to a neighbouring one; `None` where a sector lies between.
    fn cost(&self, from: AzEl, to: AzEl, setup: &RotatorSetup) -> Option<u64> {
        let way = Sweep::at(from).with(to);
        if self.obstacles.iter().any(|obstacle| obstacle.meets(way)) {
            return None;
        }
        let turn = (to.azimuth - from.azimuth).abs() / setup.slew.azimuth;
        let tilt = (to.elevation - from.elevation).abs() / setup.slew.elevation;
        Some(((turn + tilt) * 1e6) as u64 + 1)
    }

    /// The places of the quickest way, without the first one.
    fn quickest_way(&self, setup: &RotatorSetup) -> Option<Vec<AzEl>> {
        let (start, goal) = (self.node(self.from)?, self.node(self.to)?);
        let mut best = vec![(u64::MAX, start); self.azimuths.len() * self.elevations.len()];
        best[start].0 = 0;
        let mut next = BinaryHeap::from([Reverse((0, start))]);
        while let Some(Reverse((so_far, node))) = next.pop() {
            if node == goal {
                break;
            }
            if so_far > best[node].0 {
                continue;
            }
            for neighbour in self.neighbours(node) {
                let cost = self.cost(self.place(node), self.place(neighbour), setup);
                let Some(total) = cost.map(|cost| so_far + cost) else { continue };
                if total < best[neighbour].0 {
                    best[neighbour] = (total, node);
                    next.push(Reverse((total, neighbour)));
                }
            }
        }
        if best[goal].0 == u64::MAX {
            return None;
        }
        let back = std::iter::successors(Some(goal), |node| (*node != start).then(|| best[*node].1));
        let mut way: Vec<AzEl> =
            back.take_while(|node| *node != start).map(|node| self.place(node)).collect();
        way.reverse();
        Some(way)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::rotator::setup::tests::setup;
    use crate::terms::NoGo;

    fn walled(walls: &[(f64, f64, f64)]) -> RotatorSetup {
        let wall = |(from, to, top): &(f64, f64, f64)| NoGo {
            azimuth: AngleRange::new(*from, *to),
            elevation: AngleRange::new(-90.0, *top),
        };
        RotatorSetup { no_go: walls.iter().map(wall).collect(), ..setup() }
    }

    /// Every leg, with a mount that gets to the end of each.
    fn legs(setup: &RotatorSetup, from: (f64, f64), to: (f64, f64)) -> Option<Vec<(f64, f64)>> {
        let (mut at, to, mut all) = (AzEl::new(from.0, from.1), AzEl::new(to.0, to.1), Vec::new());
        while at != to {
            let leg = next_leg(setup, Sweep::at(at), at, to)?;
            assert!(setup.is_free(Sweep::at(at).with(leg)) && all.len() < 20, "{at:?} {leg:?}");
            all.push((leg.azimuth, leg.elevation));
            at = leg;
        }
        Some(all)
    }

    #[test]
    fn a_wall_is_passed_above_and_a_free_way_is_one_leg() {
        let setup = walled(&[(90.0, 120.0, 20.0)]);
        assert_eq!(legs(&setup, (10.0, 0.0), (60.0, 30.0)), Some(vec![(60.0, 30.0)]));
        // By hand: up beside the wall or earlier, over it at 21 degrees, and down behind it.
        let over = legs(&setup, (80.0, 0.0), (130.0, 0.0)).unwrap();
        assert_eq!(over, [(89.0, 21.0), (130.0, 21.0), (130.0, 0.0)].map(|(az, el)| (az, el)));
    }

    #[test]
    fn the_other_way_round_is_taken_where_the_wall_is_too_high() {
        // Without a flip a wall up to the zenith can't be passed, and in 0..450 the place at 130 has
        // no second wrap, while 80 has one at 440.
        let level = Some(AngleRange::new(0.0, 90.0));
        let setup = RotatorSetup { elevation: level, ..walled(&[(90.0, 120.0, 90.0)]) };
        assert_eq!(legs(&setup, (80.0, 0.0), (130.0, 0.0)), None);
        assert_eq!(legs(&setup, (130.0, 0.0), (440.0, 0.0)), Some(vec![(440.0, 0.0)]));
    }

    #[test]
    fn nothing_leads_into_a_sector_or_out_of_one() {
        let setup = walled(&[(90.0, 120.0, 20.0)]);
        assert_eq!(legs(&setup, (10.0, 0.0), (100.0, 10.0)), None);
        assert_eq!(legs(&setup, (100.0, 10.0), (10.0, 0.0)), None);
    }
}
