//! How often silence is called a satellite, and a satellite is heard; how often the limits of two antennas'
//! difference hold the truth; how near the proposed horizon comes; and how long a month's report takes.
//!
//!     cargo bench --bench listening
//!     cargo bench --bench listening -- alarms|antennas|horizon|speed

#![allow(clippy::unwrap_used, dead_code, unused_imports)]

#[path = "../../tests/listening/alarms.rs"]
mod alarms;
#[path = "../../tests/listening/antennas.rs"]
mod antennas;
#[path = "../../tests/listening/chance.rs"]
mod chance;
#[path = "../../tests/listening/orbit.rs"]
mod orbit;
#[path = "../../tests/listening/skyline.rs"]
mod skyline;
#[path = "../../tests/listening/world.rs"]
mod world;

use std::time::Instant;

use beamhand::listening::{FALSE_ALARMS, Spell, State, Study, form};

fn main() {
    let wanted: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with('-')).collect();
    let parts: [(&str, fn()); 4] =
        [("alarms", alarms), ("antennas", antennas), ("horizon", horizon), ("speed", speed)];
    for (name, part) in parts {
        if wanted.is_empty() || wanted.iter().any(|word| word == name) {
            part();
        }
    }
}

/// 70 months of 150 passes for each bad station; four months for each living satellite.
fn alarms() {
    println!("false alarms, stated {:.1} %:", 100.0 * FALSE_ALARMS);
    for (name, world) in alarms::dead() {
        say(name, &alarms::months(&world, 70, 5_000, |_| true));
    }
    println!("heard, passes of 15 degrees or more:");
    for (name, world, _) in alarms::alive() {
        say(name, &alarms::months(&world, 10, 9_000, |pass| pass.highest_deg >= 15.0));
    }
}

fn say(name: &str, tally: &alarms::Tally) {
    println!(
        "  {name:38} {:5} of {:5} judged ({:5} passes): {:.2} %; months active {}, quiet {}, undecided {}",
        tally.heard,
        tally.judged,
        tally.passes,
        100.0 * tally.share(),
        tally.states(State::Active),
        tally.states(State::Quiet),
        tally.states(State::Undecided)
    );
}

fn antennas() {
    let (held, mean) = antennas::coverage(1_000);
    println!(
        "antennas: the limits hold the truth in {:.1} % of 1,000 runs; mean {mean:.2}, true 8",
        100.0 * held
    );
}

fn horizon() {
    for passes in [75, 150, 300, 600] {
        let runs: Vec<(f64, f64, usize)> = (0..20).map(|seed| skyline::distance(passes, seed)).collect();
        let good = runs.iter().filter(|run| run.0 <= 2.0).count();
        let mean = runs.iter().map(|run| run.1).sum::<f64>() / 20.0;
        let largest = runs.iter().map(|run| run.0).fold(0.0, f64::max);
        println!(
            "horizon, {passes} passes: within 2 degrees all round in {good} of 20 runs; mean {mean:.2}, largest {largest:.2}"
        );
    }
}

/// Thirty days of twenty links, from bytes to findings.
fn speed() {
    let mut files: Vec<Vec<u8>> = Vec::new();
    for link in 0..20 {
        let mut file = Vec::new();
        world::World::new(world::Life::Alive).listen(150, link, |spell| {
            file.extend(form::write(&Spell { satellite: format!("GANNET-{link}"), ..spell.clone() }));
        });
        files.push(file);
    }
    let bytes: usize = files.iter().map(Vec::len).sum();
    let (began, mut study, mut readings) = (Instant::now(), Study::default(), 0);
    for spell in files.iter().flat_map(|file| form::read(file)) {
        let spell = spell.unwrap();
        readings += spell.readings.len();
        study.add(&spell);
    }
    let read = began.elapsed();
    let links = study.findings().len();
    println!(
        "{links} links, {readings} readings, {bytes} bytes: read in {:.2} s, findings after {:.2} s",
        read.as_secs_f64(),
        began.elapsed().as_secs_f64()
    );
}
