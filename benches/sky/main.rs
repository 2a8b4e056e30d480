//! How fast and how complete the search for passes is.
//!
//!     cargo bench --bench sky [-- speed year threads looks completeness]
//!
//! Everything is computed in one run on invented satellites, always the same ones. The plain search
//! that looks every 30 seconds is run on fewer of them and its time is scaled up; the table says so.

#![allow(clippy::unwrap_used)]

#[path = "../../tests/sky/brute.rs"]
mod brute;
#[path = "../../tests/sky/invented.rs"]
mod invented;
// A benchmark is built as a test is, but does not run its tests.
#[allow(unused_imports)]
#[path = "../../src/cli/spread.rs"]
mod spread;

use std::hint::black_box;
use std::time::Instant;

use beamhand::sky::passes::{passes_counted, stepping};
use beamhand::sky::{ElementSet, Propagator, Station, Track, passes};
use beamhand::terms::later;
use brute::{Verdict, changes};
use invented::{Chance, any, low, start, stations};
use spread::spread;

const WEEK_H: f64 = 168.0;

fn main() {
    let sets: Vec<ElementSet> = many(10_000);
    let parts: [(&str, &dyn Fn()); 5] = [
        ("speed", &|| speed(&sets[..1000])),
        ("year", &|| year(&sets[..20])),
        ("threads", &|| threads(&sets)),
        ("looks", &|| looks(&sets[0])),
        ("completeness", &completeness),
    ];
    let named: Vec<String> = std::env::args().collect();
    let is_named = |part: &str| named.iter().any(|name| name == part);
    let all = !parts.iter().any(|(part, _)| is_named(part));
    println!("{:<58} {:>10} {:>8}", "", "measured", "goal");
    parts.iter().filter(|(part, _)| all || is_named(part)).for_each(|(_, measure)| measure());
}

fn many(count: u32) -> Vec<ElementSet> {
    let mut chance = Chance(1);
    (1..=count).map(|number| low(number, &mut chance)).collect()
}

fn here() -> Station {
    stations()[0]
}

fn tracks(sets: &[ElementSet]) -> Vec<Track> {
    sets.iter().map(|set| Track::new(set, here()).unwrap()).collect()
}

fn seconds(work: impl FnOnce()) -> f64 {
    let began = Instant::now();
    work();
    began.elapsed().as_secs_f64()
}

fn line(what: &str, measured: String, goal: &str) {
    println!("{what:<58} {measured:>10} {goal:>8}");
}

/// The least of several measurements, taken in turn: others may use the computer meanwhile.
fn least<const N: usize>(works: [&mut dyn FnMut(); N]) -> [f64; N] {
    const TIMES: usize = 5;
    let mut least = [f64::INFINITY; N];
    let mut works = works;
    for _ in 0..TIMES {
        for (work, least) in works.iter_mut().zip(&mut least) {
            *least = least.min(seconds(work));
        }
    }
    least
}

fn speed(sets: &[ElementSet]) {
    const FEW: usize = 50;
    let tracks = tracks(sets);
    let (mut found, mut propagations) = (0, 0);
    let mut search = || {
        (found, propagations) = (0, 0);
        for track in &tracks {
            let (passes, count) = passes_counted(track, start(), WEEK_H, 0.0).unwrap();
            found += passes.len();
            propagations += count;
        }
    };
    let mut plainly = || {
        for track in &tracks[..FEW] {
            black_box(stepping::passes(track, start(), WEEK_H, 0.0).unwrap());
        }
    };
    let [ours, plain] = least([&mut search, &mut plainly]);
    let plain = plain * tracks.len() as f64 / FEW as f64;
    line("1000 low satellites, a week, one thread", format!("{ours:.2} s"), "");
    line(&format!("  the plain search ({FEW} of them, scaled)"), format!("{plain:.2} s"), "");
    line("  times as fast", format!("{:.1}", plain / ours), ">= 25");
    line("  passes found", found.to_string(), "");
    line("  propagations a pass", format!("{:.1}", propagations as f64 / found as f64), "<= 15");
}

fn year(sets: &[ElementSet]) {
    let tracks = tracks(sets);
    let through = |hours: f64| {
        seconds(|| {
            for track in &tracks {
                black_box(passes(track, start(), hours, 0.0).unwrap());
            }
        })
    };
    let week = (0..20).map(|_| through(WEEK_H)).sum::<f64>() / 20.0;
    let year = through(365.25 * 24.0);
    line("a year against a week of one satellite", format!("{:.1} x", year / week), "<= 55");
}

fn threads(sets: &[ElementSet]) {
    let tracks = tracks(sets);
    let on = |threads: usize| {
        seconds(|| {
            black_box(spread(&tracks, threads, |track| passes(track, start(), 24.0, 0.0).unwrap(), |_| {}));
        })
    };
    let (one, two) = (on(1), on(2));
    line("10,000 satellites, a day, one thread", format!("{one:.2} s"), "");
    line("  two threads", format!("{two:.2} s"), "");
    line("  times as fast", format!("{:.2}", one / two), ">= 1.8");
}

fn looks(set: &ElementSet) {
    const COUNT: u32 = 1_000_000;
    let (track, propagator) = (Track::new(set, here()).unwrap(), Propagator::new(set).unwrap());
    let times: Vec<_> = (0..COUNT).map(|count| later(start(), f64::from(count) * 0.6)).collect();
    let [bare, seen, whole] = least([
        &mut || times.iter().for_each(|&time| drop(black_box(propagator.at(time)))),
        &mut || times.iter().for_each(|&time| drop(black_box(track.topocentric(time)))),
        &mut || times.iter().for_each(|&time| drop(black_box(track.at(time)))),
    ]);
    let a_second = |taken: f64| format!("{:.2} M", f64::from(COUNT) / taken / 1e6);
    line("propagations a second", a_second(bare), "");
    line("direction, distance and its change, a second", a_second(seen), "");
    line("  against propagations", format!("{:.2} x", bare / seen), ">= 0.7");
    line("the same with Sun and the point below, a second", a_second(whole), "");
    line("  against propagations", format!("{:.2} x", bare / whole), "");
}

fn completeness() {
    for (minimum, hours) in [(0.0, 72.0), (10.0, 24.0)] {
        let (mut verdict, mut chance) = (Verdict::default(), Chance(2));
        for number in 1..=66 {
            let set = any(number, &mut chance);
            let truth = changes(&set, &stations(), minimum, start(), hours);
            for (station, truth) in stations().into_iter().zip(&truth) {
                let track = Track::new(&set, station).unwrap();
                verdict.judge(&passes(&track, start(), hours, minimum).unwrap(), truth);
            }
        }
        let what = format!("brute force: 66 satellites, 3 stations, {hours} h, {minimum} deg");
        line(&what, format!("{} found", verdict.passes), "");
        line("  missed", verdict.missed.to_string(), "0");
        line("  made up", verdict.invented.to_string(), "0");
        line("  worst AOS or LOS", format!("{:.4} s", verdict.worst_s), "<= 0.01");
    }
}
