//! Whether the daemon's own work goes on. Whoever works says until when the next sign of life is
//! due; the service manager is kept content only while nothing is overdue, because a daemon that is
//! stuck serves nobody, and a new one goes on with the pass.

use std::collections::BTreeMap;
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// What is being worked on, each by a number: its name, and when its next sign of life is due.
#[derive(Default)]
struct Work {
    count: u64,
    due: BTreeMap<u64, (&'static str, Instant)>,
}

/// All work that has to go on.
#[derive(Clone, Default)]
pub(super) struct Vitals(Arc<Mutex<Work>>);

impl Vitals {
    /// Work begins that gives a sign of life or ends within `patience`, time and again.
    pub(super) fn begin(&self, name: &'static str, patience: Duration) -> Pulse {
        let mut work = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        work.count += 1;
        let number = work.count;
        work.due.insert(number, (name, Instant::now() + patience));
        Pulse { vitals: self.clone(), number, name, patience }
    }

    /// Does the work that comes in until no more can come; each piece, and the wait for one, gives a sign of
    /// life within `patience`.
    pub(super) fn work_off<T>(
        &self,
        name: &'static str,
        patience: Duration,
        inbox: &Receiver<T>,
        mut work: impl FnMut(T),
    ) {
        let pulse = self.begin(name, patience);
        loop {
            match inbox.recv_timeout(patience / 3) {
                Ok(piece) => {
                    pulse.beat();
                    work(piece);
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return,
            }
            pulse.beat();
        }
    }

    /// The name of work whose sign of life is overdue at `now`.
    pub(super) fn stuck(&self, now: Instant) -> Option<&'static str> {
        let work = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        work.due.values().find(|(_, due)| now > *due).map(|(name, _)| *name)
    }
}

/// Work in progress; dropping it ends it.
pub(super) struct Pulse {
    vitals: Vitals,
    number: u64,
    name: &'static str,
    patience: Duration,
}

impl Pulse {
    /// It goes on.
    pub(super) fn beat(&self) {
        let mut work = self.vitals.0.lock().unwrap_or_else(PoisonError::into_inner);
        work.due.insert(self.number, (self.name, Instant::now() + self.patience));
    }
}

impl Drop for Pulse {
    fn drop(&mut self) {
        self.vitals.0.lock().unwrap_or_else(PoisonError::into_inner).due.remove(&self.number);
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::channel;

    use super::*;

    const PATIENCE: Duration = Duration::from_secs(5);

    #[test]
    fn work_is_stuck_when_its_sign_of_life_is_overdue_and_not_after_it_has_ended() {
        let vitals = Vitals::default();
        let begun = Instant::now();
        let one = vitals.begin("the one", PATIENCE);
        let other = vitals.begin("the other", PATIENCE * 3);
        assert_eq!(vitals.stuck(begun), None);
        let late = Instant::now() + PATIENCE * 2;
        assert_eq!(vitals.stuck(late), Some("the one"));
        drop(one);
        assert_eq!(vitals.stuck(late), None);
        assert_eq!(vitals.stuck(late + PATIENCE * 2), Some("the other"));
        drop(other);
        assert_eq!(vitals.stuck(late + PATIENCE * 2), None);
    }

    #[test]
    fn a_worker_is_stuck_with_its_work_and_not_while_it_waits_for_some() {
        let vitals = Vitals::default();
        let patience = Duration::from_millis(300);
        let (give, inbox) = channel::<Duration>();
        let watched = vitals.clone();
        let worker =
            std::thread::spawn(move || watched.work_off("the work", patience, &inbox, std::thread::sleep));
        std::thread::sleep(patience * 2);
        assert_eq!(vitals.stuck(Instant::now()), None);
        give.send(patience * 4).unwrap();
        std::thread::sleep(patience * 2);
        assert_eq!(vitals.stuck(Instant::now()), Some("the work"));
        drop(give);
        worker.join().unwrap();
        assert_eq!(vitals.stuck(Instant::now() + patience * 2), None);
    }

    #[test]
    fn a_sign_of_life_gives_as_much_time_again() {
        let vitals = Vitals::default();
        let pulse = vitals.begin("a loop", Duration::from_millis(30));
        std::thread::sleep(Duration::from_millis(40));
        assert_eq!(vitals.stuck(Instant::now()), Some("a loop"));
        pulse.beat();
        assert_eq!(vitals.stuck(Instant::now()), None);
    }
}
