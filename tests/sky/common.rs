//! Reading the tables under `tests/reference`.

use beamhand::sky::{ElementSet, parse_elements};

/// The rows of a comma-separated table, without comments.
pub(crate) fn rows(table: &str) -> impl Iterator<Item = Vec<&str>> {
    table.lines().filter(|line| !line.starts_with('#')).map(|line| line.split(',').collect())
}

/// A row's field as a number.
pub(crate) fn number(field: &str) -> f64 {
    field.parse().unwrap_or_else(|_| panic!("\"{field}\" is no number"))
}

/// Every set of an element file without faults, also those that describe no orbit.
pub(crate) fn sets(text: &str) -> Vec<ElementSet> {
    let file = parse_elements(text);
    assert_eq!(file.refused, [], "the reference elements are without faults");
    file.sets
}

/// The length of the difference of two vectors.
pub(crate) fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter().zip(b).map(|(x, y)| (x - y).powi(2)).sum::<f64>().sqrt()
}
