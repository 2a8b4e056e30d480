//! Source: Astropy, by `tests/reference/make_look_table.py`.

use beamhand::sky::sun_position_km;
use beamhand::terms::parse_time;

use crate::common::{distance, number, rows};

const SUN: &str = include_str!("../reference/sun.csv");
const ASTRONOMICAL_UNIT_KM: f64 = 149_597_870.7;

#[test]
fn the_sun_stands_within_a_hundredth_of_a_degree() {
    let (mut count, mut worst_deg, mut worst_au) = (0, 0.0_f64, 0.0_f64);
    for row in rows(SUN) {
        let sun = sun_position_km(parse_time(row[0]).unwrap());
        let length = distance(sun, [0.0; 3]);
        let expected = [1, 2, 3].map(|column| number(row[column]));
        // For small angles the chord is the angle.
        worst_deg = worst_deg.max(distance(sun.map(|axis| axis / length), expected).to_degrees());
        worst_au = worst_au.max((length / ASTRONOMICAL_UNIT_KM - number(row[4])).abs());
        count += 1;
    }
    println!("{count} days, worst {worst_deg} deg, {worst_au} au");
    assert!(count >= 200 && worst_deg < 0.01 && worst_au < 1e-4, "{worst_deg} {worst_au}");
}
