//! One pass in each of the remaining wire languages. The dials follow every step, as in SSB, or
//! what is worth it in FM; the judge is the equipment's own record.

use beamhand::terms::{Direction, Mode};

use crate::theatre::{MAST, Theatre, demo_with, mast, radio};

/// Two radios of one direction each, and a mast.
fn pair(dialect: &str) -> String {
    radio("receiver", dialect, "receive") + &radio("transmitter", dialect, "transmit") + MAST
}

/// The same without a worthwhile change of their own: in FM it is the mode's.
fn as_fm_has_it(equipment: &str) -> String {
    equipment.replace("worthwhile_hz = 10\n", "")
}

/// Frequencies whose last byte of digits is 08 or 88 are not set, because one byte too many on the
/// wire would make a key command of it: two steps of a hundred, at which the next one has to do.
#[test]
fn a_pair_of_five_byte_radios_follows_step_by_step() {
    let mut theatre = Theatre::open(demo_with(&pair("five-byte")));
    theatre.start();
    theatre.play_out();
    for (name, direction) in [("receiver", Direction::Receive), ("transmitter", Direction::Transmit)] {
        let score = theatre.dial(name, direction);
        assert!(score.within >= 0.98, "{direction}: {score:?}");
    }
    theatre.assert_no_violation();
}

#[test]
fn a_pair_of_five_byte_radios_follows_in_fm() {
    let mut theatre = Theatre::open(demo_with(&as_fm_has_it(&pair("five-byte"))));
    theatre.start();
    theatre.play_until(100.0);
    let (record, now) = (theatre.record("transmitter"), theatre.station.now());
    assert_eq!(record.transmit_mode_at(now), Some(Mode::Fm));
    assert_eq!(record.tone_at(now).map(|tone| tone.tenths()), Some(670));
    theatre.play_out();
    for (name, direction) in [("receiver", Direction::Receive), ("transmitter", Direction::Transmit)] {
        let score = theatre.dial(name, direction);
        assert!(score.within >= 0.99, "{direction}: {score:?}");
    }
    theatre.assert_no_violation();
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
