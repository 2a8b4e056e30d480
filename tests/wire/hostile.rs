//! Bytes from outside are hostile: whatever comes, however cut, nothing breaks, nothing grows,
//! and what comes behind an answer does not change it.

use std::time::Duration;

use beamhand::device::Values;
use beamhand::device::conversation::{Conversation, ConversationSettings, Input, Outcome, Output};
use proptest::prelude::*;

use crate::dialect;

const MS: Duration = Duration::from_millis(1);

/// A question of one frame that may be asked in any doubt, and a good answer to it.
const QUESTIONS: [(&str, &str, &[u8]); 9] = [
    ("semicolon-eleven", "ask.rx_hz", b"FA00145950000;"),
    ("semicolon-nine", "ask.rx_hz", b"FA145950000;"),
    ("semicolon-two-bands", "ask.tx_hz", b"FA00145950000;"),
    ("fe-frames", "ask.hz", &[0xFE, 0xFE, 0xE0, 0xA2, 0x03, 0x00, 0x00, 0x95, 0x45, 0x01, 0xFD]),
    ("five-byte", "ask.hz", &[0x14, 0x59, 0x50, 0x00, 0x08]),
    ("five-byte-duplex", "ask.rx_hz", &[0x14, 0x59, 0x50, 0x00, 0x08]),
    ("w-lines", "ask.aim", b"+0180+0045\r\n"),
    ("az-el-words", "ask.aim", b"AZ180.0 EL45.0\r\n"),
    ("thirteen-byte", "ask.aim", &[0x57, 5, 4, 0, 5, 2, 4, 0, 5, 0, 2, 0x20]),
];

/// Everything that comes of `parts`, read one after the other at the same instant.
fn heard(name: &str, verb: &str, parts: &[&[u8]]) -> Vec<Output> {
    let dialect = dialect(name);
    let address = dialect.family().is_addressed().then_some(0xA2);
    let mut conversation = Conversation::new(dialect.family(), ConversationSettings::of(&dialect, address));
    let start = 1000 * MS;
    conversation.begin(dialect.exchange(verb, &Values::new(), address).unwrap(), start).unwrap();
    let mut outputs = conversation.step(start, Input::Time);
    for part in parts {
        outputs.extend(conversation.step(start + 30 * MS, Input::Bytes(part)));
    }
    while let Some(wake) = conversation.wake_at() {
        outputs.extend(conversation.step(wake, Input::Time));
    }
    outputs
}

/// Bytes that mean something in one of the languages, and any others.
fn bytes(longest: usize) -> impl Strategy<Value = Vec<u8>> {
    let meaningful = b"FA0145950;?>+-.AZEL= \r\nW\x20\xFE\xE0\xA2\xFD\xFC\x03\x00\x14\x59\x50".to_vec();
    let byte = prop_oneof![3 => proptest::sample::select(meaningful), 1 => any::<u8>()];
    proptest::collection::vec(byte, 0..longest)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 20_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_give_the_same_however_they_are_cut(
        bytes in bytes(80),
        cuts in proptest::collection::vec(0_usize..80, 0..6),
        which in 0_usize..QUESTIONS.len(),
        with_answer in any::<bool>(),
    ) {
        let (name, verb, answer) = QUESTIONS[which];
        let all = if with_answer { [&bytes[..], answer].concat() } else { bytes };
        let mut cuts: Vec<usize> = cuts.into_iter().map(|cut| cut.min(all.len())).collect();
        cuts.sort_unstable();
        cuts.push(all.len());
        let mut from = 0;
        let parts: Vec<&[u8]> = cuts.iter().map(|cut| &all[std::mem::replace(&mut from, *cut)..*cut]).collect();
        let whole = heard(name, verb, &[&all]);
        prop_assert_eq!(&heard(name, verb, &parts), &whole, "{} cut at {:?}", name, cuts);
        let ends = whole.iter().filter(|output| matches!(output, Output::Done(_))).count();
        prop_assert_eq!(ends, 1, "{}", name);
    }

    #[test]
    fn what_comes_behind_the_answer_does_not_change_it(tail in bytes(60), which in 0_usize..QUESTIONS.len()) {
        let (name, verb, answer) = QUESTIONS[which];
        let alone = heard(name, verb, &[answer]);
        prop_assert!(matches!(alone.last(), Some(Output::Done(Outcome::Done(_)))), "{}: {:?}", name, alone);
        let followed = heard(name, verb, &[&[answer, &tail].concat()]);
        prop_assert_eq!(&followed[..alone.len()], &alone[..], "{}", name);
    }
}

#[test]
fn endless_noise_takes_no_memory() {
    let mut state = 1_u32;
    let mut noise = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 24) as u8
    };
    for (name, verb, answer) in QUESTIONS {
        let dialect = dialect(name);
        let address = dialect.family().is_addressed().then_some(0xA2);
        let mut conversation =
            Conversation::new(dialect.family(), ConversationSettings::of(&dialect, address));
        let size = |conversation: &Conversation| format!("{conversation:?}").len();
        let exchange = dialect.exchange(verb, &Values::new(), address).unwrap();
        conversation.begin(exchange, 1000 * MS).unwrap();
        conversation.step(1000 * MS, Input::Time);
        let before = size(&conversation);
        for round in 0..5_000 {
            // Noise, or the head of an answer over and over.
            let part: Vec<u8> = if round % 2 == 0 {
                (0..20).map(|_| noise()).collect()
            } else {
                answer[..answer.len() - 3].to_vec()
            };
            conversation.step(1001 * MS, Input::Bytes(&part));
        }
        // 64 bytes of a frame and 64 of one that was not understood, as text of up to five letters.
        assert!(size(&conversation) < before + 128 * 5, "{name}: {} from {before}", size(&conversation));
    }
}
