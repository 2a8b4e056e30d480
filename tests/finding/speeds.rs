//! What a device set to another speed hears of the questions that a search begins with. Nothing
//! of it may be a command.
//!
//! A receiver is modelled bit by bit: it starts at a low level, samples the middle of each bit by
//! its own clock, which may be up to 4 % off, and goes on whether or not the stop bit is there,
//! either at the next falling edge or at once. Questions and dangers are written here by hand.

/// The usual speeds, and one that few devices have.
const SPEEDS: [u32; 11] = [300, 600, 1200, 2400, 4800, 9600, 19_200, 38_400, 57_600, 76_800, 115_200];
/// How far two clocks may differ, per mille.
const DRIFT: i32 = 40;

/// A question as it is on the wire, in levels of one bit each.
fn levels(question: &[u8], stop_bits: usize) -> Vec<bool> {
    let byte = |byte: &u8| {
        let byte = *byte;
        let data = (0..8).map(move |bit| byte >> bit & 1 == 1);
        [false].into_iter().chain(data).chain(vec![true; stop_bits])
    };
    question.iter().flat_map(byte).collect()
}

/// What a receiver at another speed makes of it; `ratio` is its bit's length in the sender's bits.
fn heard(levels: &[bool], ratio: f64, waits_for_an_edge: bool) -> Vec<u8> {
    let level = |at: f64| levels.get((at + 1e-9) as usize).copied().unwrap_or(true);
    let (mut at, mut bytes) = (0.0_f64, Vec::new());
    while at < levels.len() as f64 {
        if level(at) {
            at = (at + 1e-9).floor() + 1.0;
            continue;
        }
        let bits = (0..8).map(|bit| u8::from(level(at + ratio * (1.5 + f64::from(bit)))) << bit);
        bytes.push(bits.sum());
        at += 9.5 * ratio;
        while waits_for_an_edge && at < levels.len() as f64 && !level(at) {
            at = (at + 1e-9).floor() + 1.0;
        }
    }
    bytes
}

/// Hands every way of mishearing a question to a judge.
fn mishear(question: &[u8], stop_bits: usize, judge: impl Fn(&[u8]) -> bool) {
    let levels = levels(question, stop_bits);
    for sender in SPEEDS {
        for receiver in SPEEDS.into_iter().filter(|speed| *speed != sender) {
            for drift in (-DRIFT..=DRIFT).step_by(4) {
                let ratio = f64::from(sender) / f64::from(receiver) / (1.0 + f64::from(drift) / 1000.0);
                for waits_for_an_edge in [false, true] {
                    let bytes = heard(&levels, ratio, waits_for_an_edge);
                    assert!(
                        judge(&bytes),
                        "{question:02X?} sent at {sender}, heard at {receiver}: {bytes:02X?}"
                    );
                }
            }
        }
    }
}

#[test]
fn the_model_of_a_receiver_hears_what_was_sent_at_the_same_speed() {
    for question in [&b"FA;"[..], &[0, 0, 0, 0, 3], b"AZ EL\r"] {
        assert_eq!(heard(&levels(question, 1), 1.0, true), question);
        assert_eq!(heard(&levels(question, 2), 1.0, false), question);
    }
    // By hand, for a receiver of twice the speed: 00 is low for 18 of its bits. The first byte is
    // 00 without a stop bit. Who waits for an edge hears no more; who does not starts again at 9.5
    // bits, and takes its eighth data bit at 18.0, where the sender's stop bit begins: 80.
    assert_eq!(heard(&levels(&[0x00], 1), 0.5, true), [0x00]);
    assert_eq!(heard(&levels(&[0x00], 1), 0.5, false), [0x00, 0x80]);
}

#[test]
fn no_question_becomes_an_opcode_that_keys_or_resets() {
    // Every fifth byte is the opcode, since a silence went before. 08 and 88 key and unkey, 0F and
    // 8F switch the power, BC and BE write and reset. The first is a greeting, which silence
    // keeps apart from the question behind it.
    for question in [[0; 5], [0, 0, 0, 0, 0x03], [0, 0, 0, 0, 0x13]] {
        mishear(&question, 2, |bytes| {
            bytes.iter().skip(4).step_by(5).all(|byte| ![0x08, 0x88, 0x0F, 0x8F, 0xBC, 0xBE].contains(byte))
        });
    }
}

#[test]
fn no_question_becomes_two_letters_and_a_semicolon() {
    mishear(b"FA;", 1, |bytes| {
        let letters = bytes.windows(2).any(|pair| pair.iter().all(u8::is_ascii_alphabetic));
        !(letters && bytes.contains(&b';'))
    });
}

#[test]
fn no_question_becomes_a_frame_of_the_bus() {
    mishear(&[0xFE, 0xFE, 0x4C, 0xE0, 0x03, 0xFD], 1, |bytes| {
        !(bytes.windows(2).any(|pair| pair == [0xFE, 0xFE]) && bytes.contains(&0xFD))
    });
}

#[test]
fn no_question_becomes_a_rotators_line_or_block() {
    mishear(b"C\r", 1, |bytes| !bytes.iter().any(|byte| matches!(byte, b'\r' | b'\n')));
    // Nor a letter that starts a motor: it would stand before the next question in the
    // controller's buffer. The longer question, C2, does become an L at half its speed.
    mishear(b"C\r", 1, |bytes| !bytes.iter().any(|byte| b"RLUDOFrlud".contains(byte)));
    mishear(b"AZ\r", 1, |bytes| !bytes.iter().any(|byte| matches!(byte, b'\r' | b'\n')));
    let block = [0x57, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0x1F, 0x20];
    mishear(&block, 1, |bytes| !bytes.contains(&0x57));
}

#[test]
#[should_panic(expected = "[4C, F9]")]
fn the_judge_sees_the_longer_question_turn_into_a_motors_letter() {
    mishear(b"C2\r", 1, |bytes| !bytes.contains(&b'L'));
}
