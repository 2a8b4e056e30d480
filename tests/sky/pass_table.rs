//! Source: Skyfield's search with the UT1 of the IERS, by `tests/reference/make_pass_table.py`.

use std::collections::BTreeMap;
use std::sync::Arc;

use beamhand::sky::{EarthOrientation, Pass, Station, Track, passes};
use beamhand::terms::{AzEl, parse_time, seconds_between};

use crate::common::{number, rows, sets};

const DEMO: &str = include_str!("../../config/demo/elements.txt");
const PASSES: &str = include_str!("../reference/passes.csv");
const ORIENTATION: &str = include_str!("../reference/earth_orientation.txt");
const HOURS: f64 = 72.0;

/// Rise, highest point and set in seconds; azimuth, elevation, range, azimuth.
type Row = [f64; 7];

/// The table's passes by the Earth, the satellite, the station and the lower limit, as written.
fn table() -> BTreeMap<[&'static str; 6], Vec<Row>> {
    let mut asked = BTreeMap::<_, Vec<Row>>::new();
    for row in rows(PASSES) {
        let question = [0, 1, 2, 3, 4, 5].map(|column| row[column]);
        asked.entry(question).or_default().push([6, 7, 8, 9, 10, 11, 12].map(|column| number(row[column])));
    }
    asked
}

/// Whole passes that reach half a degree more than the limit, as the table has them.
fn found([earth, satellite, latitude, longitude, metres, limit]: [&str; 6]) -> Vec<Row> {
    let sets = sets(DEMO);
    let set = sets.iter().find(|set| set.catalog_number.to_string() == satellite).unwrap();
    let station = Station::new(number(latitude), number(longitude), number(metres)).unwrap();
    let mut track = Track::new(set, station).unwrap();
    if earth == "iers" {
        track = track.with_earth_orientation(Arc::new(EarthOrientation::parse(ORIENTATION).unwrap()));
    }
    let from = parse_time("2026-11-21T00:00:00Z").unwrap();
    let row = |pass: &Pass| {
        let (aos, los) = (pass.aos?, pass.los?);
        let [rise, highest, set] = [aos, pass.highest, los].map(|at| seconds_between(from, at));
        let range = track.at(pass.highest).unwrap().range_km;
        let (aos_azimuth, los_azimuth) = (pass.aos_azimuth_deg?, pass.los_azimuth_deg?);
        Some([rise, highest, set, aos_azimuth, pass.max_elevation_deg, range, los_azimuth])
    };
    let every = passes(&track, from, HOURS, number(limit)).unwrap();
    let high = every.iter().filter(|pass| pass.max_elevation_deg > number(limit) + 0.5);
    high.filter_map(row).collect()
}

#[test]
fn a_reference_librarys_search_finds_the_same_passes_at_the_same_times() {
    let (mut passes, mut worst) = (0, [0.0_f64; 5]);
    for (question, expected) in table() {
        let found = found(question);
        assert_eq!(found.len(), expected.len(), "{question:?}");
        passes += found.len();
        for (ours, theirs) in found.iter().zip(&expected) {
            let off = |column: usize| (ours[column] - theirs[column]).abs();
            let turned =
                |column: usize| AzEl::new(ours[column], 0.0).angle_to(AzEl::new(theirs[column], 0.0));
            let edge = off(0).max(off(2));
            let now = [edge, off(1), off(4), off(5), turned(3).max(turned(6))];
            worst = [0, 1, 2, 3, 4].map(|index| worst[index].max(now[index]));
        }
    }
    let [edge_s, highest_s, elevation_deg, range_km, azimuth_deg] = worst;
    println!(
        "worst of {passes}: {edge_s} s, {highest_s} s, {elevation_deg} deg, {range_km} km, {azimuth_deg} deg"
    );
    assert!(passes > 600, "{passes}");
    assert!(edge_s < 1e-3 && highest_s < 0.01, "{worst:?}");
    assert!(elevation_deg < 2e-6 && range_km < 1e-3 && azimuth_deg < 1e-4, "{worst:?}");
}
