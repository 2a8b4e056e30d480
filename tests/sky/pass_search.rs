//! The search against brute force, on orbits of every kind.

use beamhand::sky::passes::passes_counted;
use beamhand::sky::{Track, passes};

use crate::brute::{Verdict, changes};
use crate::invented::{Chance, any, low, start, stations};

#[test]
fn on_orbits_of_every_kind_no_pass_is_missed_and_none_is_made_up() {
    let mut chance = Chance(7);
    for (minimum, hours) in [(0.0, 6.0), (25.0, 3.0), (-3.0, 3.0)] {
        let mut verdict = Verdict::default();
        for number in 1..=66 {
            let set = any(number, &mut chance);
            let truth = changes(&set, &stations(), minimum, start(), hours);
            for (station, truth) in stations().into_iter().zip(&truth) {
                let before = (verdict.missed, verdict.invented);
                let found = passes(&Track::new(&set, station).unwrap(), start(), hours, minimum).unwrap();
                verdict.judge(&found, truth);
                if before != (verdict.missed, verdict.invented) {
                    println!("{set:?} {station:?}");
                }
            }
        }
        println!("above {minimum}: {verdict:?}");
        assert!(verdict.passes > 60, "{verdict:?}");
        assert_eq!((verdict.missed, verdict.invented), (0, 0), "{verdict:?}");
        assert!(verdict.worst_s < 0.01, "{verdict:?}");
    }
}

#[test]
fn a_low_pass_costs_at_most_fifteen_propagations() {
    let (mut found, mut propagations, mut chance) = (0, 0, Chance(3));
    for number in 1..=50 {
        let track = Track::new(&low(number, &mut chance), stations()[0]).unwrap();
        let (passes, count) = passes_counted(&track, start(), 168.0, 0.0).unwrap();
        found += passes.len();
        propagations += count;
    }
    println!("{propagations} propagations for {found} passes");
    assert!(found > 500 && propagations <= 15 * found, "{propagations} for {found}");
}

#[test]
fn a_pass_that_grazes_the_wanted_elevation_is_found_and_one_that_misses_it_is_not() {
    // The highest point of every pass is raised and lowered by a ten-thousandth of a degree: two
    // orders below what the brute force above can see.
    let (mut grazed, mut chance) = (0, Chance(11));
    for number in 1..=22 {
        let track = Track::new(&any(number, &mut chance), stations()[0]).unwrap();
        for pass in passes(&track, start(), 24.0, 0.0).unwrap() {
            if pass.aos.is_none() || pass.los.is_none() || pass.max_elevation_deg > 89.0 {
                continue;
            }
            let found = |minimum: f64| {
                let near = passes(&track, start(), 24.0, minimum).unwrap();
                near.into_iter()
                    .any(|other| other.aos >= pass.aos && other.los <= pass.los && other.aos < pass.los)
            };
            assert!(found(pass.max_elevation_deg - 1e-4), "{pass:?}");
            assert!(!found(pass.max_elevation_deg + 1e-4), "{pass:?}");
            grazed += 1;
        }
    }
    println!("{grazed} passes");
    assert!(grazed > 60);
}
