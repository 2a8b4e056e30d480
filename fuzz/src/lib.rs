//! What the fuzz targets share. They use Beamhand's public paths only.

#[path = "../../tests/never_keyed/judge.rs"]
mod judge;
#[allow(dead_code)]
#[path = "../../tests/never_keyed/judges.rs"]
mod judges;

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};
use std::time::Duration;

use beamhand::device::conversation::{Conversation, ConversationSettings, Input, Outcome, Output};
use beamhand::device::dialect::{Dialect, Exchange};
use beamhand::device::{Value, Values};
use beamhand::terms::{Hertz, Mode, Tone};

/// The address of the device on a bus.
pub const ADDRESS: u8 = 0xA2;
/// So much time passes before each read.
const BETWEEN_READS: Duration = Duration::from_millis(20);

static DIALECTS: LazyLock<BTreeMap<&str, Arc<Dialect>>> =
    LazyLock::new(|| Dialect::names().filter_map(|name| Some((name, Dialect::builtin(name)?))).collect());

/// The built-in dialects of a family, in their own order.
pub fn dialects_of(family: &str) -> Vec<Arc<Dialect>> {
    let all = Dialect::names().map(|name| DIALECTS[name].clone());
    all.filter(|dialect| dialect.family().name() == family).collect()
}

/// Which verb of a family's dialects a seed begins with.
pub fn index_of(family: &str, dialect: &str, verb: &str) -> Option<u8> {
    let all = exchanges(family);
    let index = all.iter().position(|(own, exchange)| own.name() == dialect && exchange.verb == verb);
    index?.try_into().ok()
}

/// A dialect, and what can be said in it.
type Said = (Arc<Dialect>, Exchange);

/// Every ability of a family's dialects, with values for all its fields.
fn exchanges(family: &str) -> Vec<Said> {
    let of = |dialect: Arc<Dialect>| {
        let verbs: Vec<String> = dialect.verbs().map(str::to_owned).collect();
        verbs.into_iter().filter_map(move |verb| {
            let exchange = dialect.exchange(&verb, &values(145_950_000, 0), Some(ADDRESS)).ok()?;
            Some((dialect.clone(), exchange))
        })
    };
    dialects_of(family).into_iter().flat_map(of).collect()
}

fn values(hertz: i64, which: usize) -> Values {
    let mut values = Values::of_direction(180.0, 45.0)
        .with("hz", Value::Hertz(Hertz(hertz)))
        .with("mode", Value::Mode(Mode::ALL[which % Mode::ALL.len()]));
    for name in ["ph", "pv", "signal"] {
        values = values.with(name, Value::Number([1.0, 2.0, 4.0][which % 3]));
    }
    let tones: Vec<Tone> = Tone::all().collect();
    values.with("tone", Value::Tone(tones[which % tones.len()]))
}

/// Plays exchanges of the family against a far end that says what `data` says. Its first byte
/// chooses the exchange; then come reads, each as its length and its bytes, where 255 begins the
/// next exchange and 254 is trouble on the line.
pub fn converse(family: &str, data: &[u8]) {
    static EXCHANGES: LazyLock<BTreeMap<&str, Vec<Said>>> = LazyLock::new(|| {
        beamhand::device::family::Family::ALL.map(|family| (family.name(), exchanges(family.name()))).into()
    });
    let all = &EXCHANGES[family];
    let Some((first, mut rest)) = data.split_first() else { return };
    let (dialect, exchange) = &all[usize::from(*first) % all.len()];
    let mut line = FarEnd::new(dialect);
    line.begin(exchange);
    while let Some((length, after)) = rest.split_first() {
        rest = after;
        match length {
            255 => {
                line.finish();
                let next = usize::from(rest.first().copied().unwrap_or_default());
                line.begin(&all[next % all.len()].1);
                rest = rest.get(1..).unwrap_or_default();
            }
            254 => line.step(Input::Trouble),
            length => {
                let (read, after) = rest.split_at(usize::from(*length).min(rest.len()));
                rest = after;
                line.pass(BETWEEN_READS);
                line.step(Input::Bytes(read));
            }
        }
    }
    line.finish();
}

/// The line as the station sees it.
struct FarEnd {
    conversation: Conversation,
    now: Duration,
    begun: usize,
    ended: usize,
    written: usize,
}

impl FarEnd {
    fn new(dialect: &Arc<Dialect>) -> Self {
        let address = dialect.family().is_addressed().then_some(ADDRESS);
        let settings = ConversationSettings::of(dialect, address);
        let conversation = Conversation::new(dialect.family(), settings);
        Self { conversation, now: Duration::ZERO, begun: 0, ended: 0, written: 0 }
    }

    fn begin(&mut self, exchange: &Exchange) {
        self.pass(self.conversation.ready_at().saturating_sub(self.now));
        assert_eq!(self.conversation.begin(exchange.clone(), self.now), Ok(()));
        self.begun += 1;
        // Each frame may need a proof question, asked twice at most.
        self.written = 3 * exchange.frames().count();
        self.step(Input::Time);
    }

    /// Lets time pass; what is due in it happens.
    fn pass(&mut self, time: Duration) {
        let until = self.now + time;
        while let Some(wake) = self.conversation.wake_at().filter(|wake| *wake <= until) {
            self.now = wake.max(self.now);
            self.step(Input::Time);
        }
        self.now = until.max(self.now);
    }

    /// Every exchange ends, whatever was heard.
    fn finish(&mut self) {
        self.pass(Duration::from_secs(60));
        assert!(self.conversation.is_idle());
        assert_eq!(self.ended, self.begun);
    }

    fn step(&mut self, input: Input<'_>) {
        for output in self.conversation.step(self.now, input) {
            match output {
                Output::Write(_) => {
                    assert!(self.written > 0, "more frames than an exchange can have");
                    self.written -= 1;
                }
                Output::Done(outcome) => {
                    self.ended += 1;
                    if let Outcome::Done(values) = outcome {
                        check(&values);
                    }
                }
                Output::Unasked { values, .. } => check(&values),
                Output::Refused(_) | Output::Noticed(_) => {}
            }
        }
    }
}

/// A reading is a number that exists.
fn check(values: &Values) {
    for (field, value) in values.iter() {
        if let Value::Number(number) = value {
            assert!(number.is_finite(), "{field} {number}");
        }
    }
}

/// Reads a dialect file. If it is taken, no frame that it can make and the guard lets pass is a
/// command of the never-list to a device that is in step.
pub fn read_dialect(text: &str) {
    let Ok(dialect) = Dialect::parse("own", text) else { return };
    for verb in dialect.verbs() {
        for (which, hertz) in [145_950_000, 435_500_000, 28_000_000, 80_000_000, 0].into_iter().enumerate() {
            let made = dialect.exchange(verb, &values(hertz, which), Some(ADDRESS));
            let Ok(exchange) = made else { continue };
            if exchange.forbidden(dialect.family()).is_some() {
                continue;
            }
            for frame in exchange.frames() {
                let mut judge = judges::judge_for(judge_of(&dialect));
                frame.iter().for_each(|byte| drop(judge.hear(*byte, Duration::ZERO)));
                assert_eq!(judge.verdict(), None, "{verb}: {frame:02X?}");
            }
        }
    }
}

fn judge_of(dialect: &Dialect) -> &'static str {
    match dialect.family().name() {
        "semicolon" => "semicolon-eleven",
        name => name,
    }
}
