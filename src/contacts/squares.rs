//! Where a station is, in locators: one square, or several where it stands on their border.

use std::fmt;
use std::str::FromStr;

use crate::sky::{Geodetic, Locator, LocatorError};

/// One locator, two that touch, or four that meet at a corner; more can't meet.
#[derive(Debug, Clone, PartialEq)]
pub struct Squares(Vec<Locator>);

/// Locators that can't be one place's.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SquaresError {
    /// One of them is no locator.
    #[error(transparent)]
    Locator(#[from] LocatorError),
    /// Their number.
    #[error("{0} locators can't meet: give one, two that touch, or four around a corner")]
    Count(usize),
    /// Two that are the same, or not beside each other.
    #[error("{0} and {1} do not touch as squares of one size do: a station on their border is in both")]
    Apart(String, String),
}

impl Squares {
    /// The locators.
    pub fn locators(&self) -> &[Locator] {
        &self.0
    }

    /// The middle of the square, or the point where several meet; at sea level.
    pub fn middle(&self) -> Geodetic {
        let first = &self.0[0];
        let count = self.0.len() as f64;
        let east = |square: &Locator| wrapped(square.longitude_deg() - first.longitude_deg());
        let latitude_deg = self.0.iter().map(Locator::latitude_deg).sum::<f64>() / count;
        let longitude_deg = first.longitude_deg() + self.0.iter().map(east).sum::<f64>() / count;
        Geodetic { latitude_deg, longitude_deg: wrapped(longitude_deg), altitude_km: 0.0 }
    }

    /// How far the station can be from the middle, km.
    pub fn uncertainty_km(&self) -> f64 {
        if self.0.len() == 1 { self.0[0].uncertainty_km() } else { 0.0 }
    }

    /// The squares of four characters in which it lies, each once: what awards count.
    pub fn fields(&self) -> Vec<String> {
        let mut fields: Vec<String> = Vec::new();
        for locator in &self.0 {
            let field: String = locator.to_string().chars().take(4).collect();
            if !fields.contains(&field) {
                fields.push(field);
            }
        }
        fields
    }
}

/// Degrees of longitude from -180 to 180.
fn wrapped(degrees: f64) -> f64 {
    (degrees + 180.0).rem_euclid(360.0) - 180.0
}

/// Whether two squares of one size share an edge or a corner.
fn touch(one: &Locator, other: &Locator) -> bool {
    let (height, width) = one.size_deg();
    let north = (one.latitude_deg() - other.latitude_deg()).abs() / height;
    let east = wrapped(one.longitude_deg() - other.longitude_deg()).abs() / width;
    one.size_deg() == other.size_deg() && north < 1.5 && east < 1.5 && north.max(east) > 0.5
}

/// Four around a corner each touch each other; of two, a corner alone makes no border.
impl FromStr for Squares {
    type Err = SquaresError;
    fn from_str(text: &str) -> Result<Self, SquaresError> {
        let all = text.split(',').map(str::parse).collect::<Result<Vec<Locator>, LocatorError>>()?;
        if !matches!(all.len(), 1 | 2 | 4) {
            return Err(SquaresError::Count(all.len()));
        }
        for (at, one) in all.iter().enumerate() {
            if let Some(other) = all[..at].iter().find(|other| !touch(one, other)) {
                return Err(SquaresError::Apart(other.to_string(), one.to_string()));
            }
        }
        Ok(Self(all))
    }
}

impl fmt::Display for Squares {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let texts: Vec<String> = self.0.iter().map(ToString::to_string).collect();
        f.pad(&texts.join(","))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn squares(text: &str) -> Squares {
        text.parse().unwrap()
    }

    // Corners by the handbook's definition: JJ00 begins at 0 degrees east and north, II99 ends there.
    #[test]
    fn the_middle_of_several_is_where_they_meet() {
        let middle = |text| {
            let Geodetic { latitude_deg, longitude_deg, .. } = squares(text).middle();
            ((latitude_deg * 1e6).round() / 1e6, (longitude_deg * 1e6).round() / 1e6)
        };
        assert_eq!(middle("JJ00,IJ90,JI09,II99"), (0.0, 0.0));
        assert_eq!(middle("JJ00,JJ10"), (0.5, 2.0));
        assert_eq!(middle("io84"), (54.5, -3.0));
        assert_eq!(middle("RJ90,AJ00"), (0.5, -180.0), "over the date line");
    }

    #[test]
    fn what_can_not_meet_is_refused() {
        for (text, why) in [
            ("IO84,IO84", "do not touch"),
            ("IO84,IO86", "do not touch"),
            ("IO84,IO85SA", "do not touch"),
            ("IO84,IO85,IO94", "3 locators can't meet"),
            ("IO84,", "is no locator"),
            ("", "is no locator"),
        ] {
            let error = text.parse::<Squares>().unwrap_err().to_string();
            assert!(error.contains(why), "{text}: {error}");
        }
    }

    #[test]
    fn each_square_of_four_characters_is_named_once() {
        assert_eq!(squares("IO84SA,IO84TA").fields(), ["IO84"]);
        assert_eq!(squares("IO84XA,IO94AA").fields(), ["IO84", "IO94"]);
    }
}
