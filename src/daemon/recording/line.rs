//! Who is told what happens to a line, and tells the record.

use crate::device::line::{LineInput, Witness, Write};
use crate::record::{Came, Entry, Origin, Pause, Recorder, Stamp, Step, TimeStep, to_text};
use crate::terms::{Memo, Moment};

/// So many looks, or so many bytes, become one entry, or those of so many seconds.
const LOOKS: usize = 200;
const BYTES: usize = 2048;
const SECONDS: f64 = 4.0;

/// Looks one after the other, of which nothing is to be told but what came in and was written.
#[derive(Debug, Default)]
pub(in crate::daemon) struct Looks {
    line: usize,
    looks: Vec<Stamp>,
    counts: Vec<usize>,
    bytes: Vec<u8>,
    said: Vec<(usize, Vec<String>)>,
}

impl Looks {
    pub(in crate::daemon) fn of_line(line: usize) -> Self {
        Self { line, ..Self::default() }
    }

    /// One more, at which these bytes came and these frames were written; gives those that are enough
    /// for an entry.
    pub(in crate::daemon) fn add(&mut self, at: Stamp, bytes: &[u8], said: Vec<String>) -> Option<Pause> {
        if !said.is_empty() {
            self.said.push((self.looks.len(), said));
        }
        self.looks.push(at);
        self.counts.push(bytes.len());
        self.bytes.extend(bytes);
        let is_long = self.looks.first().is_some_and(|first| at.seconds() - first.seconds() >= SECONDS);
        let is_full = is_long || self.looks.len() >= LOOKS || self.bytes.len() >= BYTES;
        if is_full { self.take() } else { None }
    }

    /// Those so far.
    pub(in crate::daemon) fn take(&mut self) -> Option<Pause> {
        let looks = std::mem::take(&mut self.looks);
        let (counts, bytes) = (std::mem::take(&mut self.counts), std::mem::take(&mut self.bytes));
        let said = std::mem::take(&mut self.said);
        let steps: Vec<TimeStep> = looks.windows(2).map(|pair| pair[1].since(pair[0])).collect();
        let is_even = steps.iter().all(|step| step.drift.is_zero());
        Some(Pause {
            line: self.line,
            at: *looks.first()?,
            later: steps.iter().map(|step| step.mono).collect(),
            drifted: if is_even { Vec::new() } else { steps.iter().map(|step| step.drift).collect() },
            counts: if bytes.is_empty() { Vec::new() } else { counts },
            bytes: to_text(&bytes),
            said,
        })
    }
}

/// What happens to a line: such as comes many times a second, or something else.
enum Happening {
    Quiet(Vec<u8>),
    Other(Came),
}

/// Tells the record of one line.
pub(in crate::daemon) struct LineTape {
    recorder: Recorder,
    origin: Origin,
    line: usize,
    looks: Looks,
    /// What is happening, until it is known what was said to it.
    step: Option<(Stamp, Happening)>,
    wants_memo: bool,
}

impl LineTape {
    pub(in crate::daemon) fn new(recorder: Recorder, origin: Origin, line: usize) -> Self {
        Self { recorder, origin, line, looks: Looks::of_line(line), step: None, wants_memo: true }
    }

    fn flush(&mut self) {
        if let Some(pause) = self.looks.take() {
            self.recorder.tell(Entry::Pause(pause));
        }
    }
}

impl Witness for LineTape {
    fn happens(&mut self, now: Moment, input: &LineInput) {
        let happening = match input {
            LineInput::Bytes(bytes) => Happening::Quiet(bytes.to_vec()),
            LineInput::Time => Happening::Quiet(Vec::new()),
            LineInput::Opened => Happening::Other(Came::Opened),
            LineInput::Lost(why) => Happening::Other(Came::Lost((*why).to_owned())),
            LineInput::NotSent => Happening::Other(Came::NotSent),
            LineInput::Order(device, _) => Happening::Other(Came::Order(*device)),
            LineInput::Halt => Happening::Other(Came::Halt),
            LineInput::Resume => Happening::Other(Came::Resume),
        };
        self.step = Some((self.origin.stamp(now), happening));
    }

    fn said(&mut self, writes: &[Write]) {
        let Some((at, happening)) = self.step.take() else { return };
        let said: Vec<String> = writes.iter().map(|write| to_text(&write.bytes)).collect();
        match happening {
            Happening::Quiet(bytes) => {
                if let Some(pause) = self.looks.add(at, &bytes, said) {
                    self.recorder.tell(Entry::Pause(pause));
                }
            }
            Happening::Other(came) => {
                self.flush();
                self.recorder.tell(Entry::Step(Step { line: self.line, at, came, said }));
            }
        }
    }

    fn wants_memo(&self) -> bool {
        self.wants_memo
    }

    fn remembers(&mut self, now: Moment, memo: Result<Memo, String>) {
        self.wants_memo = false;
        self.flush();
        let at = self.origin.stamp(now);
        self.recorder.tell(match memo {
            Ok(memo) => Entry::Memo { line: self.line, at, memo: memo.into() },
            Err(why) => Entry::Lost { entries: 1, why },
        });
    }
}

impl Drop for LineTape {
    fn drop(&mut self) {
        self.flush();
    }
}
