//! What is set is what is read back: every pair of `do.X` and `ask.X` of every dialect, over the
//! whole range of its values.

use std::sync::Arc;
use std::time::Duration;

use beamhand::device::conversation::{Conversation, ConversationSettings, Input, Outcome, Output};
use beamhand::device::dialect::Dialect;
use beamhand::device::{Value, Values};
use beamhand::terms::Hertz;
use proptest::prelude::*;

use crate::cells::{Cell, cell_for};
use crate::dialect;

const ADDRESS: u8 = 0xA2;

/// A conversation with a far end that remembers.
struct Talk {
    dialect: Arc<Dialect>,
    conversation: Conversation,
    cell: Box<dyn Cell>,
    now: Duration,
}

impl Talk {
    fn with(name: &str) -> Self {
        let dialect = dialect(name);
        let address = dialect.family().is_addressed().then_some(ADDRESS);
        let settings = ConversationSettings::of(&dialect, address);
        let conversation = Conversation::new(dialect.family(), settings);
        Self { dialect, conversation, cell: cell_for(name), now: Duration::ZERO }
    }

    /// Says it, and gives the readings.
    fn say(&mut self, verb: &str, values: &Values) -> Values {
        let exchange = self.dialect.exchange(verb, values, Some(ADDRESS)).unwrap();
        self.now = self.now.max(self.conversation.ready_at());
        self.conversation.begin(exchange, self.now).unwrap();
        let mut outputs = self.conversation.step(self.now, Input::Time);
        loop {
            let mut reply = Vec::new();
            for output in std::mem::take(&mut outputs) {
                match output {
                    Output::Write(frame) => reply.extend(self.cell.hear(&frame)),
                    Output::Done(Outcome::Done(values)) => return values,
                    other => unreachable!("{}: {verb} {values:?}: {other:?}", self.dialect.name()),
                }
            }
            if reply.is_empty() {
                self.now = self.conversation.wake_at().unwrap().max(self.now);
                outputs = self.conversation.step(self.now, Input::Time);
            } else {
                self.now += Duration::from_millis(30);
                outputs = self.conversation.step(self.now, Input::Bytes(&reply));
            }
        }
    }

    /// Sets it, and reads it back.
    fn there_and_back(&mut self, what: &str, values: &Values) -> Values {
        self.say(&format!("do.{what}"), values);
        self.say(&format!("ask.{what}"), &Values::new())
    }
}

/// What can be both set and read, with the fields that it takes.
fn pairs(dialect: &Dialect) -> Vec<(String, Vec<&'static str>)> {
    let set = dialect.verbs().filter_map(|verb| verb.strip_prefix("do."));
    let both = set.filter(|what| dialect.can(&format!("ask.{what}")));
    both.map(|what| (what.to_owned(), dialect.needs(&format!("do.{what}")))).collect()
}

/// The pairs that take this field alone.
fn pairs_of(name: &str, field: &str) -> Vec<String> {
    let all = pairs(&dialect(name)).into_iter();
    all.filter(|(_, fields)| *fields == [field]).map(|(what, _)| what).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    /// Eleven digits, nine, ten, and eight of tens of hertz.
    #[test]
    fn every_frequency_comes_back(number in any::<u64>(), narrow in any::<bool>()) {
        for (name, digits) in [
            ("semicolon-eleven", 11),
            ("semicolon-nine", 9),
            ("semicolon-two-bands", 11),
            ("fe-frames", 10),
            ("five-byte", 9),
            ("five-byte-duplex", 9),
        ] {
            let range = 10_u64.pow(digits);
            // Half of them in the two bands that satellites use most.
            let hertz = if narrow { [144, 435][(number % 2) as usize] * 1_000_000 + number % 2_000_000 } else { number % range };
            let mut talk = Talk::with(name);
            for what in pairs_of(name, "hz") {
                let wanted = Hertz(i64::try_from(hertz).unwrap()).min(Hertz(range as i64 - 30));
                let hertz = talk.dialect.settable(&format!("do.{what}"), wanted);
                prop_assert!((hertz.0 - wanted.0).abs() <= 15, "{name} {what}: {} for {}", hertz.0, wanted.0);
                let read = talk.there_and_back(&what, &Values::of_hertz(hertz));
                prop_assert_eq!(read.hertz(&what), Some(hertz), "{} {}", name, what);
            }
        }
    }

    /// Whole degrees in lines, tenths in words, pulses in blocks (whose answers are in tenths).
    #[test]
    fn every_direction_comes_back(az in 0_u32..4500, el in 0_u32..=1800, pulses in 0_usize..3) {
        let pulses = [1.0, 2.0, 4.0][pulses];
        for (name, unit, error) in [("w-lines", 1.0, 0.0), ("az-el-words", 0.1, 0.0), ("thirteen-byte", 1.0 / pulses, 0.05)] {
            let mut talk = Talk::with(name);
            let on_grid = |tenths: u32| (f64::from(tenths) / 10.0 / unit).floor() * unit;
            let values = Values::of_direction(on_grid(az), on_grid(el))
                .with("ph", Value::Number(pulses))
                .with("pv", Value::Number(pulses));
            let takes_degrees = |(_, fields): &(String, Vec<&str>)| fields.contains(&"az");
            for (what, _) in pairs(&talk.dialect).into_iter().filter(takes_degrees) {
                let read = talk.there_and_back(&what, &values);
                for field in ["az", "el", "ph", "pv"] {
                    let Some(is) = read.number(field) else { continue };
                    let should = values.number(field).unwrap();
                    prop_assert!((is - should).abs() <= error + 1e-9, "{name} {what} {field}: {is} for {should}");
                }
                prop_assert!(read.number("az").is_some());
            }
        }
    }
}

#[test]
fn every_mode_and_tone_comes_back() {
    let mut played = 0;
    for name in Dialect::names() {
        let mut talk = Talk::with(name);
        let (modes, tones) = (talk.dialect.modes(), talk.dialect.tones());
        let of = |kind| pairs_of(name, kind).into_iter();
        let modes =
            of("mode").flat_map(|what| modes.iter().map(move |mode| (what.clone(), Value::Mode(*mode))));
        let tones =
            of("tone").flat_map(|what| tones.iter().map(move |tone| (what.clone(), Value::Tone(*tone))));
        for (what, value) in modes.chain(tones).collect::<Vec<_>>() {
            let field = if matches!(value, Value::Mode(_)) { "mode" } else { "tone" };
            let read = talk.there_and_back(&what, &Values::new().with(field, value));
            assert_eq!(read.get(&what), Some(value), "{name} {what}");
            played += 1;
        }
    }
    // Modes: 5 in 4 pairs of four dialects, 3 of five-byte-duplex and 2 of five-byte. Tones: 2 pairs
    // with 38 in two dialects and with 50 in two.
    assert_eq!(played, 5 * (4 * 4 + 3 + 2) + 2 * (38 + 38 + 50 + 50));
}

#[test]
fn every_step_of_the_preparation_is_confirmed_once_it_is_done() {
    let mut played = 0;
    for name in Dialect::names() {
        let mut talk = Talk::with(name);
        for (what, _) in pairs(&talk.dialect).into_iter().filter(|(_, fields)| fields.is_empty()) {
            assert!(talk.there_and_back(&what, &Values::new()).is_empty(), "{name} {what}");
            played += 1;
        }
    }
    assert!(played >= 17, "{played}");
}

/// No pair is left out by the tests above.
#[test]
fn every_pair_is_of_a_kind_that_is_played() {
    for name in Dialect::names() {
        for (what, fields) in pairs(&dialect(name)) {
            let known =
                [&["hz"][..], &["mode"], &["tone"], &["az"], &["az", "el"], &["az", "el", "ph", "pv"], &[]];
            assert!(known.contains(&&fields[..]), "{name} {what} takes {fields:?}");
        }
    }
}
