//! A whole pass as sentences.

use super::moves::{Aim, LEAD_S, Path};
use super::phrases::{Style, channel, sentence, span};
use super::timing::{Cue, Cues, GAP_S};
use crate::sky::{Pass, SkyError, Track};
use crate::terms::{Time, Validity, later, seconds_between};

/// The first announcement, and when to stand ready, seconds before AOS.
const ANNOUNCED_S: f64 = 600.0;
const READY_S: f64 = 120.0;
/// When the pass is told in one sentence, seconds before AOS.
const OUTLINE_S: f64 = 40.0;
/// When the end is announced, seconds before LOS.
const ENDING_S: f64 = 60.0;
/// How often to look for the stronger polarisation, seconds: the satellite tumbles, and the Earth's field
/// turns the wave.
const TWIST_EVERY_S: f64 = 100.0;

/// What is to be guided through.
#[derive(Debug, Clone)]
pub struct Occasion<'a> {
    /// The satellite's name, as it is said.
    pub satellite: &'a str,
    /// Where it is.
    pub track: &'a Track,
    /// The pass.
    pub pass: &'a Pass,
    /// AOS to LOS.
    pub span: Validity,
    /// From when on which memory of the card is the right one, counted from 0; none without a card.
    pub memories: Vec<(Time, usize)>,
}

/// What is said from `from` on, in order; two sentences are at least [`GAP_S`] apart.
///
/// # Errors
/// A satellite that can't be propagated during the pass.
pub fn script(occasion: &Occasion<'_>, style: Style, from: Time) -> Result<Vec<Cue>, SkyError> {
    let begin = from.max(occasion.span.from);
    let until = occasion.span.until.max(begin);
    let path = Path::of(occasion.track, Validity { from: begin, until })?;
    let mut speaker = Speaker { occasion, style, path, begin, cues: Cues::default() };
    let Some(first) = speaker.path.longest(style, begin, speaker.path.first_azimuth()) else {
        return Ok(Vec::new());
    };
    speaker.before(from, first);
    speaker.through(first);
    speaker.between(from);
    Ok(speaker.cues.finished())
}

struct Speaker<'a> {
    occasion: &'a Occasion<'a>,
    style: Style,
    path: Path,
    /// When it is up and listened to.
    begin: Time,
    cues: Cues,
}

impl Speaker<'_> {
    /// Up to AOS; or what somebody needs who comes late.
    fn before(&mut self, from: Time, first: Aim) {
        let Occasion { satellite, pass, span: up, .. } = self.occasion;
        let (style, rise) = (self.style, up.from);
        let beginning = style.beginning(first.direction);
        let channel =
            self.memory_at(self.begin).map_or(String::new(), |memory| format!(" {}", channel(memory)));
        let aim = Some(first.direction);
        if from >= rise {
            return self.cues.say(from, format!("{satellite} is up. {beginning}{channel}"), aim);
        }
        let rises =
            pass.aos_azimuth_deg.map_or(String::new(), |azimuth| format!(" {}", style.towards(azimuth)));
        let announced = later(rise, -ANNOUNCED_S);
        if from <= announced {
            self.cues.say(announced, format!("{satellite} rises in ten minutes{rises}."), None);
        }
        let ready = later(rise, -READY_S).max(from);
        let wait = span(seconds_between(ready, rise));
        self.cues.say(ready, format!("{satellite} rises in {wait}{rises}. {beginning}{channel}"), aim);
        let highest =
            format!("{} {}", style.height(pass.max_elevation_deg), style.towards(pass.highest_azimuth_deg));
        let sets = pass
            .los_azimuth_deg
            .map_or(String::new(), |azimuth| format!(", and sets {}", style.towards(azimuth)));
        self.cues.fit(later(rise, -OUTLINE_S), (10, 10), &format!("It climbs to {highest}{sets}."));
    }

    /// The moves of the beam and the changes of memories.
    fn through(&mut self, first: Aim) {
        let mut aim = first;
        let mut changes: Vec<(Time, usize)> =
            self.occasion.memories.iter().copied().filter(|(time, _)| *time > self.begin).rev().collect();
        loop {
            let free = self.cues.free_from().unwrap_or(self.begin);
            let move_at = aim.fails.map(|fails| later(fails, -LEAD_S).max(free));
            let change = changes.last().copied();
            match next(move_at, change.map(|(time, _)| time), free) {
                Next::Over => return,
                Next::Move(time) => {
                    self.go(time, &mut aim, None);
                }
                Next::Early(time, due) => {
                    // Where the beam is right for longer, the move comes when it is due.
                    if !self.go(time, &mut aim, None) {
                        let (at, both) = together(due, later(time, GAP_S));
                        let memory = both.then(|| latest(&mut changes, at)).flatten();
                        self.go(at, &mut aim, memory);
                    }
                }
                Next::Change(time) => {
                    let memory = latest(&mut changes, time);
                    self.cues.say(time, memory.map_or(String::new(), channel), None);
                }
                Next::Both(time) => {
                    let memory = latest(&mut changes, time);
                    self.go(time, &mut aim, memory);
                }
            }
        }
    }

    /// Says the move that is due, with a change of memory; whether there was anything to say.
    fn go(&mut self, time: Time, aim: &mut Aim, memory: Option<usize>) -> bool {
        let facing = aim.direction.azimuth;
        let way = match self.path.longest(self.style, later(time, LEAD_S), facing) {
            Some(new) => {
                let way =
                    (new.direction != aim.direction).then(|| self.style.way(aim.direction, new.direction));
                *aim = new;
                way
            }
            None => {
                aim.fails = None;
                None
            }
        };
        let direction = way.is_some().then_some(aim.direction);
        let words: Vec<String> = memory.map(channel).into_iter().chain(way).collect();
        if !words.is_empty() {
            self.cues.say(time, words.join(" "), direction);
        }
        !words.is_empty()
    }

    /// What may find its place between the moves.
    fn between(&mut self, from: Time) {
        let Occasion { pass, span: up, .. } = self.occasion;
        let is_ahead = |time: Time| later(time, -GAP_S) >= from;
        if is_ahead(up.from) {
            self.cues.fit(up.from, (0, 3), "It rises now.");
        }
        if is_ahead(pass.highest) {
            self.cues.fit_or_join(pass.highest, (4, 6), "Highest now.");
        }
        if let Some(los) = pass.los {
            let ending = later(los, -ENDING_S);
            let sets = pass
                .los_azimuth_deg
                .map_or(String::new(), |azimuth| format!(", {}", self.style.towards(azimuth)));
            if is_ahead(ending) && ending > self.begin {
                self.cues.fit_or_join(ending, (20, 10), &sentence(&format!("sets in one minute{sets}")));
            }
            self.cues.fit_or_join(los, (0, 10), "It has set.");
        }
        let mut twist = later(self.begin, TWIST_EVERY_S / 2.0);
        while later(twist, ENDING_S) < up.until {
            self.cues.fit(twist, (20, 20), "Twist the beam for the stronger signal.");
            twist = later(twist, TWIST_EVERY_S);
        }
    }

    fn memory_at(&self, time: Time) -> Option<usize> {
        let memories = &self.occasion.memories;
        memories.iter().rfind(|(from, _)| *from <= time).or(memories.first()).map(|(_, memory)| *memory)
    }
}

/// What comes next.
enum Next {
    Over,
    Move(Time),
    /// A move before its time, to leave room for a change; and when it is due.
    Early(Time, Time),
    Change(Time),
    Both(Time),
}

/// A change of memory is at its time, or late by half a gap where a move is in the way; a move may come early,
/// and late by no more than that.
fn next(move_at: Option<Time>, change: Option<Time>, free: Time) -> Next {
    match (move_at, change) {
        (None, None) => Next::Over,
        (Some(time), None) => Next::Move(time),
        (None, Some(change)) => Next::Change(change.max(free)),
        (Some(time), Some(change)) => match seconds_between(time, change) {
            apart if apart <= -GAP_S => Next::Change(change.max(free)),
            apart if apart <= 0.0 => Next::Both(change.max(free)),
            apart if apart >= GAP_S => Next::Move(time),
            _ if later(change, -GAP_S) >= free => Next::Early(later(change, -GAP_S), time),
            _ => match together(time, change) {
                (at, true) => Next::Both(at),
                (at, false) => Next::Move(at),
            },
        },
    }
}

/// When a move is said that is due less than a gap before a change of memory, and whether the change is said
/// with it: the move waits for the change, or else the change follows a gap after the move, whichever makes
/// less late.
fn together(due: Time, change: Time) -> (Time, bool) {
    if seconds_between(due, change) <= GAP_S / 2.0 { (change, true) } else { (due, false) }
}

/// The memory that is right at `time`; the changes up to then are done.
fn latest(changes: &mut Vec<(Time, usize)>, time: Time) -> Option<usize> {
    let mut memory = None;
    while changes.last().is_some_and(|(from, _)| *from <= time) {
        memory = changes.pop().map(|(_, memory)| memory);
    }
    memory
}
