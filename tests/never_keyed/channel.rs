//! What the wire does to bytes, by chance.

use std::time::Duration;

const MS: Duration = Duration::from_millis(1);

/// A small generator of chance (splitmix64), so that every run plays the same streams.
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number below `limit`.
    pub(crate) fn below(&mut self, limit: usize) -> usize {
        (self.next() % limit as u64) as usize
    }

    /// True in `percent` of a hundred cases.
    pub(crate) fn percent(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }
}

/// How much is lost.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Loss {
    /// Nothing.
    None,
    /// At most one byte of a frame, or the frame.
    Gentle,
    /// Any byte, in this many of a hundred cases.
    Any(usize),
    /// Runs of bytes, four on average, across the ends of frames.
    Bursts,
    /// Often the end byte of a frame, and some of the head of the next.
    Seams,
}

/// What may be added.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Padding {
    /// Blanks, line ends, 00 and FF between frames, and any byte twice.
    Text,
    /// FF between frames.
    Bus,
    /// One byte between two silences of 200 ms.
    Counted,
}

/// The longest time for which bytes stand still on their way: a busy computer, or an adapter that
/// waits for more. The shortest silence, 250 ms, has to leave 200 ms of it at the far end.
const LONGEST_STALL_MS: usize = 40;

/// The way from the station to the device.
pub(crate) struct Channel {
    pub(crate) loss: Loss,
    pub(crate) padding: Padding,
    /// When the last byte arrived.
    last: Duration,
    has_padded: bool,
    is_in_burst: bool,
}

impl Channel {
    pub(crate) fn new(loss: Loss, padding: Padding) -> Self {
        Self { loss, padding, last: Duration::ZERO, has_padded: true, is_in_burst: false }
    }

    /// What arrives of `frame`, whose first byte is sent at `now`, and when each byte does.
    pub(crate) fn carry(&mut self, frame: &[u8], now: Duration, chance: &mut Chance) -> Vec<(Duration, u8)> {
        if now.saturating_sub(self.last) >= Duration::from_millis(200) {
            self.has_padded = false;
        }
        let arrived = self.pass(frame, chance);
        let stalls = chance.percent(10);
        let (from, stall) = (chance.below(frame.len()), chance.below(LONGEST_STALL_MS + 1));
        let times = (0..).map(|i| now + MS * (i + if stalls && i >= from { stall } else { 0 }) as u32);
        let arrived: Vec<_> = times.map(|at| at.max(self.last)).zip(arrived).collect();
        self.last = arrived.last().map_or(self.last, |(at, _)| *at).max(now);
        arrived
    }

    /// What is left of `frame`.
    fn pass(&mut self, frame: &[u8], chance: &mut Chance) -> Vec<u8> {
        let mut arrived = Vec::with_capacity(frame.len() + 4);
        self.pad_between(&mut arrived, chance);
        let (whole, one) = (chance.percent(8), chance.percent(25).then(|| chance.below(frame.len())));
        let head = if chance.percent(50) { chance.below(8) } else { 0 };
        let end = frame.len() - usize::from(chance.percent(50));
        for (i, byte) in frame.iter().enumerate() {
            let is_lost = match self.loss {
                Loss::None => false,
                Loss::Gentle => whole || one == Some(i),
                Loss::Any(percent) => whole || chance.percent(percent),
                Loss::Seams => i < head || i >= end,
                Loss::Bursts => {
                    self.is_in_burst = chance.percent(if self.is_in_burst { 75 } else { 8 });
                    self.is_in_burst
                }
            };
            if !is_lost {
                arrived.push(*byte);
            }
            self.pad_within(*byte, &mut arrived, chance);
        }
        arrived
    }

    fn pad_between(&mut self, arrived: &mut Vec<u8>, chance: &mut Chance) {
        if !chance.percent(10) {
            return;
        }
        match self.padding {
            Padding::Text => arrived.push([0x00, 0xFF, b' ', b'\r', b'\n', b';'][chance.below(6)]),
            Padding::Bus => arrived.push(0xFF),
            Padding::Counted => self.one_more([0x00, 0xFF][chance.below(2)], arrived),
        }
    }

    fn pad_within(&mut self, byte: u8, arrived: &mut Vec<u8>, chance: &mut Chance) {
        if !chance.percent(2) {
            return;
        }
        match self.padding {
            Padding::Text => arrived.push(byte),
            Padding::Bus => {}
            Padding::Counted => self.one_more([byte, 0x00, 0xFF][chance.below(3)], arrived),
        }
    }

    fn one_more(&mut self, byte: u8, arrived: &mut Vec<u8>) {
        if !self.has_padded {
            self.has_padded = true;
            arrived.push(byte);
        }
    }
}
