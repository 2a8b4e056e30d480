//! What is seen of a device or an interface that is not well.

use super::*;

fn noticed(fact: Fact) -> Output {
    Output::Noticed(fact)
}

fn read_at(azimuth: f64, elevation: f64) -> Output {
    done(Values::of_direction(azimuth, elevation))
}

#[test]
fn half_an_answer_is_told_with_its_length() {
    for (name, half, came, of) in [
        ("semicolon-eleven", &b"FA0014595"[..], 9, Some(14)),
        // FE FE E0 A2 03 and five bytes of frequency and FD: 11 bytes.
        ("fe-frames", &[0xFE, 0xFE, 0xE0, 0xA2, 0x03], 5, Some(11)),
        ("five-byte", &[0x14, 0x59, 0x50], 3, Some(5)),
    ] {
        let mut line = Line::proven(name);
        line.begin("ask.hz", Values::new());
        assert_eq!(line.hear(half), []);
        let seen = noticed(Fact::HalfAnswer { came, of });
        assert_eq!(line.wake(), [seen, Output::Done(Outcome::NoAnswer)], "{name}");
    }
}

#[test]
fn the_half_of_a_position_is_no_position() {
    let mut line = Line::proven("az-el-words");
    line.begin("ask.aim", Values::new());
    line.hear(b"AZ180.0 ");
    let seen = noticed(Fact::HalfAnswer { came: 7, of: None });
    assert_eq!(line.wake(), [seen, Output::Done(Outcome::NoAnswer)]);
}

#[test]
fn an_answer_without_an_end_counts_once_the_line_is_quiet() {
    let mut line = Line::proven("az-el-words");
    line.begin("ask.aim", Values::new());
    line.hear(b"AZ180.0 EL45.0");
    assert_eq!(line.wake(), [read_at(180.0, 45.0)]);
    line.now += 500 * MS;
    line.begin("ask.aim", Values::new());
    line.now = line.conversation.wake_at().unwrap() - 60 * MS;
    // The rest of `EL45.0` is still on its way.
    assert_eq!(line.hear(b"AZ180.0 EL4"), []);
    assert!(matches!(&line.wake()[..], [Output::Noticed(Fact::HalfAnswer { .. }), Output::Done(_)]));
}

#[test]
fn its_own_words_coming_back_are_no_position() {
    let mut line = Line::proven("az-el-words");
    line.begin("ask.aim", Values::new());
    assert_eq!(line.hear(b"AZ EL\r"), [noticed(Fact::Echo)]);
    assert_eq!(line.hear(b"AZ10.0 EL5.0\r\n"), [read_at(10.0, 5.0)]);
    line.begin("do.aim", Values::of_direction(180.0, 45.0));
    line.wake();
    line.begin("ask.aim", Values::new());
    assert_eq!(line.hear(b"AZ180.0 EL45.0\rAZ EL\r"), [noticed(Fact::Echo), noticed(Fact::Echo)]);
    assert_eq!(line.hear(b"AZ10.0 EL5.0\r\n"), [read_at(10.0, 5.0)]);
}

#[test]
fn an_echo_that_begins_in_mid_pass_is_no_position_either() {
    let mut line = Line::proven("az-el-words");
    line.begin("ask.aim", Values::new());
    line.hear(b"AZ10.0 EL5.0\r\n");
    line.begin("do.aim", Values::of_direction(180.0, 45.0));
    line.wake();
    assert_eq!(line.hear(b"AZ180.0 EL45.0\r"), [noticed(Fact::Echo)]);
    line.begin("ask.aim", Values::new());
    assert_eq!(line.hear(b"AZ EL\r"), [noticed(Fact::Echo)]);
    assert_eq!(line.wake(), [silence(), Output::Done(Outcome::NoAnswer)]);
}

#[test]
fn the_echo_of_a_five_byte_question_is_no_frequency() {
    let mut line = Line::proven("five-byte");
    line.begin("ask.hz", Values::new());
    line.hear(&[0x14, 0x59, 0x50, 0, 8]);
    line.begin("ask.hz", Values::new());
    assert_eq!(line.hear(&[0, 0, 0, 0, 3]), [noticed(Fact::Echo)]);
    assert_eq!(line.wake(), [silence(), Output::Done(Outcome::NoAnswer)]);
}

#[test]
fn an_answer_from_another_address_is_told_with_both() {
    let mut line = Line::proven("fe-frames");
    line.begin("ask.hz", Values::new());
    assert_eq!(line.hear(&[0xFE, 0xFE, 0xE0, 0x5C, 0x03, 0, 0, 0x95, 0x45, 0x01, 0xFD]), []);
    let seen = noticed(Fact::Foreign { from: 0x5C, wanted: 0xA2 });
    assert_eq!(line.wake(), [seen, Output::Done(Outcome::NoAnswer)]);
}

#[test]
fn refusals_that_nobody_earned_are_noise() {
    let mut line = Line::proven("semicolon-eleven");
    assert_eq!(line.hear(b"?;"), []);
    line.now += 1000 * MS;
    let outputs = line.hear(&b"?;".repeat(480));
    assert!(
        matches!(&outputs[..], [Output::Noticed(Fact::Babble { per_second: 400.., sample })]
            if sample.starts_with(b"?;?;")),
        "{outputs:?}"
    );
    assert!(line.conversation.is_flooded());
}

#[test]
fn a_silent_command_can_be_refused_once() {
    let mut line = Line::proven("semicolon-eleven");
    line.begin("do.hz", Values::of_hertz(Hertz(145_950_000)));
    line.wake();
    assert_eq!(line.hear(b"?;?;"), [Output::Refused("?;".into())]);
}

#[test]
fn a_bus_that_others_never_leave_quiet_is_spoken_on() {
    let mut line = Line::proven("fe-frames");
    for _ in 0..20 {
        assert_eq!(line.hear(&[0xFC]), []);
    }
    assert_eq!(line.begin("ask.hz", Values::new()).len(), 1);
}
