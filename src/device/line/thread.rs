//! A running line: the handle that others hold, and what becomes of a thread that hangs.

use std::io;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Sender, channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use crate::clock::Clock;
use crate::device::{Contact, DeviceStatus, HaltLatch, Order};

use super::service::{Desk, Down, LAST_WORDS, Service, Shared};
use super::{Line, Opener, Witness};

/// How long the end waits for the thread, which may hang in the system's own close.
const JOIN_WITHIN: Duration = Duration::from_secs(1);
/// How long a thread may take for a round, in which it opens, reads or writes at most once, before
/// it is said to hang; and before another one takes its place.
const HANGS_AFTER: Duration = Duration::from_secs(2);
const REPLACED_AFTER: Duration = Duration::from_secs(5);
/// So many threads of a line are left behind in the system at a time; then it is only named.
const MOST_LEFT_BEHIND: usize = 3;

/// A running line. Dropping it ends the thread, after the exchange in progress, and closes the port.
pub struct LineThread {
    name: String,
    orders: Sender<Down>,
    sent: Vec<AtomicU64>,
    shared: Arc<Shared>,
    opener: Arc<dyn Opener>,
    threads: Mutex<Threads>,
}

struct Threads {
    serving: Option<JoinHandle<()>>,
    /// They hang in the system, and touch nothing any more when they come back.
    left_behind: Vec<JoinHandle<()>>,
}

impl LineThread {
    /// Starts the thread. `halt` is the daemon's latch: while it is set no motor moves.
    pub fn start(
        name: &str,
        line: Line,
        opener: Arc<dyn Opener>,
        clock: Arc<dyn Clock>,
        halt: HaltLatch,
    ) -> io::Result<Self> {
        let sent = line.status(clock.now()).iter().map(|_| AtomicU64::new(0)).collect();
        let (orders, inbox) = channel();
        let shared = Arc::new(Shared::new(Desk::new(line, inbox), clock, halt));
        let name = format!("line {name}");
        let serving = Some(serve(&name, Service::first(shared.clone(), opener.clone()))?);
        let threads = Mutex::new(Threads { serving, left_behind: Vec::new() });
        Ok(Self { name, orders, sent, shared, opener, threads })
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
        let mut status = self.shared.status();
        let trouble = self.trouble();
        let is_haunted = !self.threads().left_behind.is_empty();
        for (device, sent) in status.iter_mut().zip(&self.sent) {
            device.behind = device.orders < sent.load(Ordering::SeqCst);
            if let Some(trouble) = &trouble {
                device.contact = Contact::Closed(trouble.clone());
            } else if let Contact::Closed(why) = &mut device.contact
                && is_haunted
            {
                why.push_str(&format!(
                    "; its line hung before, and the system has not let go of it: {REMEDY}"
                ));
            }
        }
        status
    }

    /// Puts another thread in the place of one that hangs in the system, where there is one; says so
    /// in words. The devices' players, their orders and the record go on as they were: to them the
    /// port was lost. It can be opened again when the system lets go of it, or under its stable name
    /// as soon as the adapter was unplugged and plugged in.
    pub fn look_after(&self) -> Option<String> {
        let mut threads = self.threads();
        threads.left_behind.retain(|thread| !thread.is_finished());
        let silent = self.shared.silent_for();
        let is_running = threads.serving.as_ref().is_some_and(|thread| !thread.is_finished());
        if silent < REPLACED_AFTER || !is_running || threads.left_behind.len() >= MOST_LEFT_BEHIND {
            return None;
        }
        let service = Service::instead(&self.shared, self.opener.clone())?;
        let (what, seconds) = ("hung in the system's own open, read, write or close", silent.as_secs());
        match serve(&self.name, service) {
            Ok(thread) => {
                let hung = threads.serving.replace(thread);
                threads.left_behind.extend(hung);
                Some(format!("{} {what} for {seconds} s: another thread goes on with it", self.name))
            }
            Err(error) => Some(format!("{} {what} for {seconds} s, and no other thread: {error}", self.name)),
        }
    }

    /// What keeps the thread from serving the line.
    fn trouble(&self) -> Option<String> {
        if self.threads().serving.as_ref().is_none_or(JoinHandle::is_finished) {
            return Some("the thread of its line has ended: restart the daemon".to_owned());
        }
        let silent = self.shared.silent_for();
        (silent > HANGS_AFTER).then(|| {
            let seconds = silent.as_secs();
            format!(
                "its line has hung for {seconds} s in the system's own open, read, write or close: {REMEDY}"
            )
        })
    }

    fn threads(&self) -> MutexGuard<'_, Threads> {
        self.threads.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

const REMEDY: &str = "unplug the adapter and plug it in again; if that does not help, restart the daemon";

fn serve(name: &str, mut service: Service) -> io::Result<JoinHandle<()>> {
    std::thread::Builder::new().name(name.to_owned()).spawn(move || service.run())
}

impl Drop for LineThread {
    fn drop(&mut self) {
        self.shared.quit();
        let Some(thread) = self.threads().serving.take() else { return };
        let patience = Instant::now() + LAST_WORDS + JOIN_WITHIN;
        while !thread.is_finished() {
            if Instant::now() > patience {
                tracing::warn!("{} hangs and is left behind", self.name);
                return;
            }
            std::thread::sleep(Duration::from_millis(2));
        }
        let _ = thread.join();
    }
}
