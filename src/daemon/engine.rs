//! The daemon's heart: one loop that hands the operator's calls and the devices' news to the
//! session, and the session's orders to the devices.

use std::sync::Arc;
use std::time::Duration;

use serde_json::Value;
use tokio::sync::{mpsc, oneshot, watch};
use tokio::time::MissedTickBehavior;

use crate::clock::{Clock, Trust};
use crate::control::{Ack, Method, PassesParams, RpcError, StartParams, Status, TrimParams, code};
use crate::device::{Contact, DeviceStatus, Fleet, Motion, RadioMemory, RadioStage};
use crate::link::Trim;
use crate::session::{Circumstances, Command, Job, Output, Phase, Refusal, Session};
use crate::terms::{AzEl, Direction, Hertz};

use super::call_log::CallLog;
use super::keepsake::{Keepsake, KeepsakeWriter};
use super::watch::Watch;
use super::{Planner, report};

/// Oscillators of satellites are off by hundreds of hertz; this is far beyond.
const LARGEST_TRIM: Hertz = Hertz(50_000);
/// How often the session is stepped.
const TICK: Duration = Duration::from_millis(50);
/// How often the status is published; a change of state is, at once.
const PUBLISH_EVERY: Duration = Duration::from_millis(200);
/// How long the end waits for the motors' stop to leave.
const STOP_WITHIN: Duration = Duration::from_millis(500);
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
    pub session: Session,
    /// Carries out.
    pub fleet: Fleet,
    /// The state folder.
    pub state: std::path::PathBuf,
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
    /// Asks, and waits for the answer. `halt` reaches the lines before anything else is looked at.
    pub async fn call(&self, method: Method, peer: &str) -> Result<Value, RpcError> {
        if method == Method::Halt {
            self.halt.set();
        }
        let (reply, answer) = oneshot::channel();
        let gone = |_| RpcError::new(code::INTERNAL, "the daemon is ending");
        self.calls.send(Call { method, peer: peer.to_owned(), reply }).await.map_err(|_| gone(()))?;
        answer.await.map_err(|_| gone(()))?
    }
}

/// News from slow work that was done elsewhere.
enum News {
    Planned(u64, Box<Result<Job, String>>, oneshot::Sender<Result<Value, RpcError>>),
    Saved(u64, std::io::Result<()>),
}

/// A station at work.
pub struct Engine {
    parts: EngineParts,
    keepsake: Keepsake,
    writer: KeepsakeWriter,
    generation: u64,
    calls: mpsc::Receiver<Call>,
    news: mpsc::UnboundedReceiver<News>,
    tell: mpsc::UnboundedSender<News>,
    status: watch::Sender<Published>,
    published_at: Duration,
    watch: Watch,
    call_log: CallLog,
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
        let stored = tell.clone();
        let writer = KeepsakeWriter::start(keepsake.clone(), move |request, result| {
            let _ = stored.send(News::Saved(request, result));
        })?;
        let (published_at, watch, call_log) = (Duration::ZERO, Watch::default(), CallLog::default());
        Ok((
            Self {
                parts,
                keepsake,
                writer,
                generation: 0,
                calls,
                news,
                tell,
                status,
                published_at,
                watch,
                call_log,
            },
            handle,
        ))
    }

    /// Works until `quit` says so, then ends orderly: motors stopped, radios given back.
    pub async fn run(mut self, mut quit: watch::Receiver<bool>) {
        self.recover();
        let mut ticks = tokio::time::interval(TICK);
        ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
        while !*quit.borrow() {
            tokio::select! {
                Some(call) = self.calls.recv() => self.take(call),
                Some(news) = self.news.recv() => self.learn(news),
                _ = ticks.tick() => {}
                changed = quit.changed() => if changed.is_err() { break },
            }
            self.step();
        }
        self.finish().await;
    }

    fn seen(&self) -> Seen {
        look_around(&self.parts)
    }

    /// Gives the radios back what a session that did not end had read.
    fn recover(&mut self) {
        let left = match self.keepsake.load() {
            Ok(left) => left,
            Err(error) => {
                tracing::warn!(
                    "what the radios had before a session that did not end can't be read: {error}"
                );
                return;
            }
        };
        let radios = self.parts.fleet.radios();
        let memories: Vec<Option<RadioMemory>> = radios
            .iter()
            .map(|radio| left.iter().find(|(name, _)| *name == radio.name).map(|(_, memory)| memory.clone()))
            .collect();
        if memories.iter().any(Option::is_some) {
            tracing::info!("a session did not end: its radios get back what they had");
            let outputs = self.parts.session.recover(memories);
            self.carry_out(outputs);
        }
    }

    /// Lets the session look at the devices, and publishes how things are.
    fn step(&mut self) {
        let seen = self.seen();
        let outputs = self.parts.session.tick(&seen.around());
        self.carry_out(outputs);
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
        report::status(parts.callsign.as_deref(), parts.clock.is_rehearsal(), &parts.session, &seen.around())
    }

    fn carry_out(&mut self, outputs: Vec<Output>) {
        for output in outputs {
            match output {
                Output::Radio(index, order) => self.parts.fleet.order_radio(index, order),
                Output::Rotator(order) => self.parts.fleet.order_rotator(order),
                Output::HaltLines => self.parts.fleet.halt(),
                Output::ResumeLines => self.parts.fleet.resume(),
                Output::Save(request, memories) => self.save(request, memories),
                Output::Forget => self.writer.forget(),
                Output::Say(what) => tracing::info!("{what}"),
            }
        }
    }

    /// Stores what the radios had, away from this loop; `News::Saved` says when it is safe.
    fn save(&self, request: u64, memories: Vec<(usize, RadioMemory)>) {
        let radios = self.parts.fleet.radios();
        let named = memories
            .into_iter()
            .filter_map(|(index, memory)| Some((radios.get(index)?.name.clone(), memory)));
        self.writer.save(request, named.collect());
    }

    fn learn(&mut self, news: News) {
        match news {
            News::Saved(request, result) => {
                // A radio that is prepared without a copy of what it had is better than a lost pass.
                if let Err(error) = result {
                    tracing::warn!("what the radios had can't be stored: {error}");
                }
                self.parts.session.saved(request);
            }
            News::Planned(generation, planned, reply) => {
                let answer = match *planned {
                    _ if generation != self.generation => Err(RpcError::new(
                        code::NOT_NOW,
                        "another command came in between, so this one is dropped",
                    )),
                    Ok(job) => self.command(Command::Start(Box::new(job))),
                    Err(why) => Err(RpcError::new(code::NOT_FOUND, why)),
                };
                let _ = reply.send(answer);
            }
        }
    }

    fn take(&mut self, call: Call) {
        let Call { method, peer, reply } = call;
        if !matches!(method, Method::Status | Method::Passes(_) | Method::Subscribe) {
            let call = serde_json::to_string(&method).unwrap_or_default();
            if let Some(line) = self.call_log.line(&peer, &call, self.parts.clock.now().mono) {
                tracing::info!("{line}");
            }
        }
        match method {
            Method::Start(params) => self.plan(params, reply),
            Method::Passes(params) => self.search(params, reply),
            other => {
                let _ = reply.send(self.answer(other));
            }
        }
    }

    fn answer(&mut self, method: Method) -> Result<Value, RpcError> {
        match method {
            Method::Status | Method::Subscribe => to_value(&self.status(&self.seen())),
            Method::Stop => {
                // A start that is still being planned is stopped with the rest.
                self.generation += 1;
                self.command(Command::Stop)
            }
            Method::Halt => self.command(Command::Halt),
            Method::Resume => self.command(Command::Resume),
            Method::Park => self.command(Command::Park),
            Method::Point(to) => self.command(Command::Point(AzEl::new(to.azimuth, to.elevation))),
            Method::Trim(params) if params.hertz.abs() > LARGEST_TRIM => {
                let what = format!("a trim is at most {} Hz either way", LARGEST_TRIM.0);
                Err(RpcError::new(code::BAD_PARAMS, what))
            }
            Method::Trim(params) => {
                let trim = self.trimmed(params);
                self.command(Command::Trim(trim))
            }
            Method::Start(_) | Method::Passes(_) | Method::Auto | Method::Tone(_) | Method::Reload => {
                Err(RpcError::new(code::NO_SUCH_METHOD, "this version of the daemon can't do that yet"))
            }
        }
    }

    fn trimmed(&self, params: TrimParams) -> Trim {
        let trim = self.parts.session.trim();
        match params.direction {
            Direction::Receive => Trim { receive: params.hertz, ..trim },
            Direction::Transmit => Trim { transmit: params.hertz, ..trim },
        }
    }

    fn command(&mut self, command: Command) -> Result<Value, RpcError> {
        let seen = self.seen();
        let outputs = self.parts.session.command(command, &seen.around()).map_err(refusal)?;
        let said = |output: &Output| if let Output::Say(what) = output { Some(what.clone()) } else { None };
        let mut why: Vec<String> = outputs.iter().filter_map(said).collect();
        self.carry_out(outputs);
        why.push(self.parts.session.why(&seen.around()));
        to_value(&Ack { state: report::state(&self.parts.session), why: why.join("; ") })
    }

    fn plan(&mut self, params: StartParams, reply: oneshot::Sender<Result<Value, RpcError>>) {
        self.generation += 1;
        let (planner, tell) = (self.parts.planner.clone(), self.tell.clone());
        let (now, generation) = (self.parts.clock.now().utc, self.generation);
        tokio::task::spawn_blocking(move || {
            let planned = planner.refreshed();
            let job = planned.and_then(|now_known| {
                now_known.plan(&params.satellite, params.link.as_deref(), now, generation)
            });
            let _ = tell.send(News::Planned(generation, Box::new(job), reply));
        });
    }

    fn search(&self, params: PassesParams, reply: oneshot::Sender<Result<Value, RpcError>>) {
        let planner = self.parts.planner.clone();
        let now = self.parts.clock.now().utc;
        tokio::task::spawn_blocking(move || {
            let page = planner.passes(&params, now).and_then(|page| to_value(&page));
            let _ = reply.send(page);
        });
    }

    /// Stops the motors, then gives the radios back what they had, as far as that goes in time.
    async fn finish(mut self) {
        let owes = self.parts.session.phase().has_devices() || self.parts.session.phase() == Phase::Finishing;
        if owes {
            tracing::info!("ending: motors stop, radios get back what they had");
        }
        let outputs = self.parts.session.shut_down();
        self.carry_out(outputs);
        self.wait(STOP_WITHIN, |engine| {
            engine.parts.fleet.rotator().is_some_and(|mount| is_stopping(&mount))
        })
        .await;
        self.wait(GIVE_BACK_WITHIN, |engine| engine.parts.fleet.radios().iter().any(is_being_given_back))
            .await;
        if owes && self.parts.fleet.radios().iter().all(is_free) {
            self.writer.forget();
        }
    }

    /// Waits while something is so, but not for longer than `most`.
    async fn wait(&self, most: Duration, while_so: impl Fn(&Self) -> bool) {
        let deadline = tokio::time::Instant::now() + most;
        while while_so(self) && tokio::time::Instant::now() < deadline {
            tokio::time::sleep(TICK / 5).await;
        }
    }
}

/// Whether a mount has yet to be told to stop.
fn is_stopping(status: &DeviceStatus) -> bool {
    let reachable = !matches!(status.contact, Contact::Closed(_));
    let halted = status.rotator().is_some_and(|view| view.motion == Motion::Halted && !view.stop_pending);
    reachable && !halted
}

fn is_free(status: &DeviceStatus) -> bool {
    !status.behind && status.radio().is_none_or(|radio| radio.stage == RadioStage::Idle)
}

/// Whether waiting for a radio still makes sense.
fn is_being_given_back(status: &DeviceStatus) -> bool {
    let reachable = !matches!(status.contact, Contact::Closed(_));
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

fn refusal(refusal: Refusal) -> RpcError {
    RpcError::new(code::NOT_NOW, refusal.to_string())
}

fn to_value(answer: &impl serde::Serialize) -> Result<Value, RpcError> {
    serde_json::to_value(answer).map_err(|error| RpcError::new(code::INTERNAL, error.to_string()))
}
