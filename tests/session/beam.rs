//! What the operator wishes of the beam, and where it is when the satellite rises.

use beamhand::device::{Detail, Motion, Pace, RadioStage, RotatorOrder};
use beamhand::session::{Command, Output, Phase};
use beamhand::terms::{AngleRange, AzEl, NoGo, Plan, later};

use super::bench::{Bench, moves_the_beam, said};

/// Where the newest order sends the beam at this moment.
fn sent_to(bench: &Bench, outputs: &[Output]) -> Option<AzEl> {
    outputs.iter().rev().find_map(|output| match output {
        Output::Rotator(RotatorOrder::Follow(plan)) => plan.at(bench.now),
        Output::Rotator(RotatorOrder::GoTo(place)) => Some(*place),
        _ => None,
    })
}

fn mast(bench: &mut Bench, motion: Motion, pace: Pace) {
    if let Detail::Rotator(view) = &mut bench.rotator.detail {
        (view.motion, view.pace) = (motion, pace);
    }
}

/// In mid-pass.
fn in_the_pass() -> Bench {
    let mut bench = Bench::new();
    bench.until_read();
    bench.session.saved(1);
    bench.radio_is(RadioStage::Following, None);
    bench.now = later(bench.job.span.from, 60.0);
    bench.tick();
    assert_eq!(bench.session.phase(), Phase::Following);
    bench
}

#[test]
fn a_nudge_shifts_the_running_sessions_beam_as_a_whole_and_is_said() {
    let mut bench = in_the_pass();
    let planned = bench.job.aim.as_ref().unwrap().at(bench.now).unwrap();
    for by in [AzEl::new(3.0, 2.0), AzEl::new(1.5, 2.0)] {
        let outputs = bench.command(Command::Nudge(by)).unwrap();
        let sent = sent_to(&bench, &outputs).unwrap();
        assert!((sent.azimuth - planned.azimuth - by.azimuth).abs() < 1e-6, "{sent:?} {planned:?}");
        assert!((sent.elevation - planned.elevation - by.elevation).abs() < 1e-6);
    }
    assert!(bench.why().contains("nudged by azimuth +1.5 elevation +2.0 degrees"), "{}", bench.why());
    let mount = bench.session.nudge();
    assert_eq!(mount, AzEl::new(1.5, 2.0));
    bench.command(Command::Stop).unwrap();
    bench.radio_is(RadioStage::Idle, None);
    bench.mast_is_at(AzEl::new(0.0, 0.0), AzEl::new(0.0, 0.0));
    bench.tick();
    assert_eq!(bench.session.nudge(), AzEl::new(0.0, 0.0), "it was for that session");
}

#[test]
fn a_nudge_never_leads_beyond_the_mounts_reach() {
    let mut bench = in_the_pass();
    let outputs = bench.command(Command::Nudge(AzEl::new(30.0, -30.0))).unwrap();
    let Some(Output::Rotator(RotatorOrder::Follow(plan))) =
        outputs.iter().find(|output| matches!(output, Output::Rotator(_)))
    else {
        panic!("no plan")
    };
    for second in 0..600 {
        let at = plan.at(later(bench.job.span.from, f64::from(second))).unwrap();
        assert!(at.elevation >= 0.0 && (0.0..=450.0).contains(&at.azimuth), "{at:?}");
    }
    for by in [AzEl::new(31.0, 0.0), AzEl::new(f64::NAN, 0.0)] {
        assert!(bench.command(Command::Nudge(by)).err().unwrap().contains("at most 30 degrees"));
    }
}

#[test]
fn a_kept_nudge_holds_from_the_next_session_on_and_for_pointing() {
    let mut bench = Bench::new();
    bench.session.keep_nudge(AzEl::new(2.0, -1.0));
    let outputs = bench.command(Command::Point(AzEl::new(180.0, 40.0))).unwrap();
    assert_eq!(sent_to(&bench, &outputs), Some(AzEl::new(182.0, 39.0)));
    let outputs = bench.command(Command::Nudge(AzEl::new(3.0, 0.0))).unwrap();
    assert_eq!(sent_to(&bench, &outputs), Some(AzEl::new(183.0, 40.0)));
    let park = bench.command(Command::Park).unwrap();
    assert_eq!(sent_to(&bench, &park), Some(AzEl::new(0.0, 0.0)), "the park position is the mount's own");
    let refused = bench.command(Command::Nudge(AzEl::new(1.0, 0.0))).err().unwrap();
    assert!(refused.contains("nothing to nudge"), "{refused}");
    assert_eq!(bench.session.nudge(), AzEl::new(2.0, -1.0), "the other one was not kept");
}

#[test]
fn a_mount_that_is_left_alone_is_not_nudged() {
    let mut bench = in_the_pass();
    mast(&mut bench, Motion::ByHand, Pace::default());
    assert!(bench.command(Command::Nudge(AzEl::new(1.0, 0.0))).err().unwrap().contains("left alone"));
    bench.command(Command::Halt).unwrap();
    assert!(bench.command(Command::Nudge(AzEl::new(1.0, 0.0))).err().unwrap().contains("halted"));
}

#[test]
fn resume_lets_a_mount_that_was_handed_over_outside_a_session_go_on() {
    let mut bench = Bench::new();
    bench.command(Command::Point(AzEl::new(180.0, 40.0))).unwrap();
    mast(&mut bench, Motion::ByHand, Pace::default());
    let goes_on = |output: &Output| matches!(output, Output::Rotator(RotatorOrder::GoOn));
    assert!(bench.command(Command::Resume).unwrap().iter().any(goes_on));
}

#[test]
fn a_mount_that_was_handed_over_is_not_parked_at_los() {
    let mut bench = in_the_pass();
    mast(&mut bench, Motion::ByHand, Pace::default());
    bench.now = later(bench.job.span.until, 1.0);
    let outputs = bench.tick();
    assert!(!moves_the_beam(&outputs) && said(&outputs).contains("turned by hand, so it stays"));
    bench.radio_is(RadioStage::Idle, None);
    bench.tick();
    assert_eq!(bench.session.phase(), Phase::Idle, "nothing is waited for");
}

#[test]
fn a_slow_mount_sets_off_in_time_to_be_there_when_the_satellite_rises() {
    let mut bench = Bench::new();
    let rises = bench.job.aim.as_ref().unwrap().at(bench.job.span.from).unwrap();
    let start = AzEl::new(if rises.azimuth > 225.0 { 0.0 } else { 450.0 }, 0.0);
    bench.mast_is_at(start, start);
    let pace = Pace { azimuth_deg_s: Some(1.0), ..Pace::default() };
    mast(&mut bench, Motion::Resting, pace);
    let needs = (rises.azimuth - start.azimuth).abs();
    bench.now = later(bench.job.span.from, -1.25 * needs - 20.0);
    assert!(bench.now < bench.job.prepare_at, "{needs} s");
    assert!(!moves_the_beam(&bench.start().unwrap()));
    bench.now = later(bench.now, 6.0);
    let outputs = bench.tick();
    assert!(
        moves_the_beam(&outputs) && said(&outputs).contains("the beam sets off now"),
        "{}",
        said(&outputs)
    );
    // At AOS itself the motors speed up already.
    assert!(sent_to(&bench, &outputs).unwrap().angle_to(rises) < 0.1);
    assert!(!moves_the_beam(&bench.tick()), "once");
    let outputs = bench.command(Command::Stop).unwrap();
    assert!(moves_the_beam(&outputs), "it is parked again");

    let mut quick = Bench::new();
    quick.mast_is_at(start, start);
    quick.now = later(quick.job.prepare_at, -1.0);
    assert!(!moves_the_beam(&quick.start().unwrap()), "at its usual speed it is there in two minutes");
}

#[test]
fn a_mount_that_can_not_be_there_in_time_is_led_from_where_it_is() {
    let mut bench = Bench::new();
    let aim = bench.job.aim.clone().unwrap();
    bench.now = later(bench.job.span.from, 60.0);
    let there = aim.at(bench.now).unwrap();
    let far = AzEl::new(if there.azimuth > 225.0 { 0.0 } else { 450.0 }, 0.0);
    bench.mast_is_at(far, far);
    let outputs = bench.start().unwrap();
    assert!(said(&outputs).contains("planned from where it is"), "{}", said(&outputs));
    let sent = sent_to(&bench, &outputs).unwrap();
    assert!((sent.azimuth - far.azimuth).abs() < 1.0, "{sent:?} {far:?}");
    assert!(sent.angle_to(far) < 6.0, "a row's height at most: {sent:?}");

    let mut near = Bench::new();
    near.now = later(near.job.span.from, 60.0);
    near.mast_is_at(there, there);
    let outputs = near.start().unwrap();
    assert!(!said(&outputs).contains("planned from"), "{}", said(&outputs));
    assert_eq!(sent_to(&near, &outputs), Some(there));
}

#[test]
fn a_place_in_a_no_go_sector_is_refused_before_anything_is_ordered() {
    let wall = NoGo { azimuth: AngleRange::new(90.0, 120.0), elevation: AngleRange::new(-90.0, 20.0) };
    let mut bench = Bench::with_sector(wall);
    let refusal = bench.command(Command::Point(AzEl::new(100.0, 5.0))).err().unwrap();
    assert!(refusal.contains("azimuth 100 elevation 5 lies in a no-go sector"), "{}", refusal);
    let outputs = bench.command(Command::Point(AzEl::new(100.0, 30.0))).unwrap();
    assert_eq!(sent_to(&bench, &outputs), Some(AzEl::new(100.0, 30.0)));
    let refusal = bench.command(Command::Nudge(AzEl::new(0.0, -15.0))).err().unwrap();
    assert!(refusal.contains("elevation 15 lies in a no-go sector"), "{}", refusal);
    assert_eq!(bench.session.nudge(), AzEl::new(0.0, 0.0));
}
