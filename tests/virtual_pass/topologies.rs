//! Every shape of station plays a pass; the judge is the equipment's own record.

use beamhand::sim::{Change, Fault};
use beamhand::terms::{Direction, Hertz, Mode, Segment, Segments, Tone};

use crate::stations::{self, Station};
use crate::theatre::{MAST, Theatre, demo_with};

fn opened(station: &Station) -> Theatre {
    Theatre::open_for(demo_with(&station.equipment), station.satellite, None)
}

/// Started, and played to just before AOS.
fn prepared(station: &Station) -> Theatre {
    let mut theatre = opened(station);
    theatre.start();
    theatre.play_until(-1.0);
    theatre
}

#[track_caller]
fn assert_follows(theatre: &Theatre, name: &str, direction: Direction) {
    let score = theatre.dial(name, direction);
    assert!(score.within >= 0.99, "{name} {direction}: {score:?}");
    assert_eq!(theatre.record(name).counts().refused, 0, "{name}");
}

#[test]
fn bands_that_the_operator_left_crossed_are_exchanged_before_aos_and_given_back_crossed() {
    for dialect in ["fe-frames", "semicolon-two-bands"] {
        let mut theatre = prepared(&stations::crossed(dialect));
        let (record, now) = (theatre.record("set").clone(), theatre.station.now());
        // PETREL-1 listens on 435.347 MHz and sends on 145.891 MHz; Doppler is at most 11 kHz.
        let near = |hertz: Option<Hertz>, middle| (hertz.unwrap() - Hertz(middle)).abs() < Hertz(11_000);
        assert!(near(record.transmit_at(now), 435_347_000), "{dialect}: {:?}", record.transmit_at(now));
        assert!(near(record.receive_at(now), 145_891_000), "{dialect}: {:?}", record.receive_at(now));
        assert_eq!(record.tone_at(now), Tone::from_tenths(1413).ok(), "{dialect}");
        theatre.play_out();
        for direction in Direction::BOTH {
            assert_follows(&theatre, "set", direction);
        }
        let now = theatre.station.now();
        assert_eq!(record.receive_at(now), Some(Hertz(435_000_000)), "{dialect}");
        assert_eq!(record.transmit_at(now), Some(Hertz(145_850_000)), "{dialect}");
        assert_eq!(theatre.station.radios()[0].radio().unwrap().notes, [], "{dialect}");
        theatre.assert_no_violation();
    }
}

#[test]
fn a_radio_taken_in_mid_pass_with_everything_left_on_transmits_nowhere_outside_the_segments() {
    for dialect in ["semicolon-eleven", "semicolon-nine", "fe-frames", "five-byte-duplex"] {
        let equipment = stations::fm_radio("set", dialect, "both") + MAST;
        let mut theatre = Theatre::open(demo_with(&equipment));
        theatre.play_until(30.0);
        theatre.start();
        theatre.play_until(90.0);
        theatre.assert_no_violation();
    }
}

#[test]
fn two_radios_of_two_languages_follow_one_direction_each() {
    for (receiver, transmitter) in [
        ("semicolon-nine", "five-byte"),
        ("five-byte", "fe-frames"),
        ("five-byte-duplex", "semicolon-eleven"),
    ] {
        let mut theatre = prepared(&stations::pair(receiver, transmitter));
        theatre.play_out();
        assert_follows(&theatre, "receiver", Direction::Receive);
        assert_follows(&theatre, "transmitter", Direction::Transmit);
        theatre.assert_no_violation();
    }
}

#[test]
fn a_receiver_by_itself_follows_in_every_language() {
    for dialect in ["semicolon-eleven", "semicolon-nine", "fe-frames", "five-byte", "five-byte-duplex"] {
        let mut theatre = prepared(&stations::receive_only(dialect));
        theatre.play_out();
        assert_follows(&theatre, "receiver", Direction::Receive);
        theatre.assert_no_violation();
    }
}

#[test]
fn a_mount_that_only_turns_keeps_the_satellites_azimuth() {
    for dialect in ["w-lines", "az-el-words"] {
        let mut theatre = prepared(&stations::azimuth_only(dialect));
        theatre.play_out();
        let beam = theatre.beam();
        assert!(beam.within >= 0.99, "{dialect}: {beam:?}");
        assert_eq!(theatre.record("mast").counts().refused, 0, "{dialect}");
        assert!(theatre.record("mast").aims().len() > 20, "{dialect}");
        theatre.assert_no_violation();
    }
}

#[test]
fn two_radios_on_one_bus_follow_one_direction_each() {
    let mut theatre = prepared(&stations::shared_bus());
    assert_eq!(theatre.plans.len(), 1, "one line");
    theatre.play_out();
    assert_follows(&theatre, "receiver", Direction::Receive);
    assert_follows(&theatre, "transmitter", Direction::Transmit);
    theatre.assert_no_violation();
}

#[test]
fn a_radio_that_is_off_costs_its_neighbour_on_the_bus_little() {
    for (off, on, direction) in
        [("transmitter", "receiver", Direction::Receive), ("receiver", "transmitter", Direction::Transmit)]
    {
        let mut theatre = opened(&stations::shared_bus());
        theatre.device(off).handles.faults.switch_on(Fault::Off);
        theatre.start();
        theatre.play_out();
        assert_follows(&theatre, on, direction);
        assert_eq!(theatre.record(off).counts().commands, 0, "it heard nothing");
        theatre.assert_no_violation();
    }
}

#[test]
fn a_calibrated_radio_is_on_the_true_frequency() {
    for dialect in ["semicolon-eleven", "fe-frames", "five-byte-duplex"] {
        let mut station = stations::calibrated(dialect);
        station.equipment += "worthwhile_hz = 10\n";
        let mut theatre = prepared(&station);
        theatre.play_out();
        for direction in Direction::BOTH {
            assert_follows(&theatre, "set", direction);
            assert!(theatre.dial("set", direction).max < 30.0, "{:?}", theatre.dial("set", direction));
        }
        theatre.assert_no_violation();
    }
}

/// The licence ends at the true frequency where the dial still shows a good one: 2 millionths of
/// 145.93 MHz are 292 Hz, and the uplink moves by 3.4 kHz.
#[test]
fn a_calibrated_radio_keeps_its_true_frequency_inside_the_licence() {
    let mut config = demo_with(&stations::calibrated("semicolon-eleven").equipment);
    let (from, to) = (Hertz(145_800_000), Hertz(145_928_000));
    config.transmit = Segments::new(vec![Segment { from, to }]);
    let mut theatre = Theatre::open(config);
    theatre.start();
    theatre.play_out();
    let highest = theatre.record("set").landings().into_iter().filter_map(|landing| match landing.what {
        // Split, while it is being set, lets the receiving dial transmit for a moment.
        Change::Transmit(hertz) => Some(hertz).filter(|hertz| *hertz < Hertz(200_000_000)),
        _ => None,
    });
    let highest = highest.max().unwrap();
    assert!(highest > Hertz(145_927_000) && highest <= to, "{highest}");
    theatre.assert_no_violation();
}

#[test]
fn both_dials_of_a_linear_link_follow_the_middle_of_its_passband_in_their_sidebands() {
    for dialect in ["semicolon-eleven", "semicolon-nine", "fe-frames", "five-byte-duplex"] {
        let equipment = stations::fm_radio("set", dialect, "both");
        let mut theatre = Theatre::open_for(demo_with(&equipment), "TERN-1", Some("transponder"));
        theatre.start();
        theatre.play_until(-1.0);
        let (record, now) = (theatre.record("set").clone(), theatre.station.now());
        assert_eq!(record.receive_mode_at(now), Some(Mode::Usb), "{dialect}");
        assert_eq!(record.transmit_mode_at(now), Some(Mode::Lsb), "{dialect}: the passband is turned over");
        assert_eq!(record.tone_at(now), None, "{dialect}");
        theatre.play_out();
        for direction in Direction::BOTH {
            assert_follows(&theatre, "set", direction);
            assert!(theatre.dial("set", direction).max < 30.0, "{:?}", theatre.dial("set", direction));
        }
        theatre.assert_no_violation();
    }
}
