//! Whoever pulls adapters out and puts them back, at the times that were ordered.

use std::sync::Arc;
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, Sender};
use std::thread::JoinHandle;
use std::time::Duration;

use crate::cli::text::remark;
use crate::clock::Clock;
use crate::rehearsal::Pull;
use crate::sim::Outlet;
use crate::terms::{Time, seconds_between};

/// Keeps the outlets, and a thread for as long as there is something to pull. Dropping it unplugs
/// everything.
pub(super) struct Cables {
    ends: Option<Sender<()>>,
    thread: Option<JoinHandle<()>>,
    /// The outlets, where no thread has them.
    _kept: Vec<Outlet>,
}

impl Cables {
    pub(super) fn new(outlets: Vec<Outlet>, pulls: &[Pull], clock: Arc<dyn Clock>) -> std::io::Result<Self> {
        if pulls.is_empty() {
            return Ok(Self { ends: None, thread: None, _kept: outlets });
        }
        let acts = acts(pulls);
        let (ends, ended) = mpsc::channel();
        let thread = std::thread::Builder::new()
            .name("cables".to_owned())
            .spawn(move || pull_and_put_back(outlets, &acts, &*clock, &ended))?;
        Ok(Self { ends: Some(ends), thread: Some(thread), _kept: Vec::new() })
    }
}

impl Drop for Cables {
    fn drop(&mut self) {
        self.ends = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// An adapter goes (`true`) or comes back.
type Act = (Time, usize, bool);

/// What is to be done, in order of time.
fn acts(pulls: &[Pull]) -> Vec<Act> {
    let both = |pull: &Pull| [(Some(pull.from), pull.line, true), (pull.until, pull.line, false)];
    let given = |(at, line, out): (Option<Time>, usize, bool)| Some((at?, line, out));
    let mut acts: Vec<Act> = pulls.iter().flat_map(both).filter_map(given).collect();
    acts.sort_by_key(|(at, ..)| *at);
    acts
}

fn pull_and_put_back(mut outlets: Vec<Outlet>, acts: &[Act], clock: &dyn Clock, ended: &Receiver<()>) {
    for (at, line, out) in acts {
        let now = clock.now();
        let seconds = seconds_between(now.utc, *at).max(0.0) / now.speed.max(f64::MIN_POSITIVE);
        if ended.recv_timeout(Duration::from_secs_f64(seconds)) != Err(RecvTimeoutError::Timeout) {
            return;
        }
        let Some(outlet) = outlets.get_mut(*line) else { continue };
        if let Err(error) = if *out { outlet.pull() } else { outlet.put_back() } {
            remark(error);
        }
    }
    // Nobody says anything: this waits for the end.
    let _ = ended.recv();
}
