//! Whether the daemon's own work goes on. Whoever works gives a sign of life time and again; the
//! service manager is kept content only while none is overdue, because a daemon that is stuck serves
//! nobody, and a new one goes on with the pass.

use std::collections::BTreeMap;
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use nix::unistd::{Pid, gettid};

/// How long work may give no sign of life.
#[derive(Debug, Clone, Copy)]
pub(super) struct Patience {
    /// While its thread waits: for another one, in the end.
    waiting: Duration,
    /// While its thread runs, or waits for the disk.
    at_work: Duration,
}

impl Patience {
    /// With what comes round all the time.
    pub(super) const STEADY: Self = Self { waiting: Duration::from_secs(5), at_work: Duration::from_secs(5) };
    /// With what is long on a slow computer, or with a card that is worn out.
    pub(super) const SLOW: Self = Self { waiting: Duration::from_secs(5), at_work: Duration::from_secs(60) };
}

struct Doing {
    name: &'static str,
    patience: Patience,
    thread: Pid,
    /// When it gave its last sign of life.
    sign: Instant,
}

impl Doing {
    fn is_silent_for(&self, now: Instant, most: Duration) -> bool {
        now.saturating_duration_since(self.sign) > most
    }

    /// Whether it may be long, and is at work.
    fn is_slow(&self) -> bool {
        self.patience.at_work > self.patience.waiting && is_at_work(self.thread)
    }
}

/// Whether a thread of this process runs, or waits for the disk: proc(5), the state in `stat`.
fn is_at_work(thread: Pid) -> bool {
    // The name before it is in brackets, and may have some of its own.
    std::fs::read_to_string(format!("/proc/self/task/{thread}/stat"))
        .is_ok_and(|stat| stat.rsplit(") ").next().is_some_and(|rest| rest.starts_with(['R', 'D'])))
}

/// What is being worked on, each by a number.
#[derive(Default)]
struct Work {
    count: u64,
    doing: BTreeMap<u64, Doing>,
}

/// All work that has to go on.
#[derive(Clone, Default)]
pub(super) struct Vitals(Arc<Mutex<Work>>);

impl Vitals {
    /// Work begins on this thread.
    pub(super) fn begin(&self, name: &'static str, patience: Patience) -> Pulse {
        let mut work = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        work.count += 1;
        let number = work.count;
        work.doing.insert(number, Doing { name, patience, thread: gettid(), sign: Instant::now() });
        Pulse { vitals: self.clone(), number }
    }

    /// Does the work that comes in until no more can come; each piece, and the wait for one, gives signs of life.
    pub(super) fn work_off<T>(
        &self,
        name: &'static str,
        patience: Patience,
        inbox: &Receiver<T>,
        mut work: impl FnMut(T),
    ) {
        let pulse = self.begin(name, patience);
        loop {
            match inbox.recv_timeout(patience.waiting / 3) {
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

    /// The name of work that is stuck at `now`. What waits while other work is slow, waits its turn.
    pub(super) fn stuck(&self, now: Instant) -> Option<&'static str> {
        let work = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let all = || work.doing.values();
        let without_end = all().find(|doing| doing.is_silent_for(now, doing.patience.at_work));
        let waiting = || all().find(|doing| doing.is_silent_for(now, doing.patience.waiting));
        without_end.or_else(|| waiting().filter(|_| !all().any(Doing::is_slow))).map(|doing| doing.name)
    }
}

/// Work in progress; dropping it ends it.
pub(super) struct Pulse {
    vitals: Vitals,
    number: u64,
}

impl Pulse {
    /// It goes on.
    pub(super) fn beat(&self) {
        let mut work = self.vitals.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(doing) = work.doing.get_mut(&self.number) {
            doing.sign = Instant::now();
        }
    }
}

impl Drop for Pulse {
    fn drop(&mut self) {
        self.vitals.0.lock().unwrap_or_else(PoisonError::into_inner).doing.remove(&self.number);
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::channel;

    use super::*;

    const SECOND: Duration = Duration::from_secs(1);

    #[test]
    fn work_is_stuck_when_its_sign_of_life_is_overdue_and_not_after_it_has_ended() {
        let vitals = Vitals::default();
        let begun = Instant::now();
        let one = vitals.begin("the one", Patience::STEADY);
        let other = vitals.begin("the other", Patience::SLOW);
        assert_eq!(vitals.stuck(begun), None);
        let late = Instant::now() + Patience::STEADY.at_work + SECOND;
        assert_eq!(vitals.stuck(late), Some("the one"));
        drop(one);
        assert_eq!(vitals.stuck(late), None, "this thread runs");
        let too_late = Instant::now() + Patience::SLOW.at_work + SECOND;
        assert_eq!(vitals.stuck(too_late), Some("the other"));
        drop(other);
        assert_eq!(vitals.stuck(too_late), None);
    }

    #[test]
    fn slow_work_that_waits_is_stuck_unless_it_waits_for_work_that_is_slow() {
        let vitals = Vitals::default();
        let begin = |name, work: fn(&Receiver<()>)| {
            let (end, ended) = channel();
            let watched = vitals.clone();
            let thread = std::thread::spawn(move || {
                let _pulse = watched.begin(name, Patience::SLOW);
                work(&ended);
            });
            (end, thread)
        };
        let running = begin("what runs", |ended| while ended.try_recv().is_err() {});
        let waiting = begin("what waits", |ended| ended.recv().unwrap());
        let count = || vitals.0.lock().unwrap().doing.len();
        while count() < 2 {
            std::thread::yield_now();
        }
        let late = || Instant::now() + Patience::SLOW.waiting + SECOND;
        assert_eq!(vitals.stuck(late()), None);
        running.0.send(()).unwrap();
        running.1.join().unwrap();
        while vitals.stuck(late()).is_none() {
            std::thread::yield_now();
        }
        assert_eq!(vitals.stuck(late()), Some("what waits"));
        waiting.0.send(()).unwrap();
        waiting.1.join().unwrap();
        assert_eq!(vitals.stuck(late()), None);
    }

    #[test]
    fn a_worker_is_stuck_with_its_work_and_not_while_it_waits_for_some() {
        let vitals = Vitals::default();
        let waiting = Duration::from_millis(300);
        let patience = Patience { waiting, at_work: waiting };
        let (give, inbox) = channel::<Duration>();
        let watched = vitals.clone();
        let worker =
            std::thread::spawn(move || watched.work_off("the work", patience, &inbox, std::thread::sleep));
        std::thread::sleep(waiting * 2);
        assert_eq!(vitals.stuck(Instant::now()), None);
        give.send(waiting * 4).unwrap();
        std::thread::sleep(waiting * 2);
        assert_eq!(vitals.stuck(Instant::now()), Some("the work"));
        drop(give);
        worker.join().unwrap();
        assert_eq!(vitals.stuck(Instant::now() + waiting * 2), None);
    }

    #[test]
    fn a_sign_of_life_gives_as_much_time_again() {
        let vitals = Vitals::default();
        let brief = Duration::from_millis(30);
        let pulse = vitals.begin("a loop", Patience { waiting: brief, at_work: brief });
        std::thread::sleep(Duration::from_millis(40));
        assert_eq!(vitals.stuck(Instant::now()), Some("a loop"));
        pulse.beat();
        assert_eq!(vitals.stuck(Instant::now()), None);
    }
}
