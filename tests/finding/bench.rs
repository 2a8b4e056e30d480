//! A bench with equipment on it, and the program to try it with.

use std::path::PathBuf;
use std::process::{Command, Output, Stdio};
use std::sync::{Arc, Mutex};

use beamhand::clock::{SystemClock, TrustPolicy};
use beamhand::sim::mount::{Words, WordsSettings};
use beamhand::sim::radio::RadioSettings;
use beamhand::sim::radio::five_byte::{FiveByte, FiveByteDuplex};
use beamhand::sim::radio::frames::{Frames, FramesSettings};
use beamhand::sim::radio::semicolon::{Layout, Semicolon, SemicolonSettings};
use beamhand::sim::{Cause, Device, Handles, Outlet, Utterance, Wire, WireSettings};
use beamhand::terms::Time;
use tempfile::TempDir;

/// A device behind a port in the bench's folder.
pub(crate) struct FarEnd {
    // Dropping it pulls the cable.
    _outlet: Outlet,
    pub(crate) handles: Handles,
    heard: Arc<Mutex<Vec<u8>>>,
}

impl FarEnd {
    /// All that was heard, in order, at the right speed or not.
    pub(crate) fn heard(&self) -> Vec<u8> {
        self.heard.lock().unwrap().clone()
    }

    /// Nothing was set, moved or keyed.
    #[track_caller]
    pub(crate) fn assert_untouched(&self) {
        let record = &self.handles.record;
        assert_eq!(record.violations(), []);
        assert!(record.aims().is_empty());
        let landings = record.landings();
        let tuned = landings.iter().find(|one| one.cause != Cause::Opening);
        assert!(tuned.is_none(), "{tuned:?}");
    }
}

/// A folder with ports in it.
pub(crate) struct Bench(TempDir);

impl Bench {
    pub(crate) fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn plug_in(&self, port: &str, device: impl Device + 'static, wire: WireSettings) -> FarEnd {
        let (handles, heard) = (device.handles().clone(), Arc::<Mutex<Vec<u8>>>::default());
        let ear = Ear { device: Box::new(device), heard: heard.clone() };
        let clock = Arc::new(SystemClock::new(TrustPolicy::default()));
        let outlet = Outlet::open(self.path(port), Wire::new(ear, wire), clock).unwrap();
        FarEnd { _outlet: outlet, handles, heard }
    }

    pub(crate) fn semicolon(&self, port: &str, baud: u32) -> FarEnd {
        let settings = SemicolonSettings::new(Layout::Eleven);
        self.plug_in(port, Semicolon::new(settings, Handles::default()), at(baud))
    }

    pub(crate) fn frames(&self, port: &str, address: u8) -> FarEnd {
        let settings = FramesSettings { address, ..FramesSettings::default() };
        let wire = WireSettings { one_wire: true, ..at(9600) };
        self.plug_in(port, Frames::new(settings, Handles::default()), wire)
    }

    pub(crate) fn five_byte(&self, port: &str, baud: u32) -> FarEnd {
        let radio = RadioSettings { duplex: false, ..RadioSettings::default() };
        let wire = WireSettings { bits_per_byte: 11, ..at(baud) };
        self.plug_in(port, FiveByte::new(radio, Handles::default()), wire)
    }

    pub(crate) fn five_byte_duplex(&self, port: &str, baud: u32) -> FarEnd {
        let wire = WireSettings { bits_per_byte: 11, ..at(baud) };
        self.plug_in(port, FiveByteDuplex::new(RadioSettings::default(), Handles::default()), wire)
    }

    pub(crate) fn words(&self, port: &str, baud: u32) -> FarEnd {
        self.plug_in(port, Words::new(WordsSettings::default(), Handles::default()), at(baud))
    }

    pub(crate) fn file(&self, name: &str, text: &str) {
        std::fs::create_dir_all(self.path(name).parent().unwrap()).unwrap();
        std::fs::write(self.path(name), text).unwrap();
    }

    /// A verb in the bench's folder, with nothing of this machine's settings.
    pub(crate) fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_beamhand"));
        command.args(arguments).env_clear().env("HOME", self.0.path()).current_dir(self.0.path());
        command.stdin(Stdio::null());
        command
    }

    pub(crate) fn run(&self, arguments: &[&str]) -> Ran {
        Ran::new(self.command(arguments).output().unwrap())
    }
}

fn at(baud: u32) -> WireSettings {
    WireSettings { baud, ..WireSettings::default() }
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

    /// Ended with this code; both outputs together hold all of this. No line is wider than 80
    /// columns, but for names of ports, which can't be broken.
    #[track_caller]
    pub(crate) fn assert(&self, code: i32, says: &[&str]) {
        let all = format!("{}{}", self.out, self.err);
        assert_eq!(self.code, Some(code), "{all}");
        // A sentence may be broken anywhere.
        let text: String = all.split_whitespace().collect::<Vec<_>>().join(" ");
        says.iter().for_each(|what| assert!(text.contains(what), "no {what:?} in {all}"));
        let wide = self.out.lines().find(|line| line.chars().count() > 80 && !line.contains('/'));
        assert_eq!(wide, None);
    }
}

/// Notes every byte and hands it on.
struct Ear {
    device: Box<dyn Device>,
    heard: Arc<Mutex<Vec<u8>>>,
}

impl Device for Ear {
    fn hear(&mut self, byte: u8, at: Time) {
        self.heard.lock().unwrap().push(byte);
        self.device.hear(byte, at);
    }

    fn advance(&mut self, now: Time) {
        self.device.advance(now);
    }

    fn next_event(&self) -> Option<Time> {
        self.device.next_event()
    }

    fn say(&mut self) -> Vec<Utterance> {
        self.device.say()
    }

    fn handles(&self) -> &Handles {
        self.device.handles()
    }
}
