//! Plays random exchanges over the channel.

use std::sync::Arc;
use std::time::Duration;

use beamhand::device::conversation::{Conversation, ConversationSettings, Input, Outcome, Output};
use beamhand::device::dialect::{Dialect, Exchange};
use beamhand::device::{Value, Values};
use beamhand::terms::Hertz;

use crate::channel::{Chance, Channel, Loss, Padding};
use crate::judge::Judge;
use crate::judges::judge_for;

const ADDRESS: u8 = 0xA2;
const MS: Duration = Duration::from_millis(1);

/// What comes closest to a key command when bytes are lost, and makes half of every stream: the
/// bus's question whether the radio transmits, data of zeros, T and X, 08.
const DELICATE: [&str; 7] = [
    "ask.transmitting",
    "do.split_off",
    "do.clarifier_off",
    "do.transmit_clarifier_off",
    "do.hz",
    "do.mode",
    "do.stop",
];

/// Whether the conversation stands between the frames and the wire.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Guarded {
    Yes,
    No,
}

/// One dialect's supply of exchanges, and what the last stream was.
pub(crate) struct Bench {
    dialect: Arc<Dialect>,
    /// The dialect by whose judge it is judged.
    judge: &'static str,
    /// A user's file, whose sums may make anything of any frequency.
    is_own: bool,
    exchanges: Vec<Exchange>,
    chance: Chance,
    heard: Vec<u8>,
    answered: u32,
}

impl Bench {
    /// For a built-in dialect.
    pub(crate) fn new(name: &'static str, seed: u64) -> Self {
        let Some(dialect) = Dialect::builtin(name) else { unreachable!("{name} is built in") };
        let verbs: Vec<String> = dialect.verbs().map(str::to_owned).collect();
        let delicate: Vec<&str> = DELICATE.into_iter().filter(|verb| dialect.can(verb)).collect();
        let verb = |i: usize| {
            if i.is_multiple_of(2) { delicate[i / 2 % delicate.len()] } else { &verbs[i / 2 % verbs.len()] }
        };
        let mut bench = Self::without_exchanges(dialect, name, Chance(seed));
        let exchanges = (0..1000).filter_map(|i| bench.random_exchange(verb(i)));
        bench.exchanges = exchanges.collect();
        bench
    }

    /// For a user's dialect, judged as `judge` is; `None` if it can say nothing.
    pub(crate) fn of_file(dialect: Dialect, judge: &'static str, chance: Chance) -> Option<Self> {
        let verbs: Vec<String> = dialect.verbs().map(str::to_owned).collect();
        let mut bench = Self { is_own: true, ..Self::without_exchanges(Arc::new(dialect), judge, chance) };
        bench.exchanges =
            (0..3).flat_map(|_| &verbs).filter_map(|verb| bench.random_exchange(verb)).collect();
        (!bench.exchanges.is_empty()).then_some(bench)
    }

    fn without_exchanges(dialect: Arc<Dialect>, judge: &'static str, chance: Chance) -> Self {
        Self { dialect, judge, is_own: false, exchanges: Vec::new(), chance, heard: Vec::new(), answered: 0 }
    }

    /// What arrived at the device in the last stream.
    pub(crate) fn heard(&self) -> &[u8] {
        &self.heard
    }

    /// How many exchanges ended well, of all streams.
    pub(crate) fn answered(&self) -> u32 {
        self.answered
    }

    /// `verb` with values by chance; `None` if it can't be encoded with any of many.
    fn random_exchange(&mut self, verb: &str) -> Option<Exchange> {
        (0..40).find_map(|_| {
            let values = self.random_values(verb);
            self.dialect.exchange(verb, &values, Some(ADDRESS)).ok()
        })
    }

    fn random_values(&mut self, verb: &str) -> Values {
        let Self { dialect, chance, .. } = self;
        let hertz = Hertz([144_000_000, 435_000_000][chance.below(2)] + 10 * chance.below(300_000) as i64);
        let hertz = match verb.ends_with("hz") {
            true if self.is_own && chance.percent(50) => Hertz(chance.below(1_000_000_000) as i64),
            true => dialect.settable(verb, hertz),
            false => hertz,
        };
        let mut values = Values::of_direction(chance.below(451) as f64, chance.below(181) as f64)
            .with("hz", Value::Hertz(hertz));
        for field in ["ph", "pv"] {
            values = values.with(field, Value::Number([1.0, 2.0, 4.0][chance.below(3)]));
        }
        if let Some(mode) = dialect.modes().get(chance.below(5)) {
            values = values.with("mode", Value::Mode(*mode));
        }
        match &dialect.tones()[..] {
            [] => values,
            tones => values.with("tone", Value::Tone(tones[chance.below(tones.len())])),
        }
    }

    /// Plays one stream; what the judge saw, if it saw something forbidden.
    pub(crate) fn play(&mut self, guarded: Guarded) -> Option<String> {
        let padding = match self.judge {
            "fe-frames" => Padding::Bus,
            "five-byte" | "five-byte-duplex" => Padding::Counted,
            _ => Padding::Text,
        };
        let any = Loss::Any([3, 15, 50][self.chance.below(3)]);
        let losses = [Loss::None, Loss::Gentle, any, Loss::Bursts, Loss::Seams];
        let loss = losses[self.chance.below(losses.len())];
        let mut device = Device { judge: judge_for(self.judge), channel: Channel::new(loss, padding) };
        self.heard.clear();
        self.leave_half_a_command(&mut device);
        match guarded {
            Guarded::Yes => self.converse(&mut device),
            Guarded::No => self.pour(&mut device),
        }
        let is_excused =
            |what: &String| what.ends_with("(gentle)") && !matches!(loss, Loss::None | Loss::Gentle);
        device.judge.verdict().filter(|what| !is_excused(what))
    }

    /// Somebody used the line before and left it in the middle of one of the dialect's frames.
    fn leave_half_a_command(&mut self, device: &mut Device) {
        let exchange = &self.exchanges[self.chance.below(self.exchanges.len())];
        let frame = exchange.frames().next().unwrap_or_default();
        for byte in &frame[..self.chance.below(frame.len())] {
            device.judge.hear(*byte, Duration::ZERO);
            self.heard.push(*byte);
        }
    }

    /// The same frames back to back, as if there were neither conversation nor guard.
    fn pour(&mut self, device: &mut Device) {
        for i in 0..6 {
            let exchange = &self.exchanges[self.chance.below(self.exchanges.len())];
            for frame in exchange.frames() {
                device.hear(frame, 400 * MS + i * MS, &mut self.chance, &mut self.heard);
            }
        }
    }

    fn converse(&mut self, device: &mut Device) {
        let family = self.dialect.family();
        let address = family.is_addressed().then_some(ADDRESS);
        let mut conversation = Conversation::new(family, ConversationSettings::of(&self.dialect, address));
        let mut now = Duration::ZERO;
        for _ in 0..3 + self.chance.below(4) {
            now = now.max(conversation.ready_at()) + MS * self.chance.below(3) as u32;
            let exchange = self.exchanges[self.chance.below(self.exchanges.len())].clone();
            assert_eq!(conversation.begin(exchange, now), Ok(()));
            let mut outputs = conversation.step(now, Input::Time);
            loop {
                let reply = self.deliver(device, &outputs, now);
                if conversation.is_idle() {
                    break;
                }
                (now, outputs) = self.next(&mut conversation, now, reply);
            }
        }
    }

    /// Carries what was written to the device; what comes back of its answer.
    fn deliver(&mut self, device: &mut Device, outputs: &[Output], now: Duration) -> Vec<u8> {
        let mut reply = Vec::new();
        for output in outputs {
            match output {
                Output::Write(frame) => reply = device.hear(frame, now, &mut self.chance, &mut self.heard),
                Output::Done(Outcome::Done(_)) => self.answered += 1,
                _ => {}
            }
        }
        reply
    }

    /// An answer, a part of it, a late one, trouble on the line, or nothing.
    fn next(
        &mut self,
        conversation: &mut Conversation,
        now: Duration,
        reply: Vec<u8>,
    ) -> (Duration, Vec<Output>) {
        let wake = conversation.wake_at().unwrap_or(now).max(now);
        let fate = self.chance.below(100);
        if fate < 2 {
            return (now, conversation.step(now, Input::Trouble));
        }
        if reply.is_empty() || fate < 12 {
            return (wake, conversation.step(wake, Input::Time));
        }
        if fate < 16 {
            return self.answer_late(conversation, now, &reply);
        }
        let kept = if fate < 20 { self.chance.below(reply.len()) } else { reply.len() };
        let at = now + MS * 25;
        (at, conversation.step(at, Input::Bytes(&reply[..kept])))
    }

    /// Some of the answer comes in time, and the rest in the silence after it.
    fn answer_late(
        &mut self,
        conversation: &mut Conversation,
        now: Duration,
        reply: &[u8],
    ) -> (Duration, Vec<Output>) {
        let (in_time, late) = reply.split_at(self.chance.below(reply.len()));
        let mut outputs = conversation.step(now + MS * 5, Input::Bytes(in_time));
        let wake = conversation.wake_at().unwrap_or(now).max(now + MS * 5);
        outputs.extend(conversation.step(wake, Input::Time));
        let silence = conversation.ready_at().saturating_sub(wake).as_millis() as usize;
        let at = wake + MS * self.chance.below(silence.max(1)) as u32;
        outputs.extend(conversation.step(at, Input::Bytes(late)));
        (at, outputs)
    }
}

/// The far end of the wire.
struct Device {
    judge: Box<dyn Judge>,
    channel: Channel,
}

impl Device {
    fn hear(&mut self, frame: &[u8], now: Duration, chance: &mut Chance, heard: &mut Vec<u8>) -> Vec<u8> {
        let mut reply = Vec::new();
        for (at, byte) in self.channel.carry(frame, now, chance) {
            heard.push(byte);
            reply.extend(self.judge.hear(byte, at));
        }
        reply
    }
}
