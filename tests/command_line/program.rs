//! Running the binary and taking its words apart.

use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

/// The demo's element sets, as a file.
pub(crate) const ELEMENTS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/config/demo/elements.txt");
/// The demo's configuration, as a file.
pub(crate) const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/config/demo/beamhand.toml");
/// The demo's station.
pub(crate) const STATION: &str = "54.0,-2.5,120";
/// No output for people is wider.
const COLUMNS: usize = 80;

/// What came of one run.
pub(crate) struct Ran {
    pub(crate) code: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Ran {
    /// The lines of standard output as JSON; the run must have gone well.
    pub(crate) fn objects(&self) -> Vec<Value> {
        assert_eq!(self.code, Some(0), "{}", self.err);
        self.out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
    }

    /// Ended with this code and said all of this on standard error.
    #[track_caller]
    pub(crate) fn assert_refused(&self, code: i32, says: &[&str]) {
        assert_eq!(self.code, Some(code), "{}{}", self.out, self.err);
        says.iter().for_each(|what| assert!(self.err.contains(what), "no {what:?} in {}", self.err));
    }

    /// Ended well, and no line is wider than a screen.
    #[track_caller]
    pub(crate) fn assert_fits_the_screen(&self) {
        assert_eq!(self.code, Some(0), "{}", self.err);
        assert!(!self.out.trim().is_empty());
        let wide = self.out.lines().find(|line| line.chars().count() > COLUMNS);
        assert_eq!(wide, None);
    }
}

/// The program in a home where nothing is.
pub(crate) struct Home(TempDir);

impl Home {
    pub(crate) fn empty() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    pub(crate) fn path(&self) -> &Path {
        self.0.path()
    }

    /// Writes a file and gives its name.
    pub(crate) fn file(&self, name: &str, text: &str) -> String {
        let path = self.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    }

    pub(crate) fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_beamhand"));
        command.args(arguments).env_clear().env("HOME", self.path()).current_dir(self.path());
        command
    }

    pub(crate) fn run(&self, arguments: &[&str]) -> Ran {
        ran(self.command(arguments).stdin(Stdio::null()).output().unwrap())
    }

    /// With this on standard input.
    pub(crate) fn run_with_input(&self, arguments: &[&str], input: impl AsRef<[u8]>) -> Ran {
        let mut command = self.command(arguments);
        let piped = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = piped.spawn().unwrap();
        child.stdin.take().unwrap().write_all(input.as_ref()).unwrap();
        ran(child.wait_with_output().unwrap())
    }
}

fn ran(output: Output) -> Ran {
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Ran { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
}

/// Runs the program in an empty home.
pub(crate) fn beamhand(arguments: &[&str]) -> Ran {
    Home::empty().run(arguments)
}

/// An object's keys, in alphabetical order.
pub(crate) fn keys(object: &Value) -> Vec<&str> {
    let mut keys: Vec<&str> = object.as_object().unwrap().keys().map(String::as_str).collect();
    keys.sort_unstable();
    keys
}

/// The same words in alphabetical order.
pub(crate) fn sorted<'w>(words: &[&'w str]) -> Vec<&'w str> {
    let mut words = words.to_vec();
    words.sort_unstable();
    words
}
