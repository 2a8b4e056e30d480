//! Thirty days of the listening watch with twenty links, in virtual time: what the planning, the geometry
//! and the files take, and the program's own report over them. The radio's own line is left out; `cost` has
//! that.

use std::collections::BTreeMap;
use std::process::Command;
use std::time::{Duration, Instant};

use beamhand::config::{Config, DefaultPaths};
use beamhand::daemon::{Catalog, Planner};
use beamhand::link::{Link, LinkKind, Satellite};
use beamhand::listening::{Reading, Sight, Spell, form};
use beamhand::session::Job;
use beamhand::sky::ElementSet;
use beamhand::terms::{Hertz, Mode, Plan as _, Time, later, seconds_between};
use chrono::Utc;

use crate::Chance;

const LINKS: u32 = 20;
/// Readings a second: what the daemon asks for at least.
const RATE: f64 = 5.0;
/// The daemon looks ahead so far, makes its agenda anew so often, and writes so often, hours and seconds.
const HORIZON_H: f64 = 24.0;
const RENEW_S: f64 = 600.0;
const WRITE_S: f64 = 30.0;
/// Forty satellites the clock round for a month.
const FULL_MONTH: f64 = 30.0 * 86_400.0 * RATE;

/// What it came to.
#[derive(Default)]
struct Sums {
    planning: Duration,
    outlooks: u32,
    hearing: Duration,
    spells: u32,
    readings: u64,
    bytes: u64,
    read: Duration,
}

pub(crate) fn run(days: u32) {
    let until = Utc::now();
    let from = later(until, f64::from(days) * -86_400.0);
    let planner = planner(from);
    let (mut sums, mut files) = (Sums::default(), BTreeMap::<String, Vec<u8>>::new());
    let mut chance = Chance(1);
    let mut now = from;
    while now < until {
        let begin = Instant::now();
        let outlook = planner.outlook(now, HORIZON_H, None);
        let next = outlook.agenda.next(now).cloned();
        let begins = next.as_ref().map_or(until, |entry| entry.span.from.max(now));
        // While nothing is on, the agenda is made anew all the same.
        let idle = (seconds_between(now, begins) / RENEW_S) as u32;
        (0..idle).for_each(|_| drop(planner.outlook(now, HORIZON_H, None)));
        let job = next.as_ref().map(|entry| planner.job_for(entry, 1).unwrap());
        sums.planning += begin.elapsed();
        sums.outlooks += 1 + idle;
        let Some(job) = job else { break };
        let begin = Instant::now();
        let bytes = listen(&job, now, &mut chance, &mut sums);
        sums.hearing += begin.elapsed();
        sums.bytes += bytes.len() as u64;
        files.entry(form::file_name(job.span.from)).or_default().extend(bytes);
        sums.spells += 1;
        now = later(job.span.until, 1.0);
    }
    let begin = Instant::now();
    let read: usize =
        files.values().flat_map(|bytes| form::read(bytes)).map(|spell| spell.unwrap().readings.len()).sum();
    sums.read = begin.elapsed();
    assert_eq!(read as u64, sums.readings);
    tell(days, &sums);
    report(days, &files);
}

/// The time that the program itself takes for its report over all of it.
fn report(days: u32, files: &BTreeMap<String, Vec<u8>>) {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        std::fs::write(folder.path().join(name), bytes).unwrap();
    }
    let days = (days + 1).to_string();
    let mut command = Command::new(env!("CARGO_BIN_EXE_beamhand"));
    command.args(["listening", "--days", &days, "--folder"]).arg(folder.path());
    let begin = Instant::now();
    let said = command.output().unwrap();
    let took = begin.elapsed();
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    println!("`beamhand listening` over all of it: {took:.2?}");
}

fn tell(days: u32, sums: &Sums) {
    let seconds = f64::from(days) * 86_400.0;
    let share = |took: Duration| 100.0 * took.as_secs_f64() / seconds;
    let each = sums.bytes as f64 / sums.readings as f64;
    println!(
        "{days} days, {LINKS} links: {} spells, {} readings ({:.0} % of the time), {:.1} MB",
        sums.spells,
        sums.readings,
        100.0 * sums.readings as f64 / RATE / seconds,
        sums.bytes as f64 / 1e6
    );
    println!(
        "planning: {} agendas in {:.1?}, {:.3} % of a processor; geometry and form: {:.1?}, {:.3} %",
        sums.outlooks,
        sums.planning,
        share(sums.planning),
        sums.hearing,
        share(sums.hearing)
    );
    println!("all of it read again in {:.2?}", sums.read);
    let month = each * FULL_MONTH / 1e6;
    println!("{each:.2} bytes a reading: a month of listening the clock round takes {month:.1} MB");
    assert!(month < 50.0, "more than was promised");
}

/// A pass as a radio would tell it: a trembling meter, a dial in steps of 500 Hz.
fn listen(job: &Job, from: Time, chance: &mut Chance, sums: &mut Sums) -> Vec<u8> {
    let listening = job.listening.as_ref().unwrap();
    let mut spell = Spell {
        satellite: job.satellite.clone(),
        link: job.tuning.link().name.clone(),
        antenna: "wire".to_owned(),
        downlink: job.tuning.link().downlink,
        pass: listening.watch.up,
        others: listening.others.clone(),
        readings: Vec::new(),
    };
    let (mut at, mut bytes) = (job.span.from.max(from), Vec::new());
    let mut written = at;
    while at < job.span.until {
        spell.readings.push(reading(job, at, chance));
        sums.readings += 1;
        // Lines and computers are late by some milliseconds.
        at = later(at, 1.0 / RATE + chance.seconds_up_to(0.03) - 0.015);
        if seconds_between(written, at) >= WRITE_S || at >= job.span.until {
            bytes.extend(form::write(&spell));
            spell.readings.clear();
            written = at;
        }
    }
    bytes
}

fn reading(job: &Job, at: Time, chance: &mut Chance) -> Reading {
    let look = job.track.at(at).unwrap();
    let wanted = job.tuning.at(at).unwrap().receive.unwrap().hertz;
    let is_heard = look.elevation_deg > 5.0;
    let signal = if is_heard { 40.0 - 20.0 * (look.range_km / 500.0).log10() } else { 10.0 };
    Reading {
        at,
        shift_hz: (wanted - job.tuning.link().downlink).to_step(Hertz(500)).as_f64() as f32,
        meter: Some((signal as i64 + chance.below(7) as i64 - 3).max(0) as u16),
        is_open: Some(is_heard),
        sight: Sight {
            azimuth_deg: look.azimuth_deg as f32,
            elevation_deg: look.elevation_deg as f32,
            range_km: look.range_km as f32,
            is_sunlit: look.sunlit,
        },
    }
}

fn planner(epoch: Time) -> Planner {
    let links: Vec<String> = (0..LINKS).map(|number| format!("\"SKUA-{number}\"")).collect();
    let text = format!(
        "format = 1\n[station]\nlatitude = 54\nlongitude = -2.5\n[listening]\nsatellites = [{}]\n\
         [[radio]]\nname = \"a\"\nuse = \"receive\"\nport = \"/dev/a\"\ndialect = \"semicolon-eleven\"\n",
        links.join(", ")
    );
    let config = Config::parse("/a.toml".as_ref(), &text, &DefaultPaths::system()).unwrap();
    let satellites = (0..LINKS).map(satellite).collect();
    let sets = (0..LINKS).map(|number| orbit(number, epoch)).collect();
    Planner::new(&config, Catalog::new(satellites, sets))
}

fn satellite(number: u32) -> Satellite {
    let link = Link {
        name: "beacon".to_owned(),
        kind: LinkKind::Beacon,
        downlink: Hertz(435_200_000 + 30_000 * i64::from(number)),
        mode: Mode::Fm,
        uplink: None,
        on: Vec::new(),
        sunlight_only: false,
        note: None,
    };
    Satellite {
        name: format!("SKUA-{number}"),
        catalog_number: 99_100 + number,
        exchange_name: None,
        note: None,
        links: vec![link],
    }
}

/// Low orbits of all kinds: the golden angle spreads them over the sky.
fn orbit(number: u32, epoch: Time) -> ElementSet {
    let spread = f64::from(number) * 137.508;
    ElementSet {
        name: format!("SKUA-{number}"),
        catalog_number: 99_100 + number,
        epoch,
        inclination_deg: 51.0 + f64::from(number) * 2.4,
        right_ascension_deg: spread.rem_euclid(360.0),
        eccentricity: 0.001,
        argument_of_perigee_deg: 90.0,
        mean_anomaly_deg: (spread * 3.0).rem_euclid(360.0),
        mean_motion_rev_day: 14.0 + f64::from(number % 6) * 0.25,
        drag_term: 0.0,
    }
}
