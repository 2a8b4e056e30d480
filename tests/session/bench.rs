//! A station with one radio and a mount, as the session sees it. No line, no clock.

use std::time::Duration;

use beamhand::clock::Trust;
use beamhand::daemon::session_setup;
use beamhand::device::{
    Contact, Detail, DeviceStatus, DialMemory, DialView, Motion, RadioMemory, RadioOrder, RadioStage,
    RadioView, RotatorOrder, RotatorView,
};
use beamhand::rehearsal::{Stage, demo};
use beamhand::session::{Circumstances, Command, Job, Output, Session, SessionSetup, ToneSender};
use beamhand::terms::{AzEl, Hertz, Mode, Moment, NoGo, Time, Tone, later, parse_time, seconds_between};

const EVENING: &str = "2026-11-25T18:00:00Z";

/// The station.
pub(crate) struct Bench {
    pub(crate) session: Session,
    pub(crate) job: Job,
    pub(crate) now: Time,
    pub(crate) trust: Trust,
    pub(crate) radio: DeviceStatus,
    pub(crate) rotator: DeviceStatus,
    /// Seconds by which the clock was set forward.
    stepped: f64,
}

fn idle_radio() -> RadioView {
    RadioView {
        stage: RadioStage::Idle,
        receive: None,
        transmit: None,
        transmitting: None,
        last_over: None,
        in_use: None,
        memory: None,
        notes: Vec::new(),
        heard: Vec::new(),
    }
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
    pub(crate) fn new() -> Self {
        Self::of("GANNET-1", None)
    }

    /// For another link.
    pub(crate) fn of(satellite: &str, link: Option<&str>) -> Self {
        Self::with_setup(satellite, link, &|_| {})
    }

    /// Whose radios are only left alone after a pass.
    pub(crate) fn that_leaves_the_radio() -> Self {
        Self::with_setup("GANNET-1", None, &|setup| setup.restore_radio = false)
    }

    /// Whose radio can't be given a tone.
    pub(crate) fn without_tones(why: &str) -> Self {
        let nobody = ToneSender::Nobody(why.to_owned());
        Self::with_setup("GANNET-1", None, &|setup| setup.tone = nobody.clone())
    }

    /// Where the beam must not go somewhere.
    pub(crate) fn with_sector(sector: NoGo) -> Self {
        Self::with_setup("GANNET-1", None, &|setup| {
            setup.mount.iter_mut().for_each(|mount| mount.no_go = vec![sector]);
        })
    }

    fn with_setup(satellite: &str, link: Option<&str>, change: &dyn Fn(&mut SessionSetup)) -> Self {
        let (config, catalog) = demo().unwrap();
        let evening = parse_time(EVENING).unwrap();
        let stage = Stage::set(config, catalog, satellite, link, evening).unwrap();
        let mut setup = session_setup(&stage.config, stage.planner.mount.clone());
        change(&mut setup);
        let mount = RotatorView {
            motion: Motion::Resting,
            target: None,
            position: Some((AzEl::new(0.0, 0.0), Duration::ZERO)),
            stop_pending: false,
            pace: Default::default(),
            notes: Vec::new(),
        };
        Self {
            session: Session::new(setup),
            now: evening,
            job: stage.job,
            trust: Trust::Trusted { error_s: Some(0.01) },
            radio: device("radio", Detail::Radio(idle_radio())),
            rotator: device("mast", Detail::Rotator(mount)),
            stepped: 0.0,
        }
    }

    pub(crate) fn radio_is(&mut self, stage: RadioStage, memory: Option<RadioMemory>) {
        if let Detail::Radio(view) = &mut self.radio.detail {
            view.stage = stage;
            view.memory = memory;
        }
    }

    /// The radio's transmitter: the tone that was set, and what it says of its key.
    pub(crate) fn transmitter_is(&mut self, tone: &str, transmitting: Option<bool>) {
        if let Detail::Radio(view) = &mut self.radio.detail {
            let tone = tone.parse::<f64>().ok().map(|hertz| Tone::try_from(hertz).unwrap());
            view.transmit = Some(DialView { tone, ..DialView::default() });
            view.transmitting = transmitting;
        }
    }

    pub(crate) fn somebody_uses_the_radio(&mut self, how: Option<&str>) {
        if let Detail::Radio(view) = &mut self.radio.detail {
            view.in_use = how.map(str::to_owned);
        }
    }

    pub(crate) fn mast_is_at(&mut self, place: AzEl, target: AzEl) {
        if let Detail::Rotator(view) = &mut self.rotator.detail {
            (view.position, view.target) = (Some((place, Duration::ZERO)), Some(target));
        }
    }

    /// Sets the clock; no time passes.
    pub(crate) fn step_clock(&mut self, seconds: f64) {
        self.stepped += seconds;
        self.now = later(self.now, seconds);
    }

    fn mono(&self) -> Duration {
        let evening = parse_time(EVENING).unwrap();
        Duration::from_secs_f64(seconds_between(evening, self.now) - self.stepped)
    }

    pub(crate) fn why(&mut self) -> String {
        self.with(|session, around| session.why(around))
    }

    pub(crate) fn with<T>(&mut self, act: impl FnOnce(&mut Session, &Circumstances) -> T) -> T {
        let now = Moment { utc: self.now, mono: self.mono(), speed: 1.0 };
        let radios = [self.radio.clone()];
        let around = Circumstances { now, trust: &self.trust, radios: &radios, rotator: Some(&self.rotator) };
        act(&mut self.session, &around)
    }

    pub(crate) fn tick(&mut self) -> Vec<Output> {
        self.with(|session, around| session.tick(around))
    }

    pub(crate) fn command(&mut self, command: Command) -> Result<Vec<Output>, String> {
        self.with(|session, around| session.command(command, around)).map_err(|refusal| refusal.to_string())
    }

    pub(crate) fn start(&mut self) -> Result<Vec<Output>, String> {
        let job = Box::new(self.job.clone());
        self.command(Command::Start(job))
    }

    /// To the moment of preparation, with the radio's memory read.
    pub(crate) fn until_read(&mut self) -> Vec<Output> {
        self.now = self.job.prepare_at;
        self.start().unwrap();
        self.radio_is(RadioStage::AwaitingSave, Some(memory()));
        self.tick()
    }
}

pub(crate) fn memory() -> RadioMemory {
    let receive = DialMemory { hertz: Some(Hertz(145_500_000)), mode: Some(Mode::Fm) };
    RadioMemory { receive, ..RadioMemory::default() }
}

pub(crate) fn engages(outputs: &[Output]) -> bool {
    outputs.iter().any(|output| matches!(output, Output::Radio(0, RadioOrder::Engage(_))))
}

pub(crate) fn moves_the_beam(outputs: &[Output]) -> bool {
    let moves =
        |output: &Output| matches!(output, Output::Rotator(RotatorOrder::Follow(_) | RotatorOrder::GoTo(_)));
    outputs.iter().any(moves)
}

/// All that was said, in one.
pub(crate) fn said(outputs: &[Output]) -> String {
    let said = |output: &Output| if let Output::Say(what) = output { Some(what.clone()) } else { None };
    outputs.iter().filter_map(said).collect::<Vec<_>>().join("; ")
}

/// The tone of the newest plan that the radio was given, in tenths of hertz.
pub(crate) fn ordered_tone(outputs: &[Output], now: Time) -> Option<Option<u16>> {
    let plan = outputs.iter().rev().find_map(|output| match output {
        Output::Radio(0, RadioOrder::Follow(plan) | RadioOrder::Engage(plan)) => Some(plan.clone()),
        _ => None,
    })?;
    Some(plan.at(now)?.transmit?.tone.map(Tone::tenths))
}
