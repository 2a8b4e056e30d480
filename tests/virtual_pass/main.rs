//! Whole passes in virtual time: the real session, players and lines against modelled wires with
//! hand-written equipment at the far end. What is judged is what reached the equipment.
#![allow(clippy::unwrap_used)]

mod beam;
mod habits;

mod languages;
mod listens;
mod memos;
mod overs;
mod repertoire;
mod stations;
mod stepped_clock;
mod theatre;
mod topologies;
mod wishes;

use beamhand::device::{Motion, RadioStage};
use beamhand::session::{Command, Phase};
use beamhand::sim::Fault;
use beamhand::terms::{AzEl, Direction, Hertz, Mode, Segment, Segments};
use theatre::{MAST, Theatre, demo_with, radio};

/// Where the simulated transmitters' dials were left by their operator.
const STOOD_ON: Hertz = Hertz(145_850_000);

fn duplex() -> Theatre {
    Theatre::open(demo_with(&(radio("duplex", "semicolon-eleven", "both") + MAST)))
}

#[test]
fn a_pass_is_tuned_within_the_floor_and_the_beam_stays_on_the_satellite() {
    let mut theatre = duplex();
    theatre.start();
    theatre.play_out();
    for direction in Direction::BOTH {
        let score = theatre.dial("duplex", direction);
        assert!(score.within >= 0.99, "{direction}: {score:?}");
    }
    let beam = theatre.beam();
    assert!(beam.within >= 0.999, "{beam:?}");
    theatre.assert_no_violation();
    assert_eq!(theatre.station.session().phase(), Phase::Idle);
}

#[test]
fn before_aos_the_radio_is_ready_with_its_tone_and_the_beam_waits_where_the_satellite_rises() {
    let mut theatre = duplex();
    theatre.start();
    theatre.play_until(-1.0);
    assert_eq!(theatre.station.session().phase(), Phase::Ready);
    let (record, now) = (theatre.record("duplex"), theatre.station.now());
    assert_eq!(record.tone_at(now).map(|tone| tone.tenths()), Some(670));
    assert_eq!((record.receive_mode_at(now), record.transmit_mode_at(now)), (Some(Mode::Fm), Some(Mode::Fm)));
    let rising = theatre.stage.job.track.at(theatre.after_aos(0.0)).unwrap().direction();
    assert!(theatre.record("mast").position_at(now).unwrap().angle_to(rising) < 1.5);
}

#[test]
fn after_los_the_radio_has_what_it_had_and_the_beam_is_parked() {
    let mut theatre = duplex();
    let before = theatre.record("duplex").receive_at(theatre.station.now());
    theatre.start();
    theatre.play_until(100.0);
    assert_ne!(theatre.record("duplex").receive_at(theatre.station.now()), Some(Hertz(435_000_000)));
    theatre.play_out();
    let now = theatre.station.now();
    assert_eq!(theatre.record("duplex").receive_at(now), Some(Hertz(435_000_000)));
    assert_eq!(before, None, "the record begins with the first event");
    assert_eq!(theatre.record("duplex").tone_at(now), None, "the tone that was set is off again");
    assert!(theatre.record("mast").position_at(now).unwrap().angle_to(AzEl::new(0.0, 0.0)) < 0.2);
}

#[test]
fn what_the_transmitter_had_outside_the_segments_is_not_set_again_and_said_so() {
    let mut config = demo_with(&(radio("duplex", "semicolon-eleven", "both") + MAST));
    let (from, to) = (Hertz(145_900_000), Hertz(146_000_000));
    config.transmit = Segments::new(vec![Segment { from, to }]);
    let mut theatre = Theatre::open(config);
    theatre.start();
    theatre.play_out();
    let status = &theatre.station.radios()[0];
    assert_eq!(status.refused, 1, "it stood on 145.850 MHz, and the segment begins at 145.900");
    assert!(status.radio().unwrap().notes[0].why.contains("outside the transmit segments"), "{status:?}");
}

#[test]
fn stop_in_mid_pass_parks_and_gives_back() {
    let mut theatre = duplex();
    theatre.start();
    theatre.play_until(200.0);
    theatre.station.command(Command::Stop).unwrap();
    theatre.play_until(300.0);
    assert_eq!(theatre.station.session().phase(), Phase::Idle);
    assert_eq!(theatre.record("duplex").receive_at(theatre.station.now()), Some(Hertz(435_000_000)));
    let commands = theatre.record("mast").aims().len();
    theatre.play_until(400.0);
    assert_eq!(theatre.record("mast").aims().len(), commands);
}

#[test]
fn after_halt_nothing_moves_until_resume_while_the_radio_goes_on() {
    let mut theatre = duplex();
    theatre.start();
    theatre.play_until(200.0);
    theatre.station.command(Command::Halt).unwrap();
    theatre.play_until(203.0);
    let (aims, at) =
        (theatre.record("mast").aims().len(), theatre.record("mast").position_at(theatre.station.now()));
    assert_eq!(theatre.station.rotator().unwrap().rotator().unwrap().motion, Motion::Halted);
    assert!(theatre.station.command(Command::Point(AzEl::new(10.0, 10.0))).is_err());
    theatre.play_until(260.0);
    assert_eq!(theatre.record("mast").aims().len(), aims);
    assert_eq!(theatre.record("mast").position_at(theatre.station.now()), at);
    theatre.station.command(Command::Resume).unwrap();
    theatre.play_until(290.0);
    let look = theatre.stage.job.track.at(theatre.station.now()).unwrap().direction();
    assert!(theatre.record("mast").position_at(theatre.station.now()).unwrap().angle_to(look) < 2.0);
    theatre.play_out();
    assert!(theatre.dial("duplex", Direction::Receive).within >= 0.99);
    theatre.assert_no_violation();
}

#[test]
fn the_same_run_gives_the_same_bytes_at_the_same_instants() {
    let run = || {
        let mut theatre = duplex();
        theatre.start();
        theatre.play_until(120.0);
        (theatre.record("duplex").landings(), theatre.record("mast").aims())
    };
    assert_eq!(run(), run());
}

#[test]
fn a_radio_that_comes_back_in_mid_pass_gets_a_fresh_value_within_two_seconds() {
    let mut theatre = duplex();
    theatre.start();
    theatre.play_until(250.0);
    theatre.station.unplug(0);
    theatre.device("duplex").handles.faults.switch_on(Fault::Unplugged);
    theatre.play_until(280.0);
    theatre.device("duplex").handles.faults.switch_off(Fault::Unplugged);
    theatre.station.plug_in(0);
    theatre.play_until(282.0);
    let now = theatre.station.now();
    let plan = beamhand::terms::Plan::at(&*theatre.stage.job.tuning, now).unwrap();
    let off = theatre.record("duplex").receive_at(now).unwrap() - plan.receive.unwrap().hertz;
    assert!(off.abs() <= Hertz(10), "{off}");
    let back_at = theatre.after_aos(280.0);
    for landing in theatre.record("duplex").landings().iter().filter(|landing| landing.at >= back_at) {
        if let beamhand::sim::Change::Receive(hertz) = landing.what {
            let wanted = beamhand::terms::Plan::at(&*theatre.stage.job.tuning, landing.at).unwrap();
            let off = (hertz - wanted.receive.unwrap().hertz).abs();
            assert!(off <= Hertz(20), "a stale frequency: {landing:?}");
        }
    }
}

#[test]
fn a_line_that_is_unplugged_does_not_disturb_the_other() {
    let run = |disturbed: bool| {
        let mut theatre = duplex();
        theatre.start();
        theatre.play_until(250.0);
        if disturbed {
            theatre.station.unplug(0);
        }
        theatre.play_until(400.0);
        theatre.record("mast").aims()
    };
    assert_eq!(run(true), run(false));
}

#[test]
fn two_radios_share_the_directions_and_each_keeps_its_own() {
    let equipment = radio("receiver", "semicolon-eleven", "receive")
        + &radio("transmitter", "fe-frames", "transmit").replace("step_hz", "address = 0x5A\nstep_hz")
        + MAST;
    let mut theatre = Theatre::open(demo_with(&equipment));
    theatre.start();
    theatre.play_out();
    assert!(theatre.dial("receiver", Direction::Receive).within >= 0.99);
    let score = theatre.dial("transmitter", Direction::Transmit);
    assert!(score.within >= 0.99, "{score:?}");
    theatre.assert_no_violation();
}

#[test]
fn a_duplex_radio_on_a_bus_of_frames_follows_both_bands() {
    let equipment = radio("duplex", "fe-frames", "both").replace("step_hz", "address = 0x5A\nstep_hz") + MAST;
    let mut theatre = Theatre::open(demo_with(&equipment));
    theatre.start();
    theatre.play_out();
    for direction in Direction::BOTH {
        let score = theatre.dial("duplex", direction);
        assert!(score.within >= 0.99, "{direction}: {score:?}");
    }
    theatre.assert_no_violation();
}

#[test]
fn a_receive_only_radio_works_without_a_rotator() {
    let mut theatre = Theatre::open(demo_with(&radio("receiver", "semicolon-eleven", "receive")));
    theatre.start();
    theatre.play_out();
    assert!(theatre.dial("receiver", Direction::Receive).within >= 0.99);
    assert_eq!(theatre.station.session().phase(), Phase::Idle);
    theatre.assert_no_violation();
}

#[test]
fn a_rotator_works_without_any_radio() {
    let mut theatre = Theatre::open(demo_with(MAST));
    theatre.start();
    theatre.play_out();
    assert!(theatre.beam().within >= 0.999, "{:?}", theatre.beam());
    assert_eq!(theatre.station.session().phase(), Phase::Idle);
}

#[test]
fn without_transmit_segments_the_transmitting_dial_is_not_touched() {
    let mut config = demo_with(&radio("duplex", "semicolon-eleven", "both"));
    config.transmit = beamhand::terms::Segments::default();
    let mut theatre = Theatre::open(config);
    theatre.start();
    theatre.play_until(300.0);
    let now = theatre.station.now();
    // The operator's own transmit clarifier stays as well.
    assert_eq!(theatre.record("duplex").transmit_at(now), Some(STOOD_ON - Hertz(200)));
    assert_eq!(theatre.record("duplex").tone_at(now), None);
    theatre.play_out();
    assert!(theatre.dial("duplex", Direction::Receive).within >= 0.99);
}

#[test]
fn a_mute_radio_is_named_and_never_prepared_blindly() {
    let mut theatre = duplex();
    theatre.device("duplex").handles.faults.switch_on(Fault::Mute);
    theatre.start();
    theatre.play_until(-60.0);
    let status = &theatre.station.radios()[0];
    assert_eq!(status.radio().unwrap().stage, RadioStage::Reading);
    assert_eq!(status.commands, 0, "what it has was not read, so nothing is changed");
    let beamhand::device::Contact::Bad(why) = &status.contact else { panic!("{status:?}") };
    assert!(why.contains("no answer to"), "{why}");
}

#[test]
fn a_beacon_needs_no_transmitter() {
    let config = demo_with(&(radio("duplex", "semicolon-eleven", "both") + MAST));
    let mut theatre = Theatre::open_for(config, "GANNET-1", Some("beacon"));
    theatre.start();
    theatre.play_until(300.0);
    let (record, now) = (theatre.record("duplex"), theatre.station.now());
    assert_eq!(record.receive_mode_at(now), Some(Mode::Cw));
    assert_eq!(record.transmit_at(now), Some(STOOD_ON));
}
