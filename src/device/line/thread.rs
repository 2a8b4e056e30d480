//! The thread that serves one line: blocking reads in short slices, whole-frame writes, and a
//! port that is opened again by its stable name when it is lost.

use std::io;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use crate::clock::Clock;
use crate::device::halt::Seen;
use crate::device::{Contact, DeviceStatus, HaltLatch, Order};
use crate::terms::Moment;

use super::{Line, LineInput, Opener, Port, Witness, Write};

/// The longest that a read may block: orders and halt are seen within it, or when a write or an
/// open that is under way has ended.
const SLICE: Duration = Duration::from_millis(20);
/// The first and the longest pause between two attempts to open a port.
const BACK_OFF: (Duration, Duration) = (Duration::from_millis(100), Duration::from_secs(1));
/// How often the status is published.
const PUBLISH_EVERY: Duration = Duration::from_millis(40);
/// How long the end waits for the exchange in progress and for stops that have not left.
const LAST_WORDS: Duration = Duration::from_millis(500);
/// How long the end waits for the thread, which may hang in the system's own close.
const JOIN_WITHIN: Duration = Duration::from_secs(1);

/// Why a line is lost whose port is no longer connected to anything.
const HUNG_UP: &str = "the port hung up: check the cable and the adapter's plug";

/// While the line is flooded with nonsense, its bytes are taken in so large pieces: one read for
/// each of them would keep the processor busy.
const FLOOD_SLICE: Duration = Duration::from_millis(10);
/// How long a thread may take for a round, in which it opens, reads or writes at most once, before
/// it is said to hang.
const HANGS_AFTER: Duration = Duration::from_secs(2);

/// What the thread shares with the rest of the daemon: state by latest value.
struct Shared {
    status: Mutex<Vec<DeviceStatus>>,
    halt: HaltLatch,
    quit: AtomicBool,
    started: Instant,
    /// When the thread last came round, milliseconds after `started`.
    beat: AtomicU64,
}

impl Shared {
    fn beat(&self) {
        self.beat.store(self.started.elapsed().as_millis() as u64, Ordering::SeqCst);
    }

    /// How long ago the thread last came round.
    fn silent_for(&self) -> Duration {
        self.started.elapsed().saturating_sub(Duration::from_millis(self.beat.load(Ordering::SeqCst)))
    }
}

/// What goes down to the thread.
enum Down {
    /// An order to the device of this number.
    Order(usize, Order),
    /// Who is told what happens from now on, in place of who was before.
    Witness(Option<Box<dyn Witness>>),
}

/// A running line. Dropping it ends the thread, after the exchange in progress, and closes the port.
pub struct LineThread {
    orders: Sender<Down>,
    sent: Vec<AtomicU64>,
    shared: Arc<Shared>,
    thread: Option<JoinHandle<()>>,
}

impl LineThread {
    /// Starts the thread. `halt` is the daemon's latch: while it is set no motor moves.
    pub fn start(
        name: &str,
        line: Line,
        opener: Box<dyn Opener>,
        clock: Arc<dyn Clock>,
        halt: HaltLatch,
    ) -> io::Result<Self> {
        let status = line.status(clock.now());
        let sent = status.iter().map(|_| AtomicU64::new(0)).collect();
        let shared = Arc::new(Shared {
            status: Mutex::new(status),
            halt,
            quit: AtomicBool::new(false),
            started: Instant::now(),
            beat: AtomicU64::new(0),
        });
        let (orders, inbox) = channel();
        let mut service = Service::new(line, opener, clock, shared.clone(), inbox);
        let thread = std::thread::Builder::new().name(format!("line {name}")).spawn(move || service.run())?;
        Ok(Self { orders, sent, shared, thread: Some(thread) })
    }

    /// Hands an order to the device of this number on the line.
    pub fn order(&self, device: usize, order: Order) {
        if let Some(sent) = self.sent.get(device) {
            sent.fetch_add(1, Ordering::SeqCst);
        }
        // If the thread is gone, the status says so.
        let _ = self.orders.send(Down::Order(device, order));
    }

    /// Has somebody told all that happens from now on, after the orders that were handed over before;
    /// `None`: nobody any more.
    pub fn watched_by(&self, witness: Option<Box<dyn Witness>>) {
        let _ = self.orders.send(Down::Witness(witness));
    }

    /// What the devices of the line said last.
    pub fn status(&self) -> Vec<DeviceStatus> {
        let mut status = self.shared.status.lock().unwrap_or_else(PoisonError::into_inner).clone();
        let trouble = self.trouble();
        for (device, sent) in status.iter_mut().zip(&self.sent) {
            device.behind = device.orders < sent.load(Ordering::SeqCst);
            if let Some(trouble) = &trouble {
                device.contact = Contact::Closed(trouble.clone());
            }
        }
        status
    }

    /// What keeps the thread from serving the line.
    fn trouble(&self) -> Option<String> {
        if self.thread.as_ref().is_none_or(JoinHandle::is_finished) {
            return Some("the thread of its line has ended: restart the daemon".to_owned());
        }
        let silent = self.shared.silent_for();
        (silent > HANGS_AFTER).then(|| {
            format!(
                "its line has hung for {} s in the system's own open, read, write or close: unplug the \
                 adapter and plug it in again; if that does not help, restart the daemon",
                silent.as_secs()
            )
        })
    }
}

impl Drop for LineThread {
    fn drop(&mut self) {
        self.shared.quit.store(true, Ordering::SeqCst);
        let Some(thread) = self.thread.take() else { return };
        let patience = Instant::now() + LAST_WORDS + JOIN_WITHIN;
        while !thread.is_finished() {
            if Instant::now() > patience {
                tracing::warn!("{} hangs and is left behind", thread.thread().name().unwrap_or("a line"));
                return;
            }
            std::thread::sleep(Duration::from_millis(2));
        }
        let _ = thread.join();
    }
}

struct Service {
    line: Line,
    opener: Box<dyn Opener>,
    clock: Arc<dyn Clock>,
    shared: Arc<Shared>,
    inbox: Receiver<Down>,
    port: Option<Box<dyn Port>>,
    halt_seen: Seen,
    open_at: Duration,
    back_off: Duration,
    published_at: Duration,
    witness: Option<Box<dyn Witness>>,
}

impl Service {
    fn new(
        line: Line,
        opener: Box<dyn Opener>,
        clock: Arc<dyn Clock>,
        shared: Arc<Shared>,
        inbox: Receiver<Down>,
    ) -> Self {
        Self {
            line,
            opener,
            clock,
            shared,
            inbox,
            port: None,
            halt_seen: Seen::default(),
            open_at: Duration::ZERO,
            back_off: BACK_OFF.0,
            published_at: Duration::ZERO,
            witness: None,
        }
    }

    fn run(&mut self) {
        while !self.shared.quit.load(Ordering::SeqCst) {
            self.shared.beat();
            self.obey();
            if self.port.is_some() {
                self.listen()
            } else {
                self.try_to_open()
            }
            if self.clock.now().mono >= self.published_at + PUBLISH_EVERY {
                self.publish();
            }
        }
        self.say_last_words();
    }

    /// Halt first, and again before every single order.
    fn obey(&mut self) {
        self.heed_halt();
        let mut obeyed = false;
        while let Ok(down) = self.inbox.try_recv() {
            match down {
                Down::Order(device, order) => self.step(LineInput::Order(device, order)),
                Down::Witness(witness) => {
                    self.witness = witness;
                    self.offer_memo(self.clock.now());
                }
            }
            self.heed_halt();
            obeyed = true;
        }
        if obeyed {
            self.publish();
        }
    }

    fn heed_halt(&mut self) {
        let Some(news) = self.shared.halt.news(&mut self.halt_seen) else { return };
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
        self.line.fall_silent();
        let until = self.clock.now().mono + LAST_WORDS;
        while self.port.is_some() && !self.line.is_done() && self.clock.now().mono < until {
            self.listen();
        }
    }

    fn publish(&mut self) {
        let now = self.clock.now();
        self.published_at = now.mono;
        let status = self.line.status(now);
        *self.shared.status.lock().unwrap_or_else(PoisonError::into_inner) = status;
    }

    fn try_to_open(&mut self) {
        if self.clock.now().mono < self.open_at {
            std::thread::sleep(SLICE);
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
        self.open_at = self.clock.now().mono + self.back_off;
        self.back_off = (self.back_off * 2).min(BACK_OFF.1);
        self.step(LineInput::Lost(why));
        self.publish();
    }

    fn listen(&mut self) {
        if self.line.is_flooded() {
            std::thread::sleep(FLOOD_SLICE);
        }
        let wait = self.line.wake_at().saturating_sub(self.clock.now().mono).min(SLICE);
        let mut buffer = [0_u8; 4096];
        let Some(port) = &mut self.port else { return };
        match port.read(&mut buffer, wait) {
            Ok(0) => self.lose(HUNG_UP),
            Ok(count) => {
                // A port that opens and fails at once is not opened ten times a second: each open
                // pulses its control lines.
                self.back_off = BACK_OFF.0;
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
        if self.clock.now().mono >= self.line.wake_at() {
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

    /// One step of the line, before its witness.
    fn happens(&mut self, input: LineInput) -> Vec<Write> {
        let now = self.clock.now();
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

    /// Whether the whole frame left in time. A port that takes nothing is found out by the next
    /// read, or by the missing answer.
    fn write(&mut self, write: &Write) -> bool {
        let Some(port) = &mut self.port else { return false };
        if write.not_after.is_some_and(|last| self.clock.now().mono > last) {
            return false;
        }
        matches!(port.write(&write.bytes), Ok(count) if count == write.bytes.len())
    }
}
