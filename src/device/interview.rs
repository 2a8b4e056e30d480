//! An interview: a port is opened, and one device after the other is asked read-only questions,
//! in real time. For those who want to know what is at the end of a line without a player on it.

use std::io;
use std::time::{Duration, Instant};

use super::conversation::{Conversation, Input, Outcome, Output};
use super::dialect::{Dialect, Exchange, Style};
use super::line::{Opener, Port};
use super::values::Values;

/// The longest that a read may block.
const SLICE: Duration = Duration::from_millis(20);
/// No question takes longer, its proof and its answer included: 40 bytes take 1.5 s at 300 baud.
const LONGEST: Duration = Duration::from_secs(20);
/// More than any device says at once; the rest of what a babbler says is not kept.
const KEPT: usize = 256;

/// A question that changes nothing: an `ask.X` of a single frame. One of several selects a band
/// or a VFO first.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// What is asked for: `hz`, `aim`.
    pub item: String,
    /// How its bytes are written for people.
    pub(crate) style: Style,
    exchange: Exchange,
}

impl Question {
    /// The question for `item`; `None` if the dialect has none that changes nothing.
    pub fn new(dialect: &Dialect, item: &str, address: Option<u8>) -> Option<Self> {
        let exchange = dialect.exchange(&format!("ask.{item}"), &Values::new(), address).ok()?;
        let changes_nothing = exchange.frames().count() == 1 && exchange.answers() == 1;
        let style = dialect.family().style();
        changes_nothing.then(|| Self { item: item.to_owned(), style, exchange })
    }

    /// What tells where a device is: its frequencies, modes and transmit state, or its position.
    /// The first is the one for a device of which nothing is known. At a wrong speed any question
    /// arrives as other bytes; those of the first were seen to make no harmful command then, which
    /// a rotator's longer question does not share (`tests/finding/speeds.rs`).
    pub fn of(dialect: &Dialect, address: Option<u8>) -> Vec<Self> {
        let ask = |items: &[&str]| -> Vec<Self> {
            items.iter().filter_map(|item| Self::new(dialect, item, address)).collect()
        };
        let mut questions = ask(&["azimuth", "aim", "rx_hz", "tx_hz", "rx_mode", "tx_mode"]);
        if questions.is_empty() {
            questions = ask(&["hz", "mode"]);
        }
        questions.extend(ask(&["transmitting", "signal", "squelch"]));
        questions
    }

    /// The bytes that it sends.
    pub fn frame(&self) -> &[u8] {
        self.exchange.frames().next().unwrap_or_default()
    }
}

/// What came of a question.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// How it ended.
    pub outcome: Outcome,
    /// Whether the question itself came back first.
    pub echoed: bool,
    /// Every other byte that came after the question, up to its end.
    pub came: Vec<u8>,
    /// From when the question was written to the end of its answer.
    pub took: Duration,
    /// The part of that in which neither the question nor what came was on the wire.
    pub waited: Duration,
}

/// An open line and its conversation.
pub struct Interview {
    port: Box<dyn Port>,
    conversation: Conversation,
    byte_time: Duration,
    began: Instant,
}

impl Interview {
    /// Opens the port. A byte takes `byte_time` on it.
    ///
    /// # Errors
    /// What was seen and what to do, where it can't be opened.
    pub fn begin(
        opener: &dyn Opener,
        mut conversation: Conversation,
        byte_time: Duration,
    ) -> Result<Self, String> {
        let port = opener.open()?;
        let began = Instant::now();
        conversation.step(Duration::ZERO, Input::Trouble);
        Ok(Self { port, conversation, byte_time, began })
    }

    /// Goes on at another speed, with a conversation of its own, without opening the port again:
    /// every open raises DTR and RTS for an instant.
    ///
    /// # Errors
    /// Why the port can't be set to it.
    pub fn change_speed(
        &mut self,
        baud: u32,
        mut conversation: Conversation,
        byte_time: Duration,
    ) -> Result<(), String> {
        self.port
            .set_speed(baud)
            .map_err(|error| format!("the port can't be set to {baud} baud: {error}"))?;
        conversation.step(self.began.elapsed(), Input::Trouble);
        (self.conversation, self.byte_time) = (conversation, byte_time);
        Ok(())
    }

    /// Asks one question and waits for what comes of it.
    ///
    /// # Errors
    /// Why the line was lost.
    pub fn ask(&mut self, question: &Question) -> Result<Seen, String> {
        let (outcome, talk) = self.play(&question.exchange)?;
        Ok(self.seen(outcome, question, talk))
    }

    /// Says the dialect's greeting, if it has one: the one thing besides questions. The silence
    /// behind it keeps the next question apart from it for a device at another speed, too.
    ///
    /// # Errors
    /// Why the line was lost.
    pub fn greet(&mut self, dialect: &Dialect, address: Option<u8>) -> Result<(), String> {
        let Ok(greeting) = dialect.exchange("do.greeting", &Values::new(), address) else { return Ok(()) };
        self.play(&greeting)?;
        self.listen_until(self.began.elapsed() + dialect.family().recovery())
    }

    /// Plays an exchange to its end.
    fn play(&mut self, exchange: &Exchange) -> Result<(Outcome, Talk), String> {
        let until = self.began.elapsed() + LONGEST;
        self.listen_until(self.conversation.ready_at())?;
        let now = self.began.elapsed();
        self.conversation.begin(exchange.clone(), now).map_err(|error| error.to_string())?;
        let mut talk = Talk { came: Vec::new(), asked: now };
        let mut outputs = self.conversation.step(now, Input::Time);
        loop {
            if let Some(outcome) = self.follow(outputs, exchange, &mut talk)? {
                return Ok((outcome, talk));
            }
            let wake = self.conversation.wake_at().unwrap_or(until);
            let (bytes, now) = self.read(wake)?;
            if now > until {
                return Err("the conversation came to no end".to_owned());
            }
            let room = KEPT - talk.came.len();
            talk.came.extend(bytes.iter().take(room));
            outputs = self.conversation.step(now, Input::Bytes(&bytes));
        }
    }

    /// Says nothing up to this time.
    fn listen_until(&mut self, until: Duration) -> Result<(), String> {
        while self.began.elapsed() < until {
            let (bytes, now) = self.read(until)?;
            self.conversation.step(now, Input::Bytes(&bytes));
        }
        Ok(())
    }

    /// Does what the conversation says; gives the outcome once there is one.
    fn follow(
        &mut self,
        outputs: Vec<Output>,
        exchange: &Exchange,
        talk: &mut Talk,
    ) -> Result<Option<Outcome>, String> {
        let mut outcome = None;
        for output in outputs {
            match output {
                Output::Write(frame) => {
                    if exchange.frames().next() == Some(&frame[..]) {
                        *talk = Talk { came: Vec::new(), asked: self.began.elapsed() };
                    }
                    match self.port.write(&frame) {
                        Ok(count) if count == frame.len() => {}
                        Ok(_) => return Err("the port took only part of a question".to_owned()),
                        Err(error) => return Err(format!("the port takes no bytes: {error}")),
                    }
                }
                Output::Done(done) => outcome = Some(done),
                Output::Unasked { .. } | Output::Refused(_) | Output::Noticed(_) => {}
            }
        }
        Ok(outcome)
    }

    fn seen(&self, outcome: Outcome, question: &Question, talk: Talk) -> Seen {
        let took = self.began.elapsed().saturating_sub(talk.asked);
        // An echo travels while the question does.
        let rest = talk.came.strip_prefix(question.frame());
        let (echoed, came) = (rest.is_some(), rest.unwrap_or(&talk.came).to_vec());
        let on_the_wire = self.byte_time * (question.frame().len() + came.len()) as u32;
        Seen { outcome, echoed, came, took, waited: took.saturating_sub(on_the_wire) }
    }

    /// What comes before `wake`, but no longer than a slice.
    fn read(&mut self, wake: Duration) -> Result<(Vec<u8>, Duration), String> {
        let wait = wake.saturating_sub(self.began.elapsed()).min(SLICE);
        let mut buffer = [0_u8; 256];
        let count = match self.port.read(&mut buffer, wait) {
            Ok(0) => return Err("the port hung up: check the cable and the adapter's plug".to_owned()),
            Ok(count) => count,
            Err(error) if matches!(error.kind(), io::ErrorKind::TimedOut | io::ErrorKind::Interrupted) => 0,
            Err(error) => return Err(format!("the port failed: {error}")),
        };
        Ok((buffer[..count].to_vec(), self.began.elapsed()))
    }
}

/// A question under way.
struct Talk {
    came: Vec<u8>,
    asked: Duration,
}

#[cfg(test)]
mod tests {
    use std::sync::{Arc, Mutex};

    use super::*;
    use crate::device::conversation::ConversationSettings;
    use crate::terms::Hertz;

    /// What is still on its way, and when it arrives.
    type Due = Vec<(Instant, Vec<u8>)>;

    /// A far end that answers each frame by a fixed rule, `late` after it was written.
    #[derive(Clone, Default)]
    struct Far {
        written: Arc<Mutex<Vec<Vec<u8>>>>,
        due: Arc<Mutex<Due>>,
        answers: Vec<(&'static [u8], &'static [u8])>,
        late: Duration,
        hung_up: bool,
    }

    impl Port for Far {
        fn read(&mut self, buffer: &mut [u8], wait: Duration) -> io::Result<usize> {
            if self.hung_up {
                return Ok(0);
            }
            let mut due = self.due.lock().unwrap();
            if let Some(at) = due.iter().position(|(at, _)| *at <= Instant::now()) {
                let (_, bytes) = due.remove(at);
                buffer[..bytes.len()].copy_from_slice(&bytes);
                return Ok(bytes.len());
            }
            std::thread::sleep(wait);
            Err(io::ErrorKind::TimedOut.into())
        }

        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.written.lock().unwrap().push(bytes.to_vec());
            let answer = self.answers.iter().find(|(question, _)| *question == bytes);
            let answer = answer.map(|(_, answer)| (Instant::now() + self.late, answer.to_vec()));
            self.due.lock().unwrap().extend(answer);
            Ok(bytes.len())
        }
    }

    impl Opener for Far {
        fn open(&self) -> Result<Box<dyn Port>, String> {
            Ok(Box::new(self.clone()))
        }
    }

    fn talk(far: &Far, dialect: &str, item: &str) -> Result<Seen, String> {
        let dialect = Dialect::builtin(dialect).unwrap();
        let settings = ConversationSettings::of(&dialect, None);
        let byte_time = settings.byte_time;
        let mut interview =
            Interview::begin(far, Conversation::new(dialect.family(), settings), byte_time).unwrap();
        interview.ask(&Question::new(&dialect, item, None).unwrap())
    }

    #[test]
    fn a_reading_comes_with_its_bytes_and_its_time() {
        let late = Duration::from_millis(60);
        let far = Far { answers: vec![(b"FA;", b"FA00145950000;")], late, ..Far::default() };
        let seen = talk(&far, "semicolon-eleven", "hz").unwrap();
        let Outcome::Done(values) = &seen.outcome else { panic!("{seen:?}") };
        assert_eq!(values.hertz("hz"), Some(Hertz(145_950_000)));
        assert_eq!(seen.came, b"FA00145950000;");
        assert!(seen.took >= late && seen.took < Duration::from_secs(1), "{seen:?}");
        // 17 bytes of ten bits at 9600 baud.
        assert!(seen.took - seen.waited >= Duration::from_micros(17_700), "{seen:?}");
    }

    #[test]
    fn the_proof_question_is_not_counted_into_the_time() {
        let answers: Vec<(&[u8], &[u8])> = vec![(b"ID;", b"ID019;"), (b"MD;", b"MD4;")];
        let far = Far { answers, late: Duration::from_millis(150), ..Far::default() };
        let seen = talk(&far, "semicolon-eleven", "mode").unwrap();
        assert_eq!(*far.written.lock().unwrap(), [b"ID;".to_vec(), b"MD;".to_vec()]);
        assert!(matches!(seen.outcome, Outcome::Done(_)), "{seen:?}");
        assert_eq!(seen.came, b"MD4;");
        assert!(seen.took < Duration::from_millis(290), "{seen:?}");
    }

    #[test]
    fn an_echo_is_no_part_of_the_answer() {
        let far = Far { answers: vec![(b"FA;", b"FA;FA00145950000;")], ..Far::default() };
        let seen = talk(&far, "semicolon-eleven", "hz").unwrap();
        assert!(matches!(seen.outcome, Outcome::Done(_)), "{seen:?}");
        assert_eq!((seen.echoed, &seen.came[..]), (true, &b"FA00145950000;"[..]));
    }

    #[test]
    fn a_greeting_stands_alone_and_only_where_the_language_has_one() {
        let greeted = |name: &str| {
            let (dialect, far) = (Dialect::builtin(name).unwrap(), Far::default());
            let settings = ConversationSettings::of(&dialect, None);
            let byte_time = settings.byte_time;
            let conversation = Conversation::new(dialect.family(), settings);
            let mut interview = Interview::begin(&far, conversation, byte_time).unwrap();
            let began = Instant::now();
            interview.greet(&dialect, None).unwrap();
            let said = far.written.lock().unwrap().clone();
            (said, began.elapsed())
        };
        let (said, took) = greeted("five-byte-duplex");
        assert_eq!(said, [[0; 5]]);
        // The silence after the opening, five bytes, and the silence behind them.
        assert!(took >= Duration::from_millis(500), "{took:?}");
        assert_eq!(greeted("five-byte").0, [[0; 5]; 0]);
    }

    #[test]
    fn silence_and_strange_bytes_are_told_apart() {
        let seen = talk(&Far::default(), "w-lines", "aim").unwrap();
        assert_eq!((seen.outcome, seen.came), (Outcome::NoAnswer, Vec::new()));
        let far = Far { answers: vec![(b"C2\r", b"\xFE\x80")], ..Far::default() };
        let seen = talk(&far, "w-lines", "aim").unwrap();
        assert_eq!(seen.came, b"\xFE\x80");
        assert!(!matches!(seen.outcome, Outcome::Done(_)), "{seen:?}");
    }

    #[test]
    fn a_line_that_hangs_up_is_no_answer_but_an_error() {
        let far = Far { hung_up: true, ..Far::default() };
        assert!(talk(&far, "w-lines", "aim").unwrap_err().contains("hung up"));
    }

    #[test]
    fn what_commands_or_selects_is_no_question() {
        let frames = Dialect::builtin("fe-frames").unwrap();
        assert_eq!(Question::new(&frames, "tx_hz", Some(0x4C)), None, "it selects the main band");
        assert!(Question::new(&frames, "hz", Some(0x4C)).is_some());
        let semicolon = Dialect::builtin("semicolon-eleven").unwrap();
        assert_eq!(Question::new(&semicolon, "tx_mode", None), None, "it changes the receive VFO");
        assert_eq!(Question::new(&semicolon, "quiet", None), None, "a command");
    }

    #[test]
    fn no_question_of_any_dialect_sets_anything() {
        // By hand from the examples of the languages: what asks and changes nothing.
        let harmless: [(&str, &[&[u8]]); 8] = [
            ("semicolon-eleven", &[b"FA;", b"FB;", b"MD;", b"IF;", b"SM0;", b"BY;"]),
            ("semicolon-nine", &[b"FA;", b"FB;", b"MD0;", b"MD1;", b"SM0;", b"BY;"]),
            (
                "fe-frames",
                &[
                    b"\xFE\xFE\x4C\xE0\x03\xFD",
                    b"\xFE\xFE\x4C\xE0\x04\xFD",
                    b"\xFE\xFE\x4C\xE0\x1C\x00\xFD",
                    b"\xFE\xFE\x4C\xE0\x15\x02\xFD",
                    b"\xFE\xFE\x4C\xE0\x15\x01\xFD",
                ],
            ),
            ("five-byte", &[b"\0\0\0\0\x03", b"\0\0\0\0\xE7", b"\0\0\0\0\xF7"]),
            ("five-byte-duplex", &[b"\0\0\0\0\x13", b"\0\0\0\0\x23", b"\0\0\0\0\xE7", b"\0\0\0\0\xF7"]),
            ("w-lines", &[b"C\r", b"C2\r"]),
            ("az-el-words", &[b"AZ\r", b"AZ EL\r"]),
            ("thirteen-byte", &[b"W\0\0\0\0\0\0\0\0\0\0\x1F\x20"]),
        ];
        for (name, allowed) in harmless {
            let questions = Question::of(&Dialect::builtin(name).unwrap(), Some(0x4C));
            assert!(!questions.is_empty(), "{name}");
            for question in questions {
                assert!(allowed.contains(&question.frame()), "{name} {question:?}");
            }
        }
    }
}
