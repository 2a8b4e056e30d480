//! Conflicts that are worked out by hand, and the reasons that are given.

use beamhand::agenda::{Agenda, Busy, Candidate};
use beamhand::terms::{AzEl, later};

use crate::made::{agenda, agenda_while, at, pass, worked};

fn why<'a>(agenda: &'a Agenda, satellite: &str) -> &'a str {
    &agenda.entries.iter().find(|entry| entry.satellite == satellite).unwrap().why
}

fn entry(name: &str, from: f64, until: f64) -> (String, f64, f64) {
    (name.to_owned(), from, until)
}

#[test]
fn passes_that_do_not_meet_are_all_worked_whole() {
    let agenda = agenda(&[pass("TERN-1", 1, 20.0, 30.0, 0.0), pass("GANNET-1", 0, 0.0, 10.0, 0.0)]);
    assert_eq!(worked(&agenda), [entry("GANNET-1", 0.0, 10.0), entry("TERN-1", 20.0, 30.0)]);
    assert_eq!(why(&agenda, "TERN-1"), "nothing in its way");
}

#[test]
fn a_less_important_pass_gets_what_the_more_important_leaves() {
    // 90 degrees at 2 degrees a second and 15 s for the radios: a minute.
    let agenda = agenda(&[pass("TERN-1", 1, 5.0, 20.0, 90.0), pass("GANNET-1", 0, 0.0, 10.0, 0.0)]);
    assert_eq!(worked(&agenda), [entry("GANNET-1", 0.0, 10.0), entry("TERN-1", 11.0, 20.0)]);
    assert_eq!(why(&agenda, "GANNET-1"), "before TERN-1");
    assert_eq!(why(&agenda, "TERN-1"), "nothing in its way; begins late after GANNET-1");
}

#[test]
fn a_long_pass_is_worked_before_and_after_a_more_important_one() {
    let agenda = agenda(&[pass("TERN-1", 1, 0.0, 60.0, 90.0), pass("GANNET-1", 0, 20.0, 30.0, 0.0)]);
    let expected = [entry("TERN-1", 0.0, 19.0), entry("GANNET-1", 20.0, 30.0), entry("TERN-1", 31.0, 60.0)];
    assert_eq!(worked(&agenda), expected);
    assert_eq!(why(&agenda, "TERN-1"), "nothing in its way; ends early for GANNET-1");
}

#[test]
fn any_number_of_less_important_passes_gives_way_to_one() {
    let mut passes = vec![pass("GANNET-1", 0, 0.0, 3.0, 0.0)];
    passes.extend((1..5).map(|rank| pass(&format!("SKUA-{rank}"), rank, 0.0, 4.5, 0.0)));
    let agenda = agenda(&passes);
    assert_eq!(worked(&agenda), [entry("GANNET-1", 0.0, 3.0)]);
    assert_eq!(why(&agenda, "SKUA-4"), "GANNET-1 comes first");
}

#[test]
fn among_equals_the_minutes_decide() {
    // Together 9 + 9 minutes, against 16 of the one between them and half a minute at most besides.
    let equals = [
        pass("SKUA-1", 0, 0.0, 9.0, 0.0),
        pass("TERN-1", 0, 1.0, 17.0, 0.0),
        pass("PETREL-1", 0, 9.5, 18.5, 0.0),
    ];
    let agenda = agenda(&equals);
    assert_eq!(worked(&agenda), [entry("SKUA-1", 0.0, 9.0), entry("PETREL-1", 9.5, 18.5)]);
    let why = why(&agenda, "TERN-1");
    assert!(why.contains("SKUA-1 is as important, 9.0 to 16.0 minutes"), "{why}");
}

#[test]
fn the_way_between_two_passes_counts() {
    // 180 degrees: 90 s and 15 s; 60 are there. The less important one begins 45 s late.
    let agenda = agenda(&[pass("GANNET-1", 0, 0.0, 10.0, 0.0), pass("TERN-1", 1, 11.0, 20.0, 180.0)]);
    assert_eq!(worked(&agenda), [entry("GANNET-1", 0.0, 10.0), entry("TERN-1", 11.75, 20.0)]);
    assert_eq!(agenda.chosen().nth(1).unwrap().prepare_at, Some(at(10.0)));
}

#[test]
fn preparation_begins_early_enough_to_turn_there() {
    let alone = |azimuth| agenda(&[pass("TERN-1", 0, 30.0, 40.0, azimuth)]).entries[0].prepare_at.unwrap();
    assert_eq!(alone(10.0), at(28.0));
    // From north to 400 degrees: 200 s and 15 s.
    assert_eq!(alone(400.0), later(at(30.0), -215.0));
}

#[test]
fn what_is_in_progress_is_never_given_up() {
    let busy =
        Busy { what: "FULMAR-1 is in progress".to_owned(), until: at(10.0), end: Some(AzEl::new(0.0, 0.0)) };
    let passes: [Candidate; 3] = [
        pass("GANNET-1", 0, 0.0, 9.0, 0.0),
        pass("TERN-1", 1, 5.0, 15.0, 0.0),
        pass("SKUA-1", 2, 30.0, 40.0, 0.0),
    ];
    let agenda = agenda_while(&passes, Some(busy));
    assert_eq!(worked(&agenda), [entry("TERN-1", 10.25, 15.0), entry("SKUA-1", 30.0, 40.0)]);
    assert_eq!(why(&agenda, "GANNET-1"), "FULMAR-1 is in progress");
    assert!(why(&agenda, "TERN-1").contains("begins late after FULMAR-1 is in progress"));
}
