//! One pass in each wire language, at some 500 km and 435 MHz. The dials follow every step, as in
//! SSB, or what is worth it in FM; the judge is the equipment's own record.

use beamhand::terms::{Direction, Mode, Plan, later};

use crate::theatre::{MAST, Theatre, demo_with, mast, radio};

/// The radios of a station.
#[derive(Clone, Copy)]
enum Radios {
    /// One for both directions.
    Duplex,
    /// One for each.
    Pair,
}

/// How closely the dials follow.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Follow {
    /// Every step of 10 Hz.
    Steps,
    /// What is worth it in FM: 500 Hz.
    Fm,
}

impl Follow {
    fn worthwhile(self) -> f64 {
        match self {
            Follow::Steps => 10.0,
            Follow::Fm => 500.0,
        }
    }
}

/// The radio of each direction: its name.
fn of(radios: Radios, direction: Direction) -> &'static str {
    match (radios, direction) {
        (Radios::Duplex, _) => "duplex",
        (Radios::Pair, Direction::Receive) => "receiver",
        (Radios::Pair, Direction::Transmit) => "transmitter",
    }
}

fn theatre(dialect: &str, radios: Radios, follow: Follow) -> Theatre {
    let mut equipment = match radios {
        Radios::Duplex => radio("duplex", dialect, "both"),
        Radios::Pair => radio("receiver", dialect, "receive") + &radio("transmitter", dialect, "transmit"),
    };
    if dialect == "fe-frames" {
        equipment = equipment.replace("step_hz", "address = 0x5A\nstep_hz");
    }
    if follow == Follow::Fm {
        equipment = equipment.replace("worthwhile_hz = 10\n", "");
    }
    Theatre::open(demo_with(&(equipment + MAST)))
}

/// Changes of a worthwhile size in a direction's plan over the pass.
fn needed(theatre: &Theatre, direction: Direction, follow: Follow) -> f64 {
    let job = &theatre.stage.job;
    let wanted = |second: u32| {
        let time = later(job.span.from, f64::from(second));
        Some(job.tuning.at(time)?.dial(direction)?.hertz.as_f64())
    };
    let slide = |second| Some((wanted(second + 1)? - wanted(second)?).abs());
    (0..900).filter_map(slide).sum::<f64>() / follow.worthwhile()
}

/// Plays the pass and judges it.
#[track_caller]
fn follows(dialect: &str, radios: Radios, follow: Follow) {
    let mut theatre = theatre(dialect, radios, follow);
    theatre.start();
    theatre.play_until(0.0);
    let now = theatre.station.now();
    let transmitter = theatre.record(of(radios, Direction::Transmit));
    assert_eq!(transmitter.transmit_mode_at(now), Some(Mode::Fm), "{dialect}");
    assert_eq!(transmitter.tone_at(now).map(|tone| tone.tenths()), Some(670), "{dialect}");
    let commands =
        |theatre: &Theatre| theatre.station.radios().iter().map(|radio| radio.commands).sum::<u64>();
    let before = commands(&theatre);
    theatre.station.run_until(theatre.stage.job.span.until);
    let sent = commands(&theatre) - before;
    let worth: f64 = Direction::BOTH.into_iter().map(|direction| needed(&theatre, direction, follow)).sum();
    assert!(
        sent as f64 <= 1.3 * worth,
        "{dialect}: {sent} commands for {worth:.0} changes that are worth one"
    );
    for direction in Direction::BOTH {
        let score = theatre.dial(of(radios, direction), direction);
        assert!(score.within >= 0.99, "{dialect} {direction}: {score:?}");
        assert_eq!(theatre.record(of(radios, direction)).counts().refused, 0, "{dialect} {direction}");
    }
    theatre.assert_no_violation();
}

#[test]
fn a_duplex_radio_of_every_language_follows_step_by_step() {
    for dialect in ["semicolon-eleven", "semicolon-nine", "fe-frames", "five-byte-duplex"] {
        follows(dialect, Radios::Duplex, Follow::Steps);
    }
}

#[test]
fn a_duplex_radio_of_every_language_follows_in_fm() {
    for dialect in ["semicolon-eleven", "semicolon-nine", "fe-frames", "five-byte-duplex"] {
        follows(dialect, Radios::Duplex, Follow::Fm);
    }
}

#[test]
fn a_pair_of_radios_of_every_language_follows_step_by_step() {
    for dialect in ["semicolon-eleven", "semicolon-nine", "fe-frames", "five-byte", "five-byte-duplex"] {
        follows(dialect, Radios::Pair, Follow::Steps);
    }
}

#[test]
fn a_pair_of_radios_of_every_language_follows_in_fm() {
    for dialect in ["semicolon-eleven", "semicolon-nine", "fe-frames", "five-byte", "five-byte-duplex"] {
        follows(dialect, Radios::Pair, Follow::Fm);
    }
}

#[test]
fn every_controller_keeps_the_satellite_in_the_beam() {
    for dialect in ["az-el-words", "w-lines", "thirteen-byte"] {
        let mut theatre = Theatre::open(demo_with(&mast(dialect)));
        theatre.start();
        theatre.play_out();
        let beam = theatre.beam();
        assert!(beam.within >= 0.99, "{dialect}: {beam:?}");
        assert_eq!(theatre.record("mast").counts().refused, 0, "{dialect}");
        theatre.assert_no_violation();
    }
}
