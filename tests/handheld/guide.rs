//! Who follows the sentences has the satellite in the beam.

use beamhand::guide::{Cue, GAP_S, Occasion, Style, script};
use beamhand::sky::{ElementSet, Pass, Station, Track, passes, read_elements};
use beamhand::terms::{AzEl, Time, Validity, later, parse_time, seconds_between};

use crate::person::Person;

/// Half of a 60-degree beam.
const BEAM_DEG: f64 = 30.0;
const HOURS: f64 = 14.0 * 24.0;

/// The demo's orbits, and one of 400 km, which goes by fastest.
fn tracks() -> Vec<Track> {
    let station = Station::new(54.0, -2.5, 120.0).unwrap();
    let mut sets = read_elements(beamhand::config::DEMO_ELEMENTS).sets;
    sets.push(ElementSet { mean_motion_rev_day: 15.55, drag_term: 0.0, ..sets[1].clone() });
    sets.iter().map(|set| Track::new(set, station).unwrap()).collect()
}

fn occasion<'a>(track: &'a Track, pass: &'a Pass) -> Occasion<'a> {
    let span = Validity { from: pass.aos.unwrap(), until: pass.los.unwrap() };
    // As many changes as a card has, evenly: they have to find their place between the moves.
    let duration = seconds_between(span.from, span.until);
    let memories = (0..5).map(|part| (later(span.from, duration * (0.3 + 0.1 * part as f64)), part));
    Occasion { satellite: "GANNET-1", track, pass, span, memories: memories.collect() }
}

fn every_pass(mut work: impl FnMut(&Track, &Pass)) -> usize {
    let from = parse_time("2026-11-25T00:00:00Z").unwrap();
    let mut count = 0;
    for track in tracks() {
        let found = passes(&track, from, HOURS, 0.0).unwrap();
        for pass in found.iter().filter(|pass| pass.aos.and(pass.los).is_some()) {
            count += 1;
            work(&track, pass);
        }
    }
    count
}

/// Which share of the pass the satellite was in the beam.
fn share(track: &Track, cues: &[Cue], span: Validity, began: Time, sloppy_deg: f64, seed: u64) -> f64 {
    let mut person = Person::new(cues, began, sloppy_deg, seed);
    let (mut inside, mut all, mut time) = (0u32, 0u32, began);
    while time < span.until {
        person.live(time);
        if time >= span.from {
            let satellite = track.at(time).unwrap().direction();
            inside += u32::from(person.beam.angle_to(satellite) <= BEAM_DEG);
            all += 1;
        }
        time = later(time, 0.1);
    }
    f64::from(inside) / f64::from(all)
}

#[test]
fn a_slow_and_sloppy_person_keeps_a_60_degree_beam_on_every_pass_up_to_80_degrees() {
    for style in [Style::Words, Style::Degrees] {
        let (mut least, mut sum, mut number) = (1.0f64, 0.0, 0u32);
        every_pass(|track, pass| {
            if pass.max_elevation_deg > 80.0 {
                return;
            }
            number += 1;
            let occasion = occasion(track, pass);
            let began = later(occasion.span.from, -130.0);
            let cues = script(&occasion, style, began).unwrap();
            let kept = share(track, &cues, occasion.span, began, 10.0, u64::from(number) * 7919);
            assert!(kept >= 0.95, "{style:?} {:?} {}: {kept}", pass.aos, pass.max_elevation_deg);
            (least, sum) = (least.min(kept), sum + kept);
        });
        println!("{style:?}: {number} passes, least {least:.4}, on average {:.4}", sum / f64::from(number));
        assert!(number > 300, "{number}");
    }
}

/// The check above can fail: who hears nothing after the beginning loses the satellite.
#[test]
fn who_does_not_follow_loses_it() {
    let mut lost = 0;
    let count = every_pass(|track, pass| {
        let occasion = occasion(track, pass);
        let began = later(occasion.span.from, -130.0);
        let cues = script(&occasion, Style::Words, began).unwrap();
        lost += u32::from(share(track, &cues[..1], occasion.span, began, 10.0, 1) < 0.95);
    });
    assert!(f64::from(lost) > 0.7 * count as f64, "{lost} of {count}");
}

#[test]
fn no_two_sentences_are_nearer_than_can_be_followed_and_none_is_long() {
    every_pass(|track, pass| {
        let occasion = occasion(track, pass);
        let cues = script(&occasion, Style::Words, later(occasion.span.from, -900.0)).unwrap();
        for pair in cues.windows(2) {
            let apart = seconds_between(pair[0].time, pair[1].time);
            assert!(apart >= GAP_S, "{apart}: {pair:?}");
            let words = pair[0].words.split_whitespace().count() as f64;
            assert!(words <= 3.0 * apart, "no time for {pair:?}");
        }
        // As often as it takes, and not more: a move a minute, and what else there is.
        let minutes = pass.duration_s.unwrap() / 60.0;
        let during = cues.iter().filter(|cue| cue.time >= occasion.span.from).count() as f64;
        assert!(during < 3.0 * minutes + 6.0, "{during} in {minutes}");
    });
}

#[test]
fn every_change_of_memory_is_said_at_its_time_or_half_a_gap_later_and_each_pass_has_its_highest_and_its_end()
{
    let (mut punctual, mut all) = (0u32, 0u32);
    every_pass(|track, pass| {
        let occasion = occasion(track, pass);
        let cues = script(&occasion, Style::Words, later(occasion.span.from, -130.0)).unwrap();
        let said = |words: &str| cues.iter().find(|cue| cue.words.contains(words)).map(|cue| cue.time);
        let names = ["Channel one.", "Channel two.", "Channel three.", "Channel four.", "Channel five."];
        let apart = seconds_between(occasion.memories[0].0, occasion.memories[1].0);
        for ((due, memory), name) in
            occasion.memories.iter().zip(names).skip(1).filter(|_| apart > 2.0 * GAP_S)
        {
            let time = said(name).unwrap_or_else(|| panic!("no {name} {memory}: {cues:?}"));
            let late = seconds_between(*due, time);
            assert!((-0.001..=GAP_S / 2.0 + 0.001).contains(&late), "{name} {late}: {cues:?}");
            punctual += u32::from(late < 0.001);
            all += 1;
        }
        assert!(seconds_between(pass.highest, said("Highest now.").unwrap()).abs() <= 10.0, "{cues:?}");
        assert!(said("It has set.").is_some());
    });
    println!("{punctual} of {all} changes at their time");
    assert!(f64::from(punctual) > 0.8 * f64::from(all), "{punctual} of {all}");
}

#[test]
fn who_comes_late_hears_at_once_where_it_is() {
    let track = &tracks()[1];
    let from = parse_time("2026-11-25T18:00:00Z").unwrap();
    let pass = passes(track, from, 1.0, 0.0).unwrap().remove(0);
    let occasion = occasion(track, &pass);
    let cues = script(&occasion, Style::Words, pass.highest).unwrap();
    assert_eq!(cues[0].time, pass.highest);
    assert!(cues[0].words.starts_with("GANNET-1 is up. Face "), "{}", cues[0].words);
    let aim = cues[0].aim.unwrap();
    let satellite = AzEl::new(pass.highest_azimuth_deg, pass.max_elevation_deg);
    assert!(aim.angle_to(satellite) < 15.0, "{aim:?} {satellite:?}");
}
