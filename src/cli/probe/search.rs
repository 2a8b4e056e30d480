//! The search: speed by speed, on a bus address by address, until something answers.

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use crate::cli::Failure;
use crate::cli::answer_times::AnswerTimes;
use crate::cli::met::Met;
use crate::cli::text::{plain, say, wrap_at};
use crate::cli::wire;
use crate::device::conversation::{Conversation, ConversationSettings};
use crate::device::dialect::{Dialect, LineSettings};
use crate::device::family::ADDRESSES;
use crate::device::line::{LineSetup, Raise, SerialOpener};
use crate::device::{Interview, Question, Seen};

/// The speeds that equipment is usually set to, the most usual ones first (common practice).
const SPEEDS: [u32; 10] = [9600, 4800, 19_200, 38_400, 57_600, 115_200, 2400, 1200, 600, 300];
/// How often a speed is tried: the first question may find the device in the middle of something.
const TRIES: usize = 2;
/// After so many addresses it is said how far the search has come.
const PROGRESS: u8 = 32;
/// Where a device is not known, it is given at least this long to answer.
const PATIENCE: Duration = Duration::from_millis(500);

/// What is looked for, and where.
pub(super) struct Search {
    pub(super) port: PathBuf,
    /// The port's name for the configuration.
    pub(super) name: PathBuf,
    pub(super) dialect: Arc<Dialect>,
    pub(super) address: Option<u8>,
    pub(super) baud: Option<u32>,
}

/// The device that was found.
struct Found {
    baud: u32,
    address: Option<u8>,
}

impl Search {
    pub(super) fn run(self) -> Result<(), Failure> {
        let mut all = Vec::new();
        // Opened once: every open raises DTR and RTS for an instant.
        let mut talk = self.open(self.first_speed())?;
        for baud in self.speeds() {
            if baud != self.first_speed() {
                let changed = talk.change_speed(baud, self.conversation(baud), self.line(baud).byte_time());
                changed.map_err(Failure::Failed)?;
            }
            if let Some(found) = self.try_speed(&mut talk, baud, &mut all)? {
                return self.report(&mut talk, &found);
            }
        }
        Err(Failure::Failed(self.advice(&all)))
    }

    fn open(&self, baud: u32) -> Result<Interview, Failure> {
        let (port, stop_bits) = (self.port.clone(), self.dialect.line().stop_bits);
        let opener = SerialOpener(LineSetup { port, baud, stop_bits, raise: Raise::default() });
        let opened = Interview::begin(&opener, self.conversation(baud), self.line(baud).byte_time());
        opened.map_err(Failure::Failed)
    }

    /// The dialect's own, where no other is wanted.
    fn first_speed(&self) -> u32 {
        self.baud.unwrap_or(self.dialect.line().baud)
    }

    fn speeds(&self) -> Vec<u32> {
        let first = self.first_speed();
        let others = SPEEDS.into_iter().filter(|speed| *speed != first && self.baud.is_none());
        [first].into_iter().chain(others).collect()
    }

    fn scans(&self) -> bool {
        self.dialect.family().is_addressed() && self.address.is_none()
    }

    fn line(&self, baud: u32) -> LineSettings {
        let line = self.dialect.line();
        let answer = if self.scans() { line.answer } else { line.answer.max(PATIENCE) };
        LineSettings { baud, answer, ..line }
    }

    fn conversation(&self, baud: u32) -> Conversation {
        let line = self.line(baud);
        let settings = ConversationSettings {
            byte_time: line.byte_time(),
            answer: line.answer,
            baud,
            devices: vec![(self.address, self.dialect.clone())],
        };
        Conversation::new(self.dialect.family(), settings)
    }

    fn try_speed(
        &self,
        talk: &mut Interview,
        baud: u32,
        all: &mut Vec<Met>,
    ) -> Result<Option<Found>, Failure> {
        if self.scans() {
            return self.try_addresses(talk, baud, all);
        }
        let Some(first) = Question::of(&self.dialect, self.address).into_iter().next() else {
            return Err(Failure::Failed(format!("`{}` has no question of one frame", self.dialect.name())));
        };
        let greeted =
            wire::greeting(&self.dialect).map_or(String::new(), |greeting| format!("greeted {greeting}, "));
        let mut found = None;
        for _ in 0..TRIES {
            talk.greet(&self.dialect, self.address).map_err(Failure::Failed)?;
            let (met, _) = ask(talk, &first)?;
            let said = format!("{baud} baud, {greeted}asked {}: {}", wire::question(&first), met.describe());
            say(wrap_at(&plain(&said), 4))?;
            // A refusal may be of what it heard at other speeds before.
            if met.is_heard() {
                found = Some(Found { baud, address: self.address });
            }
            if matches!(met, Met::Answer(_)) {
                break;
            }
            all.push(met);
        }
        Ok(found)
    }

    fn try_addresses(
        &self,
        talk: &mut Interview,
        baud: u32,
        all: &mut Vec<Met>,
    ) -> Result<Option<Found>, Failure> {
        let (first, last) = (ADDRESSES.start(), ADDRESSES.end());
        say(format_args!("{baud} baud, asking the addresses {first:#04x} to 0x{last:X}; Ctrl-C ends it"))?;
        say("    (0x01 and 0x02 are never safe to ask: set another one in the radio's menu)")?;
        for address in ADDRESSES {
            if address % PROGRESS == 0 {
                say(format_args!("    now at {address:#04x}"))?;
            }
            let Some(question) = Question::of(&self.dialect, Some(address)).into_iter().next() else {
                continue;
            };
            let (met, _) = ask(talk, &question)?;
            if met.is_heard() {
                say(wrap_at(&format!("    {address:#04x} answered: {}", met.describe()), 8))?;
                say("    (the addresses behind it were not asked)")?;
                return Ok(Some(Found { baud, address: Some(address) }));
            }
            // On a one-wire bus one's own question always comes back.
            if !matches!(met, Met::Nothing | Met::Echo) {
                say(wrap_at(&format!("    {address:#04x}: {}", met.describe()), 8))?;
            }
            all.push(met);
        }
        Ok(None)
    }

    /// Asks the rest, and says what belongs into the configuration.
    fn report(&self, talk: &mut Interview, found: &Found) -> Result<(), Failure> {
        let mut times = AnswerTimes::default();
        say("")?;
        for question in Question::of(&self.dialect, found.address) {
            let (met, seen) = ask(talk, &question)?;
            let asked = wire::question(&question);
            let heard = match &met {
                Met::Answer(_) => format!(", heard {}", wire::bytes(&seen.came, question.style)),
                _ => String::new(),
            };
            let line = format!("{:<15}asked {asked}{heard}: {}", wire::item(&question.item), met.describe());
            say(wrap_at(&line, 15))?;
            if met.is_heard() {
                times.add(seen.waited);
            }
        }
        say(format_args!("{} answers, {}", times.count(), times.describe()))?;
        say("\nPut this into the device's section of beamhand.toml:")?;
        say(format_args!("  port = \"{}\"", self.name.display()))?;
        say(format_args!("  dialect = \"{}\"", self.dialect.name()))?;
        say(format_args!("  baud = {}", found.baud))?;
        if let Some(address) = found.address {
            say(format_args!("  address = {address:#04X}").to_string().replace("0X", "0x"))?;
        }
        if let Some(ms) = times.proposal_ms(self.dialect.line().answer) {
            say(format_args!("  answer_ms = {ms}"))?;
        }
        Ok(())
    }

    /// Nothing answered: what to check, by what was seen.
    fn advice(&self, all: &[Met]) -> String {
        let mut check = vec!["it is switched on, and its menu lets a computer control it on this socket"];
        if all.iter().any(|met| matches!(met, Met::Other(_))) {
            check.push("the language: frames came that another dialect may fit; see `beamhand dialects`");
        } else if all.iter().any(|met| matches!(met, Met::Noise(_))) {
            check.push("speed and language: bytes came, so the wires are connected");
        } else {
            check.push("the cable: the right kind, in the right socket, the wires not crossed");
        }
        if self.baud.is_some() {
            check.push("the speed: the same in its menu; without --baud the usual ones are tried");
        }
        if self.dialect.family().is_addressed() {
            check.push("its bus address, as its menu shows it");
        }
        let list: Vec<String> = check.into_iter().map(|what| wrap_at(&format!("- {what}"), 2)).collect();
        let (name, port) = (self.dialect.name(), self.port.display());
        format!("no answer in `{name}` on {port}. What to check:\n{}", list.join("\n"))
    }
}

/// What came of a question, judged and as it was seen.
fn ask(talk: &mut Interview, question: &Question) -> Result<(Met, Seen), Failure> {
    let seen = talk.ask(question).map_err(Failure::Failed)?;
    Ok((Met::of(&seen, question.style), seen))
}
