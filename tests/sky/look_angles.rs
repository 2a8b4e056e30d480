//! Source: Astropy, by `tests/reference/make_look_table.py`; the Earth's orientation by the IERS.

use std::sync::Arc;

use beamhand::sky::{EarthAngles, EarthOrientation, Look, Station, Track};
use beamhand::terms::{AzEl, parse_time};

use crate::common::{number, rows, sets};

const ELEMENTS: &str = include_str!("../reference/look_elements.txt");
const LOOKS: &str = include_str!("../reference/look_angles.csv");

const ORIENTATION: &str = include_str!("../reference/earth_orientation.txt");

/// What a row says, and what Beamhand says about the same instant on two Earths.
struct Row {
    even: [f64; 4],
    sunlit: Option<bool>,
    below: [f64; 3],
    oriented: [f64; 4],
    look: Look,
    look_oriented: Look,
    look_by_file: Look,
}

fn table() -> Vec<Row> {
    let file = Arc::new(EarthOrientation::parse(ORIENTATION).unwrap());
    let sets = sets(ELEMENTS);
    let read = |row: Vec<&str>| {
        let numbers = |from: usize| [0, 1, 2, 3].map(|column| number(row[from + column]));
        let three = |from: usize| [0, 1, 2].map(|column| number(row[from + column]));
        let [latitude, longitude, metres] = three(2);
        let station = Station::new(latitude, longitude, metres).unwrap();
        let track = Track::new(&sets[row[0].parse::<usize>().unwrap()], station).unwrap();
        let time = parse_time(row[1]).unwrap();
        let [ut1_minus_utc_s, polar_x_arcsec, polar_y_arcsec] = three(13);
        let angles = EarthAngles { ut1_minus_utc_s, polar_x_arcsec, polar_y_arcsec };
        Row {
            even: numbers(5),
            sunlit: row[9].parse().ok(),
            below: three(10),
            oriented: numbers(16),
            look: track.at(time).unwrap(),
            look_by_file: track.clone().with_earth_orientation(Arc::clone(&file)).at(time).unwrap(),
            look_oriented: track.with_earth_angles(angles).at(time).unwrap(),
        }
    };
    rows(LOOKS).map(read).collect()
}

/// The worst difference over the table: degrees of sky, metres, metres per second.
fn worst(rows: &[Row], pair: impl Fn(&Row) -> ([f64; 4], Look)) -> [f64; 3] {
    let mut worst = [0.0_f64; 3];
    for row in rows {
        let ([azimuth, elevation, range, rate], look) = pair(row);
        let off = [
            look.direction().angle_to(AzEl::new(azimuth, elevation)),
            (look.range_km - range).abs() * 1e3,
            (look.range_rate_km_s - rate).abs() * 1e3,
        ];
        worst = [0, 1, 2].map(|index| worst[index].max(off[index]));
    }
    println!("worst of {}: {} deg, {} m, {} m/s", rows.len(), worst[0], worst[1], worst[2]);
    worst
}

fn all_below(values: [f64; 3], limits: [f64; 3]) -> bool {
    values.iter().zip(limits).all(|(value, limit)| *value < limit)
}

#[test]
fn on_an_even_earth_every_look_agrees_to_a_metre() {
    let rows = table();
    assert!(rows.len() >= 200, "{}", rows.len());
    let up = rows.iter().filter(|row| row.even[1] > 0.0).count();
    assert!(up >= 50, "{up} rows with the satellite up");
    let off = worst(&rows, |row| (row.even, row.look));
    assert!(all_below(off, [1e-5, 1.0, 1e-3]), "{off:?}");
}

#[test]
fn without_orientation_data_the_real_earth_is_met_within_three_hundredths_of_a_degree() {
    let off = worst(&table(), |row| (row.oriented, row.look));
    assert!(all_below(off, [0.03, 250.0, 3.0]), "{off:?}");
}

#[test]
fn with_orientation_data_the_real_earth_is_met_to_a_metre() {
    let off = worst(&table(), |row| (row.oriented, row.look_oriented));
    assert!(all_below(off, [1e-5, 1.0, 1e-3]), "{off:?}");
}

#[test]
fn with_the_iers_file_the_real_earth_is_met_to_a_metre() {
    let off = worst(&table(), |row| (row.oriented, row.look_by_file));
    assert!(all_below(off, [1e-5, 1.0, 1e-3]), "{off:?}");
}

#[test]
fn outside_the_files_days_the_earth_turns_evenly() {
    let file = Arc::new(EarthOrientation::parse(ORIENTATION).unwrap());
    let track = Track::new(&sets(ELEMENTS)[0], Station::new(54.0, -2.5, 100.0).unwrap()).unwrap();
    let later = parse_time("2000-12-01T00:00:00Z").unwrap();
    assert_eq!(track.clone().with_earth_orientation(file).at(later), track.at(later));
}

#[test]
fn the_point_below_the_satellite_agrees() {
    let mut worst = [0.0_f64; 3];
    for Row { below: [latitude, longitude, altitude], look, .. } in table() {
        let turned = (look.longitude_deg - longitude + 180.0).rem_euclid(360.0) - 180.0;
        let off = [look.latitude_deg - latitude, turned, (look.altitude_km - altitude) * 1e3];
        worst = [0, 1, 2].map(|index| worst[index].max(off[index].abs()));
    }
    println!("worst: {} deg, {} deg, {} m", worst[0], worst[1], worst[2]);
    assert!(all_below(worst, [1e-5, 1e-5, 1.0]), "{worst:?}");
}

#[test]
fn sunlit_agrees_wherever_the_shadow_is_not_within_seconds() {
    let known: Vec<Row> = table().into_iter().filter(|row| row.sunlit.is_some()).collect();
    let dark = known.iter().filter(|row| row.sunlit == Some(false)).count();
    println!("{} rows, {dark} of them dark", known.len());
    assert!(dark >= 20 && known.len() - dark >= 100, "{dark} dark of {}", known.len());
    for row in known {
        assert_eq!(Some(row.look.sunlit), row.sunlit, "{:?}", row.look);
    }
}
