//! The thread that serves one line: blocking reads in short slices, whole-frame writes, and a
//! port that is opened again by its stable name when it is lost.

use std::io;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::Receiver;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use crate::clock::Clock;
use crate::device::halt::Seen;
use crate::device::{DeviceStatus, HaltLatch, Order};
use crate::terms::Moment;

use super::{Line, LineInput, Opener, Port, Witness, Write};

/// The longest that a read may block: orders and halt are seen within it, or when a write or an
/// open that is under way has ended.
const SLICE: Duration = Duration::from_millis(20);
/// The same while no device of the line is wanted for anything: what comes in ends the wait all the same,
/// and a halt's stop still leaves in half of the time that it has. A shack's computer is mostly in here.
const REST_SLICE: Duration = Duration::from_millis(50);
/// The first and the longest pause between two attempts to open a port.
const BACK_OFF: (Duration, Duration) = (Duration::from_millis(100), Duration::from_secs(1));
/// How often the status is published, and how often while no device is wanted for anything.
const PUBLISH_EVERY: Duration = Duration::from_millis(40);
const PUBLISH_AT_REST: Duration = Duration::from_millis(150);
/// How long the end waits for the exchange in progress and for stops that have not left.
pub(super) const LAST_WORDS: Duration = Duration::from_millis(500);
/// While the line is flooded with nonsense, its bytes are taken in so large pieces: one read for
/// each of them would keep the processor busy.
const FLOOD_SLICE: Duration = Duration::from_millis(10);

/// Why a line is lost whose port is no longer connected to anything.
const HUNG_UP: &str = "the port hung up: check the cable and the adapter's plug";
/// Why it is lost whose thread hangs.
const HUNG: &str = "its line hung in the system's own open, read, write or close";

/// What a thread shares with the rest of the daemon, and with the thread that takes its place.
pub(super) struct Shared {
    status: Mutex<Vec<DeviceStatus>>,
    clock: Arc<dyn Clock>,
    halt: HaltLatch,
    quit: AtomicBool,
    started: Instant,
    /// When the serving thread last came round, milliseconds after `started`.
    beat: AtomicU64,
    /// The number of the thread that serves; it changes only while the desk is locked.
    serving: AtomicU64,
    /// Nobody calls the system while it is locked: there a thread may hang.
    desk: Mutex<Desk>,
}

impl Shared {
    pub(super) fn new(desk: Desk, clock: Arc<dyn Clock>, halt: HaltLatch) -> Self {
        Self {
            status: Mutex::new(desk.line.status(clock.now())),
            clock,
            halt,
            quit: AtomicBool::new(false),
            started: Instant::now(),
            beat: AtomicU64::new(0),
            serving: AtomicU64::new(0),
            desk: Mutex::new(desk),
        }
    }

    /// What the devices of the line said last.
    pub(super) fn status(&self) -> Vec<DeviceStatus> {
        self.status.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// The thread is to end.
    pub(super) fn quit(&self) {
        self.quit.store(true, Ordering::SeqCst);
    }

    fn beat(&self) {
        self.beat.store(self.started.elapsed().as_millis() as u64, Ordering::SeqCst);
    }

    /// How long ago the thread last came round.
    pub(super) fn silent_for(&self) -> Duration {
        self.started.elapsed().saturating_sub(Duration::from_millis(self.beat.load(Ordering::SeqCst)))
    }
}

/// What goes down to the thread.
pub(super) enum Down {
    /// An order to the device of this number.
    Order(usize, Order),
    /// Who is told what happens from now on, in place of who was before.
    Witness(Option<Box<dyn Witness>>),
}

/// What the thread works on, without the port: another thread can go on with it.
pub(super) struct Desk {
    line: Line,
    inbox: Receiver<Down>,
    halt_seen: Seen,
    open_at: Duration,
    back_off: Duration,
    published_at: Duration,
    /// No device was wanted for anything when the status was published: it is after each order.
    at_rest: bool,
    witness: Option<Box<dyn Witness>>,
}

impl Desk {
    pub(super) fn new(line: Line, inbox: Receiver<Down>) -> Self {
        Self {
            line,
            inbox,
            halt_seen: Seen::default(),
            open_at: Duration::ZERO,
            back_off: BACK_OFF.0,
            published_at: Duration::ZERO,
            at_rest: false,
            witness: None,
        }
    }

    /// For how long the thread may wait for what comes in.
    fn slice(&self) -> Duration {
        if self.at_rest { REST_SLICE } else { SLICE }
    }

    fn is_publishing_due(&self, now: Duration) -> bool {
        now >= self.published_at + if self.at_rest { PUBLISH_AT_REST } else { PUBLISH_EVERY }
    }

    /// One step of the line, before its witness.
    fn happens(&mut self, now: Moment, input: LineInput) -> Vec<Write> {
        let Some(witness) = &mut self.witness else { return self.line.step(now, input) };
        witness.happens(now, &input);
        let writes = self.line.step(now, input);
        witness.said(&writes);
        self.offer_memo(now);
        writes
    }

    fn offer_memo(&mut self, now: Moment) {
        let Some(witness) = self.witness.as_mut().filter(|witness| witness.wants_memo()) else { return };
        if let Some(memo) = self.line.memo() {
            witness.remembers(now, memo);
        }
    }
}

/// One thread's way of serving a line.
pub(super) struct Service {
    shared: Arc<Shared>,
    opener: Arc<dyn Opener>,
    /// Which of the line's threads it is.
    number: u64,
    port: Option<Box<dyn Port>>,
}

impl Service {
    /// The first of a line.
    pub(super) fn first(shared: Arc<Shared>, opener: Arc<dyn Opener>) -> Self {
        Self { shared, opener, number: 0, port: None }
    }

    /// One in the place of another that hangs in the system; none if that one holds the desk, because
    /// then it hangs elsewhere.
    pub(super) fn instead(shared: &Arc<Shared>, opener: Arc<dyn Opener>) -> Option<Self> {
        let desk = match shared.desk.try_lock() {
            Ok(desk) => desk,
            Err(std::sync::TryLockError::Poisoned(poisoned)) => poisoned.into_inner(),
            Err(std::sync::TryLockError::WouldBlock) => return None,
        };
        let number = shared.serving.fetch_add(1, Ordering::SeqCst) + 1;
        shared.beat();
        drop(desk);
        Some(Self { shared: shared.clone(), opener, number, port: None })
    }

    /// Serves until the end, or until another thread has taken its place.
    pub(super) fn run(&mut self) {
        if self.number > 0 {
            self.lose(HUNG);
        }
        while !self.shared.quit.load(Ordering::SeqCst) {
            if !self.is_serving() {
                return;
            }
            self.shared.beat();
            self.obey();
            if self.port.is_some() {
                self.listen();
            } else {
                self.try_to_open();
            }
            self.publish_if_due();
        }
        self.say_last_words();
    }

    fn is_serving(&self) -> bool {
        self.shared.serving.load(Ordering::SeqCst) == self.number
    }

    /// The desk, as long as this thread is the one that serves.
    fn desk(&self) -> Option<MutexGuard<'_, Desk>> {
        let desk = self.shared.desk.lock().unwrap_or_else(PoisonError::into_inner);
        self.is_serving().then_some(desk)
    }

    fn now(&self) -> Moment {
        self.shared.clock.now()
    }

    /// Halt first, and again before every single order.
    fn obey(&mut self) {
        self.heed_halt();
        let mut obeyed = false;
        while let Some(down) = self.desk().and_then(|desk| desk.inbox.try_recv().ok()) {
            match down {
                Down::Order(device, order) => self.step(LineInput::Order(device, order)),
                Down::Witness(witness) => self.be_watched_by(witness),
            }
            self.heed_halt();
            obeyed = true;
        }
        if obeyed {
            self.publish();
        }
    }

    fn be_watched_by(&self, witness: Option<Box<dyn Witness>>) {
        let now = self.now();
        if let Some(mut desk) = self.desk() {
            desk.witness = witness;
            desk.offer_memo(now);
        }
    }

    fn heed_halt(&mut self) {
        let news = self.desk().and_then(|mut desk| self.shared.halt.news(&mut desk.halt_seen));
        let Some(news) = news else { return };
        if news.halted {
            self.step(LineInput::Halt);
        }
        if news.resumed {
            self.step(LineInput::Resume);
        }
    }

    /// Ends the exchange in progress and lets stops leave, but begins nothing else.
    fn say_last_words(&mut self) {
        self.obey();
        if let Some(mut desk) = self.desk() {
            desk.line.fall_silent();
        }
        let until = self.now().mono + LAST_WORDS;
        let is_done = |service: &Self| service.desk().is_none_or(|desk| desk.line.is_done());
        while self.port.is_some() && !is_done(self) && self.now().mono < until {
            self.listen();
        }
    }

    fn publish_if_due(&self) {
        let now = self.now().mono;
        if self.desk().is_some_and(|desk| desk.is_publishing_due(now)) {
            self.publish();
        }
    }

    fn publish(&self) {
        let now = self.now();
        let Some(mut desk) = self.desk() else { return };
        let status = desk.line.status(now);
        desk.published_at = now.mono;
        desk.at_rest = status.iter().all(DeviceStatus::is_at_rest);
        *self.shared.status.lock().unwrap_or_else(PoisonError::into_inner) = status;
    }

    fn try_to_open(&mut self) {
        let now = self.now().mono;
        let due_in = self.desk().map_or(SLICE, |desk| desk.open_at.saturating_sub(now).min(desk.slice()));
        if !due_in.is_zero() {
            std::thread::sleep(due_in);
            return;
        }
        match self.opener.open() {
            Ok(port) => {
                self.port = Some(port);
                self.step(LineInput::Opened);
            }
            Err(why) => self.lose(&why),
        }
    }

    fn lose(&mut self, why: &str) {
        self.port = None;
        let now = self.now().mono;
        if let Some(mut desk) = self.desk() {
            desk.open_at = now + desk.back_off;
            desk.back_off = (desk.back_off * 2).min(BACK_OFF.1);
        }
        self.step(LineInput::Lost(why));
        self.publish();
    }

    fn listen(&mut self) {
        let of = |desk: MutexGuard<'_, Desk>| (desk.line.is_flooded(), desk.line.wake_at(), desk.slice());
        let Some((is_flooded, wake_at, slice)) = self.desk().map(of) else { return };
        if is_flooded {
            std::thread::sleep(FLOOD_SLICE);
        }
        let wait = wake_at.saturating_sub(self.now().mono).min(slice);
        let mut buffer = [0_u8; 4096];
        let Some(port) = &mut self.port else { return };
        match port.read(&mut buffer, wait) {
            Ok(0) => self.lose(HUNG_UP),
            Ok(count) => {
                // A port that opens and fails at once is not opened ten times a second: each open
                // pulses its control lines.
                if let Some(mut desk) = self.desk() {
                    desk.back_off = BACK_OFF.0;
                }
                self.step(LineInput::Bytes(&buffer[..count]));
            }
            Err(error) if error.kind() == io::ErrorKind::TimedOut => self.let_time_pass(),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => self.lose(HUNG_UP),
            Err(error) => self.lose(&format!("the port failed: {error}")),
        }
    }

    /// Steps the line if it wants to: the slices in between are for orders and halt.
    fn let_time_pass(&mut self) {
        let now = self.now().mono;
        if self.desk().is_some_and(|desk| now >= desk.line.wake_at()) {
            self.step(LineInput::Time);
        }
    }

    fn step(&mut self, input: LineInput) {
        let mut writes = self.happens(input);
        while !writes.is_empty() {
            let all_left = writes.iter().all(|write| self.write(write));
            if all_left {
                return;
            }
            // What the line says to that is a stop, or nothing before the recovery silence.
            writes = self.happens(LineInput::NotSent);
            if self.port.is_none() {
                return;
            }
        }
    }

    /// One step of the line; nothing is to be written for who does not serve any more.
    fn happens(&self, input: LineInput) -> Vec<Write> {
        let now = self.now();
        self.desk().map(|mut desk| desk.happens(now, input)).unwrap_or_default()
    }

    /// Whether the whole frame left in time. A port that takes nothing is found out by the next
    /// read, or by the missing answer.
    fn write(&mut self, write: &Write) -> bool {
        let Some(port) = &mut self.port else { return false };
        if write.not_after.is_some_and(|last| self.shared.clock.now().mono > last) {
            return false;
        }
        matches!(port.write(&write.bytes), Ok(count) if count == write.bytes.len())
    }
}
