//! A simulated person with a beam in the hand, who knows nothing but the words that are said.

use beamhand::guide::Cue;
use beamhand::terms::{AzEl, Time, seconds_between};

/// How long until somebody who has heard a sentence begins to move, seconds.
const DELAY_S: f64 = 2.0;
/// How fast sentences are spoken, words a second.
const PACE: f64 = 3.0;
/// How fast a person turns and lifts an arm, degrees a second.
const TURN: f64 = 45.0;
const LIFT: f64 = 30.0;

const POINTS: [&str; 16] = [
    "north",
    "north-north-east",
    "north-east",
    "east-north-east",
    "east",
    "east-south-east",
    "south-east",
    "south-south-east",
    "south",
    "south-south-west",
    "south-west",
    "west-south-west",
    "west",
    "west-north-west",
    "north-west",
    "north-north-west",
];
const HEIGHTS: [(&str, f64); 8] = [
    ("level", 0.0),
    ("palm-high", 10.0),
    ("two palms high", 20.0),
    ("a third up", 30.0),
    ("half up", 45.0),
    ("two thirds up", 60.0),
    ("nearly overhead", 75.0),
    ("overhead", 90.0),
];

/// Where the beam is, where it should go, and how badly the hand hits that.
pub(crate) struct Person {
    pub(crate) beam: AzEl,
    /// As was said; azimuth goes on beyond 360, so that a turn has its direction.
    told: AzEl,
    wants: AzEl,
    sloppy_deg: f64,
    chance: u64,
    heard: Vec<(f64, Cue)>,
    began: Time,
}

impl Person {
    /// Hears `cues` with the clock at `began`; misses every direction by `sloppy_deg`, towards a random side.
    pub(crate) fn new(cues: &[Cue], began: Time, sloppy_deg: f64, seed: u64) -> Self {
        let told = |cue: &Cue| {
            let spoken = cue.words.split_whitespace().count() as f64 / PACE;
            (seconds_between(began, cue.time) + spoken + DELAY_S, cue.clone())
        };
        let mut heard: Vec<(f64, Cue)> = cues.iter().map(told).collect();
        heard.reverse();
        let nowhere = AzEl::new(0.0, 0.0);
        Self { beam: nowhere, told: nowhere, wants: nowhere, sloppy_deg, chance: seed | 1, heard, began }
    }

    /// A tenth of a second goes by.
    pub(crate) fn live(&mut self, time: Time) {
        let now = seconds_between(self.began, time);
        while self.heard.last().is_some_and(|(acts, _)| *acts <= now) {
            let (_, cue) = self.heard.pop().unwrap();
            cue.words
                .split_inclusive('.')
                .for_each(|sentence| self.obey(sentence.trim().trim_end_matches('.')));
        }
        let towards = |at: f64, to: f64, most: f64| at + (to - at).clamp(-most, most);
        self.beam.azimuth = towards(self.beam.azimuth, self.wants.azimuth, TURN / 10.0);
        self.beam.elevation = towards(self.beam.elevation, self.wants.elevation, LIFT / 10.0);
    }

    fn obey(&mut self, sentence: &str) {
        let before = self.told;
        for part in sentence.split(", ") {
            let part = part.to_lowercase();
            if let Some(point) = part.strip_prefix("face ") {
                self.told.azimuth = azimuth(point);
            } else if let Some(point) = part.strip_prefix("turn right to ") {
                self.told.azimuth += (azimuth(point) - self.told.azimuth).rem_euclid(360.0);
            } else if let Some(point) = part.strip_prefix("turn left to ") {
                self.told.azimuth -= (self.told.azimuth - azimuth(point)).rem_euclid(360.0);
            } else if let Some(height) =
                ["beam ", "raise to ", "lower to "].iter().find_map(|verb| part.strip_prefix(verb))
            {
                self.told.elevation = elevation(height);
            }
        }
        if self.told != before {
            self.aim();
        }
    }

    fn aim(&mut self) {
        // A generator of Marsaglia's (xorshift): the same every time.
        self.chance ^= self.chance << 13;
        self.chance ^= self.chance >> 7;
        self.chance ^= self.chance << 17;
        let side = (self.chance >> 11) as f64 / (1u64 << 53) as f64 * std::f64::consts::TAU;
        let narrow = self.told.elevation.to_radians().cos().max(0.3);
        self.wants = AzEl::new(
            self.told.azimuth + self.sloppy_deg * side.cos() / narrow,
            self.told.elevation + self.sloppy_deg * side.sin(),
        );
    }
}

fn azimuth(point: &str) -> f64 {
    match point.strip_suffix(" degrees") {
        Some(degrees) => degrees.parse().unwrap(),
        None => POINTS.iter().position(|known| *known == point).unwrap() as f64 * 22.5,
    }
}

fn elevation(height: &str) -> f64 {
    let known = HEIGHTS.iter().find(|(name, _)| *name == height).map(|(_, height)| *height);
    known.unwrap_or_else(|| height.parse().unwrap())
}
