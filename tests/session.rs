//! The session's decisions, one by one: what it orders, and what it refuses. No line, no clock.
#![allow(clippy::unwrap_used)]

use std::time::Duration;

use beamhand::clock::Trust;
use beamhand::device::{
    Contact, Detail, DeviceStatus, DialMemory, Motion, RadioMemory, RadioOrder, RadioStage, RadioView,
    RotatorOrder, RotatorView,
};
use beamhand::rehearsal::{Stage, demo};
use beamhand::session::{Circumstances, Command, Job, Output, Phase, Session};
use beamhand::terms::{AzEl, Hertz, Mode, Moment, Time, later, parse_time};

/// A station with one radio and a mount, as the session sees it.
struct Bench {
    session: Session,
    job: Job,
    now: Time,
    trust: Trust,
    radio: DeviceStatus,
    rotator: DeviceStatus,
}

fn device(name: &str, detail: Detail) -> DeviceStatus {
    DeviceStatus {
        name: name.to_owned(),
        contact: Contact::Good,
        last_sent: None,
        last_read: None,
        commands: 0,
        bytes: 0,
        refused: 0,
        orders: 0,
        behind: false,
        detail,
    }
}

impl Bench {
    fn new() -> Self {
        let (config, catalog) = demo().unwrap();
        let evening = parse_time("2026-11-25T18:00:00Z").unwrap();
        let stage = Stage::set(config, catalog, "GANNET-1", None, evening).unwrap();
        let view = RadioView {
            stage: RadioStage::Idle,
            receive: None,
            transmit: None,
            transmitting: None,
            last_over: None,
            in_use: None,
            memory: None,
            notes: Vec::new(),
        };
        let position = Some((AzEl::new(0.0, 0.0), Duration::ZERO));
        let mount = RotatorView {
            motion: Motion::Resting,
            target: None,
            position,
            stop_pending: false,
            notes: Vec::new(),
        };
        Self {
            session: stage.session(),
            now: evening,
            job: stage.job,
            trust: Trust::Trusted { error_s: Some(0.01) },
            radio: device("radio", Detail::Radio(view)),
            rotator: device("mast", Detail::Rotator(mount)),
        }
    }

    fn radio_is(&mut self, stage: RadioStage, memory: Option<RadioMemory>) {
        if let Detail::Radio(view) = &mut self.radio.detail {
            view.stage = stage;
            view.memory = memory;
        }
    }

    fn with<T>(&mut self, act: impl FnOnce(&mut Session, &Circumstances) -> T) -> T {
        let now = Moment { utc: self.now, mono: Duration::ZERO, speed: 1.0 };
        let radios = [self.radio.clone()];
        let around = Circumstances { now, trust: &self.trust, radios: &radios, rotator: Some(&self.rotator) };
        act(&mut self.session, &around)
    }

    fn tick(&mut self) -> Vec<Output> {
        self.with(|session, around| session.tick(around))
    }

    fn command(&mut self, command: Command) -> Result<Vec<Output>, String> {
        self.with(|session, around| session.command(command, around)).map_err(|refusal| refusal.to_string())
    }

    fn start(&mut self) -> Result<Vec<Output>, String> {
        let job = Box::new(self.job.clone());
        self.command(Command::Start(job))
    }

    /// To the moment of preparation, with the radio's memory read.
    fn until_read(&mut self) -> Vec<Output> {
        self.now = self.job.prepare_at;
        self.start().unwrap();
        self.radio_is(RadioStage::AwaitingSave, Some(memory()));
        self.tick()
    }
}

fn memory() -> RadioMemory {
    let receive = DialMemory { hertz: Some(Hertz(145_500_000)), mode: Some(Mode::Fm) };
    RadioMemory { receive, transmit: DialMemory::default() }
}

fn engages(outputs: &[Output]) -> bool {
    outputs.iter().any(|output| matches!(output, Output::Radio(0, RadioOrder::Engage(_))))
}

fn moves_the_beam(outputs: &[Output]) -> bool {
    let moves =
        |output: &Output| matches!(output, Output::Rotator(RotatorOrder::Follow(_) | RotatorOrder::GoTo(_)));
    outputs.iter().any(moves)
}

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
    bench.command(Command::Start(Box::new(next))).unwrap();
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
fn a_linear_transponder_is_refused_by_name_and_left_out_where_none_is_named() {
    let refusal = planned("TERN-1", Some("transponder"), "2026-11-25T18:00:00Z").err().unwrap();
    assert!(refusal.contains("linear") && refusal.contains("beacon"), "{refusal}");
    let job = planned("TERN-1", None, "2026-11-25T18:00:00Z").unwrap();
    assert_eq!(job.tuning.link().name, "beacon");
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
    let old = planned("GANNET-1", None, "2026-12-24T18:00:00Z").unwrap();
    assert!(old.warnings.iter().any(|warning| warning.contains("days old")), "{:?}", old.warnings);
    let good = planned("GANNET-1", None, "2026-11-25T18:00:00Z").unwrap();
    assert!(!good.warnings.iter().any(|warning| warning.contains("days old") || warning.contains("is off")));
}
