//! What is seen of a device that is not well: facts go in, one sentence for the status comes out.
//! A symptom is over after three good answers in a row.

use serde::{Deserialize, Serialize};

use super::status::Contact;

/// So many good answers in a row, and what was wrong before is over.
const WELL_AFTER: u32 = 3;
/// So many refusals in a row are more than a few abilities that a radio lacks.
const REFUSALS: u32 = 4;
/// How many bytes of a sample are shown.
const SAMPLE: usize = 8;

/// Something that was seen on the line, in a device's talks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Fact {
    /// A question had no answer in time; so many bytes came since the last good one that fit
    /// nothing.
    Silence {
        /// The line's speed.
        baud: u32,
        /// Bytes that fit nothing.
        stray: usize,
    },
    /// An answer began and did not end in time.
    HalfAnswer {
        /// How many bytes of it came.
        came: usize,
        /// How many it has, where that is fixed.
        of: Option<usize>,
    },
    /// A whole frame came that is no answer to the question.
    Strange(Vec<u8>),
    /// What was written came back.
    Echo,
    /// Another device of the bus answered.
    Foreign {
        /// Its address.
        from: u8,
        /// The address that was asked.
        wanted: u8,
    },
    /// Two stations of the bus talked at once.
    Collision,
    /// The port did not take a whole command in time.
    NotTaken,
    /// So many bytes a second fit nothing, like these.
    Babble {
        /// Bytes a second.
        per_second: u32,
        /// Some of them.
        sample: Vec<u8>,
    },
    /// That is over.
    Quiet,
}

/// Collects what is seen of one device.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub(super) struct Symptoms {
    /// Whether anything came of a question yet, good or bad.
    heard: bool,
    /// Questions in a row without a good answer.
    unanswered: u32,
    /// Good answers in a row.
    good: u32,
    /// Refusals in a row, and the last one's text.
    refused: (u32, String),
    /// What was seen at the last question that failed.
    last: Option<Fact>,
    /// Good answers since the last echo.
    since_echo: Option<u32>,
    babble: Option<(u32, Vec<u8>)>,
    /// It takes commands and stays where it is.
    stays: Option<String>,
}

impl Symptoms {
    /// A good answer came.
    pub(super) fn answered(&mut self) {
        self.heard = true;
        self.unanswered = 0;
        self.refused.0 = 0;
        self.good = self.good.saturating_add(1);
        if self.good >= WELL_AFTER {
            self.last = None;
        }
        self.since_echo = self.since_echo.map(|answers| answers + 1).filter(|answers| *answers < WELL_AFTER);
    }

    /// A refusal came.
    pub(super) fn refused(&mut self, text: &str) {
        self.heard = true;
        self.unanswered = 0;
        self.refused = (self.refused.0.saturating_add(1), text.to_owned());
    }

    /// The device stays where it is, whatever it is told, in these words; `None`: no longer.
    pub(super) fn stays(&mut self, how: Option<String>) {
        self.stays = how;
    }

    /// Something was seen.
    pub(super) fn noticed(&mut self, fact: &Fact) {
        match fact {
            Fact::Echo => self.since_echo = Some(0),
            Fact::Babble { per_second, sample } => self.babble = Some((*per_second, sample.clone())),
            Fact::Quiet => self.babble = None,
            failed => {
                self.heard = true;
                self.unanswered = self.unanswered.saturating_add(1);
                self.good = 0;
                self.refused.0 = 0;
                self.last = Some(failed.clone());
            }
        }
    }

    /// Whether it can be talked to, and what is to be said of that.
    pub(super) fn contact(&self) -> Contact {
        if self.unanswered > 0 {
            return Contact::Bad(self.failing());
        }
        if self.refused.0 >= REFUSALS {
            let (times, text) = &self.refused;
            return Contact::Bad(self.loudest().unwrap_or(format!(
                "refuses every command ({text}), {times} in a row: check the dialect, and whether its menu \
                 allows computer control"
            )));
        }
        let odd = [self.loudest(), self.stays.clone(), self.lately(), self.echo()];
        let odd: Vec<String> = odd.into_iter().flatten().collect();
        match (self.heard, odd.is_empty()) {
            (_, false) => Contact::Odd(odd.join("; ")),
            (true, true) => Contact::Good,
            (false, true) => Contact::Unheard,
        }
    }

    /// What is seen while questions fail: the loudest first.
    fn failing(&self) -> String {
        if let Some(babble) = self.loudest() {
            return babble;
        }
        let only_silence = matches!(self.last, None | Some(Fact::Silence { .. }));
        if self.since_echo.is_some() && only_silence {
            return "own bytes come back, and nothing else does: check that it is switched on, the cable \
                    behind the interface, and the line speed"
                .to_owned();
        }
        self.last.as_ref().map(|fact| self.sentence(fact)).unwrap_or_default()
    }

    /// What was seen before the last good answers.
    fn lately(&self) -> Option<String> {
        let seen = match self.last.as_ref()? {
            Fact::Silence { .. } => "it did not answer every question".to_owned(),
            other => self.sentence(other),
        };
        Some(format!("lately: {seen}"))
    }

    fn loudest(&self) -> Option<String> {
        let (per_second, sample) = self.babble.as_ref()?;
        Some(format!(
            "{} of bytes that are no answer and no report of this dialect, e.g. {}: check the line speed, \
             the dialect, and what the device is set to send by itself",
            rate(*per_second),
            hex(sample)
        ))
    }

    fn echo(&self) -> Option<String> {
        self.since_echo.map(|_| "own bytes come back, and are passed over".to_owned())
    }

    fn sentence(&self, fact: &Fact) -> String {
        match fact {
            Fact::Silence { baud, stray } => {
                let seen = match stray {
                    0 => String::new(),
                    1 => ", but a byte that fits nothing".to_owned(),
                    stray => format!(", but {stray} bytes that fit nothing"),
                };
                format!(
                    "no answer to {} at {baud} baud{seen}: check that it is switched on, the cable, the line \
                     speed and the dialect",
                    questions(self.unanswered)
                )
            }
            Fact::HalfAnswer { came, of } => {
                let seen = match of {
                    Some(of) => format!("{came} of {of} bytes"),
                    None => format!("{came} bytes and no end"),
                };
                format!("half an answer: {seen}: check the cable, the line speed and answer_ms")
            }
            Fact::Strange(bytes) => format!(
                "answers that the dialect does not know ({}): check the line speed and the dialect",
                hex(bytes)
            ),
            Fact::Foreign { from, wanted } => format!(
                "an answer came from address 0x{from:02X}, not 0x{wanted:02X}: check the address in the \
                 radio's menu and in the configuration"
            ),
            Fact::Collision => "two stations of the bus talked at once (FC): check that no other program or \
                                controller uses the bus"
                .to_owned(),
            Fact::NotTaken => {
                "the port did not take a whole command in time: check the cable and the adapter".to_owned()
            }
            Fact::Echo | Fact::Babble { .. } | Fact::Quiet => String::new(),
        }
    }
}

fn questions(count: u32) -> String {
    if count <= 1 { "a question".to_owned() } else { format!("{count} questions") }
}

fn rate(per_second: u32) -> String {
    match per_second {
        0..1000 => format!("{per_second} B/s"),
        _ => format!("{:.1} kB/s", f64::from(per_second) / 1000.0),
    }
}

/// The first bytes, as hexadecimal pairs.
fn hex(bytes: &[u8]) -> String {
    let shown: Vec<String> = bytes.iter().take(SAMPLE).map(|byte| format!("{byte:02X}")).collect();
    let more = if bytes.len() > SAMPLE { " ..." } else { "" };
    format!("{}{more}", shown.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    const SILENCE: Fact = Fact::Silence { baud: 9600, stray: 0 };

    fn seen(facts: &[Fact]) -> Symptoms {
        let mut symptoms = Symptoms::default();
        facts.iter().for_each(|fact| symptoms.noticed(fact));
        symptoms
    }

    #[track_caller]
    fn assert_bad(symptoms: &Symptoms, says: &str) {
        let Contact::Bad(why) = symptoms.contact() else { panic!("{:?}", symptoms.contact()) };
        assert!(why.contains(says) && why.contains("check"), "{why}");
    }

    #[track_caller]
    fn assert_odd(symptoms: &Symptoms, says: &str) {
        let Contact::Odd(why) = symptoms.contact() else { panic!("{:?}", symptoms.contact()) };
        assert!(why.contains(says), "{why}");
    }

    #[test]
    fn each_failure_is_named_by_what_was_seen() {
        for (fact, says) in [
            (SILENCE, "no answer to a question at 9600 baud: check that it is switched on"),
            (Fact::Silence { baud: 4800, stray: 7 }, "at 4800 baud, but 7 bytes that fit nothing"),
            (Fact::HalfAnswer { came: 5, of: Some(11) }, "half an answer: 5 of 11 bytes"),
            (Fact::HalfAnswer { came: 5, of: None }, "half an answer: 5 bytes and no end"),
            (Fact::Strange(vec![0x8F, 3]), "does not know (8F 03)"),
            (Fact::Foreign { from: 0x5C, wanted: 0x4C }, "an answer came from address 0x5C, not 0x4C"),
            (Fact::Collision, "two stations of the bus talked at once"),
            (Fact::NotTaken, "did not take a whole command"),
        ] {
            assert_bad(&seen(&[fact]), says);
        }
        assert_bad(&seen(&vec![SILENCE; 5]), "no answer to 5 questions at 9600 baud");
    }

    #[test]
    fn a_flood_is_named_before_the_silence_that_it_makes() {
        let babble = Fact::Babble { per_second: 12_340, sample: vec![0x8F, 3] };
        assert_bad(&seen(&[babble.clone(), SILENCE]), "12.3 kB/s of bytes");
        assert_bad(&seen(&[SILENCE, babble.clone()]), "e.g. 8F 03");
        assert_odd(&seen(std::slice::from_ref(&babble)), "12.3 kB/s");
        assert_bad(&seen(&[babble, SILENCE, Fact::Quiet]), "no answer");
    }

    #[test]
    fn a_device_that_refuses_everything_is_named_and_one_that_lacks_a_few_things_is_not() {
        let mut symptoms = Symptoms::default();
        for _ in 0..3 {
            symptoms.refused("?;");
            assert_eq!(symptoms.contact(), Contact::Good);
        }
        symptoms.refused("?;");
        assert_bad(&symptoms, "refuses every command (?;), 4 in a row");
        symptoms.answered();
        assert_eq!(symptoms.contact(), Contact::Good);
    }

    #[test]
    fn an_echo_is_named_whether_the_device_answers_or_not() {
        assert_bad(&seen(&[Fact::Echo, SILENCE]), "own bytes come back, and nothing else");
        let mut symptoms = seen(&[Fact::Echo]);
        symptoms.answered();
        assert_odd(&symptoms, "own bytes come back");
        symptoms.answered();
        symptoms.answered();
        assert_eq!(symptoms.contact(), Contact::Good, "no echo with three answers");
    }

    #[test]
    fn a_symptom_is_over_after_three_good_answers_in_a_row() {
        let mut symptoms = seen(&[SILENCE]);
        symptoms.answered();
        symptoms.answered();
        assert_odd(&symptoms, "lately: it did not answer every question");
        symptoms.noticed(&SILENCE);
        for left in (0..3).rev() {
            symptoms.answered();
            assert_eq!(symptoms.contact() == Contact::Good, left == 0);
        }
    }

    #[test]
    fn what_stays_where_it_is_is_named_though_it_answers() {
        let mut symptoms = Symptoms::default();
        symptoms.answered();
        symptoms.stays(Some("the dial stays".to_owned()));
        (0..5).for_each(|_| symptoms.answered());
        assert_odd(&symptoms, "the dial stays");
        symptoms.stays(None);
        assert_eq!(symptoms.contact(), Contact::Good);
    }
}
