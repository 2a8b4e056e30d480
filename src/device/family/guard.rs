//! The guard: it sees every frame before it is written, and forbids what could key.
//!
//! **Why it is right.** Call a device *in step* when nothing of an earlier command waits in its
//! buffer. The guard keeps what was sent since the last *proof* of that: an answer that only a
//! device in step gives, or the silence after which the language forgets half commands. Whatever
//! is lost on the wire, what arrives is a subsequence of what was sent.
//! * `semicolon`, `fe-frames`: a device carries out a forbidden command only if the bytes that
//!   name it arrive in order. If they are no subsequence of what was sent since the proof plus
//!   the new frame, no loss can make the command. So for each forbidden sequence the guard keeps
//!   how many of its bytes have been sent in order.
//! * `five-byte`, `five-byte-duplex`: after a loss any byte of the *next* frame can become an
//!   opcode, so a second frame needs proof, except a question made of bytes that are harmless as
//!   opcodes. In a single frame after a proof a loss leaves fewer than five bytes, which the
//!   device forgets in the recovery silence. The fourth byte is kept free of forbidden opcodes
//!   as well: a single byte that noise *inserts* makes it the opcode.
//! * the rotators' families may write a few harmless bytes only; any subsequence is as harmless.
//!
//! **What is not covered.** Bytes that noise changes or invents can make any command. On the bus
//! five commands (Morse, voice, power, memory) have decimal codes, as frequencies have digits; the
//! guard keeps them out of the byte behind the command, so that one byte lost per frame can't make
//! one, nor can whole frames lost. Two or more lost inside the head of one frame could; the key
//! command itself can't be made by any loss.

use serde::{Deserialize, Serialize};

use super::Family;
use super::never::{self, Never};

/// What the guard says to a frame.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// It may be written now.
    Allowed,
    /// It may be written once the device has proven to be in step.
    NeedsProof,
    /// It may not be written at all, for this reason.
    Forbidden(String),
}

/// Watches over one line.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Guard {
    family: Family,
    /// For each forbidden sequence, how many of its bytes were sent since the last proof.
    progress: Vec<usize>,
    /// Whether anything was sent since the last proof.
    in_doubt: bool,
    /// Devices of a bus that were spoken to and have not answered since.
    unproven: Vec<u8>,
}

impl Guard {
    /// Whether it watches over lines of this family, and all of it fits.
    pub(in crate::device) fn is_for(&self, family: Family) -> bool {
        let sequences = never::sequences(family);
        let fits = self.progress.iter().zip(sequences).all(|(seen, never)| *seen < never.sequence.len());
        self.family == family && self.progress.len() == sequences.len() && fits
    }

    /// For a line whose devices are all in step.
    pub fn in_step(family: Family) -> Self {
        let progress = vec![0; never::sequences(family).len()];
        Self { family, progress, in_doubt: false, unproven: Vec::new() }
    }

    /// For a line of which nothing is known: whoever used it before may have left any half command.
    pub fn unknown(family: Family) -> Self {
        let progress = never::sequences(family).iter().map(|never| never.sequence.len() - 1).collect();
        Self { family, progress, in_doubt: true, unproven: Vec::new() }
    }

    /// Whether `frame` may be written now.
    pub fn verdict(&self, frame: &[u8]) -> Verdict {
        if let Some(reason) = forbidden_as_sent(self.family, frame) {
            return Verdict::Forbidden(reason);
        }
        let start = vec![0; self.progress.len()];
        if let Some(never) = completed(self.family, start, frame) {
            return Verdict::Forbidden(never.what.to_owned());
        }
        let misread = self.in_doubt && self.family.counts_bytes() && !self.is_harmless_question(frame);
        if misread || completed(self.family, self.progress.clone(), frame).is_some() {
            return Verdict::NeedsProof;
        }
        Verdict::Allowed
    }

    /// `frame` has been handed to the line, if only in part.
    pub fn sent(&mut self, frame: &[u8]) {
        for (done, never) in self.progress.iter_mut().zip(never::sequences(self.family)) {
            *done = advanced(never, *done, frame).min(never.sequence.len() - 1);
        }
        self.in_doubt = true;
        if let (Family::FeFrames, Some(to)) = (self.family, frame.get(2))
            && !self.unproven.contains(to)
        {
            self.unproven.push(*to);
        }
    }

    /// A device (the one at `address` on a bus) has proven to be in step.
    pub fn proven(&mut self, address: Option<u8>) {
        self.unproven.retain(|unproven| Some(*unproven) != address);
        if self.unproven.is_empty() {
            *self = Self::in_step(self.family);
        }
    }

    /// Whom to ask for proof: on a bus first those who owe one.
    pub(crate) fn suspect(&self, target: Option<u8>) -> Option<u8> {
        self.unproven.first().copied().or(target)
    }

    fn is_harmless_question(&self, frame: &[u8]) -> bool {
        self.family == Family::FiveByteDuplex
            && frame.iter().all(|byte| never::DUPLEX_QUESTION_BYTES.contains(byte))
    }
}

/// How many of the sequence's bytes have come in order once `frame` has come too.
fn advanced(never: &Never, done: usize, frame: &[u8]) -> usize {
    frame.iter().fold(done, |done, byte| match never.sequence.get(done) {
        Some(forms) if forms.contains(byte) => done + 1,
        _ => done,
    })
}

fn completed(family: Family, progress: Vec<usize>, frame: &[u8]) -> Option<&'static Never> {
    let sequences = never::sequences(family).iter().zip(progress);
    sequences
        .into_iter()
        .find(|(never, done)| advanced(never, *done, frame) == never.sequence.len())
        .map(|(never, _)| never)
}

/// What the frame is to a device that is in step.
fn forbidden_as_sent(family: Family, frame: &[u8]) -> Option<String> {
    match family {
        Family::Semicolon => forbidden_text(frame),
        Family::FeFrames => forbidden_on_the_bus(frame),
        Family::FiveByte | Family::FiveByteDuplex => forbidden_opcode(frame),
        Family::WLines | Family::AzElWords => forbidden_letter(family, frame),
        Family::ThirteenByte => forbidden_block(frame).or_else(|| forbidden_letter(family, frame)),
    }
}

/// Half a command would wait in the radio for the next one's letters. What a frame spells says more
/// than that it is none.
fn forbidden_text(frame: &[u8]) -> Option<String> {
    let start = vec![0; never::sequences(Family::Semicolon).len()];
    if let Some(never) = completed(Family::Semicolon, start, frame) {
        return Some(never.what.to_owned());
    }
    if sets_break_in(frame) {
        return Some("BI lets a Morse key transmit".to_owned());
    }
    let is_one = frame.iter().position(|byte| *byte == b';') == frame.len().checked_sub(1);
    (!is_one).then(|| "a frame is one command with the ; that ends it".to_owned())
}

/// `BI;` asks and `BI0;` switches off. It is judged in its own frame only: a B and an I of two
/// harmless questions are no reason to ask for proof, and no frame that is sent has the 1 behind.
fn sets_break_in(frame: &[u8]) -> bool {
    let start = frame.iter().position(u8::is_ascii_alphabetic).unwrap_or(frame.len());
    let command = frame[start..].to_ascii_uppercase();
    command.strip_prefix(b"BI").is_some_and(|data| data != b";" && data != b"0;")
}

fn forbidden_on_the_bus(frame: &[u8]) -> Option<String> {
    let [0xFE, 0xFE, _, _, content @ .., 0xFD] = frame else { return Some("not a bus frame".into()) };
    if content.is_empty() || frame[2..frame.len() - 1].iter().any(|byte| *byte >= 0xFC) {
        return Some("a frame's content has no bytes FC to FF".into());
    }
    if content[0] == 0x1C && content != [0x1C, 0x00] {
        return Some("1C 00 may only be asked, without data".into());
    }
    let switch = forbidden_switch(content).or_else(|| forbidden_switch(&content[1..]));
    if let Some(what) = switch {
        return Some(what.to_owned());
    }
    let known = |byte: &u8| never::BUS_COMMANDS.iter().find(|(command, _)| command == byte);
    content.iter().take(2).find_map(known).map(|(_, what)| (*what).to_owned())
}

/// Commands that are harmless while they ask, or switch off. Behind the first byte they are looked
/// for too: it may get lost.
fn forbidden_switch(content: &[u8]) -> Option<&'static str> {
    match content {
        [0x1A, _, _, ..] => Some("1A with data writes a menu or a memory"),
        [0x16, switch, data @ ..] if data.iter().any(|byte| *byte != 0) => {
            never::BUS_SWITCHES.iter().find(|(known, _)| known == switch).map(|(_, what)| *what)
        }
        _ => None,
    }
}

fn forbidden_opcode(frame: &[u8]) -> Option<String> {
    let [_, _, _, fourth, opcode] = frame else { return Some("a command has five bytes".into()) };
    let known = |byte: u8| never::OPCODES.iter().find(|(opcode, _)| *opcode == byte);
    if let Some((_, what)) = known(*opcode) {
        return Some((*what).to_owned());
    }
    known(*fourth).map(|(_, what)| format!("with one byte too many on the wire {what}"))
}

fn forbidden_letter(family: Family, frame: &[u8]) -> Option<String> {
    let alphabet = never::alphabet(family)?;
    let wrong = frame.iter().find(|byte| !alphabet.contains(byte))?;
    Some(format!("byte {wrong:02X} starts or sets something that Beamhand never touches"))
}

fn forbidden_block(frame: &[u8]) -> Option<String> {
    let is_known =
        frame.len() == 13 && frame[0] == 0x57 && matches!(frame[11], 0x0F | 0x1F | 0x2F) && frame[12] == 0x20;
    (!is_known).then(|| "a block has 13 bytes, from 57 to 20, and sets, asks or stops".to_owned())
}
