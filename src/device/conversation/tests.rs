//! Conversations against hand-written bytes.

mod sick;

use std::sync::Arc;

use super::super::dialect::Dialect;
use super::super::symptoms::Fact;
use super::super::values::Value;
use super::*;
use crate::terms::{Hertz, Mode, Tone};

const MS: Duration = Duration::from_millis(1);

/// A conversation, its dialect, and what time it is.
struct Line {
    dialect: Arc<Dialect>,
    conversation: Conversation,
    now: Duration,
}

impl Line {
    /// Opened long ago, and in step.
    fn proven(name: &str) -> Self {
        let mut line = Self::opened(name);
        line.conversation.guard = Guard::in_step(line.dialect.family());
        line
    }

    fn opened(name: &str) -> Self {
        let dialect = Dialect::builtin(name).unwrap();
        let settings = ConversationSettings::of(&dialect, dialect.family().is_addressed().then_some(0xA2));
        let conversation = Conversation::new(dialect.family(), settings);
        Self { dialect, conversation, now: 1000 * MS }
    }

    fn exchange(&self, verb: &str, values: &Values) -> Exchange {
        self.dialect.exchange(verb, values, Some(0xA2)).unwrap()
    }

    fn begin(&mut self, verb: &str, values: Values) -> Vec<Output> {
        let exchange = self.exchange(verb, &values);
        self.conversation.begin(exchange, self.now).unwrap();
        self.conversation.step(self.now, Input::Time)
    }

    /// Hears something 50 ms later.
    fn hear(&mut self, bytes: &[u8]) -> Vec<Output> {
        self.now += 50 * MS;
        self.conversation.step(self.now, Input::Bytes(bytes))
    }

    /// Goes on to the next moment at which something is due.
    fn wake(&mut self) -> Vec<Output> {
        self.now = self.conversation.wake_at().unwrap().max(self.now);
        self.conversation.step(self.now, Input::Time)
    }
}

fn write(bytes: &[u8]) -> Output {
    Output::Write(bytes.to_vec())
}

/// Not a byte came.
fn silence() -> Output {
    Output::Noticed(Fact::Silence { baud: 9600, stray: 0 })
}

fn done(values: Values) -> Output {
    Output::Done(Outcome::Done(values))
}

#[test]
fn silent_sets_follow_each_other_as_fast_as_the_wire_takes_them() {
    let mut line = Line::proven("semicolon-eleven");
    assert_eq!(line.begin("do.rx_hz", Values::of_hertz(Hertz(145_950_000))), [write(b"FA00145950000;")]);
    let start = line.now;
    assert_eq!(
        line.conversation.begin(line.exchange("ask.tx_hz", &Values::new()), line.now),
        Err(BeginError::Busy)
    );
    assert_eq!(line.wake(), [done(Values::new())]);
    // 14 bytes of ten bits at 9600 baud.
    assert!((line.now - start).abs_diff(Duration::from_micros(14_583)) < Duration::from_micros(2));
    assert_eq!(line.begin("do.tx_hz", Values::of_hertz(Hertz(435_070_000))), [write(b"FB00435070000;")]);
}

#[test]
fn a_whole_pass_of_frequencies_needs_no_proof() {
    let mut line = Line::proven("semicolon-eleven");
    for i in 0..1000 {
        let verb = ["do.rx_hz", "do.tx_hz", "ask.rx_hz", "ask.tx_hz"][i % 4];
        let outputs = line.begin(verb, Values::of_hertz(Hertz(145_950_000 + 10 * i as i64)));
        assert!(matches!(&outputs[..], [Output::Write(frame)] if frame.starts_with(b"F")), "{outputs:?}");
        let answers: [&[u8]; 2] = [b"FA00145950000;", b"FB00145950000;"];
        let outputs = if i % 4 < 2 { line.wake() } else { line.hear(answers[i % 2]) };
        assert!(matches!(&outputs[..], [Output::Done(Outcome::Done(_))]), "{outputs:?}");
    }
}

#[test]
fn an_answer_is_understood_however_the_line_cuts_it() {
    for name in ["semicolon-eleven", "fe-frames", "w-lines"] {
        let (verb, answer): (&str, &[u8]) = match name {
            "semicolon-eleven" => ("ask.hz", b"FA00145950000;"),
            "fe-frames" => ("ask.hz", &[0xFE, 0xFE, 0xE0, 0xA2, 0x03, 0x00, 0x00, 0x95, 0x45, 0x01, 0xFD]),
            _ => ("ask.aim", b"AZ=180  EL=045\r\n"),
        };
        for cut in 0..=answer.len() {
            let mut line = Line::proven(name);
            line.begin(verb, Values::new());
            let (one, two) = answer.split_at(cut);
            let outputs = [line.hear(one), line.hear(two)].concat();
            let Some(Output::Done(Outcome::Done(values))) = outputs.first() else {
                panic!("{name} at {cut}: {outputs:?}")
            };
            assert!(values.hertz("hz") == Some(Hertz(145_950_000)) || values.number("el") == Some(45.0));
        }
    }
}

#[test]
fn a_report_between_question_and_answer_is_not_taken_for_the_answer() {
    let mut line = Line::proven("semicolon-eleven");
    line.begin("ask.tx_hz", Values::new());
    let turned = Values::new().with("rx_hz", Value::Hertz(Hertz(145_951_000)));
    assert_eq!(line.hear(b"FA00145951000;"), [Output::Unasked { address: None, values: turned }]);
    let answer = Values::new().with("tx_hz", Value::Hertz(Hertz(435_070_000)));
    assert_eq!(line.hear(b"FB00435070000;"), [done(answer)]);
}

#[test]
fn a_refusal_is_reported_and_the_sequence_is_put_in_order_again() {
    let mut line = Line::proven("fe-frames");
    let outputs = line.begin("do.tx_hz", Values::of_hertz(Hertz(145_950_000)));
    assert_eq!(outputs, [write(&[0xFE, 0xFE, 0xA2, 0xE0, 0x07, 0xD0, 0xFD])]);
    // The echo comes first and is nobody's answer.
    assert_eq!(line.hear(&[0xFE, 0xFE, 0xA2, 0xE0, 0x07, 0xD0, 0xFD]), []);
    let done_frame = [0xFE, 0xFE, 0xE0, 0xA2, 0xFB, 0xFD];
    let set = [0xFE, 0xFE, 0xA2, 0xE0, 0x05, 0x00, 0x00, 0x95, 0x45, 0x01, 0xFD];
    assert_eq!(line.hear(&done_frame), [write(&set)]);
    assert_eq!(
        line.hear(&[0xFE, 0xFE, 0xE0, 0xA2, 0xFA, 0xFD]),
        [write(&[0xFE, 0xFE, 0xA2, 0xE0, 0x07, 0xD1, 0xFD])]
    );
    assert_eq!(line.hear(&done_frame), [Output::Done(Outcome::Refused("FA".into()))]);
}

#[test]
fn another_stations_answer_is_not_ours() {
    let mut line = Line::proven("fe-frames");
    line.begin("do.hz", Values::of_hertz(Hertz(145_950_000)));
    assert_eq!(line.hear(&[0xFE, 0xFE, 0xE0, 0x70, 0xFB, 0xFD]), []);
    assert!(!line.conversation.is_idle());
}

#[test]
fn after_a_missing_answer_the_line_is_silent_before_the_rest() {
    let mut line = Line::proven("fe-frames");
    line.begin("do.tx_hz", Values::of_hertz(Hertz(145_950_000)));
    assert_eq!(line.wake(), [silence()], "the answer is missing");
    let missed = line.now;
    assert_eq!(line.wake(), [write(&[0xFE, 0xFE, 0xA2, 0xE0, 0x07, 0xD1, 0xFD])]);
    assert_eq!(line.now - missed, Family::FeFrames.recovery());
    assert_eq!(line.wake(), [silence(), Output::Done(Outcome::NoAnswer)]);
    let error = line.conversation.begin(line.exchange("ask.hz", &Values::new()), line.now);
    assert_eq!(error, Err(BeginError::NotReady(line.conversation.ready_at())));
}

#[test]
fn something_else_in_place_of_the_answer_is_shown() {
    let mut line = Line::proven("semicolon-eleven");
    line.begin("ask.split_on", Values::new());
    assert_eq!(line.hear(b"FT0;"), []);
    assert_eq!(line.wake(), [Output::Done(Outcome::NotUnderstood(b"FT0;".to_vec()))]);
}

#[test]
fn a_report_behind_the_answer_is_told_after_it() {
    let mut line = Line::proven("semicolon-eleven");
    line.begin("ask.rx_hz", Values::new());
    let at = |hertz| Values::new().with("rx_hz", Value::Hertz(Hertz(hertz)));
    let turned = Output::Unasked { address: None, values: at(145_951_000) };
    assert_eq!(line.hear(b"FA00145950000;FA00145951000;"), [done(at(145_950_000)), turned]);
}

/// One form of this answer has ten bytes, the other as many as it likes.
#[test]
fn an_answer_that_may_be_long_is_given_the_time_of_the_longest() {
    let mut line = Line::proven("w-lines");
    line.begin("ask.aim", Values::new());
    let patience = line.conversation.wake_at().unwrap() - line.now;
    // 3 bytes, 300 ms, 40 bytes, each of ten bits at 9600 baud.
    assert!(patience.abs_diff(Duration::from_micros(344_792)) < Duration::from_micros(50), "{patience:?}");
}

#[test]
fn a_late_refusal_of_a_silent_set_is_told() {
    let mut line = Line::proven("semicolon-eleven");
    line.begin("do.hz", Values::of_hertz(Hertz(145_950_000)));
    line.wake();
    assert_eq!(line.hear(b"?;"), [Output::Refused("?;".into())]);
}

#[test]
fn what_could_key_after_a_loss_waits_for_proof() {
    let mut line = Line::proven("semicolon-eleven");
    line.begin("do.tone", Values::of_tone(Tone::from_tenths(885).unwrap()));
    assert_eq!(line.wake(), [write(b"TO1;")]);
    line.wake();
    // T of a half command and X of this one would key.
    assert_eq!(line.begin("do.transmit_clarifier_off", Values::new()), [write(b"ID;")]);
    assert_eq!(line.hear(b"ID019;"), [write(b"XT0;")]);
    assert_eq!(line.wake(), [done(Values::new())]);
}

#[test]
fn without_proof_it_is_not_sent() {
    let mut line = Line::proven("semicolon-eleven");
    line.begin("do.tone_off", Values::new());
    line.wake();
    line.begin("do.transmit_clarifier_off", Values::new());
    assert_eq!(line.wake(), [silence(), Output::Done(Outcome::NoAnswer)]);
}

#[test]
fn a_stale_command_is_dropped_when_its_proof_took_too_long() {
    let mut line = Line::proven("five-byte-duplex");
    line.begin("do.rx_hz", Values::of_hertz(Hertz(145_950_000)));
    line.wake();
    let exchange = line.exchange("do.tx_hz", &Values::of_hertz(Hertz(435_500_000)));
    line.conversation.begin_by(exchange, line.now, line.now + 250 * MS).unwrap();
    assert_eq!(line.conversation.step(line.now, Input::Time), [write(&[0, 0, 0, 0, 3])]);
    line.wake();
    assert_eq!(line.wake(), [Output::Done(Outcome::TooLate)]);
}

#[test]
fn two_bands_without_acknowledgement_are_proven_by_reading_back() {
    let mut line = Line::proven("five-byte-duplex");
    assert_eq!(
        line.begin("do.rx_hz", Values::of_hertz(Hertz(145_950_000))),
        [write(&[0x14, 0x59, 0x50, 0, 0x11])]
    );
    line.wake();
    assert_eq!(line.begin("ask.rx_hz", Values::new()), [write(&[0, 0, 0, 0, 0x13])]);
    line.hear(&[0x14, 0x59, 0x50, 0, 0x08]);
    assert_eq!(
        line.begin("do.tx_hz", Values::of_hertz(Hertz(435_500_000))),
        [write(&[0x43, 0x55, 0, 0, 0x21])]
    );
}

#[test]
fn five_byte_is_never_pipelined() {
    let mut line = Line::opened("five-byte");
    assert_eq!(line.begin("do.mode", Values::of_mode(Mode::Fm)), [write(&[0x08, 0, 0, 0, 0x07])]);
    assert_eq!(line.hear(&[0xF0]), [done(Values::new())]);
    assert_eq!(line.begin("do.mode", Values::of_mode(Mode::Fm)), [write(&[0x08, 0, 0, 0, 0x07])]);
    assert_eq!(line.wake(), [silence(), Output::Done(Outcome::NoAnswer)]);
    assert_eq!(line.conversation.ready_at() - line.now, 250 * MS);
    line.now = line.conversation.ready_at();
    assert_eq!(line.begin("do.mode", Values::of_mode(Mode::Usb)), [write(&[0x01, 0, 0, 0, 0x07])]);
}

#[test]
fn a_stop_waits_for_nothing() {
    for (name, stop) in [
        ("w-lines", &b"S\r"[..]),
        ("az-el-words", b"SA SE\r"),
        ("thirteen-byte", b"W\0\0\0\0\0\0\0\0\0\0\x0F "),
    ] {
        let mut line = Line::opened(name);
        line.begin("ask.aim", Values::new());
        let exchange = line.exchange("do.stop", &Values::new());
        assert_eq!(line.conversation.interrupt(exchange.clone(), line.now), [write(stop)], "{name}");
        assert_eq!(line.wake(), [done(Values::new())]);
        line.conversation.step(line.now, Input::Trouble);
        assert_eq!(
            line.conversation.interrupt(exchange, line.now),
            [write(stop)],
            "{name} in the recovery silence"
        );
    }
}

#[test]
fn trouble_ends_the_exchange_and_silences_the_line() {
    let mut line = Line::proven("five-byte");
    line.begin("ask.hz", Values::new());
    assert_eq!(line.conversation.step(line.now, Input::Trouble), [Output::Done(Outcome::NoAnswer)]);
    assert!(line.conversation.is_idle());
    assert_eq!(line.conversation.ready_at(), line.now + 250 * MS);
}

#[test]
fn a_forbidden_command_writes_nothing() {
    let mut line = Line::proven("semicolon-eleven");
    let mut exchange = line.exchange("do.quiet", &Values::new());
    exchange.steps[0].frame = b"TX;".to_vec();
    line.conversation.begin(exchange, line.now).unwrap();
    let outputs = line.conversation.step(line.now, Input::Time);
    assert_eq!(outputs, [Output::Done(Outcome::Forbidden("TX keys the transmitter".into()))]);
}

#[test]
fn an_interfaces_echo_is_taken_off() {
    let mut line = Line::proven("five-byte");
    let question = line.begin("ask.hz", Values::new());
    assert_eq!(question, [write(&[0, 0, 0, 0, 3])]);
    let outputs = line.hear(&[0, 0, 0, 0, 3, 0x14, 0x59, 0x50, 0, 0x08]);
    assert_eq!(outputs, [Output::Noticed(Fact::Echo), done(Values::of_hertz(Hertz(145_950_000)))]);
}

#[test]
fn a_collision_ends_the_waiting() {
    let mut line = Line::proven("fe-frames");
    line.begin("do.hz", Values::of_hertz(Hertz(145_950_000)));
    assert_eq!(
        line.hear(&[0xFE, 0xFC, 0xFC, 0xFC]),
        [Output::Noticed(Fact::Collision), Output::Done(Outcome::NoAnswer)]
    );
    assert!(line.conversation.ready_at() > line.now);
}

#[test]
fn a_knob_turned_on_the_bus_is_told() {
    let mut line = Line::proven("fe-frames");
    let outputs = line.hear(&[0xFE, 0xFE, 0x00, 0xA2, 0x00, 0x00, 0x00, 0x95, 0x45, 0x01, 0xFD]);
    let values = Values::new().with("rx_hz", Value::Hertz(Hertz(145_950_000)));
    assert_eq!(outputs, [Output::Unasked { address: Some(0xA2), values }]);
}

#[test]
fn a_radio_that_refuses_the_proof_question_twice_is_in_step() {
    let mut line = Line::opened("semicolon-eleven");
    assert_eq!(line.begin("do.tone", Values::of_tone(Tone::from_tenths(885).unwrap())), [write(b"ID;")]);
    assert_eq!(line.hear(b"?;"), [], "it may have come late, for a command before");
    line.wake();
    assert_eq!(line.wake(), [write(b"ID;")], "after a silence");
    assert_eq!(line.hear(b"?;"), [write(b"TN08;")]);
}

#[test]
fn half_an_answer_to_the_proof_question_is_told_as_that() {
    let mut line = Line::opened("semicolon-eleven");
    line.begin("do.tone", Values::of_tone(Tone::from_tenths(885).unwrap()));
    assert_eq!(line.hear(b"ID0"), []);
    assert!(line.wake().contains(&Output::Noticed(Fact::HalfAnswer { came: 3, of: None })));
    let mut line = Line::opened("semicolon-eleven");
    line.begin("do.tone", Values::of_tone(Tone::from_tenths(885).unwrap()));
    assert_eq!(line.hear(b"xyz"), [], "this is the beginning of nothing");
    assert!(line.wake().contains(&Output::Noticed(Fact::Silence { baud: 9600, stray: 3 })));
}

#[test]
fn a_late_refusal_before_the_proof_is_told_when_the_proof_comes() {
    let mut line = Line::opened("semicolon-eleven");
    line.begin("do.tone", Values::of_tone(Tone::from_tenths(885).unwrap()));
    assert_eq!(line.hear(b"?;"), []);
    assert_eq!(line.hear(b"ID019;"), [Output::Refused("?;".into()), write(b"TN08;")]);
}
