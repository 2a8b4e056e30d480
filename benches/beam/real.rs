//! Six passes at their real pace: the player's own thread on a real pseudo-terminal, a simulated mount at
//! its far end, and the clock on the wall.

use std::sync::Arc;
use std::time::Duration;

use beamhand::beam::{Aim, Mount};
use beamhand::clock::ScaledClock;
use beamhand::device::line::{LineSetup, LineThread, Raise, SerialOpener};
use beamhand::device::{DeviceSetup, HaltLatch, LinePlan, Order, RotatorOrder, RotatorSetup};
use beamhand::sim::mount::{MountSettings, Words, WordsSettings};
use beamhand::sim::{Handles, Outlet, Wire, WireSettings};
use beamhand::terms::{AzEl, later, seconds_between};

use crate::driven::{DEAD_BAND, Driven, quiet, tell};
use crate::passes::{Flight, evenly};
use crate::wired::{mount_of, setup};
use crate::{BEAM, mounts};

/// The mount stands so far from where the satellite rises, degrees, and is sent there so long before.
const AWAY_DEG: f64 = 60.0;
const BEFORE_S: f64 = 60.0;
/// The line's speed.
const BAUD: u32 = 9600;
/// Of low satellites, so that it does not take all day: passes last no longer than this, seconds.
const LONGEST_S: f64 = 840.0;
/// Their highest elevations, degrees, the mounts by number, and whether it is quiet motion.
const PASSES: [(f64, usize, bool); 6] = [
    (65.0, 0, false),
    (89.0, 1, false),
    (84.0, 2, true),
    (80.0, 3, true),
    (89.0, 4, false),
    (75.0, 5, false),
];

/// Plays all six side by side.
pub(crate) fn run() {
    let flights = evenly(200);
    let short = |flight: &&Flight| seconds_between(flight.span.from, flight.span.until) < LONGEST_S;
    let played: Vec<(String, Driven)> = std::thread::scope(|scope| {
        let threads: Vec<_> = PASSES
            .iter()
            .enumerate()
            .map(|(number, (highest, mount, quietly))| {
                let off = |flight: &Flight| (flight.highest - highest).abs();
                let nearest = flights.iter().filter(short).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap();
                let (name, mut mount) = mounts().swap_remove(*mount);
                mount.quiet = quietly.then(|| quiet(BEAM));
                let motion = if *quietly { "quiet" } else { "close" };
                let name = format!("{name}, highest {:.0}, {motion}", nearest.highest);
                scope.spawn(move || one(number, name, &mount, nearest))
            })
            .collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    println!("six passes at their real pace on pseudo-terminals, {BAUD} baud; degrees on the sky");
    println!("{:<38}{:>10}{:>10}{:>10}{:>8}", "mount", "planned", "driven", "off plan", "starts");
    played.iter().for_each(|(line, driven)| {
        println!("{line}{:>10.2}{:>10.2}{:>8}", driven.worst, driven.off_plan, driven.starts);
    });
}

fn one(number: usize, name: String, mount: &Mount, flight: &Flight) -> (String, Driven) {
    let aim = Aim::new(flight.track.clone(), mount.clone(), flight.span, 1).unwrap();
    let prospect = aim.prospect().unwrap();
    let setup = RotatorSetup {
        azimuth: mount.azimuth,
        elevation: mount.elevation,
        slew: mount.slew,
        acceleration: mount.acceleration,
        dead_band: DEAD_BAND,
        worthwhile: DEAD_BAND,
        ..setup()
    };
    let rises = prospect.rises_at.azimuth;
    let stands = if rises > 225.0 { rises - AWAY_DEG } else { rises + AWAY_DEG };
    let mut settings = MountSettings { start: AzEl::new(stands, 0.0), ..mount_of(&setup) };
    settings.azimuth.limits.acceleration = mount.acceleration.azimuth;
    settings.elevation.limits.acceleration = mount.acceleration.elevation;
    let device =
        Words::new(WordsSettings { mount: settings, ..WordsSettings::default() }, Handles::default());
    let wire = Wire::new(device, WireSettings { baud: BAUD, ..WireSettings::default() });
    let clock = Arc::new(ScaledClock::new(later(flight.span.from, -BEFORE_S), 1.0));
    let link = std::env::temp_dir().join(format!("beam-{}-{number}", std::process::id()));
    let outlet = Outlet::open(&link, wire, clock.clone()).unwrap();
    let port = LineSetup { port: link, baud: BAUD, stop_bits: 1, raise: Raise::default() };
    let plan = LinePlan {
        port: port.clone(),
        answer: Duration::from_millis(500),
        speed: 1.0,
        devices: vec![DeviceSetup::Rotator(setup)],
    };
    let opener = Arc::new(SerialOpener(port));
    let line = LineThread::start("mast", plan.line(), opener, clock, HaltLatch::default()).unwrap();
    line.order(0, Order::Rotator(RotatorOrder::Follow(Arc::new(aim.clone()))));
    let lasts = seconds_between(flight.span.from, flight.span.until);
    std::thread::sleep(Duration::from_secs_f64(BEFORE_S + lasts + 1.0));
    let pace = line.status()[0].rotator().unwrap().pace;
    drop(line);
    let driven = tell(&outlet.handles().record, &aim, flight, |after| later(flight.span.from, after));
    eprintln!("{name}: learnt {pace:?}");
    (format!("{name:<38}{:>10.2}", prospect.worst_deg), driven)
}
