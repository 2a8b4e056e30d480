//! A spell in blocks of ten seconds: all that the statistics look at, and fifty times less to keep.

use crate::terms::{Time, Validity, later, seconds_between};

use super::{Reading, Sight, Spell};

/// How long a block is, seconds. Neighbouring readings say the same thing again: a squelch stays open for
/// seconds, fades and overs last some. In ten seconds most of that is over (common practice, no source),
/// and a low satellite moves by a few degrees. Nothing depends on blocks being independent: whole windows
/// of them are compared.
pub const BLOCK_S: f64 = 10.0;

/// A block of fewer readings is left out.
const FEWEST: u32 = 3;

/// Below this elevation a satellite is certainly not heard: refraction lifts the horizon by half a
/// degree (Saemundsson's formula), and elements may be late.
const SURELY_DOWN_DEG: f32 = -1.0;

/// Longer stretches of nothing are cut, seconds: noise near in time is compared with.
const NOTHING_S: f64 = 900.0;

/// Where a block lies in its spell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    /// The satellite was not up yet; or the first quarter of a time with no satellite.
    Before,
    /// The satellite was above the horizon.
    Up,
    /// It had set; or the last quarter of a time with no satellite.
    After,
    /// The middle of a time with no satellite.
    Nothing,
}

/// Width of a step of the dial, Hz. Noise is compared at the same step, and at both of its neighbours: a
/// Morse filter is about so wide, and dials move in jumps of up to half a kilohertz in FM.
pub(super) const STEP_HZ: f32 = 500.0;

/// Readings at one step of the dial.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Step {
    /// Its number: the shift from the downlink in units of [`STEP_HZ`].
    pub number: i32,
    /// How many readings.
    pub count: f32,
    /// In how many the squelch was open.
    pub open: f32,
    /// Sum of the meter.
    pub meter: f32,
}

/// Ten seconds of listening.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Block {
    /// Its middle.
    pub at: Time,
    /// Where it lies.
    pub part: Part,
    /// The mean shift of the dial from the downlink, Hz.
    pub shift_hz: f32,
    /// The same by steps of the dial.
    pub steps: Vec<Step>,
    /// Share of the readings in which the squelch was open; `None` where the radio cannot tell.
    pub open: Option<f32>,
    /// Mean of the signal meter, in the radio's own units; `None` where the radio cannot tell.
    pub meter: Option<f32>,
    /// Where the satellite was in the middle.
    pub sight: Sight,
    /// Whether another satellite was above that is heard on the same dial.
    pub is_shared: bool,
}

/// A spell's blocks.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Digest {
    /// The label of the antenna.
    pub antenna: String,
    /// From rising to setting; `None` where the satellite did not rise.
    pub pass: Option<Validity>,
    /// In order of time.
    pub blocks: Vec<Block>,
}

impl Digest {
    /// Digests of a spell: one, or several of a long time with no satellite.
    pub(super) fn of(spell: &Spell) -> Vec<Self> {
        let Some(first) = spell.readings.first() else { return Vec::new() };
        // Blocks begin at rising, so that none lies across it.
        let zero = spell.pass.map_or(first.at, |pass| pass.from);
        let number = |reading: &Reading| (seconds_between(zero, reading.at) / BLOCK_S).floor() as i64;
        let mut blocks: Vec<Block> = Vec::new();
        for readings in spell.readings.chunk_by(|one, other| number(one) == number(other)) {
            blocks.extend(block(spell, readings));
        }
        let digest = |blocks| Self { antenna: spell.antenna.clone(), pass: spell.pass, blocks };
        if spell.pass.is_some() {
            return vec![digest(blocks)];
        }
        let longest = (NOTHING_S / BLOCK_S) as usize;
        let pieces = blocks.len().div_ceil(longest).max(1);
        let length = blocks.len().div_ceil(pieces).max(1);
        blocks.chunks_mut(length).for_each(quarter);
        blocks.chunks(length).map(|piece| digest(piece.to_vec())).collect()
    }

    /// Whether this is more of the same pass, listened to with the same antenna: a daemon that was
    /// started anew goes on in another spell.
    pub(super) fn goes_on_in(&self, other: &Self) -> bool {
        let same = |(one, other): (Validity, Validity)| seconds_between(one.from, other.from).abs() < 60.0;
        self.antenna == other.antenna && self.pass.zip(other.pass).is_some_and(same)
    }
}

/// The ends of a time of nothing stand for before and after.
fn quarter(blocks: &mut [Block]) {
    let side = blocks.len() / 4;
    let last = blocks.len() - side;
    for (at, block) in blocks.iter_mut().enumerate() {
        block.part = match at {
            _ if at < side => Part::Before,
            _ if at >= last => Part::After,
            _ => Part::Nothing,
        };
    }
}

fn block(spell: &Spell, readings: &[Reading]) -> Option<Block> {
    let (first, last) = (readings.first()?, readings.last()?);
    let at = later(first.at, seconds_between(first.at, last.at) / 2.0);
    let sight = readings.get(readings.len() / 2)?.sight;
    let (mut shift, mut open, mut meter) = (Mean::default(), Mean::default(), Mean::default());
    let mut steps: Vec<Step> = Vec::new();
    for reading in readings {
        shift.add(reading.shift_hz);
        open.extend(reading.is_open.map(|is_open| if is_open { 1.0 } else { 0.0 }));
        meter.extend(reading.meter.map(f32::from));
        count(&mut steps, reading);
    }
    let (open, meter) = (open.value(), meter.value());
    open.or(meter)?;
    let part = match spell.pass {
        _ if sight.elevation_deg > 0.0 => Part::Up,
        // Neither surely down nor surely up.
        _ if sight.elevation_deg > SURELY_DOWN_DEG => return None,
        None => Part::Nothing,
        Some(pass) if at < pass.from => Part::Before,
        Some(pass) if at > pass.until => Part::After,
        Some(_) => return None,
    };
    let mut others = spell.others.iter().map(|(_, above)| above);
    let is_shared = others.any(|above| above.from <= last.at && first.at <= above.until);
    Some(Block { at, part, shift_hz: shift.value()?, steps, open, meter, sight, is_shared })
}

/// The dial goes on slowly: the step is most often the last one.
fn count(steps: &mut Vec<Step>, reading: &Reading) {
    let number = (reading.shift_hz / STEP_HZ).round() as i32;
    let at = steps.iter().rposition(|step| step.number == number).unwrap_or(steps.len());
    if at == steps.len() {
        steps.push(Step { number, ..Step::default() });
    }
    if let Some(step) = steps.get_mut(at) {
        step.count += 1.0;
        step.open += if reading.is_open == Some(true) { 1.0 } else { 0.0 };
        step.meter += reading.meter.map_or(0.0, f32::from);
    }
}

/// A mean in the making.
#[derive(Default)]
struct Mean {
    sum: f32,
    count: u32,
}

impl Mean {
    fn add(&mut self, value: f32) {
        self.sum += value;
        self.count += 1;
    }

    fn extend(&mut self, value: Option<f32>) {
        value.into_iter().for_each(|value| self.add(value));
    }

    fn value(&self) -> Option<f32> {
        (self.count >= FEWEST).then(|| self.sum / self.count as f32)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::Hertz;

    fn reading(at_s: f64, elevation_deg: f32, is_open: bool) -> Reading {
        let sight = Sight { azimuth_deg: 10.0, elevation_deg, range_km: 900.0, is_sunlit: true };
        let at = later(Time::default(), at_s);
        Reading { at, shift_hz: 100.0, meter: Some(7), is_open: Some(is_open), sight }
    }

    fn spell(pass: Option<(f64, f64)>, readings: Vec<Reading>) -> Spell {
        let time = |seconds| later(Time::default(), seconds);
        Spell {
            satellite: "GANNET-1".into(),
            link: "repeater".into(),
            antenna: String::new(),
            downlink: Hertz(435_500_000),
            pass: pass.map(|(from, until)| Validity { from: time(from), until: time(until) }),
            others: Vec::new(),
            readings,
        }
    }

    #[test]
    fn no_block_lies_across_the_rising_and_what_is_near_the_horizon_is_left_out() {
        let elevation = |at: f64| (at - 63.0) as f32 / 10.0;
        let readings = (0..600).map(|n| f64::from(n) * 0.2);
        let readings = readings.map(|at| reading(at, elevation(at), at > 62.9)).collect();
        let digests = Digest::of(&spell(Some((63.0, 700.0)), readings));
        let [digest] = digests.as_slice() else { panic!("{digests:?}") };
        for block in &digest.blocks {
            let (part, open) =
                if block.sight.elevation_deg > 0.0 { (Part::Up, 1.0) } else { (Part::Before, 0.0) };
            assert_eq!((block.part, block.open, block.meter), (part, Some(open), Some(7.0)));
            assert!(!(-1.0..=0.0).contains(&block.sight.elevation_deg));
        }
        assert_eq!(digest.blocks.iter().filter(|block| block.part == Part::Before).count(), 6);
        assert_eq!(digest.blocks.iter().filter(|block| block.part == Part::Up).count(), 6);
    }

    #[test]
    fn a_long_time_of_nothing_is_cut_and_its_ends_stand_for_before_and_after() {
        let readings = (0..9000).map(|n| reading(f64::from(n) * 0.2, -30.0, false)).collect();
        let digests = Digest::of(&spell(None, readings));
        assert_eq!(digests.len(), 2);
        for digest in &digests {
            let count = |part| digest.blocks.iter().filter(|block| block.part == part).count();
            let counts = [Part::Before, Part::Nothing, Part::After, Part::Up].map(count);
            assert_eq!(counts, [22, 46, 22, 0]);
        }
    }

    #[test]
    fn blocks_in_which_another_satellite_was_above_are_marked() {
        let mut heard = spell(None, (0..500).map(|n| reading(f64::from(n) * 0.2, -30.0, false)).collect());
        let time = |seconds| later(Time::default(), seconds);
        heard.others = vec![("PUFFIN-2".into(), Validity { from: time(35.0), until: time(52.0) })];
        let shared: Vec<bool> = Digest::of(&heard)[0].blocks.iter().map(|block| block.is_shared).collect();
        assert_eq!(shared, [false, false, false, true, true, true, false, false, false, false]);
    }

    #[test]
    fn an_empty_spell_and_a_silent_radio_make_nothing() {
        assert_eq!(Digest::of(&spell(None, Vec::new())), []);
        let mute = |n: u32| Reading { meter: None, is_open: None, ..reading(f64::from(n), -30.0, false) };
        assert_eq!(Digest::of(&spell(None, (0..100).map(mute).collect())), []);
    }
}
