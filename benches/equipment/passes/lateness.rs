//! How late the system wakes a thread that sleeps as a line's thread does: what no driver can mend.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// How long it sleeps at a time.
const SLEEP: Duration = Duration::from_millis(10);

/// A thread that sleeps, and notes how late it woke.
pub(super) struct Probe {
    ends: Arc<AtomicBool>,
    thread: JoinHandle<Vec<f64>>,
}

impl Probe {
    pub(super) fn start() -> Self {
        let ends = Arc::new(AtomicBool::new(false));
        let ended = ends.clone();
        let thread = std::thread::spawn(move || {
            let mut late_ms = Vec::new();
            while !ended.load(Ordering::Relaxed) {
                let begun = Instant::now();
                std::thread::sleep(SLEEP);
                late_ms.push((begun.elapsed().saturating_sub(SLEEP)).as_secs_f64() * 1e3);
            }
            late_ms
        });
        Self { ends, thread }
    }

    /// What was seen, in words.
    pub(super) fn stop(self) -> String {
        self.ends.store(true, Ordering::Relaxed);
        let mut late = self.thread.join().unwrap();
        late.sort_by(f64::total_cmp);
        let at = |part: f64| late[((late.len() - 1) as f64 * part) as usize];
        let (half, most, max) = (at(0.5), at(0.99), at(1.0));
        format!("a sleeping thread woke late by: p50 {half:.2} ms, p99 {most:.2} ms, max {max:.2} ms")
    }
}
