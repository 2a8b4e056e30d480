//! The user's own programs: started without a shell, with a time limit, in a process group of their
//! own. Whatever they do, nothing waits for them.

use std::io::{self, PipeReader, Read as _};
use std::os::unix::process::CommandExt as _;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use nix::fcntl::{FcntlArg, OFlag, fcntl};
use nix::sys::signal::{Signal, killpg};
use nix::sys::wait::{Id, WaitPidFlag, WaitStatus, waitid};
use nix::unistd::{Pid, geteuid};

use crate::config::When;
use crate::terms::rfc3339;

use super::alarms::Due;

/// So many run at once.
const MOST: usize = 8;
/// How often a program is looked after: a flood of output is read in pieces at this pace.
const LOOK_EVERY: Duration = Duration::from_millis(20);
/// How long a program has to end after it was asked to.
const GRACE: Duration = Duration::from_secs(2);
/// The same when the daemon ends.
const LAST_GRACE: Duration = Duration::from_secs(1);
/// How much of what a program says is kept, bytes.
const KEPT: usize = 500;
/// Where a program finds others.
const PATH: &str = "/usr/local/bin:/usr/bin:/bin";

/// Those that run. Dropping it ends them.
#[derive(Debug, Default)]
pub(super) struct Programs {
    running: Arc<AtomicUsize>,
    is_over: Arc<AtomicBool>,
}

impl Programs {
    /// Starts one; how it went is logged.
    pub(super) fn start(&self, due: Due) {
        let name = due.command.run.first().cloned().unwrap_or_default();
        if geteuid().is_root() {
            tracing::warn!("{name} is not started: the daemon runs as root, and your commands never do");
            return;
        }
        if self.running.fetch_add(1, Ordering::SeqCst) >= MOST {
            self.running.fetch_sub(1, Ordering::SeqCst);
            tracing::warn!("{name} is not started: {MOST} of your commands are running already");
            return;
        }
        let (running, is_over) = (self.running.clone(), self.is_over.clone());
        let work = move || {
            let limit = Duration::from_secs_f64(due.command.limit_s);
            match supervise(command(&due), limit, &is_over) {
                Ok(end) => end.log(&name),
                Err(error) => tracing::warn!("{name} can't be started: {error}"),
            }
            running.fetch_sub(1, Ordering::SeqCst);
        };
        if let Err(error) = std::thread::Builder::new().name("program".to_owned()).spawn(work) {
            self.running.fetch_sub(1, Ordering::SeqCst);
            tracing::warn!("your command can't be started: {error}");
        }
    }
}

impl Drop for Programs {
    fn drop(&mut self) {
        self.is_over.store(true, Ordering::SeqCst);
        let deadline = Instant::now() + LAST_GRACE + GRACE / 4;
        while self.running.load(Ordering::SeqCst) > 0 && Instant::now() < deadline {
            std::thread::sleep(LOOK_EVERY);
        }
    }
}

/// The program with its arguments, and what it is told.
fn command(due: &Due) -> Command {
    let (pass, run) = (&due.pass, &due.command.run);
    let moment = match due.command.when {
        When::BeforeAos(_) => "before-aos",
        When::Aos => "aos",
        When::Los => "los",
    };
    let mut command = Command::new(run.first().map_or("", String::as_str));
    command
        .args(run.iter().skip(1))
        .env_clear()
        .env("PATH", PATH)
        .env("BEAMHAND_SATELLITE", &pass.satellite)
        .env("BEAMHAND_LINK", &pass.link)
        .env("BEAMHAND_MOMENT", moment)
        .env("BEAMHAND_AOS", rfc3339(pass.span.from))
        .env("BEAMHAND_LOS", rfc3339(pass.span.until))
        .env("BEAMHAND_MAX_ELEVATION", format!("{:.1}", pass.max_elevation_deg));
    command
}

/// How a program ended.
#[derive(Debug)]
struct End {
    status: ExitStatus,
    /// It was asked to, because its time was over or the daemon's is.
    why: Option<&'static str>,
    said: String,
}

impl End {
    fn log(&self, name: &str) {
        let said = if self.said.is_empty() { String::new() } else { format!("; it said: {}", self.said) };
        match self.why {
            Some(why) => tracing::warn!("{name} was ended: {why}{said}"),
            None if self.status.success() => tracing::debug!("{name} is done{said}"),
            None => tracing::warn!("{name} failed: {}{said}", self.status),
        }
    }
}

/// Runs a program to its end, or to the end of its time.
fn supervise(mut command: Command, limit: Duration, is_over: &AtomicBool) -> io::Result<End> {
    let (mut output, input) = io::pipe()?;
    fcntl(&output, FcntlArg::F_SETFL(OFlag::O_NONBLOCK))?;
    command.stdin(Stdio::null()).stdout(input.try_clone()?).stderr(input).current_dir("/").process_group(0);
    let mut child = command.spawn()?;
    // It holds the pipe's end for writing.
    drop(command);
    let group = Pid::from_raw(i32::try_from(child.id()).unwrap_or(i32::MAX));
    let (mut said, begun) = (Vec::new(), Instant::now());
    let mut asked: Option<(Instant, &'static str)> = None;
    while !has_ended(group) {
        keep(&mut output, &mut said);
        let too_long = (begun.elapsed() >= limit).then_some("its time limit was over");
        let over = is_over.load(Ordering::SeqCst).then_some("the daemon ends");
        if let Some((since, _)) = asked {
            let grace = if over.is_some() { LAST_GRACE } else { GRACE };
            if since.elapsed() >= grace {
                let _ = killpg(group, Signal::SIGKILL);
            }
        } else if let Some(why) = over.or(too_long) {
            asked = Some((Instant::now(), why));
            let _ = killpg(group, Signal::SIGTERM);
        }
        std::thread::sleep(LOOK_EVERY);
    }
    keep(&mut output, &mut said);
    let status = bury(&mut child, group)?;
    Ok(End { status, why: asked.map(|(_, why)| why), said: told(&said) })
}

/// Whether a program has ended; it keeps its number until it is buried.
fn has_ended(pid: Pid) -> bool {
    let look = WaitPidFlag::WEXITED | WaitPidFlag::WNOHANG | WaitPidFlag::WNOWAIT;
    !matches!(waitid(Id::Pid(pid), look), Ok(WaitStatus::StillAlive))
}

/// Ends what the program has left running, while its group's number is still its own.
fn bury(child: &mut Child, group: Pid) -> io::Result<ExitStatus> {
    let _ = killpg(group, Signal::SIGKILL);
    child.wait()
}

/// Reads a piece of what the program says, and keeps the beginning of it.
fn keep(output: &mut PipeReader, said: &mut Vec<u8>) {
    let mut piece = [0; 4096];
    // Nothing there is an error of its own, and no other one matters.
    let length = output.read(&mut piece).unwrap_or(0);
    let room = KEPT.saturating_sub(said.len());
    said.extend(piece.iter().take(length.min(room)));
}

/// One line without anything that a terminal would obey.
fn told(said: &[u8]) -> String {
    String::from_utf8_lossy(said).trim().escape_debug().to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shell(script: &str) -> Command {
        let mut command = Command::new("/bin/sh");
        command.args(["-c", script]).env_clear().env("PATH", PATH);
        command
    }

    fn run(script: &str, limit_s: f64) -> (End, f64) {
        let begin = Instant::now();
        let end =
            supervise(shell(script), Duration::from_secs_f64(limit_s), &AtomicBool::new(false)).unwrap();
        (end, begin.elapsed().as_secs_f64())
    }

    #[test]
    fn a_program_that_fails_is_heard_and_a_good_one_too() {
        let (end, _) = run("echo one; echo two >&2; exit 3", 10.0);
        assert_eq!((end.status.code(), end.why, end.said.as_str()), (Some(3), None, "one\\ntwo"));
        let (end, _) = run("printf '\\033[2J'", 10.0);
        assert_eq!((end.status.success(), end.said.as_str()), (true, "\\u{1b}[2J"));
    }

    #[test]
    fn one_that_hangs_is_asked_to_end_and_one_that_does_not_listen_is_killed() {
        let (end, took) = run("sleep 60", 0.3);
        assert_eq!(end.why, Some("its time limit was over"));
        assert!(took < 2.0, "{took} s");
        let (end, took) = run("trap '' TERM; while :; do :; done", 0.3);
        assert!(!end.status.success());
        assert!((2.0..5.0).contains(&took), "{took} s");
    }

    #[test]
    fn a_flood_of_output_is_read_at_leisure_and_little_of_it_is_kept() {
        let (end, took) = run("while :; do echo flood; done", 0.5);
        assert!(end.said.starts_with("flood\\nflood") && end.said.len() < 2 * KEPT, "{}", end.said);
        assert!(took < 3.0, "{took} s");
    }

    #[test]
    fn what_it_leaves_running_ends_with_it() {
        let folder = tempfile::tempdir().unwrap();
        let late = folder.path().join("late");
        let (end, took) = run(&format!("(sleep 1; touch {}) &", late.display()), 10.0);
        assert!(end.status.success() && took < 0.9, "{took} s");
        std::thread::sleep(Duration::from_millis(1300));
        assert!(!late.exists());
    }

    #[test]
    fn one_that_is_not_there_is_an_error() {
        let missing = Command::new("/no/such/program");
        assert!(supervise(missing, Duration::from_secs(1), &AtomicBool::new(false)).is_err());
    }
}
