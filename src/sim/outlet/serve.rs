//! The thread between a pseudo-terminal and a modelled wire.

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, TryRecvError};
use std::time::Duration;

use super::pty::Pty;
use crate::clock::Clock;
use crate::sim::{Fault, Wire};
use crate::terms::{Time, seconds_between};

/// Longest and shortest wait for the next event, real time: orders and new faults are noticed
/// after the one, and the other keeps the processor cool.
const LONGEST_WAIT: Duration = Duration::from_millis(5);
const SHORTEST_WAIT: Duration = Duration::from_micros(50);

/// What the thread is told.
pub(super) enum Order {
    /// Close the pseudo-terminal, then say so.
    Pull(Sender<()>),
    /// Serve this one from now on.
    PutBack(Pty),
    /// End.
    Stop,
}

/// The thread's state beside the wire.
struct Shell<'c> {
    wire: Wire,
    pty: Option<Pty>,
    clock: &'c dyn Clock,
    latest: Time,
    /// Whether this thread switched the wrong-speed fault on.
    speeds_differ: bool,
}

/// Serves until told to stop, or until nobody is left to tell it.
pub(super) fn serve(wire: Wire, pty: Pty, clock: &dyn Clock, orders: &Receiver<Order>) {
    let latest = clock.now().utc;
    let mut shell = Shell { wire, pty: Some(pty), clock, latest, speeds_differ: false };
    loop {
        match shell.next_order(orders) {
            Some(Order::Stop) => return,
            Some(Order::Pull(done)) => {
                shell.pty = None;
                let _ = done.send(());
            }
            Some(Order::PutBack(pty)) => shell.pty = Some(pty),
            None => shell.pass_bytes(),
        }
    }
}

impl Shell<'_> {
    /// The next order, if there is one; without a cable there is nothing else to wait for.
    fn next_order(&self, orders: &Receiver<Order>) -> Option<Order> {
        if self.pty.is_some() {
            return match orders.try_recv() {
                Ok(order) => Some(order),
                Err(TryRecvError::Empty) => None,
                Err(TryRecvError::Disconnected) => Some(Order::Stop),
            };
        }
        match orders.recv_timeout(LONGEST_WAIT) {
            Ok(order) => Some(order),
            Err(RecvTimeoutError::Timeout) => None,
            Err(RecvTimeoutError::Disconnected) => Some(Order::Stop),
        }
    }

    fn pass_bytes(&mut self) {
        let wait = self.wait();
        let Some(mut pty) = self.pty.take() else {
            let now = self.now();
            self.wire.advance(now);
            self.wire.cut();
            return;
        };
        let mut buffer = [0; 512];
        let heard = pty.read(&mut buffer, wait);
        let now = self.now();
        match heard {
            Ok([]) => {}
            Ok(bytes) => {
                self.compare_speeds(&pty);
                self.wire.write(bytes, now);
            }
            // Nothing else is known to happen while the driver's end is held open.
            Err(_) => std::thread::sleep(LONGEST_WAIT),
        }
        let said = self.wire.read(now);
        let passed = pty.write(&said);
        self.wire.handles().record.count(|counts| counts.bytes_overrun += (said.len() - passed) as u64);
        self.pty = Some(pty);
    }

    /// Real time until the wire's next event.
    fn wait(&mut self) -> Duration {
        let moment = self.clock.now();
        let Some(event) = self.wire.next_event() else { return LONGEST_WAIT };
        let seconds = seconds_between(moment.utc, event) / moment.speed.max(f64::MIN_POSITIVE);
        let longest = LONGEST_WAIT.as_secs_f64();
        Duration::from_secs_f64(seconds.clamp(0.0, longest)).max(SHORTEST_WAIT)
    }

    /// Plan time; where the clock is stepped back it stands until it has caught up.
    fn now(&mut self) -> Time {
        self.latest = self.latest.max(self.clock.now().utc);
        self.latest
    }

    /// Two ends that differ in speed understand nothing.
    fn compare_speeds(&mut self, pty: &Pty) {
        let Some(baud) = pty.far_baud() else { return };
        let handles = self.wire.handles();
        handles.record.saw_far_baud(baud);
        let differ = baud != self.wire.settings().baud;
        match (self.speeds_differ, differ) {
            (false, true) => handles.faults.switch_on(Fault::WrongSpeed),
            (true, false) => handles.faults.switch_off(Fault::WrongSpeed),
            _ => {}
        }
        self.speeds_differ = differ;
    }
}
