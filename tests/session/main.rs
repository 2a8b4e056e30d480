//! The session's decisions, one by one: what it orders, and what it refuses. No line, no clock.
#![allow(clippy::unwrap_used)]

mod beam;
mod bench;
mod wishes;

use beamhand::clock::Trust;
use beamhand::config::{DEMO_ELEMENTS, demo_satellites};
use beamhand::control::StartParams;
use beamhand::daemon::{Catalog, Planner};
use beamhand::device::{DialMemory, RadioMemory, RadioOrder, RadioStage};
use beamhand::rehearsal::{Stage, demo};
use beamhand::session::{Command, Job, Output, Phase};
use beamhand::sky::read_elements;
use beamhand::terms::{AzEl, Hertz, Mode, Plan as _, later, parse_time};

use bench::{Bench, engages, memory, moves_the_beam, said};

#[test]
fn a_clock_that_can_not_be_trusted_starts_nothing_and_freezes_nothing() {
    let mut bench = Bench::new();
    bench.trust = Trust::Untrusted { why: "it was never set".to_owned() };
    let refusal = bench.start().err().unwrap();
    assert!(refusal.contains("it was never set"), "{refusal}");
    bench.trust = Trust::Trusted { error_s: None };
    bench.now = bench.job.span.from;
    bench.start().unwrap();
    bench.tick();
    bench.trust = Trust::Untrusted { why: "lost".to_owned() };
    bench.now = later(bench.now, 60.0);
    bench.tick();
    assert_eq!(bench.session.phase(), Phase::Following);
}

#[test]
fn trust_is_looked_at_again_when_it_is_time_to_prepare() {
    let mut bench = Bench::new();
    bench.start().unwrap();
    bench.trust = Trust::Untrusted { why: "lost".to_owned() };
    bench.now = later(bench.job.prepare_at, 1.0);
    assert!(bench.tick().is_empty());
    assert_eq!(bench.session.phase(), Phase::Waiting);
}

#[test]
fn nothing_is_ordered_before_it_is_time_to_prepare() {
    let mut bench = Bench::new();
    let outputs = bench.start().unwrap();
    assert!(!engages(&outputs) && !moves_the_beam(&outputs));
    bench.now = later(bench.job.prepare_at, -0.1);
    assert!(bench.tick().is_empty());
    bench.now = bench.job.prepare_at;
    let outputs = bench.tick();
    assert!(engages(&outputs) && moves_the_beam(&outputs));
}

#[test]
fn the_radio_goes_on_only_when_what_it_had_is_stored() {
    let mut bench = Bench::new();
    let outputs = bench.until_read();
    let saved =
        outputs.iter().any(|output| matches!(output, Output::Save(1, all) if *all == [(0, memory())]));
    assert!(saved);
    let proceeds = |outputs: &[Output]| {
        outputs.iter().any(|output| matches!(output, Output::Radio(0, RadioOrder::Proceed)))
    };
    assert!(!proceeds(&outputs));
    assert!(bench.tick().is_empty(), "it is asked for once");
    bench.session.saved(1);
    assert!(proceeds(&bench.tick()));
}

#[test]
fn a_radio_that_comes_back_in_mid_pass_does_not_replace_what_it_had_before() {
    let mut bench = Bench::new();
    bench.until_read();
    bench.session.saved(1);
    bench.now = later(bench.job.span.from, 60.0);
    bench.tick();
    let ours = RadioMemory {
        receive: DialMemory { hertz: Some(Hertz(435_217_000)), mode: Some(Mode::Fm) },
        ..RadioMemory::default()
    };
    bench.radio_is(RadioStage::AwaitingSave, Some(ours));
    bench.tick();
    let outputs = bench.command(Command::Stop).unwrap();
    let given = outputs.iter().find_map(|output| match output {
        Output::Radio(0, RadioOrder::GiveBack(given)) => Some(given.clone()),
        _ => None,
    });
    assert_eq!(given, Some(memory()));
}

#[test]
fn halt_is_a_latch() {
    let mut bench = Bench::new();
    bench.until_read();
    let outputs = bench.command(Command::Halt).unwrap();
    assert!(outputs.iter().any(|output| matches!(output, Output::HaltLines)));
    for command in [Command::Point(AzEl::new(90.0, 10.0)), Command::Park] {
        assert!(bench.command(command).err().unwrap().contains("halted"));
    }
    bench.now = later(bench.job.span.until, 1.0);
    assert!(!moves_the_beam(&bench.tick()), "the beam is not even parked");
    let outputs = bench.command(Command::Resume).unwrap();
    assert!(outputs.iter().any(|output| matches!(output, Output::ResumeLines)));
}

#[test]
fn a_direction_that_the_mount_does_not_reach_is_refused() {
    let mut bench = Bench::new();
    for (azimuth, elevation) in [(10.0, -5.0), (500.0, 0.0), (f64::NAN, 0.0), (0.0, f64::INFINITY)] {
        let answer = bench.command(Command::Point(AzEl::new(azimuth, elevation)));
        assert!(answer.err().is_some_and(|why| why.contains("does not reach")), "{azimuth} {elevation}");
    }
    let near_north = bench.command(Command::Point(AzEl::new(350.0, 5.0))).unwrap();
    assert!(moves_the_beam(&near_north));
}

#[test]
fn a_session_that_ends_gives_back_parks_and_forgets() {
    let mut bench = Bench::new();
    bench.until_read();
    bench.session.saved(1);
    bench.now = later(bench.job.span.until, 0.1);
    let outputs = bench.tick();
    assert_eq!(bench.session.phase(), Phase::Finishing);
    assert!(moves_the_beam(&outputs), "to the park position");
    bench.radio_is(RadioStage::Idle, None);
    let outputs = bench.tick();
    assert_eq!(bench.session.phase(), Phase::Idle);
    assert!(outputs.iter().any(|output| matches!(output, Output::Forget)));
}

#[test]
fn a_radio_that_stays_away_ends_the_session_late_and_its_memory_stays_stored() {
    let mut bench = Bench::new();
    bench.until_read();
    bench.session.saved(1);
    bench.now = later(bench.job.span.until, 0.1);
    bench.tick();
    bench.radio_is(RadioStage::GivingBack, None);
    bench.now = later(bench.now, 600.0);
    let outputs = bench.tick();
    assert_eq!(bench.session.phase(), Phase::Idle);
    assert!(!outputs.iter().any(|output| matches!(output, Output::Forget)));
    assert!(outputs.iter().any(|output| matches!(output, Output::Shelve)), "no restart retunes it");
    assert!(bench.why().contains("is still stored"), "{}", bench.why());
}

#[test]
fn the_next_session_does_not_write_over_what_a_radio_is_still_owed() {
    let mut bench = Bench::new();
    bench.session.remember(vec![Some(memory())]);
    assert!(bench.tick().is_empty(), "nothing is retuned when nobody expects it");
    bench.now = bench.job.prepare_at;
    bench.start().unwrap();
    let ours = DialMemory { hertz: Some(Hertz(435_217_000)), mode: Some(Mode::Fm) };
    bench.radio_is(RadioStage::AwaitingSave, Some(RadioMemory { receive: ours, ..RadioMemory::default() }));
    let outputs = bench.tick();
    assert!(outputs.iter().any(|output| matches!(output, Output::Save(1, all) if *all == [(0, memory())])));
}

#[test]
fn a_recovery_does_not_wait_forever_for_a_radio_that_stays_away() {
    let mut bench = Bench::new();
    bench.session.recover(vec![Some(memory())]);
    bench.radio_is(RadioStage::GivingBack, None);
    bench.tick();
    bench.now = later(bench.now, 179.0);
    assert!(bench.tick().is_empty());
    bench.now = later(bench.now, 2.0);
    let outputs = bench.tick();
    let releases = |output: &Output| matches!(output, Output::Radio(0, RadioOrder::Release));
    assert!(outputs.iter().any(releases) && outputs.iter().any(|output| matches!(output, Output::Shelve)));
    assert_eq!(bench.session.phase(), Phase::Idle);
}

#[test]
fn a_step_of_the_clock_neither_cuts_the_end_of_a_session_short_nor_draws_it_out() {
    for step in [3600.0, -3600.0] {
        let mut bench = Bench::new();
        bench.until_read();
        bench.command(Command::Stop).unwrap();
        bench.radio_is(RadioStage::GivingBack, None);
        bench.step_clock(step);
        bench.now = later(bench.now, 179.0);
        bench.tick();
        assert_eq!(bench.session.phase(), Phase::Finishing, "{step}");
        bench.now = later(bench.now, 2.0);
        bench.tick();
        assert_eq!(bench.session.phase(), Phase::Idle, "{step}");
    }
}

#[test]
fn a_session_that_is_stopped_while_halted_says_that_the_beam_is_not_parked_and_resume_parks_it() {
    let mut bench = Bench::new();
    bench.until_read();
    bench.mast_is_at(AzEl::new(120.0, 30.0), AzEl::new(120.0, 30.0));
    bench.command(Command::Halt).unwrap();
    bench.command(Command::Stop).unwrap();
    bench.radio_is(RadioStage::Idle, None);
    bench.mast_is_at(AzEl::new(120.0, 30.0), AzEl::new(0.0, 0.0));
    assert!(said(&bench.tick()).contains("not parked: resume parks it"));
    assert_eq!(bench.session.phase(), Phase::Idle);
    assert!(bench.why().contains("the beam is not parked"), "{}", bench.why());
    let outputs = bench.command(Command::Resume).unwrap();
    assert!(moves_the_beam(&outputs) && said(&outputs).contains("park position"));
    assert!(!bench.why().contains("not parked"));
    assert!(!moves_the_beam(&bench.command(Command::Resume).unwrap()), "it is parked once");
}

#[test]
fn a_later_pass_waits_until_the_radio_of_this_one_has_what_it_had() {
    let mut bench = Bench::new();
    bench.until_read();
    bench.session.saved(1);
    bench.now = later(bench.job.span.from, 60.0);
    bench.tick();
    let mut next = bench.job.clone();
    next.satellite = "TERN-1".to_owned();
    next.prepare_at = later(bench.now, 3600.0);
    next.span.from = later(bench.now, 3720.0);
    next.span.until = later(bench.now, 4000.0);
    let refusal = bench.command(Command::Start(Box::new(next.clone()))).err().unwrap();
    assert!(refusal.starts_with("GANNET-1 repeater is in progress, "), "{refusal}");
    assert!(refusal.contains(" before LOS") && refusal.contains("--instead"), "{refusal}");
    assert_eq!(bench.session.phase(), Phase::Following);
    next.instead = true;
    let outputs = bench.command(Command::Start(Box::new(next))).unwrap();
    let given_up = said(&outputs);
    assert!(given_up.contains("TERN-1 repeater: taken; GANNET-1 repeater given up, "), "{given_up}");
    assert!(given_up.contains(" before LOS"), "{given_up}");
    assert_eq!(bench.session.phase(), Phase::Finishing);
    bench.radio_is(RadioStage::Idle, None);
    bench.tick();
    assert_eq!(bench.session.phase(), Phase::Waiting);
    assert_eq!(bench.session.job().map(|job| job.satellite.as_str()), Some("TERN-1"));
}

#[test]
fn a_recovery_ends_when_the_radio_has_what_it_had_and_a_pass_can_follow() {
    let mut bench = Bench::new();
    let outputs = bench.session.recover(vec![Some(memory())]);
    assert!(matches!(outputs[..], [Output::Radio(0, RadioOrder::GiveBack(_))]));
    bench.radio.behind = true;
    assert!(bench.tick().is_empty(), "a status from before the order is not believed");
    bench.radio.behind = false;
    assert!(bench.tick().iter().any(|output| matches!(output, Output::Forget)));
    assert_eq!(bench.session.phase(), Phase::Idle);
    bench.now = bench.job.prepare_at;
    assert!(engages(&bench.start().unwrap()));
}

#[test]
fn a_pass_that_is_due_does_not_wait_for_a_radio_that_stays_away() {
    let mut bench = Bench::new();
    bench.session.recover(vec![Some(memory())]);
    bench.radio_is(RadioStage::GivingBack, None);
    bench.start().unwrap();
    bench.tick();
    assert_eq!(bench.session.phase(), Phase::Finishing);
    bench.now = bench.job.prepare_at;
    assert!(engages(&bench.tick()));
    assert_eq!(bench.session.phase(), Phase::Preparing);
}

#[test]
fn a_second_start_while_what_the_radio_had_is_being_stored_does_not_strand_it() {
    let mut bench = Bench::new();
    bench.until_read();
    bench.start().unwrap();
    bench.radio_is(RadioStage::Reading, None);
    bench.tick();
    bench.session.saved(1);
    bench.radio_is(RadioStage::AwaitingSave, Some(memory()));
    let outputs = bench.tick();
    assert!(outputs.iter().any(|output| matches!(output, Output::Radio(0, RadioOrder::Proceed))));
}

fn planned(satellite: &str, link: Option<&str>, at: &str) -> Result<Job, String> {
    let (config, catalog) = demo().unwrap();
    Ok(Stage::set(config, catalog, satellite, link, parse_time(at).unwrap())?.job)
}

#[test]
fn a_linear_transponder_is_worked_at_the_middle_of_its_passband_and_that_is_said() {
    let evening = "2026-11-25T18:00:00Z";
    let job = planned("TERN-1", None, evening).unwrap();
    assert_eq!(job.tuning.link().name, "transponder", "the first link is meant where none is named");
    let is_said = |job: &Job| job.warnings.iter().any(|warning| warning.contains("middle of the passband"));
    assert!(is_said(&job), "{:?}", job.warnings);
    // Doppler vanishes at the closest approach: within its 10 Hz there, each dial is at the middle.
    let channel = job.tuning.at(job.pass.tca).unwrap();
    let [receive, transmit] = [channel.receive.unwrap(), channel.transmit.unwrap()];
    assert!((receive.hertz - Hertz(436_683_000)).abs() < Hertz(10), "{receive:?}");
    assert!((transmit.hertz - Hertz(145_883_000)).abs() < Hertz(10), "{transmit:?}");
    assert_eq!((receive.mode, transmit.mode), (Mode::Usb, Mode::Lsb), "the passband is turned over");
    assert!(!is_said(&planned("TERN-1", Some("beacon"), evening).unwrap()));
}

#[test]
fn what_speaks_against_a_pass_is_said_before_it() {
    // The demo's PETREL-1 is on at weekends only; 2026-11-25 is a Wednesday.
    let midweek = planned("PETREL-1", None, "2026-11-25T18:00:00Z").unwrap();
    assert!(
        midweek.warnings.iter().any(|warning| warning.contains("is off at the time")),
        "{:?}",
        midweek.warnings
    );
    let old = planned("GANNET-1", None, "2026-12-04T18:00:00Z").unwrap();
    assert!(old.warnings.iter().any(|warning| warning.contains("days old")), "{:?}", old.warnings);
    // The demo's beam is 30 degrees wide: wide enough for two weeks, and not for five years.
    assert!(!old.warnings.iter().any(|warning| warning.contains("may miss")), "{:?}", old.warnings);
    let ancient = planned("GANNET-1", None, "2031-11-24T18:00:00Z").unwrap();
    let warned = |warning: &String| warning.contains("too uncertain for the beam, which may miss by");
    assert!(ancient.warnings.iter().any(warned), "{:?}", ancient.warnings);
    let good = planned("GANNET-1", None, "2026-11-25T18:00:00Z").unwrap();
    assert!(!good.warnings.iter().any(|warning| warning.contains("days old") || warning.contains("is off")));
}

#[test]
fn a_fixed_uplink_that_arrives_too_far_off_is_said_before_the_pass() {
    let (config, catalog) = demo().unwrap();
    let planner = Planner::new(&config, catalog);
    let warned = |satellite: &str, fixed_uplink: bool| {
        let wanted = StartParams { satellite: satellite.to_owned(), fixed_uplink, ..StartParams::default() };
        let job = planner.job(&wanted, parse_time("2026-11-25T18:00:00Z").unwrap(), 1).unwrap();
        job.warnings.iter().any(|warning| warning.contains("the uplink is fixed and arrives up to"))
    };
    // A low orbit moves 70 cm by up to 10 kHz and 2 m by up to 3.5 kHz.
    assert!(warned("PETREL-1", true), "435.347 MHz");
    assert!(!warned("PETREL-1", false));
    assert!(!warned("GANNET-1", true), "145.927 MHz");
}

/// By hand: 3 x 145.927 MHz = 437.781 MHz.
#[test]
fn a_third_harmonic_in_the_downlink_is_said_before_the_pass_by_a_station_that_transmits() {
    let (config, _) = demo().unwrap();
    let mut satellites = demo_satellites().unwrap();
    satellites[1].links[0].downlink = Hertz(437_781_000);
    let catalog = Catalog::new(satellites, read_elements(DEMO_ELEMENTS).sets);
    let warned = |planner: &Planner| {
        let job = planner.plan("GANNET-1", None, parse_time("2026-11-25T18:00:00Z").unwrap(), 1).unwrap();
        job.warnings.iter().any(|warning| warning.contains("third harmonic"))
    };
    let planner = Planner::new(&config, catalog);
    assert!(warned(&planner));
    assert!(!warned(&Planner { transmits: false, ..planner }));
}

#[test]
fn only_a_pass_that_is_near_or_on_needs_to_be_given_up_in_so_many_words() {
    for (before_aos, is_taken) in [(400.0, true), (121.0, true), (119.0, false), (-60.0, false)] {
        let mut bench = Bench::new();
        bench.job.prepare_at = later(bench.job.span.from, -300.0);
        bench.now = later(bench.job.span.from, -before_aos);
        bench.start().unwrap();
        bench.tick();
        let mut other = bench.job.clone();
        other.satellite = "TERN-1".to_owned();
        let answer = bench.command(Command::Start(Box::new(other)));
        assert_eq!(answer.is_ok(), is_taken, "{before_aos}");
        let told = answer.map_or_else(|refusal| refusal, |outputs| said(&outputs));
        assert!(told.contains("GANNET-1 repeater") && told.contains("given up"), "{told}");
        bench.job.span.until = later(bench.job.span.until, 0.003);
        let is_same = bench.session.job().is_some_and(|job| job.satellite == "GANNET-1");
        assert!(!is_same || bench.start().is_ok(), "the same pass is no other one");
    }
}

#[test]
fn the_authors_note_of_a_link_stands_apart_from_beamhands_own_words() {
    let (config, _) = demo().unwrap();
    let mut satellites = demo_satellites().unwrap();
    satellites[1].links[0].note = Some("ask before you key".to_owned());
    let elements = read_elements(DEMO_ELEMENTS).sets;
    let planner = Planner::new(&config, Catalog::new(satellites, elements));
    let mut bench = Bench::new();
    bench.job = planner.plan("GANNET-1", None, bench.now, 1).unwrap();
    assert_eq!(bench.job.note.as_deref(), Some("ask before you key"));
    let started = bench.start().unwrap();
    assert!(!said(&started).contains("ask before") && !bench.why().contains("ask before"));
}

#[test]
fn a_beam_that_was_left_pointing_up_and_a_pass_that_was_left_come_with_what_to_say() {
    let mut bench = Bench::new();
    bench.mast_is_at(AzEl::new(120.0, 30.0), AzEl::new(120.0, 30.0));
    let los = later(bench.now, 60.0);
    bench.session.was_interrupted(los);
    let (away, left) = ("not at its resting place: `beamhand park`", "not taken up again: `beamhand start`");
    assert!(bench.why().contains(away) && bench.why().contains(left), "{}", bench.why());
    bench.now = later(los, 1.0);
    assert!(!bench.why().contains(left), "that pass is over");
    let rest = demo().unwrap().0.rotator.unwrap().park;
    bench.mast_is_at(rest, rest);
    assert!(!bench.why().contains(away), "{}", bench.why());
}

#[test]
fn a_direction_is_answered_with_the_way_that_the_mount_turns() {
    let mut bench = Bench::new();
    bench.mast_is_at(AzEl::new(20.0, 0.0), AzEl::new(20.0, 0.0));
    let mut told = |azimuth| said(&bench.command(Command::Point(AzEl::new(azimuth, 10.0))).unwrap());
    let west =
        "the beam turns to azimuth 350.0 elevation 10.0 in the mount's own degrees, 330 degrees clockwise";
    assert_eq!(told(-10.0), west, "almost a whole turn, from 0 to 450");
    assert_eq!(told(5.0), "the beam turns to azimuth 5.0 elevation 10.0, 15 degrees counter-clockwise");
}
