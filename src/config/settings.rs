//! What a configuration says, checked: the station and everything but its equipment.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::agenda::Agenda;
use super::dialects::Dialects;
use super::document::{read_document, read_text};
use super::equipment::{Line, Radio, Rotator};
use super::errors::ConfigErrors;
use super::listening::Listening;
use super::paths::DefaultPaths;
use super::sections;
use crate::almanac::Source;
use crate::clock::TrustPolicy;
use crate::device::Use;
use crate::sky::{Grades, Horizon, Locator, Station as Position};
use crate::terms::Segments;

/// A whole configuration; every value has been checked, alone and against the others.
#[derive(Debug, Clone, PartialEq)]
pub struct Config {
    /// The file that it came from.
    pub file: PathBuf,
    /// Who and where.
    pub station: Station,
    /// The files that it names.
    pub files: Files,
    /// Where new element sets are fetched from.
    pub sources: Vec<Source>,
    /// Where the licence lets the transmitter be; empty means receive only.
    pub transmit: Segments,
    /// How far the kernel's clock is trusted.
    pub clock: TrustPolicy,
    /// The control socket.
    pub control: Control,
    /// How a pass is worked.
    pub session: Session,
    /// What is worked unattended.
    pub agenda: Agenda,
    /// What is listened to unattended.
    pub listening: Listening,
    /// What is kept of each session.
    pub record: Record,
    /// The log of contacts, where the file names one; else it is the user's own.
    pub contact_log: Option<PathBuf>,
    /// None, one, or a receiver and a transmitter.
    pub radios: Vec<Radio>,
    /// The mount, if there is one.
    pub rotator: Option<Rotator>,
    /// The texts that all this was read from.
    pub texts: Texts,
}

/// What a configuration was read from. Two that say the same are the same, however they are written.
#[derive(Debug, Clone, Default)]
pub struct Texts {
    /// The file's text.
    pub configuration: Arc<str>,
    /// The texts of the user's own dialects, by name.
    pub dialects: BTreeMap<String, String>,
}

impl PartialEq for Texts {
    fn eq(&self, _other: &Self) -> bool {
        true
    }
}

impl Config {
    /// Reads and checks a file.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn load(file: &Path, paths: &DefaultPaths) -> Result<Self, ConfigErrors> {
        let if_missing = "copy the examples (README, step 5), or name another file with --config";
        Self::parse(file, &read_text(file, if_missing)?, paths)
    }

    /// Checks a text as if it were the file's. Relative paths in it count from the file's folder;
    /// `paths` stand in where it names none.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn parse(file: &Path, text: &str, paths: &DefaultPaths) -> Result<Self, ConfigErrors> {
        Self::parse_with(file, text, paths, &Dialects::in_folder)
    }

    /// The same with these texts as the user's own dialects, in place of his folder's.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn parse_alone(
        file: &Path,
        text: &str,
        paths: &DefaultPaths,
        own: &BTreeMap<String, String>,
    ) -> Result<Self, ConfigErrors> {
        Self::parse_with(file, text, paths, &|folder| Ok(Dialects::of_texts(folder, own)))
    }

    fn parse_with(
        file: &Path,
        text: &str,
        paths: &DefaultPaths,
        dialects: sections::ReadFolder<'_>,
    ) -> Result<Self, ConfigErrors> {
        let mut config =
            read_document(file, text, |root| sections::config(root, file, paths, Some(dialects)))?;
        config.texts.configuration = text.into();
        Ok(config)
    }

    /// The same without the equipment, whose languages take long to check: for who has to answer at once
    /// and touches none. What is wrong with the equipment is left to others to say.
    ///
    /// # Errors
    /// What is wrong with the rest of it.
    pub fn load_without_equipment(file: &Path, paths: &DefaultPaths) -> Result<Self, ConfigErrors> {
        let text = read_text(file, "copy the examples (README, step 5), or name another file with --config")?;
        read_document(file, &text, |root| sections::config(root, file, paths, None))
    }

    /// The user's dialects of which a configuration file speaks, whatever else is wrong with it.
    ///
    /// # Errors
    /// A file that can't be read or is no TOML; a folder of dialects that can't be read.
    pub fn dialects(file: &Path, paths: &DefaultPaths) -> Result<Dialects, ConfigErrors> {
        let if_missing = "name another file with --config";
        let text = read_text(file, if_missing)?;
        read_document(file, &text, |mut root| {
            let files = root.section("files", "[files]");
            sections::files(files, paths, &Dialects::in_folder).map(|(_, dialects)| dialects)
        })
    }

    /// Whether there is a transmitter that may be tuned.
    pub fn transmits(&self) -> bool {
        !self.transmit.is_empty() && self.radios.iter().any(|radio| radio.uses != Use::Receive)
    }

    /// Every device's name and line, the radios first.
    pub fn lines(&self) -> impl Iterator<Item = (&str, &Line)> {
        let radios = self.radios.iter().map(|radio| (radio.name.as_str(), &radio.line));
        radios.chain(self.rotator.iter().map(|rotator| (rotator.name.as_str(), &rotator.line)))
    }
}

/// Who and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// For titles and logs.
    pub callsign: Option<String>,
    /// Where the antenna is.
    pub position: Position,
    /// The locator that the position was taken from, where the file gives one.
    pub locator: Option<Locator>,
    /// Passes that stay below are not worked, degrees.
    pub minimum_elevation: f64,
    /// From which elevation on a pass is called what.
    pub grades: Grades,
    /// Hills, houses and trees, where the file has them.
    pub horizon: Option<Arc<Horizon>>,
}

/// The files that a configuration names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Files {
    /// Element sets; of two sets of one satellite the newer counts.
    pub elements: Vec<PathBuf>,
    /// Whether the configuration says so; a file that it does not name may be missing.
    pub elements_named: bool,
    /// Satellites and their links.
    pub satellites: PathBuf,
    /// The folder of the user's own dialects; it may be missing where the file does not name it.
    pub dialects: PathBuf,
    /// The folder for what must survive a restart.
    pub state: PathBuf,
    /// The Earth's orientation by the IERS, if it is to be used.
    pub earth_orientation: Option<PathBuf>,
}

/// The control socket.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Control {
    /// Where it is.
    pub socket: PathBuf,
    /// Who may use it: the permission bits of the socket's file.
    pub mode: u32,
    /// The group that it is given to.
    pub group: Option<String>,
}

/// How a pass is worked.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    /// How long before AOS the radio is prepared and the beam goes to the rising azimuth, seconds.
    pub prepare_before_s: f64,
    /// Park the beam after LOS.
    pub park_after: bool,
    /// Give the radio back what it had before the pass.
    pub restore_radio: bool,
    /// How long the arming tone stays where no over is seen, seconds.
    pub arming_s: f64,
}

/// What is kept of each session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Record {
    /// Whether anything is.
    pub enabled: bool,
    /// How large one record may be, megabytes.
    pub session_mb: f64,
    /// How large all of them may be, megabytes.
    pub total_mb: f64,
}
