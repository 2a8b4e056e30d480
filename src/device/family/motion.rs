//! What a frame is to a rotator: a direction to go to, a question, or a stop. A dialect file is
//! judged by it when it is read: a motor turns at no question and no stop. From memory of manuals.

use super::Family;

/// One axis of a rotator.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Axis {
    Azimuth,
    Elevation,
}

/// A frame of a rotator's family.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Motion {
    /// Go there, in degrees.
    Go(Vec<(Axis, f64)>),
    /// Say where it points.
    Ask,
    /// Stand still.
    Stop,
}

impl Family {
    /// Whether this is a rotator's family.
    pub(crate) fn is_rotators(self) -> bool {
        matches!(self, Family::WLines | Family::AzElWords | Family::ThirteenByte)
    }

    /// What a rotator makes of `frame`; `None` if it is none of the three.
    pub(crate) fn motion(self, frame: &[u8]) -> Option<Motion> {
        if self == Family::ThirteenByte {
            return block(frame);
        }
        let line = std::str::from_utf8(frame.strip_suffix(b"\r")?).ok()?;
        match self {
            Family::WLines => w_line(line),
            Family::AzElWords => words(line),
            _ => None,
        }
    }
}

fn w_line(line: &str) -> Option<Motion> {
    let whole = |digits: &str| {
        let is_whole = digits.len() == 3 && digits.bytes().all(|digit| digit.is_ascii_digit());
        digits.parse::<f64>().ok().filter(|_| is_whole)
    };
    match line {
        "C" | "C2" => Some(Motion::Ask),
        "S" | "A" | "E" => Some(Motion::Stop),
        _ => match (line.strip_prefix('M'), line.strip_prefix('W')) {
            (Some(azimuth), _) => Some(Motion::Go(vec![(Axis::Azimuth, whole(azimuth)?)])),
            (None, both) => {
                let (azimuth, elevation) = both?.split_once(' ')?;
                Some(Motion::Go(vec![(Axis::Azimuth, whole(azimuth)?), (Axis::Elevation, whole(elevation)?)]))
            }
        },
    }
}

/// Every word of a line is of the same kind.
fn words(line: &str) -> Option<Motion> {
    let words: Vec<&str> = line.split(' ').filter(|word| !word.is_empty()).collect();
    let all = |known: [&str; 2]| !words.is_empty() && words.iter().all(|word| known.contains(word));
    if all(["AZ", "EL"]) {
        return Some(Motion::Ask);
    }
    if all(["SA", "SE"]) {
        return Some(Motion::Stop);
    }
    let go = |word: &&str| {
        let azimuth = word.strip_prefix("AZ").map(|degrees| (Axis::Azimuth, degrees));
        let (axis, degrees) = azimuth.or_else(|| Some((Axis::Elevation, word.strip_prefix("EL")?)))?;
        Some((axis, degrees.parse().ok()?))
    };
    let axes: Vec<(Axis, f64)> = words.iter().map(go).collect::<Option<_>>()?;
    (!axes.is_empty()).then_some(Motion::Go(axes))
}

/// `57`, four digits and the pulses per degree for each axis, what to do, `20`.
fn block(frame: &[u8]) -> Option<Motion> {
    match frame {
        [0x57, .., 0x0F, 0x20] if frame.len() == 13 => Some(Motion::Stop),
        [0x57, .., 0x1F, 0x20] if frame.len() == 13 => Some(Motion::Ask),
        [0x57, axes @ .., 0x2F, 0x20] if axes.len() == 10 => {
            let degrees = |axis: &[u8]| {
                let (pulses, digits) = axis.split_last()?;
                let turned: f64 = std::str::from_utf8(digits).ok()?.parse().ok()?;
                (*pulses > 0).then(|| turned / f64::from(*pulses) - 360.0)
            };
            let (azimuth, elevation) = axes.split_at(5);
            Some(Motion::Go(vec![(Axis::Azimuth, degrees(azimuth)?), (Axis::Elevation, degrees(elevation)?)]))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // The design's examples, from memory of manuals; the block by hand:
    // (180 + 360) x 2 = 1080, (45 + 360) x 2 = 0810.
    #[test]
    fn a_direction_a_question_and_a_stop_are_told_apart() {
        let both = Some(Motion::Go(vec![(Axis::Azimuth, 180.0), (Axis::Elevation, 45.0)]));
        let azimuth = Some(Motion::Go(vec![(Axis::Azimuth, 180.0)]));
        for (family, frame, meant) in [
            (Family::WLines, &b"W180 045\r"[..], &both),
            (Family::WLines, b"M180\r", &azimuth),
            (Family::WLines, b"C2\r", &Some(Motion::Ask)),
            (Family::WLines, b"S\r", &Some(Motion::Stop)),
            (Family::WLines, b"W18 045\r", &None),
            (Family::WLines, b"CS\r", &None),
            (Family::AzElWords, b"AZ180.0 EL45.0\r", &both),
            (Family::AzElWords, b"AZ180.0\r", &azimuth),
            (Family::AzElWords, b"AZ EL\r", &Some(Motion::Ask)),
            (Family::AzElWords, b"SA SE\r", &Some(Motion::Stop)),
            (Family::AzElWords, b"AZ180.0 EL\r", &None),
            (Family::AzElWords, b"SA AZ180.0\r", &None),
            (Family::ThirteenByte, b"W1080\x020810\x02\x2F\x20", &both),
            (Family::ThirteenByte, b"W\0\0\0\0\0\0\0\0\0\0\x1F\x20", &Some(Motion::Ask)),
            (Family::ThirteenByte, b"W\0\0\0\0\0\0\0\0\0\0\x0F\x20", &Some(Motion::Stop)),
            (Family::ThirteenByte, b"W1080\x000810\x02\x2F\x20", &None),
        ] {
            assert_eq!(&family.motion(frame), meant, "{}", String::from_utf8_lossy(frame));
        }
    }
}
