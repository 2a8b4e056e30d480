//! The proposed horizon against the true one.

use beamhand::listening::{Study, horizon, mask};
use beamhand::sky::Horizon;

use crate::world::{Life, World};

/// Hills in the north, a house in the south-east, the sea in the west.
fn hills(azimuth: f64) -> f64 {
    let ridge = 8.0 + 6.0 * azimuth.to_radians().cos();
    let house = (18.0 - 0.45 * (azimuth - 130.0).abs()).max(0.0);
    ridge.max(house)
}

/// The largest and the mean distance of the mask from the truth, degrees, after so many passes; how many
/// directions are known.
pub(crate) fn distance(passes: usize, seed: u64) -> (f64, f64, usize) {
    let world = World { horizon: hills, strength_db: 32.0, moody_db: 2.0, ..World::new(Life::Alive) };
    let mut study = Study::default();
    world.listen(passes, seed, |spell| study.add(spell));
    let findings = study.findings();
    let corners = horizon(findings.iter().flat_map(|link| &link.passes));
    let known = corners.iter().filter(|corner| corner.is_known()).count();
    let proposed = Horizon::new(mask(&corners, 0.25)).unwrap();
    let apart: Vec<f64> = (0..360)
        .map(|azimuth| (proposed.elevation_deg(f64::from(azimuth)) - hills(f64::from(azimuth))).abs())
        .collect();
    (apart.iter().copied().fold(0.0, f64::max), apart.iter().sum::<f64>() / 360.0, known)
}

/// So many passes in which the satellite was heard are enough.
const PASSES: usize = 300;

#[test]
fn the_proposed_horizon_is_within_two_degrees_of_the_true_one() {
    for seed in [1, 2] {
        let (largest, mean, known) = distance(PASSES, seed);
        println!("{PASSES} passes: largest {largest:.2}, mean {mean:.2}, known {known}");
        assert!(largest <= 2.0, "{largest}");
        assert_eq!(known, 36);
    }
}
