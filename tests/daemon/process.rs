//! The running daemon, and the service manager that it reports to.

use std::fs::Permissions;
use std::os::unix::fs::PermissionsExt as _;
use std::os::unix::net::UnixDatagram;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Output};
use std::time::{Duration, Instant};

use crate::patience::within;

/// The program with nothing of this machine's settings.
pub(crate) fn beamhand(home: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_beamhand"));
    command.args(arguments).env_clear().env("HOME", home).current_dir(home);
    command
}

/// What came of one run.
pub(crate) struct Ran {
    pub(crate) code: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Ran {
    pub(crate) fn new(output: Output) -> Self {
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        Self { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
    }

    #[track_caller]
    pub(crate) fn assert_done(&self) -> &str {
        assert_eq!(self.code, Some(0), "{}", self.err);
        &self.out
    }

    #[track_caller]
    pub(crate) fn assert_refused(&self, code: i32, says: &str) {
        assert_eq!(self.code, Some(code), "{}{}", self.out, self.err);
        assert!(self.err.contains(says), "no {says:?} in {}", self.err);
    }
}

/// A daemon that is ready. Dropping it kills it.
pub(crate) struct Daemon {
    child: Child,
    manager: UnixDatagram,
    /// What the service manager heard up to the readiness.
    pub(crate) greeting: Vec<String>,
}

impl Daemon {
    /// Starts it and waits until it says that it is ready.
    pub(crate) fn start(mut command: Command, folder: &Path) -> Self {
        let notify = folder.join("notify");
        let _ = std::fs::remove_file(&notify);
        let manager = UnixDatagram::bind(&notify).unwrap();
        manager.set_nonblocking(true).unwrap();
        // The daemon may be another user.
        std::fs::set_permissions(&notify, Permissions::from_mode(0o777)).unwrap();
        let log = std::fs::OpenOptions::new().append(true).create(true).open(folder.join("log")).unwrap();
        let child = command.env("NOTIFY_SOCKET", &notify).stderr(log).spawn().unwrap();
        let mut daemon = Self { child, manager, greeting: Vec::new() };
        daemon.greeting = daemon.hear_until("READY=1");
        daemon
    }

    /// What the service manager hears up to the line that it waits for, with it.
    #[track_caller]
    pub(crate) fn hear_until(&self, line: &str) -> Vec<String> {
        let mut all: Vec<String> = Vec::new();
        within(10.0, line, || {
            all.extend(self.hear());
            all.iter().any(|heard| heard.starts_with(line)).then_some(())
        });
        all
    }

    /// What the service manager has heard since it listened last.
    pub(crate) fn hear(&self) -> Vec<String> {
        let mut datagram = [0; 4096];
        let mut all = Vec::new();
        while let Ok(length) = self.manager.recv(&mut datagram) {
            all.extend(String::from_utf8_lossy(&datagram[..length]).lines().map(str::to_owned));
        }
        all
    }

    pub(crate) fn id(&self) -> u32 {
        self.child.id()
    }

    pub(crate) fn is_alive(&mut self) -> bool {
        self.child.try_wait().unwrap().is_none()
    }

    /// Sends a signal by name.
    pub(crate) fn signal(&self, name: &str) {
        let kill = format!("kill -{name} {}", self.child.id());
        assert!(Command::new("sh").args(["-c", &kill]).status().unwrap().success());
    }

    /// Waits for its end; says how long that took.
    #[track_caller]
    pub(crate) fn wait(&mut self) -> (ExitStatus, Duration) {
        let begin = Instant::now();
        let status = within(10.0, "the daemon's end", || self.child.try_wait().unwrap());
        (status, begin.elapsed())
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
