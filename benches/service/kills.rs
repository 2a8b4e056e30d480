//! A daemon that is killed again and again in a session.

use std::collections::HashSet;
use std::time::Instant;

use beamhand::control::{DeviceState, State};
use beamhand::sim::Change;
use beamhand::terms::{Direction, Hertz, Time, seconds_between};
use chrono::Utc;

use crate::patience::let_pass;
use crate::process::Daemon;
use crate::station::Station;
use crate::{Chance, spread};

/// A dial this far from the textbook's value is no longer, or not yet, tuned; steps and a command's
/// time on the wire take some of it.
const CLOSE_HZ: f64 = 60.0;
/// So many kills fit into what is left of a pass, with room at its end.
const KILLS_A_PASS: u32 = 40;
/// A daemon that has not settled by then never does, seconds.
const NEVER_S: f64 = 20.0;
/// From then to the next kill at most, seconds.
const SETTLED_S: f64 = 3.0;
/// Every third daemon is killed as early as this, whatever it is at, seconds.
const EARLY_S: f64 = 1.5;

#[derive(Default)]
struct Tally {
    kills: u32,
    ready_s: Vec<f64>,
    tracking_s: Vec<f64>,
    settled_s: Vec<f64>,
    never: u32,
    wrong: usize,
    violations: usize,
}

/// Prints how the next daemon went on after each of `kills` kills.
pub(crate) fn run(kills: u32, seed: u32) {
    let (mut tally, mut chance) = (Tally::default(), Chance(u64::from(seed)));
    while tally.kills < kills {
        let some = (kills - tally.kills).min(KILLS_A_PASS);
        pass(&mut tally, &mut chance, some);
        println!("{} of {kills} kills", tally.kills);
    }
    println!("refusals to start: 0 (one would have ended this)");
    println!("ready after, s: {}", spread(tally.ready_s));
    println!("a fresh value on the receiver, s: {}", spread(tally.tracking_s));
    println!("all settled again, s: {}", spread(tally.settled_s));
    println!("never settled: {}", tally.never);
    println!("wrong tunings: {}, violations: {}", tally.wrong, tally.violations);
}

fn pass(tally: &mut Tally, chance: &mut Chance, kills: u32) {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    station.work();
    let begun = Utc::now();
    for kill in 0..kills {
        if kill % 3 == 2 {
            let_pass(chance.seconds_up_to(EARLY_S));
        } else {
            until_settled(&station, tally);
            let_pass(chance.seconds_up_to(SETTLED_S));
        }
        daemon.signal("KILL");
        daemon.wait();
        tally.kills += 1;
        daemon = restart(&station, tally);
    }
    until_settled(&station, tally);
    tally.wrong += wrong_tunings(&station, begun);
    tally.violations += station.radio.record().violations().len() + station.mast.record().violations().len();
}

fn restart(station: &Station, tally: &mut Tally) -> Daemon {
    let begin = Instant::now();
    let daemon = station.run();
    tally.ready_s.push(begin.elapsed().as_secs_f64());
    daemon
}

/// Waits until the daemon says that radio and session follow, and both dials are where they belong.
/// Times are counted from its readiness.
fn until_settled(station: &Station, tally: &mut Tally) {
    let (begin, ready) = (Instant::now(), Utc::now());
    while begin.elapsed().as_secs_f64() < NEVER_S {
        let (now, status) = (Utc::now(), station.status());
        let is_close = |direction| station.off(direction, now).is_some_and(|off: f64| off < CLOSE_HZ);
        if is_close(Direction::Receive)
            && is_close(Direction::Transmit)
            && status.state == State::Following
            && status.radios[0].state == DeviceState::Following
        {
            tally.settled_s.push(begin.elapsed().as_secs_f64());
            tally.tracking_s.extend(first_fresh(station, ready).map(|at| seconds_between(ready, at)));
            return;
        }
        let_pass(0.01);
    }
    tally.never += 1;
}

/// When the receiver was first given another value, and a good one.
fn first_fresh(station: &Station, ready: Time) -> Option<Time> {
    let record = station.radio.record();
    let before = record.receive_at(ready);
    let is_fresh = |hertz: Hertz, at| {
        Some(hertz) != before && (hertz.0 as f64 - station.wanted(Direction::Receive, at)).abs() < CLOSE_HZ
    };
    record.landings().iter().find_map(|landing| match landing.what {
        Change::Receive(hertz) if landing.at > ready && is_fresh(hertz, landing.at) => Some(landing.at),
        _ => None,
    })
}

/// Values that the radio was given since and had not before, far from where either direction
/// belonged at that moment. That two dials change places while the radio is prepared is no tuning.
fn wrong_tunings(station: &Station, since: Time) -> usize {
    let is_close =
        |at: Time, direction, hertz: Hertz| (hertz.0 as f64 - station.wanted(direction, at)).abs() < CLOSE_HZ;
    let (mut known, mut wrong) = (HashSet::new(), 0);
    for landing in station.radio.record().landings() {
        let (Change::Receive(hertz) | Change::Transmit(hertz)) = landing.what else { continue };
        let is_new = known.insert(hertz) && landing.at > since;
        if is_new
            && ![Direction::Receive, Direction::Transmit].iter().any(|way| is_close(landing.at, *way, hertz))
        {
            println!("wrong: {landing:?}");
            wrong += 1;
        }
    }
    wrong
}
