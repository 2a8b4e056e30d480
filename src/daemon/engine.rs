//! The daemon's heart: one loop that hands the operator's calls and the devices' news to the
//! session, and the session's orders to the devices.

mod beam;
mod halting;
mod listening;
mod recording;
mod reloading;
mod requests;
mod taking_up;
mod unattended;

use std::sync::Arc;
use std::time::Duration;

use serde_json::Value;
use tokio::sync::{mpsc, oneshot, watch};
use tokio::time::Instant;

use crate::clock::{Clock, Trust};
use crate::config::ConfigErrors;
use crate::control::{Method, RotatorStatus, RpcError, Status, code};
use crate::device::{DeviceStatus, Fleet, Motion, RadioMemory, RadioStage};
use crate::session::{Circumstances, Job, Output, Phase};
use crate::terms::{AzEl, later};

use super::alarms::Alarms;
use super::auto::Auto;
use super::keepsake::{Keepsake, KeepsakeWriter, Keepsakes};
use super::listening::Hearing;
use super::log_limit::LogLimit;
use super::programs::Programs;
use super::recording::{Recording, Tape, Watched};
use super::trims::KeptTrims;
use super::undertaking::{Undertaking, UndertakingFile};
use super::vitals::{Patience, Vitals};
use super::watch::Watch;
use super::{Outlook, Planner, report};
use halting::Owed;
use reloading::Reloaded;
use requests::Reply;
use taking_up::TakingUp;

/// How often the session is stepped, and how often while there is none.
const TICK: Duration = Duration::from_millis(50);
const IDLE_TICK: Duration = Duration::from_millis(200);
/// How often the status is published; a change of state is, at once.
const PUBLISH_EVERY: Duration = Duration::from_millis(200);
/// How long the end waits for the motors' stop to leave.
const STOP_WITHIN: Duration = Duration::from_millis(500);
/// So long after LOS a daemon that starts anew still gives the radios back what they had, seconds.
const GIVE_BACK_LATER_S: f64 = 600.0;
/// How long the end may take while radios are given back what they had.
const GIVE_BACK_WITHIN: Duration = Duration::from_secs(3);

/// A request from the socket, and where its answer goes.
pub struct Call {
    /// What is asked.
    pub method: Method,
    /// Who asks, for the log.
    pub peer: String,
    /// Takes the answer; nobody may be waiting for it any more.
    pub reply: oneshot::Sender<Result<Value, RpcError>>,
}

/// What an engine is made of.
pub struct EngineParts {
    /// The time.
    pub clock: Arc<dyn Clock>,
    /// The station's callsign.
    pub callsign: Option<String>,
    /// Plans passes.
    pub planner: Planner,
    /// Decides.
    pub session: Watched,
    /// Carries out.
    pub fleet: Fleet,
    /// The state folder.
    pub state: std::path::PathBuf,
    /// Where all work that has to go on is known.
    pub(super) vitals: Vitals,
    /// What is kept of each session.
    pub(super) recording: Recording,
}

/// A status and its number: a reader that skips numbers has missed some.
pub type Published = (u64, Arc<Status>);

/// How others talk to a running engine.
#[derive(Clone)]
pub struct Handle {
    /// Takes calls.
    pub calls: mpsc::Sender<Call>,
    /// The newest status, and how many there were before it.
    pub status: watch::Receiver<Published>,
    halt: crate::device::HaltLatch,
}

impl Handle {
    /// Stops every motor, before anything else is looked at; the session learns of it afterwards.
    pub fn halt(&self) {
        self.halt.set();
    }

    /// Asks, and waits for the answer.
    pub async fn call(&self, method: Method, peer: &str) -> Result<Value, RpcError> {
        let (reply, answer) = oneshot::channel();
        let gone = |_| RpcError::new(code::INTERNAL, "the daemon is ending");
        self.calls.send(Call { method, peer: peer.to_owned(), reply }).await.map_err(|_| gone(()))?;
        answer.await.map_err(|_| gone(()))?
    }
}

/// News from slow work that was done elsewhere.
enum News {
    Planned(u64, Box<Result<Job, String>>, Reply),
    /// A trim is kept or forgotten, or not; in words.
    TrimStored(Result<String, String>, Reply),
    /// The mount's shift is kept, or not.
    NudgeStored(Result<AzEl, String>, Reply),
    Saved(u64, std::io::Result<()>),
    /// A piece of what was heard is stored, or not.
    Heard(std::io::Result<()>),
    /// The antenna's label is kept, or not; in words.
    AntennaStored(Result<String, String>, Reply),
    Outlook(crate::terms::Time, Box<Planner>, Outlook),
    /// A pass of the agenda is planned.
    Due(u64, Box<Result<Job, String>>),
    /// The pass that a daemon was in which did not end is planned again.
    TakenUp(Box<Result<Job, String>>),
    Reloaded(Result<Box<Reloaded>, ConfigErrors>, Reply),
}

/// A station at work.
pub struct Engine {
    parts: EngineParts,
    keepsake: Keepsake,
    writer: KeepsakeWriter,
    undertaking: UndertakingFile,
    stored_undertaking: Option<Undertaking>,
    taking_up: Option<TakingUp>,
    trims: KeptTrims,
    generation: u64,
    calls: mpsc::Receiver<Call>,
    news: mpsc::UnboundedReceiver<News>,
    tell: mpsc::UnboundedSender<News>,
    status: watch::Sender<Published>,
    published_at: Duration,
    watch: Watch,
    log_limit: LogLimit,
    /// Who asked to halt and is not answered yet.
    owed: Vec<Owed>,
    /// What is to be known of a mount that is run for the first time.
    caution: Option<String>,
    auto: Auto,
    alarms: Alarms,
    programs: Programs,
    hearing: Hearing,
}

/// The devices' last words and the clock's.
struct Seen {
    now: crate::terms::Moment,
    trust: Trust,
    radios: Vec<DeviceStatus>,
    rotator: Option<DeviceStatus>,
}

impl Seen {
    fn around(&self) -> Circumstances<'_> {
        Circumstances {
            now: self.now,
            trust: &self.trust,
            radios: &self.radios,
            rotator: self.rotator.as_ref(),
        }
    }
}

impl Engine {
    /// Puts a station together; `run` starts it.
    ///
    /// # Errors
    /// If the thread that stores can't be started.
    pub fn new(parts: EngineParts) -> std::io::Result<(Self, Handle)> {
        let (call_sender, calls) = mpsc::channel(64);
        let (tell, news) = mpsc::unbounded_channel();
        let seen = look_around(&parts);
        let rehearsal = parts.clock.is_rehearsal();
        let first = report::status(parts.callsign.as_deref(), rehearsal, &parts.session, &seen.around());
        let (status, status_receiver) = watch::channel((0, Arc::new(first)));
        let handle = Handle { calls: call_sender, status: status_receiver, halt: parts.fleet.halt_latch() };
        let keepsake = Keepsake::in_folder(&parts.state);
        let undertaking = UndertakingFile::in_folder(&parts.state);
        let stored = tell.clone();
        let files = (keepsake.clone(), undertaking.clone());
        let writer = KeepsakeWriter::start(files, parts.vitals.clone(), move |request, result| {
            let _ = stored.send(News::Saved(request, result));
        })?;
        // Where nothing is read again, nothing is real: the agenda is not worked.
        let is_real = parts.planner.files.is_some();
        let heard = tell.clone();
        let hearing = listening::hearing(&parts, is_real, move |news| {
            let _ = heard.send(news);
        })?;
        let auto = Auto::resumed(is_real && keepsake.is_auto());
        let commands = parts.planner.files.as_ref().map(|files| files.config().agenda.commands.clone());
        let alarms = Alarms::new(commands.unwrap_or_default());
        let trims = KeptTrims::in_folder(&parts.state);
        let (generation, published_at, watch) = (0, Duration::ZERO, Watch::default());
        Ok((
            Self {
                parts,
                keepsake,
                writer,
                undertaking,
                stored_undertaking: None,
                taking_up: None,
                trims,
                generation,
                calls,
                news,
                tell,
                status,
                published_at,
                watch,
                log_limit: LogLimit::default(),
                owed: Vec::new(),
                caution: None,
                auto,
                alarms,
                programs: Programs::default(),
                hearing,
            },
            handle,
        ))
    }

    /// Works until `quit` says so, then ends orderly: motors stopped, radios given back.
    pub async fn run(mut self, mut quit: watch::Receiver<bool>) {
        self.remember_halt();
        self.remember_auto();
        self.remember_beam();
        self.recover();
        let pulse = self.parts.vitals.begin("the loop of the session", Patience::STEADY);
        let mut tick_at = Instant::now();
        while !*quit.borrow() {
            tokio::select! {
                Some(call) = self.calls.recv() => if !self.take(call) {
                    pulse.beat();
                    continue;
                },
                Some(news) = self.news.recv() => self.learn(news),
                () = tokio::time::sleep_until(tick_at) => {},
                changed = quit.changed() => if changed.is_err() { break },
            }
            self.step();
            tick_at = Instant::now() + if self.is_at_rest() { IDLE_TICK } else { TICK };
            pulse.beat();
        }
        drop(pulse);
        self.finish().await;
    }

    /// Whether nothing is worked and nobody waits.
    fn is_at_rest(&self) -> bool {
        self.parts.session.phase() == Phase::Idle && self.owed.is_empty() && self.taking_up.is_none()
    }

    fn seen(&self) -> Seen {
        look_around(&self.parts)
    }

    /// Lets the session look at the devices, and publishes how things are.
    fn step(&mut self) {
        for replaced in self.parts.fleet.look_after() {
            tracing::warn!("{replaced}");
        }
        let seen = self.seen();
        self.heed_halt(&seen);
        self.tell_of_stops(&seen);
        self.begin_record_if_due(&seen);
        let outputs = self.parts.session.tick(&seen.around());
        self.carry_out(outputs, "the session");
        self.hear(&seen);
        self.take_up(&seen);
        self.run_auto(&seen);
        self.store_undertaking();
        self.ring(&seen);
        self.end_record_if_over(&seen);
        for line in self.watch.look(seen.radios.iter().chain(&seen.rotator), seen.now.mono) {
            tracing::info!("{line}");
        }
        let state = report::state(&self.parts.session);
        let news = self.status.borrow().1.state != state;
        if news || seen.now.mono.saturating_sub(self.published_at) >= PUBLISH_EVERY {
            self.published_at = seen.now.mono;
            let status = Arc::new(self.status(&seen));
            self.status.send_modify(|(number, newest)| {
                *number += 1;
                *newest = status;
            });
        }
    }

    fn status(&self, seen: &Seen) -> Status {
        let parts = &self.parts;
        let agenda = self.auto_status(seen);
        let rehearsal = parts.clock.is_rehearsal();
        let status = report::status(parts.callsign.as_deref(), rehearsal, &parts.session, &seen.around());
        let caution = self.caution.clone();
        let rotator = status.rotator.map(|rotator| RotatorStatus { caution, ..rotator });
        let record = parts.session.tape().map(Tape::status);
        let antenna = Some(self.hearing.antenna.label().to_owned()).filter(|label| !label.is_empty());
        let listening = self.listening_status();
        Status { agenda, rotator, record, antenna, listening, ..status }
    }

    /// Does slow work away from the loop, which goes on meanwhile.
    fn aside(&self, name: &'static str, work: impl FnOnce() + Send + 'static) {
        let vitals = self.parts.vitals.clone();
        tokio::task::spawn_blocking(move || {
            // Many may wait for their turn; that is not being stuck.
            let _pulse = vitals.begin(name, Patience::SLOW);
            work();
        });
    }

    /// Has the session's wishes done; what it says is logged as `source`'s.
    fn carry_out(&mut self, outputs: Vec<Output>, source: &str) {
        for output in outputs {
            match output {
                Output::Radio(index, order) => self.parts.fleet.order_radio(index, order),
                Output::Rotator(order) => self.parts.fleet.order_rotator(order),
                Output::HaltLines => self.parts.fleet.halt(),
                Output::ResumeLines => {
                    self.parts.fleet.resume();
                    self.writer.halted(false);
                }
                Output::Save(request, memories) => self.save(request, memories),
                Output::Forget => self.writer.forget(),
                Output::Shelve => self.writer.shelve(),
                Output::Say(what) => self.log(source, &what),
            }
        }
    }

    /// Logs a line, unless its source fills the log.
    fn log(&mut self, source: &str, line: &str) {
        if let Some(line) = self.log_limit.admit(source, line, self.parts.clock.now().mono) {
            tracing::info!("{line}");
        }
    }

    /// Stores what the radios had, away from this loop; `News::Saved` says when it is safe.
    fn save(&self, request: u64, memories: Vec<(usize, RadioMemory)>) {
        let radios = self.parts.fleet.radios();
        let named = memories
            .into_iter()
            .filter_map(|(index, memory)| Some((radios.get(index)?.name.clone(), memory)));
        let los = self.parts.session.job().map(|job| job.span.until);
        // A rehearsal's time says nothing to a daemon that starts anew.
        let until = los.filter(|_| !self.parts.clock.is_rehearsal());
        let until = until.map(|los| later(los, GIVE_BACK_LATER_S));
        self.writer.save(request, Keepsakes { radios: named.collect(), until });
    }

    fn learn(&mut self, news: News) {
        match news {
            News::Saved(request, result) => {
                // A radio that is prepared without a copy of what it had is better than a lost pass.
                if let Err(error) = result {
                    let what = format!("what the radios had can't be stored: {error}");
                    tracing::warn!("{what}");
                    self.parts.session.warn(what);
                }
                self.parts.session.saved(request);
            }
            News::Planned(generation, planned, reply) => self.planned(generation, *planned, reply),
            News::Outlook(at, planner, outlook) => self.outlook_made(at, *planner, outlook),
            News::Due(generation, job) => self.due(generation, *job),
            News::TakenUp(job) => self.taken_up(*job),
            News::Reloaded(read, reply) => self.reloaded(read, reply),
            News::TrimStored(done, reply) => self.stored(done, reply),
            News::NudgeStored(done, reply) => self.nudge_stored(done, reply),
            News::Heard(done) => self.heard(done),
            News::AntennaStored(done, reply) => self.stored(done, reply),
        }
    }

    /// Stops the motors, then gives the radios back what they had, as far as that goes in time.
    async fn finish(mut self) {
        let owes = self.parts.session.phase().has_devices() || self.parts.session.phase() == Phase::Finishing;
        if owes {
            tracing::info!("ending: motors stop, radios get back what they had");
        }
        self.taking_up = None;
        self.hearing.end_spell();
        let outputs = self.parts.session.shut_down();
        self.carry_out(outputs, "the session");
        self.store_undertaking();
        self.wait(STOP_WITHIN, |engine| {
            engine.parts.fleet.rotator().is_some_and(|mount| is_stopping(&mount))
        })
        .await;
        self.wait(GIVE_BACK_WITHIN, |engine| engine.parts.fleet.radios().iter().any(is_being_given_back))
            .await;
        if owes && self.parts.fleet.radios().iter().all(is_free) {
            self.writer.forget();
        }
        self.end_record();
    }

    /// Waits while something is so, but not for longer than `most`.
    async fn wait(&self, most: Duration, while_so: impl Fn(&Self) -> bool) {
        let deadline = Instant::now() + most;
        while while_so(self) && Instant::now() < deadline {
            tokio::time::sleep(TICK / 5).await;
        }
    }
}

/// Whether a mount has yet to be told to stop.
fn is_stopping(status: &DeviceStatus) -> bool {
    let reachable = status.contact.is_open();
    let halted = status.rotator().is_some_and(|view| view.motion == Motion::Halted && !view.stop_pending);
    reachable && !halted
}

fn is_free(status: &DeviceStatus) -> bool {
    !status.behind && status.radio().is_none_or(|radio| radio.stage == RadioStage::Idle)
}

/// Whether waiting for a radio still makes sense.
fn is_being_given_back(status: &DeviceStatus) -> bool {
    let reachable = status.contact.is_open();
    reachable && !is_free(status)
}

fn look_around(parts: &EngineParts) -> Seen {
    Seen {
        now: parts.clock.now(),
        trust: parts.clock.trust(),
        radios: parts.fleet.radios(),
        rotator: parts.fleet.rotator(),
    }
}

fn to_value(answer: &impl serde::Serialize) -> Result<Value, RpcError> {
    serde_json::to_value(answer).map_err(|error| RpcError::new(code::INTERNAL, error.to_string()))
}
