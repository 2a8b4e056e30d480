//! Passes over a horizon of hills and a tower: against looks twice a second.

use std::sync::Arc;

use beamhand::sky::{Horizon, Pass, Track, next_pass, passes};
use beamhand::terms::{Time, later, seconds_between};

use crate::invented::{Chance, low, start, stations};

/// Hills, and in the east-southeast a tower of a degree and a half.
fn hills() -> Arc<Horizon> {
    let corners = vec![
        (0.0, 2.0),
        (80.0, 5.0),
        (100.0, 12.0),
        (100.5, 40.0),
        (102.0, 40.0),
        (102.5, 12.0),
        (200.0, 0.0),
    ];
    Arc::new(Horizon::new(corners).unwrap())
}

fn is_clear(track: &Track, time: Time, minimum: f64) -> bool {
    let look = track.at(time).unwrap();
    look.elevation_deg >= hills().elevation_deg(look.azimuth_deg).max(minimum)
}

/// When it comes clear and goes behind within an unobstructed pass.
fn changes(track: &Track, pass: &Pass, minimum: f64) -> Vec<Time> {
    let (aos, los) = (pass.aos.unwrap(), pass.los.unwrap());
    let mut found = Vec::new();
    let mut was_clear = false;
    for step in 0..=(seconds_between(aos, los) / 0.5) as u32 + 1 {
        let time = later(aos, f64::from(step) * 0.5);
        let clear = is_clear(track, time, minimum);
        if clear != was_clear {
            found.push(time);
        }
        was_clear = clear;
    }
    found
}

#[test]
fn every_part_of_a_pass_that_is_clear_of_the_horizon_is_found_and_no_other() {
    let (mut whole, mut parts, mut chance) = (0, 0, Chance(5));
    for number in 1..=15 {
        let open = Track::new(&low(number, &mut chance), stations()[0]).unwrap();
        let track = open.clone().with_horizon(hills());
        for minimum in [0.0, 8.0] {
            let unobstructed = passes(&open, start(), 24.0, minimum).unwrap();
            let inside: Vec<&Pass> =
                unobstructed.iter().filter(|pass| pass.aos.is_some() && pass.los.is_some()).collect();
            let truth: Vec<Time> = inside.iter().flat_map(|pass| changes(&open, pass, minimum)).collect();
            let found = passes(&track, start(), 24.0, minimum).unwrap();
            let found = found
                .iter()
                .filter(|part| inside.iter().any(|pass| part.aos >= pass.aos && part.los <= pass.los));
            let edges: Vec<Time> = found
                .filter(|part| part.duration_s > Some(0.5))
                .flat_map(|part| [part.aos.unwrap(), part.los.unwrap()])
                .collect();
            assert_eq!(edges.len(), truth.len(), "{number}: {edges:?} {truth:?}");
            for (edge, seen) in edges.iter().zip(&truth) {
                assert!((-0.01..=0.51).contains(&seconds_between(*edge, *seen)), "{edge} {seen}");
                assert_ne!(
                    is_clear(&open, later(*edge, -0.002), minimum),
                    is_clear(&open, later(*edge, 0.001), minimum),
                    "{edge}"
                );
            }
            whole += inside.len();
            parts += edges.len() / 2;
        }
    }
    println!("{whole} passes, {parts} parts");
    assert!(whole > 80 && parts > whole / 2);
}

#[test]
fn a_pass_behind_a_tower_is_two_and_the_next_one_is_the_part_to_come() {
    let mut chance = Chance(5);
    let split = (1..=15).find_map(|number| {
        let open = Track::new(&low(number, &mut chance), stations()[0]).unwrap();
        let track = open.clone().with_horizon(hills());
        let whole = passes(&open, start(), 72.0, 20.0).unwrap();
        let parts = passes(&track, start(), 72.0, 20.0).unwrap();
        let is_cut = |pass: &&Pass| {
            parts.iter().filter(|part| part.aos >= pass.aos && part.los <= pass.los).count() == 2
        };
        let pass = *whole.iter().find(is_cut)?;
        Some((track, pass))
    });
    let (track, pass) = split.unwrap();
    let first = next_pass(&track, later(pass.aos.unwrap(), -60.0), 1.0, 20.0).unwrap().unwrap();
    let second = next_pass(&track, later(first.los.unwrap(), 1.0), 1.0, 20.0).unwrap().unwrap();
    assert!(seconds_between(first.los.unwrap(), second.aos.unwrap()) > 0.5, "{first:?} {second:?}");
    assert!(seconds_between(second.los.unwrap(), pass.los.unwrap()).abs() < 1e-3);
    let azimuth = first.los_azimuth_deg.unwrap();
    assert!((100.0..102.6).contains(&azimuth), "{azimuth}");
}
