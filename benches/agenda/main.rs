//! The agenda of forty satellites for a week: how long the choice takes, and whether it is the best.
//!
//!     cargo bench --bench agenda [-- SMALL_CASES]
//!
//! Three lists are tried: forty ranks, three, and one. SMALL_CASES (2000 by default) of at most six
//! neighbouring passes are drawn from the week, and each choice is compared with all there are.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::time::{Duration, Instant};

use beamhand::agenda::{Agenda, Candidate, Path, Question, Turnaround};
use beamhand::beam::{Aim, Lean, Mount};
use beamhand::sky::{ElementSet, Station, Track, passes};
use beamhand::terms::{AngleRange, AzEl, Plan as _, Time, Validity, later, parse_time, seconds_between};

#[path = "../../tests/agenda/oracle.rs"]
mod oracle;

use oracle::{CHANGE_S, RANKS, SLEW, milliseconds, most_after, stretches, whole};

const SATELLITES: u32 = 40;
const WEEK_H: f64 = 168.0;
/// A pass below this is no pass, degrees.
const MINIMUM_ELEVATION: f64 = 5.0;
/// How often each list is timed; the median counts.
const TIMES: usize = 11;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with("--")).collect();
    let cases = words.first().and_then(|word| word.parse().ok()).unwrap_or(2000);
    let begin = Instant::now();
    let week = week();
    let searched = begin.elapsed();
    println!("{SATELLITES} satellites, a week: {} passes, found and aimed at in {searched:.1?}", week.len());
    for ranks in [SATELLITES as usize, 3, 1] {
        let week: Vec<Candidate> =
            week.iter().map(|pass| Candidate { rank: pass.rank % ranks, ..pass.clone() }).collect();
        let (took, agenda) = timed(&week);
        let minutes: f64 = agenda.chosen().map(|entry| entry.useful_s / 60.0).sum();
        let count = agenda.chosen().count();
        println!("{ranks:>2} ranks: chosen in {took:.1?}; {count} passes or pieces, {minutes:.0} minutes");
        assert!(took < Duration::from_millis(100), "slower than promised");
    }
    compare(&week, cases);
}

/// Every pass of forty invented satellites, each of another rank.
fn week() -> Vec<Candidate> {
    let from = parse_time("2026-11-23T00:00:00Z").unwrap();
    let station = Station::new(54.0, -2.5, 120.0).unwrap();
    let mut all = Vec::new();
    for number in 0..SATELLITES {
        let track = Track::new(&orbit(number, from), station).unwrap();
        for pass in passes(&track, from, WEEK_H, MINIMUM_ELEVATION).unwrap() {
            let (Some(aos), Some(los)) = (pass.aos, pass.los) else { continue };
            let useful = vec![Validity { from: aos, until: los }];
            let (satellite, link) = (format!("SKUA-{number}"), "beacon".to_owned());
            let path = path(&track, useful[0]);
            all.push(Candidate {
                satellite,
                link,
                listens: false,
                rank: number as usize,
                pass,
                useful,
                path,
            });
        }
    }
    all
}

/// Low orbits of all kinds: the golden angle spreads them over the sky.
fn orbit(number: u32, epoch: Time) -> ElementSet {
    let spread = f64::from(number) * 137.507_764;
    ElementSet {
        name: format!("SKUA-{number}"),
        catalog_number: 99_100 + number,
        epoch,
        inclination_deg: [51.6, 97.4, 66.0, 82.0][number as usize % 4],
        right_ascension_deg: spread % 360.0,
        eccentricity: 0.001,
        argument_of_perigee_deg: 0.0,
        mean_anomaly_deg: (spread * 3.0) % 360.0,
        mean_motion_rev_day: 14.0 + f64::from(number % 8) * 0.2,
        drag_term: 0.0,
    }
}

fn path(track: &Track, window: Validity) -> Option<Path> {
    let mount = Mount {
        azimuth: AngleRange::new(0.0, 450.0),
        elevation: Some(AngleRange::new(0.0, 90.0)),
        slew: AzEl::new(SLEW, SLEW),
        acceleration: AzEl::new(10.0, 10.0),
        park: AzEl::new(0.0, 0.0),
        beam_width: 30.0,
        no_go: Vec::new(),
        lean: Lean::NONE,
        quiet: None,
        resolution: 0.1,
    };
    let aim = Aim::new(track.clone(), mount, window, 1)?;
    let steps = (seconds_between(window.from, window.until) / 10.0).ceil() as u32;
    let points = (0..=steps).map_while(|step| aim.at(later(window.from, f64::from(step) * 10.0)));
    Path::new(window.from, 10.0, points.collect())
}

fn agenda(candidates: &[Candidate]) -> Agenda {
    let from = parse_time("2026-11-22T00:00:00Z").unwrap();
    let slew = Some(AzEl::new(SLEW, SLEW));
    let turnaround = Turnaround { slew, park: AzEl::new(0.0, 0.0), change_s: CHANGE_S };
    let question = Question { from, candidates, busy: None, turnaround, lead_s: 120.0, quiet: &[] };
    Agenda::of(&question, Vec::new())
}

fn timed(week: &[Candidate]) -> (Duration, Agenda) {
    let mut took: Vec<Duration> = Vec::new();
    for _ in 0..TIMES {
        let begin = Instant::now();
        std::hint::black_box(agenda(week));
        took.push(begin.elapsed());
    }
    took.sort_unstable();
    (took[TIMES / 2], agenda(week))
}

/// Neighbouring passes, as if the mount stood still in each: then every sum is exact.
fn compare(week: &[Candidate], cases: usize) {
    let mut in_order: Vec<&Candidate> = week.iter().collect();
    in_order.sort_by_key(|pass| pass.pass.aos);
    let (mut meet, mut worse) = (0, 0);
    for case in 0..cases {
        let first = case * 7919 % (in_order.len() - 6);
        let few: Vec<Candidate> = in_order[first..first + 3 + case % 4]
            .iter()
            .enumerate()
            .map(|(number, pass)| {
                let satellite = format!("SKUA-{number}");
                let path = pass.aim(pass.pass.highest).and_then(|at| {
                    let level = AzEl::new(at.azimuth, 0.0);
                    Path::new(pass.pass.highest, 10.0, vec![level])
                });
                Candidate { satellite, rank: pass.rank % RANKS, path, ..(*pass).clone() }
            })
            .collect();
        let mut got = [0; RANKS];
        for entry in agenda(&few).chosen() {
            let own = few.iter().find(|pass| pass.satellite == entry.satellite).unwrap();
            got[own.rank] += milliseconds(entry.useful_s);
        }
        let all: Vec<oracle::Stretch> = few.iter().map(whole).collect();
        let best = most_after(None, &stretches(&all));
        let total: u64 =
            all.iter().map(|one| milliseconds(seconds_between(one.span.from, one.span.until))).sum();
        meet += usize::from(got.iter().sum::<u64>() < total);
        worse += usize::from(got < best);
    }
    println!("{cases} small cases, in {meet} of them something is lost: worse than the best in {worse}");
    assert_eq!(worse, 0);
}
