//! The thread that serves one line: blocking reads in short slices, whole-frame writes, and a
//! port that is opened again by its stable name when it is lost.

use std::io;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

use crate::clock::Clock;
use crate::device::{DeviceStatus, HaltLatch, Order};

use super::{Line, LineInput, Opener, Port, Write};

/// The longest that a read may block: orders and halt are seen within it.
const SLICE: Duration = Duration::from_millis(20);
/// The first and the longest pause between two attempts to open a port.
const BACK_OFF: (Duration, Duration) = (Duration::from_millis(100), Duration::from_secs(1));

/// What the thread shares with the rest of the daemon: state by latest value.
struct Shared {
    status: Mutex<Vec<DeviceStatus>>,
    halt: HaltLatch,
    quit: AtomicBool,
}

/// A running line. Dropping it ends the thread and closes the port.
pub struct LineThread {
    orders: Sender<(usize, Order)>,
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
        let status = Mutex::new(line.status(clock.now()));
        let shared = Arc::new(Shared { status, halt, quit: AtomicBool::new(false) });
        let (orders, inbox) = channel();
        let mut service = Service::new(line, opener, clock, shared.clone(), inbox);
        let thread = std::thread::Builder::new().name(format!("line {name}")).spawn(move || service.run())?;
        Ok(Self { orders, shared, thread: Some(thread) })
    }

    /// Hands an order to the device of this number on the line.
    pub fn order(&self, device: usize, order: Order) {
        // The receiver lives as long as the thread, which only ends with this handle.
        let _ = self.orders.send((device, order));
    }

    /// What the devices of the line said last.
    pub fn status(&self) -> Vec<DeviceStatus> {
        self.shared.status.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

impl Drop for LineThread {
    fn drop(&mut self) {
        self.shared.quit.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

struct Service {
    line: Line,
    opener: Box<dyn Opener>,
    clock: Arc<dyn Clock>,
    shared: Arc<Shared>,
    inbox: Receiver<(usize, Order)>,
    port: Option<Box<dyn Port>>,
    halted: bool,
    open_at: Duration,
    back_off: Duration,
}

impl Service {
    fn new(
        line: Line,
        opener: Box<dyn Opener>,
        clock: Arc<dyn Clock>,
        shared: Arc<Shared>,
        inbox: Receiver<(usize, Order)>,
    ) -> Self {
        let (back_off, open_at) = (BACK_OFF.0, Duration::ZERO);
        Self { line, opener, clock, shared, inbox, port: None, halted: false, open_at, back_off }
    }

    fn run(&mut self) {
        while !self.shared.quit.load(Ordering::Relaxed) {
            self.heed_halt();
            while let Ok((device, order)) = self.inbox.try_recv() {
                self.step(LineInput::Order(device, order));
            }
            if self.port.is_some() {
                self.listen()
            } else {
                self.try_to_open()
            }
            let status = self.line.status(self.clock.now());
            *self.shared.status.lock().unwrap_or_else(PoisonError::into_inner) = status;
        }
    }

    fn heed_halt(&mut self) {
        let halt = self.shared.halt.is_set();
        if halt != self.halted {
            self.halted = halt;
            self.step(if halt { LineInput::Halt } else { LineInput::Resume });
        }
    }

    fn try_to_open(&mut self) {
        if self.clock.now().mono < self.open_at {
            std::thread::sleep(SLICE);
            return;
        }
        match self.opener.open() {
            Ok(port) => {
                self.port = Some(port);
                self.back_off = BACK_OFF.0;
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
    }

    fn listen(&mut self) {
        let wait = self.line.wake_at().saturating_sub(self.clock.now().mono).min(SLICE);
        let mut buffer = [0_u8; 512];
        let Some(port) = &mut self.port else { return };
        match port.read(&mut buffer, wait) {
            Ok(0) => self.lose("the port hung up: the adapter was unplugged, or its far end closed"),
            Ok(count) => self.step(LineInput::Bytes(&buffer[..count])),
            Err(error) if error.kind() == io::ErrorKind::TimedOut => self.step(LineInput::Time),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => self.lose(&format!("the port failed: {error}")),
        }
    }

    fn step(&mut self, input: LineInput) {
        let writes = self.line.step(self.clock.now(), input);
        for write in writes {
            if !self.write(&write) {
                self.line.step(self.clock.now(), LineInput::NotSent);
                return;
            }
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
