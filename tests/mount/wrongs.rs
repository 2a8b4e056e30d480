//! Hands, stalls, and read-outs that do not fit.

use beamhand::device::line::LineInput;
use beamhand::device::*;
use beamhand::sim::Fault;

use crate::bench::*;

/// A mount that is on its way from 100 to 300 degrees since 1 s.
fn on_its_way(by_hand: ByHand) -> Bench {
    let setup = RotatorSetup { by_hand, ..setup() };
    let mount = mount_of(&setup);
    let mut bench = Bench::new(setup, mount);
    bench.run(1.0);
    bench.go(300.0, 60.0);
    bench.run(8.0);
    assert!((125.0..140.0).contains(&bench.antenna().azimuth), "{:?}", bench.antenna());
    bench
}

#[test]
fn a_motor_that_stalls_is_stopped_within_three_seconds_at_any_line_speed() {
    for baud in [600, 1200, 9600] {
        for started in [false, true] {
            let mount = mount_of(&setup());
            let mut bench = Bench::at_baud(setup(), mount, baud, 0.005);
            bench.run(2.0);
            bench.go(300.0, 60.0);
            if started {
                bench.run(10.0);
            }
            let stalls = bench.now;
            bench.switch(Fault::MotorStalled);
            bench.run(stalls + 4.0);
            let aimed = bench.aims(0.0)[0].0;
            let since = stalls.max(aimed);
            let stop = bench.stops(stalls).first().copied();
            assert!(stop.is_some_and(|stop| stop - since <= 3.0), "{baud} baud: {stop:?} of {since}");
            assert!(bench.said().contains("it stays at azimuth"), "{}", bench.said());
        }
    }
}

#[test]
fn a_stalled_motor_is_told_three_times_more_and_then_left_until_the_operator_says_so() {
    let mut bench = on_its_way(ByHand::Follow);
    bench.switch(Fault::MotorStalled);
    bench.run(120.0);
    assert_eq!((bench.aims(8.0).len(), bench.stops(8.0).len()), (3, 4));
    assert_eq!(bench.view().motion, Motion::Stopped);
    bench.handles().faults.clear();
    bench.run(180.0);
    assert_eq!(bench.aims(8.0).len(), 3);
    bench.go(300.0, 60.0);
    bench.run(240.0);
    assert!((bench.antenna().azimuth - 300.0).abs() < 1.0);
    assert!(!bench.said().contains("stays"), "{}", bench.said());
}

#[test]
fn a_motor_that_stalls_for_a_while_goes_on_by_itself() {
    let mut bench = on_its_way(ByHand::Follow);
    bench.handles().faults.plan(Fault::MotorStalled, at(8.0), Some(at(13.0)));
    bench.run(70.0);
    assert!((bench.antenna().azimuth - 300.0).abs() < 1.0, "{:?}", bench.antenna());
    assert_eq!(bench.view().motion, Motion::GoingTo);
    assert!(!bench.said().contains("stays"), "{}", bench.said());
}

#[test]
fn a_read_out_that_freezes_stops_the_mount_within_three_seconds() {
    let mut bench = on_its_way(ByHand::Follow);
    bench.switch(Fault::ReadOutFrozen);
    bench.run(11.0);
    assert_eq!(bench.stops(8.0).len(), 1);
    let rests = bench.antenna();
    assert!(rests.azimuth < 155.0, "{rests:?}");
    assert!(bench.said().contains("it stays at"), "{}", bench.said());
    bench.run(200.0);
    assert_eq!(bench.view().motion, Motion::Stopped);
}

#[test]
fn a_read_out_that_jumps_stops_the_mount_and_says_so_and_one_wrong_answer_does_not() {
    let mut bench = on_its_way(ByHand::Follow);
    bench.switch(Fault::ReadOutOff { degrees: 90.0 });
    bench.run(9.5);
    assert_eq!(bench.stops(8.0).len(), 1);
    assert!(bench.said().contains("its read-out jumped from azimuth 1"), "{}", bench.said());
    bench.run(60.0);
    assert_eq!((bench.aims(8.0).len(), bench.view().motion), (0, Motion::Stopped));

    let mut bench = on_its_way(ByHand::Follow);
    bench.run(8.3);
    let asked = bench.sent.len();
    bench.switch(Fault::ReadOutOff { degrees: 90.0 });
    while bench.sent.len() < asked + 2 {
        bench.run(bench.now + 0.02);
    }
    bench.handles().faults.clear();
    bench.run(60.0);
    assert!(bench.stops(8.0).is_empty());
    assert!((bench.antenna().azimuth - 300.0).abs() < 1.0);
}

#[test]
fn a_computer_that_hangs_takes_no_late_answer_for_a_jump_or_a_stall() {
    for hangs in [0.4, 0.8, 1.5, 3.0] {
        let mut bench = on_its_way(ByHand::Follow);
        for _ in 0..6 {
            bench.hang(hangs);
            bench.run(bench.now + 2.0);
        }
        bench.run(90.0);
        assert!(bench.stops(8.0).is_empty(), "{hangs} s: {:?} {}", bench.stops(8.0), bench.said());
        assert!((bench.antenna().azimuth - 300.0).abs() < 1.0);
    }
}

#[test]
fn a_mount_that_was_turned_by_hand_goes_back_to_its_aim_when_the_hand_rests() {
    let mut bench = on_its_way(ByHand::Follow);
    bench.handles().faults.plan(Fault::TurnedByHand { deg_s: -3.0 }, at(8.0), Some(at(20.0)));
    bench.run(19.9);
    assert!(bench.said().contains("counts as turned by hand, and it goes back"), "{}", bench.said());
    assert!(bench.aims(8.0).is_empty(), "{:?}", bench.aims(8.0));
    bench.run(80.0);
    assert!((bench.antenna().azimuth - 300.0).abs() < 1.0, "{:?}", bench.antenna());
    assert!(!bench.said().contains("by hand"), "{}", bench.said());
}

#[test]
fn a_mount_that_was_turned_by_hand_is_handed_over_until_it_may_go_on() {
    let mut bench = on_its_way(ByHand::HandOver);
    bench.handles().faults.plan(Fault::TurnedByHand { deg_s: -3.0 }, at(8.0), Some(at(14.0)));
    bench.run(60.0);
    assert!(bench.aims(8.0).is_empty());
    assert_eq!(bench.view().motion, Motion::ByHand);
    assert!(bench.said().contains("yours until `resume` or `start`"), "{}", bench.said());
    bench.order(RotatorOrder::GoOn);
    bench.run(120.0);
    assert!((bench.antenna().azimuth - 300.0).abs() < 1.0, "it goes where it was sent");
}

#[test]
fn a_resting_mount_that_is_turned_by_hand_away_from_its_place_is_seen_too() {
    for (by_hand, returns) in [(ByHand::Follow, true), (ByHand::HandOver, false)] {
        let mut bench = on_its_way(by_hand);
        bench.run(60.0);
        bench.handles().faults.plan(Fault::TurnedByHand { deg_s: 3.0 }, at(60.0), Some(at(70.0)));
        bench.run(130.0);
        let off = (bench.antenna().azimuth - 300.0).abs();
        assert_eq!(off < 2.0, returns, "{off}");
    }
}

#[test]
fn a_mount_that_was_told_nothing_and_moves_is_named_and_not_disturbed() {
    let mut bench = Bench::new(setup(), mount_of(&setup()));
    bench.handles().faults.plan(Fault::TurnedByHand { deg_s: 2.0 }, at(10.0), Some(at(40.0)));
    bench.run(60.0);
    assert!(bench.said().contains("without a command from here"), "{}", bench.said());
    assert!(bench.stops(0.0).is_empty() && bench.aims(0.0).is_empty());
}

#[test]
fn motors_that_turn_against_their_read_out_are_stopped_and_tried_once_more_at_most() {
    let mut bench = Bench::new(setup(), mount_of(&setup()));
    bench.switch(Fault::MotorsReversed);
    bench.run(1.0);
    bench.go(300.0, 60.0);
    bench.run(120.0);
    assert_eq!((bench.aims(0.0).len(), bench.stops(0.0).len()), (2, 2));
    assert_eq!(bench.view().motion, Motion::Stopped);
    assert!(bench.said().contains("check that its read-out counts the way"), "{}", bench.said());
}

#[test]
fn a_mount_whose_read_out_falls_silent_is_not_left_running() {
    let mut bench = on_its_way(ByHand::Follow);
    bench.switch(Fault::Mute);
    bench.run(14.0);
    assert!(!bench.stops(8.0).is_empty());
    let rests = bench.antenna();
    bench.run(30.0);
    assert_eq!(bench.antenna(), rests);
    bench.handles().faults.clear();
    bench.run(90.0);
    assert!((bench.antenna().azimuth - 300.0).abs() < 1.0, "it is read, and goes on");
}

#[test]
fn after_a_halt_what_it_was_told_before_is_void_also_when_it_was_held() {
    let mut bench = on_its_way(ByHand::Follow);
    bench.switch(Fault::MotorStalled);
    bench.run(10.5);
    bench.feed(LineInput::Halt);
    bench.handles().faults.clear();
    bench.run(60.0);
    bench.feed(LineInput::Resume);
    bench.order(RotatorOrder::GoOn);
    bench.run(90.0);
    assert!(bench.aims(10.5).is_empty());
    assert_eq!(bench.view().motion, Motion::Resting);
}
