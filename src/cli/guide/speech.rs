//! The user's own voice: a command that is given one sentence at a time. Nothing waits for it but the next
//! sentence.

use std::io::Write as _;
use std::os::unix::process::CommandExt as _;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use nix::sys::signal::{Signal, killpg};
use nix::unistd::Pid;

use super::Failure;
use crate::cli::text::remark;

/// How long one sentence may take: the shortest time between two.
const LIMIT: Duration = Duration::from_secs(8);
/// How long a command has to end after it was asked to.
const GRACE: Duration = Duration::from_millis(500);
/// How often it is looked after.
const LOOK_EVERY: Duration = Duration::from_millis(20);

/// Speaks on a thread of its own. Dropping it lets it finish its last sentence, unless it is cut off.
pub(super) struct Speech {
    letters: Arc<(Mutex<Letters>, Condvar)>,
    thread: Option<JoinHandle<()>>,
}

/// What is to be said next; a newer sentence takes the place of one that waits.
#[derive(Default)]
struct Letters {
    next: Option<String>,
    is_over: bool,
}

/// Whether nothing more is to be heard.
type Cut = Arc<AtomicBool>;

impl Speech {
    /// Once `cut` is set, the command that speaks is ended, and nothing more is said.
    pub(super) fn begin(command: &str, cut: Cut) -> Result<Self, Failure> {
        let words = shlex::split(command).ok_or_else(|| {
            Failure::Usage(format!("--say {command:?} has a quote without its other half, or ends in \\"))
        })?;
        if words.is_empty() {
            return Err(Failure::Usage("--say names no command".to_owned()));
        }
        let letters = Arc::new((Mutex::new(Letters::default()), Condvar::new()));
        let own = letters.clone();
        let run = move || speak(&words, &own, &cut);
        let thread = std::thread::Builder::new().name("speech".to_owned()).spawn(run)?;
        Ok(Self { letters, thread: Some(thread) })
    }

    pub(super) fn say(&self, sentence: &str) {
        self.post(|letters| letters.next = Some(sentence.to_owned()));
    }

    fn post(&self, change: impl FnOnce(&mut Letters)) {
        let (letters, bell) = &*self.letters;
        change(&mut letters.lock().unwrap_or_else(PoisonError::into_inner));
        bell.notify_one();
    }
}

impl Drop for Speech {
    fn drop(&mut self) {
        self.post(|letters| letters.is_over = true);
        if let Some(thread) = self.thread.take() {
            // At most two sentences are left, and each has its limit.
            let _ = thread.join();
        }
    }
}

fn speak(words: &[String], (letters, bell): &(Mutex<Letters>, Condvar), cut: &AtomicBool) {
    let mut complaint: Option<String> = None;
    loop {
        let mut waiting = letters.lock().unwrap_or_else(PoisonError::into_inner);
        while waiting.next.is_none() && !waiting.is_over {
            waiting = bell.wait(waiting).unwrap_or_else(PoisonError::into_inner);
        }
        let Some(sentence) = waiting.next.take() else { return };
        drop(waiting);
        let trouble = once(words, &sentence, LIMIT, cut).err();
        // The same trouble with every sentence is told once.
        if let Some(trouble) =
            trouble.as_ref().filter(|trouble| complaint.as_deref() != Some(trouble.as_str()))
        {
            remark(format_args!("{}: {trouble}", words[0]));
        }
        complaint = trouble;
    }
}

/// Runs the command for one sentence, at most so long and not after the cut.
fn once(words: &[String], sentence: &str, limit: Duration, cut: &AtomicBool) -> Result<(), String> {
    if cut.load(Ordering::Relaxed) {
        return Ok(());
    }
    let mut command = Command::new(&words[0]);
    command.args(&words[1..]).stdin(Stdio::piped()).stdout(Stdio::null()).process_group(0);
    let mut child = command.spawn().map_err(|error| format!("it can't be started: {error}"))?;
    if let Some(mut input) = child.stdin.take() {
        // A sentence is shorter than the pipe; a command that does not read it may have its reasons.
        let _ = writeln!(input, "{sentence}");
    }
    let told = |error: std::io::Error| error.to_string();
    let is_cut = || cut.load(Ordering::Relaxed);
    if let Some(status) = wait(&mut child, limit, is_cut).map_err(told)? {
        return if status.success() { Ok(()) } else { Err(format!("it failed: {status}")) };
    }
    let group = Pid::from_raw(i32::try_from(child.id()).unwrap_or(i32::MAX));
    let _ = killpg(group, Signal::SIGTERM);
    if wait(&mut child, GRACE, || false).map_err(told)?.is_none() {
        let _ = killpg(group, Signal::SIGKILL);
        child.wait().map_err(told)?;
    }
    if is_cut() {
        return Ok(());
    }
    Err(format!("it was ended after {} seconds", limit.as_secs()))
}

/// How it ended; `None` if it has not, and the time or the patience is over.
fn wait(
    child: &mut Child,
    limit: Duration,
    is_enough: impl Fn() -> bool,
) -> std::io::Result<Option<std::process::ExitStatus>> {
    let begun = Instant::now();
    loop {
        let status = child.try_wait()?;
        if status.is_some() || begun.elapsed() >= limit || is_enough() {
            return Ok(status);
        }
        std::thread::sleep(LOOK_EVERY);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    static GO_ON: AtomicBool = AtomicBool::new(false);

    fn words(command: &[&str]) -> Vec<String> {
        command.iter().map(|word| (*word).to_owned()).collect()
    }

    #[test]
    fn a_command_reads_its_sentence_and_one_that_fails_is_named() {
        let limit = Duration::from_secs(5);
        assert_eq!(once(&words(&["/bin/grep", "-q", "^Turn left.$"]), "Turn left.", limit, &GO_ON), Ok(()));
        let failed = once(&words(&["/bin/false"]), "Turn left.", limit, &GO_ON).unwrap_err();
        assert!(failed.starts_with("it failed"), "{failed}");
        let missing = once(&words(&["/no/such/voice"]), "Turn left.", limit, &GO_ON).unwrap_err();
        assert!(missing.starts_with("it can't be started"), "{missing}");
    }

    #[test]
    fn one_that_never_ends_is_ended_even_if_it_does_not_listen() {
        let begun = Instant::now();
        let stubborn = words(&["/bin/sh", "-c", "trap '' TERM; while :; do :; done"]);
        assert!(once(&stubborn, "Turn left.", Duration::from_millis(300), &GO_ON).is_err());
        assert!(begun.elapsed() < Duration::from_secs(3), "{:?}", begun.elapsed());
    }
}
