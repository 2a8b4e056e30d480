//! Exact intervals and tests against reference libraries.

use beamhand::listening::exact::{at_least, middle, more_in_first, share_interval, student};

/// scipy's and statsmodels' values; see the script beside the table.
const TABLE: &str = include_str!("../reference/listening.csv");

#[test]
fn intervals_and_tests_are_those_of_the_reference_libraries() {
    let mut checked = 0;
    for line in TABLE.lines().filter(|line| !line.starts_with('#')) {
        let fields: Vec<&str> = line.split(',').collect();
        let numbers = |text: &str| text.split(' ').map(|word| word.parse().unwrap()).collect::<Vec<f64>>();
        let (arguments, wanted) = (numbers(fields[1]), numbers(fields[2]));
        let whole = |at: usize| arguments[at] as u32;
        let found = match fields[0] {
            "share_interval" => {
                let (low, high) = share_interval(whole(0), whole(1), arguments[2]);
                vec![low, high]
            }
            "at_least" => vec![at_least(whole(0), whole(1), arguments[2])],
            "more_in_first" => vec![more_in_first((whole(0), whole(1)), (whole(2), whole(3)))],
            "student" => vec![student(arguments[0], arguments[1])],
            "middle" => {
                let mut values: Vec<f64> = (0..whole(0)).map(f64::from).collect();
                let (_, low, high) = middle(&mut values, arguments[1]).unwrap();
                vec![low, high]
            }
            other => panic!("{other}"),
        };
        assert_eq!(found.len(), wanted.len(), "{line}");
        for (found, wanted) in found.iter().zip(&wanted) {
            assert!((found - wanted).abs() <= 1e-9 * wanted.abs().max(1e-3), "{line}: {found}");
        }
        checked += 1;
    }
    assert!(checked > 40);
}
