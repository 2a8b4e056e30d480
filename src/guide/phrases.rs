//! Directions and numbers as they are said.

use crate::terms::AzEl;

/// How directions are said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// Compass points, and heights in hands and parts of the way up.
    Words,
    /// Tens of degrees.
    Degrees,
}

/// Compass points, clockwise from north.
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

/// Heights, degrees: a palm at the end of a stretched arm is some ten degrees wide.
const HEIGHTS: [(f64, &str); 8] = [
    (0.0, "level"),
    (10.0, "palm-high"),
    (20.0, "two palms high"),
    (30.0, "a third up"),
    (45.0, "half up"),
    (60.0, "two thirds up"),
    (75.0, "nearly overhead"),
    (90.0, "overhead"),
];

const NUMBERS: [&str; 13] = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
];

impl Style {
    /// Every direction that can be said, for a person who faces `facing_deg`: overhead needs no turn.
    pub(super) fn directions(self, facing_deg: f64) -> Vec<AzEl> {
        let (width, count): (f64, u32) = match self {
            Style::Words => (22.5, 16),
            Style::Degrees => (10.0, 36),
        };
        let around = (0..count).map(|point| f64::from(point) * width);
        let low: Vec<f64> = self.heights().into_iter().filter(|height| *height < 90.0).collect();
        let all = around.flat_map(|azimuth| low.iter().map(move |height| AzEl::new(azimuth, *height)));
        all.chain([AzEl::new(facing_deg, 90.0)]).collect()
    }

    fn heights(self) -> Vec<f64> {
        match self {
            Style::Words => HEIGHTS.iter().map(|(height, _)| *height).collect(),
            Style::Degrees => (0..=9).map(|tens| f64::from(tens) * 10.0).collect(),
        }
    }

    /// The nearest compass point: where it rises and sets.
    pub(super) fn towards(self, azimuth_deg: f64) -> String {
        match self {
            Style::Words => format!("in the {}", point(azimuth_deg)),
            Style::Degrees => format!("at {}", degrees(azimuth_deg)),
        }
    }

    /// An azimuth to turn to.
    pub(super) fn azimuth(self, azimuth_deg: f64) -> String {
        match self {
            Style::Words => point(azimuth_deg).to_owned(),
            Style::Degrees => degrees(azimuth_deg),
        }
    }

    /// The nearest height that can be said.
    pub(super) fn height(self, elevation_deg: f64) -> String {
        match self {
            Style::Words => {
                let off = |height: &&(f64, &str)| (height.0 - elevation_deg).abs();
                let nearest = HEIGHTS.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
                nearest.map_or("level", |(_, name)| name).to_owned()
            }
            Style::Degrees => format!("{:.0}", (elevation_deg / 10.0).round() * 10.0),
        }
    }

    /// Where to begin.
    pub(super) fn beginning(self, aim: AzEl) -> String {
        format!("Face {}, beam {}.", self.azimuth(aim.azimuth), self.height(aim.elevation))
    }

    /// How to get from one direction to another: left and right as the person turns.
    pub(super) fn way(self, from: AzEl, to: AzEl) -> String {
        let turn = (to.azimuth - from.azimuth + 180.0).rem_euclid(360.0) - 180.0;
        let side = if turn < 0.0 { "left" } else { "right" };
        let turned = (turn.abs() > 1.0).then(|| format!("turn {side} to {}", self.azimuth(to.azimuth)));
        let height = self.height(to.elevation);
        let tilted = match to.elevation - from.elevation {
            up if up > 1.0 => format!("raise to {height}"),
            down if down < -1.0 => format!("lower to {height}"),
            _ => "same height".to_owned(),
        };
        let both: Vec<String> = turned.into_iter().chain([tilted]).collect();
        sentence(&both.join(", "))
    }
}

fn point(azimuth_deg: f64) -> &'static str {
    POINTS[(azimuth_deg.rem_euclid(360.0) / 22.5).round() as usize % POINTS.len()]
}

fn degrees(azimuth_deg: f64) -> String {
    format!("{:.0} degrees", (azimuth_deg / 10.0).round().rem_euclid(36.0) * 10.0)
}

/// With its capital and its full stop.
pub(super) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

/// A small number as a word.
pub(super) fn number(number: usize) -> String {
    NUMBERS.get(number).map_or_else(|| number.to_string(), |word| (*word).to_owned())
}

/// A memory, counted from 0, as the card numbers it.
pub(super) fn channel(memory: usize) -> String {
    format!("Channel {}.", number(memory + 1))
}

/// `two minutes`, `one minute`, `40 seconds`.
pub(super) fn span(seconds: f64) -> String {
    let minutes = (seconds / 60.0).round() as usize;
    match (seconds, minutes) {
        (seconds, _) if seconds < 55.0 => format!("{:.0} seconds", (seconds / 5.0).round().max(1.0) * 5.0),
        (_, 0 | 1) => "one minute".to_owned(),
        (_, minutes) if minutes >= 120 => format!("{} hours", number((minutes + 30) / 60)),
        (_, minutes) => format!("{} minutes", number(minutes)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn left_and_right_are_as_the_person_turns_also_through_north() {
        let way = |from: (f64, f64), to: (f64, f64)| {
            Style::Words.way(AzEl::new(from.0, from.1), AzEl::new(to.0, to.1))
        };
        assert_eq!(way((225.0, 10.0), (270.0, 45.0)), "Turn right to west, raise to half up.");
        assert_eq!(
            way((337.5, 45.0), (22.5, 20.0)),
            "Turn right to north-north-east, lower to two palms high."
        );
        assert_eq!(way((22.5, 20.0), (337.5, 20.0)), "Turn left to north-north-west, same height.");
        assert_eq!(way((90.0, 75.0), (90.0, 90.0)), "Raise to overhead.");
        let tens = Style::Degrees.way(AzEl::new(350.0, 10.0), AzEl::new(20.0, 30.0));
        assert_eq!(tens, "Turn right to 20 degrees, raise to 30.");
    }

    #[test]
    fn directions_are_said_as_the_nearest() {
        assert_eq!(Style::Words.beginning(AzEl::new(359.0, 6.0)), "Face north, beam palm-high.");
        assert_eq!(Style::Degrees.beginning(AzEl::new(356.0, 6.0)), "Face 0 degrees, beam 10.");
        assert_eq!(Style::Words.towards(236.2), "in the south-west");
        assert_eq!(channel(2), "Channel three.");
        assert_eq!(
            [12.0, 60.0, 120.0, 600.0, 7200.0].map(span),
            ["10 seconds", "one minute", "two minutes", "ten minutes", "two hours"]
        );
    }
}
