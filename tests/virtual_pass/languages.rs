//! One pass in each wire language, at some 500 km and 435 MHz. The dials follow every step, as in
//! SSB, or what is worth it in FM; the judge is the equipment's own record.

use beamhand::terms::{Direction, Mode};

use crate::repertoire::{Follow, Piece, Radios};
use crate::theatre::{MAST, Theatre, demo_with, mast};

/// Plays the pass and judges it.
#[track_caller]
fn follows(dialect: &'static str, radios: Radios, follow: Follow) {
    let piece = Piece { dialect, radios, follow };
    let mut theatre = Theatre::open(demo_with(&(piece.equipment() + MAST)));
    theatre.start();
    theatre.play_until(0.0);
    let now = theatre.station.now();
    let transmitter = theatre.record(piece.of(Direction::Transmit));
    assert_eq!(transmitter.transmit_mode_at(now), Some(Mode::Fm), "{dialect}");
    assert_eq!(transmitter.tone_at(now).map(|tone| tone.tenths()), Some(670), "{dialect}");
    let commands =
        |theatre: &Theatre| theatre.station.radios().iter().map(|radio| radio.commands).sum::<u64>();
    let before = commands(&theatre);
    theatre.station.run_until(theatre.stage.job.span.until);
    let sent = commands(&theatre) - before;
    let worth = piece.needed(&theatre.stage.job, theatre.stage.job.span);
    assert!(
        sent as f64 <= 1.3 * worth,
        "{dialect}: {sent} commands for {worth:.0} changes that are worth one"
    );
    for direction in Direction::BOTH {
        let score = theatre.dial(piece.of(direction), direction);
        assert!(score.within >= 0.99, "{dialect} {direction}: {score:?}");
        assert_eq!(theatre.record(piece.of(direction)).counts().refused, 0, "{dialect} {direction}");
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
