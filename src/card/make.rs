//! From a link and wishes to the memories of a radio.

use crate::link::{Link, LinkKind, Uplink};
use crate::terms::{Direction, Hertz, Mode, Segments, Tone};

use super::cover::{Side, Span, least_cells};

/// Nearer to nothing than this the satellite no longer approaches, km/s.
const HARDLY_KM_S: f64 = 0.01;

/// What the radio can be set to, and how far off it may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wishes {
    /// Frequencies are multiples of this.
    pub step: Hertz,
    /// How far the receiver may be off.
    pub receive_within: Hertz,
    /// How far the transmitter may be off.
    pub transmit_within: Hertz,
}

/// What the radio of a card is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Serves {
    /// One radio does it all.
    Both,
    /// It only receives.
    Receive,
    /// It only transmits.
    Transmit,
}

/// One dial of a memory.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// What the dial shows.
    pub hertz: Hertz,
    /// How far off it comes to be while the memory is in use.
    pub error: Hertz,
}

/// One memory, and the range rates in which it is the right one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Memory {
    /// The receiver's dial.
    pub receive: Option<Setting>,
    /// The transmitter's dial.
    pub transmit: Option<Setting>,
    /// The range rate at which it takes over from the memory before, km/s.
    pub from_km_s: f64,
    /// The range rate at which the next one takes over, km/s.
    pub to_km_s: f64,
}

/// A memory with the tone that switches a repeater on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arming {
    /// The memories with whose transmit frequency it is used, counted from 0: the first and the last.
    pub with: (usize, usize),
}

/// The memories of one radio for one link.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// In the order in which a pass needs them; never empty.
    pub memories: Vec<Memory>,
    /// The access tone of all of them.
    pub tone: Option<Tone>,
    /// One for each transmit frequency that is used while the satellite approaches.
    pub arming: Vec<Arming>,
    /// The tone of those.
    pub arming_tone: Option<Tone>,
    /// The range rates that are covered, approaching and receding, km/s.
    pub largest_km_s: f64,
    /// Why it has no transmit frequencies though the link has an uplink.
    pub silent: Option<NoCard>,
}

/// Why there is no card.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoCard {
    /// A passband is not a channel.
    #[error(
        "a linear transponder can't be worked with memory channels: where you stand in its passband is your \
         choice, and in sideband or Morse both dials have to follow within some 50 Hz all the time. It takes a \
         radio with a free dial for that, or one that a computer tunes"
    )]
    Linear,
    /// There is nothing to transmit to.
    #[error("there is nothing to transmit to: the link is only a downlink")]
    NoUplink,
    /// Two settings side by side leave a hole.
    #[error(
        "with steps of {step} Hz nothing keeps the {direction} dial within {within} Hz: allow at least half a \
         step"
    )]
    Gap {
        /// The dial.
        direction: Direction,
        /// Hertz.
        step: i64,
        /// Hertz.
        within: i64,
    },
    /// No licence.
    #[error("receive only: `segments` in [transmit] of the configuration name nothing")]
    NoSegments,
    /// A part of the licence's that is too small.
    #[error(
        "receive only: no set keeps the uplink within {0} Hz and all of it inside `segments` of [transmit]"
    )]
    OutsideSegments(i64),
}

/// The least set of memories for `link` while its range rate stays within `largest_km_s`.
///
/// # Errors
/// A link or bounds for which there is none. A link that may not be transmitted to has a card without
/// transmit frequencies.
pub fn make(
    link: &Link,
    segments: &Segments,
    wishes: &Wishes,
    serves: Serves,
    largest_km_s: f64,
) -> Result<Card, NoCard> {
    if matches!(link.kind, LinkKind::Linear { .. }) {
        return Err(NoCard::Linear);
    }
    let span = Span { from: -largest_km_s, to: largest_km_s };
    let side = |direction, hertz: Hertz, within| Side::on_grid(direction, hertz, within, wishes.step, span);
    let receive = side(Direction::Receive, link.downlink, wishes.receive_within);
    let receive = (serves != Serves::Transmit).then_some(receive);
    if let Some(side) = &receive {
        side.check(span, wishes.step)?;
    }
    let uplink = link.uplink.filter(|_| serves != Serves::Receive);
    let (transmit, silent) = match uplink {
        None if serves == Serves::Transmit => return Err(NoCard::NoUplink),
        None => (None, None),
        Some(uplink) => {
            let mut side = side(Direction::Transmit, uplink.hertz, wishes.transmit_within);
            if uplink.fixed {
                side.leave_alone(span);
            }
            side.check(span, wishes.step)?;
            match side.licensed(segments, span) {
                Ok(side) => (Some(side), None),
                Err(why) if serves == Serves::Transmit => return Err(why),
                Err(why) => (None, Some(why)),
            }
        }
    };
    let gap = NoCard::OutsideSegments(wishes.transmit_within.0);
    let memories = memories(receive.as_ref(), transmit.as_ref(), span).ok_or(gap)?;
    let uplink = uplink.filter(|uplink| silent.is_none() && uplink.mode == Mode::Fm);
    Ok(Card::new(memories, uplink, largest_km_s, silent))
}

impl Card {
    fn new(memories: Vec<Memory>, uplink: Option<Uplink>, largest_km_s: f64, silent: Option<NoCard>) -> Self {
        let arming_tone = uplink.and_then(|uplink| uplink.arming_tone);
        let mut arming: Vec<Arming> = Vec::new();
        let approaching = memories.iter().enumerate().filter(|(_, memory)| memory.from_km_s < -HARDLY_KM_S);
        for (at, memory) in approaching.filter(|_| arming_tone.is_some()) {
            let hertz = |memory: &Memory| memory.transmit.map(|setting| setting.hertz);
            match arming.last_mut().filter(|last| hertz(&memories[last.with.1]) == hertz(memory)) {
                Some(last) => last.with.1 = at,
                None => arming.push(Arming { with: (at, at) }),
            }
        }
        let tone = uplink.and_then(|uplink| uplink.access_tone);
        Self { memories, tone, arming, arming_tone, largest_km_s, silent }
    }

    /// Which memory is right at a range rate, counted from 0.
    pub fn memory_at(&self, range_rate_km_s: f64) -> usize {
        let passed = self.memories.partition_point(|memory| memory.to_km_s < range_rate_km_s);
        passed.min(self.memories.len().saturating_sub(1))
    }
}

impl Side {
    fn on_grid(direction: Direction, at_satellite: Hertz, within: Hertz, step: Hertz, span: Span) -> Self {
        let mut side = Self {
            direction,
            at_satellite: at_satellite.as_f64(),
            within: within.as_f64(),
            choices: Vec::new(),
        };
        let ends = [side.right(span.from), side.right(span.to)];
        let step_hz = step.0.max(1);
        let first = (ends[0].min(ends[1]) - side.within) as i64 / step_hz;
        let last = (ends[0].max(ends[1]) + side.within) as i64 / step_hz + 1;
        side.choices = (first..=last).map(|number| Hertz(number * step_hz)).collect();
        side
    }

    /// One setting for all, the nearest to what the satellite listens on.
    fn leave_alone(&mut self, span: Span) {
        let off = |hertz: &Hertz| (hertz.as_f64() - self.at_satellite).abs();
        let nearest = self.choices.iter().copied().min_by(|a, b| off(a).total_cmp(&off(b)));
        self.choices = nearest.into_iter().collect();
        self.within = nearest.map_or(0.0, |hertz| self.error(hertz, span) + 1.0);
    }

    fn check(&self, span: Span, step: Hertz) -> Result<(), NoCard> {
        let (direction, step, within) = (self.direction, step.0, self.within as i64);
        let gap = NoCard::Gap { direction, step, within };
        least_cells(std::slice::from_ref(self), span).map(|_| ()).ok_or(gap)
    }

    /// With the settings that the licence allows.
    fn licensed(mut self, segments: &Segments, span: Span) -> Result<Self, NoCard> {
        if segments.is_empty() {
            return Err(NoCard::NoSegments);
        }
        self.choices.retain(|hertz| segments.allow(*hertz));
        let within = self.within as i64;
        match least_cells(std::slice::from_ref(&self), span) {
            Some(_) => Ok(self),
            None => Err(NoCard::OutsideSegments(within)),
        }
    }

    /// A setting for each cell; one that is good for several cells on end is kept.
    fn settings(&self, cells: &[Span]) -> Option<Vec<Hertz>> {
        let mut settings: Vec<Hertz> = Vec::new();
        while settings.len() < cells.len() {
            let begun = settings.len();
            let span = |end: usize| Some(Span { from: cells[begun].from, to: cells.get(end)?.to });
            let runs = (begun..cells.len()).map_while(|end| Some((end, self.best(span(end)?)?)));
            let (end, hertz) = runs.last()?;
            settings.resize(end + 1, hertz);
        }
        Some(settings)
    }
}

fn memories(receive: Option<&Side>, transmit: Option<&Side>, span: Span) -> Option<Vec<Memory>> {
    let sides: Vec<Side> = receive.into_iter().chain(transmit).cloned().collect();
    let cells = least_cells(&sides, span)?;
    let settings: Vec<Vec<Hertz>> = sides.iter().map(|side| side.settings(&cells)).collect::<Option<_>>()?;
    // Where two memories are both good, the change is in the middle.
    let reach = |at: usize| {
        let reaches = sides.iter().zip(&settings).map(|(side, settings)| side.reach(settings[at], 1.0));
        reaches.fold(span, |a, b| Span { from: a.from.max(b.from), to: a.to.min(b.to) })
    };
    let change = |at: usize| (reach(at).to + reach(at + 1).from) / 2.0;
    let memory = |at: usize| {
        let from = if at == 0 { span.from } else { change(at - 1) };
        let to = if at + 1 == cells.len() { span.to } else { change(at) };
        let setting = |wanted: Option<&Side>| {
            let (side, settings) = sides
                .iter()
                .zip(&settings)
                .find(|(side, _)| Some(side.direction) == wanted.map(|w| w.direction))?;
            let error = Hertz::rounded(side.error(settings[at], Span { from, to }));
            Some(Setting { hertz: settings[at], error })
        };
        Memory { receive: setting(receive), transmit: setting(transmit), from_km_s: from, to_km_s: to }
    };
    Some((0..cells.len()).map(memory).collect())
}

#[cfg(test)]
mod tests;
