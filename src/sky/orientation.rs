//! The Earth's orientation as the IERS publishes it: the file `finals2000A`, of fixed columns
//! (IERS Rapid Service, readme.finals2000A; the values of Bulletin A).

use std::ops::Range;

use chrono::DateTime;
use serde::{Deserialize, Serialize};

use super::EarthAngles;
use crate::terms::{Time, later, seconds_between};

/// The modified Julian date of 1970-01-01.
const UNIX_MJD: i64 = 40_587;

/// Columns, counted from 0.
const MJD: Range<usize> = 7..15;
const POLE_X: Range<usize> = 18..27;
const POLE_Y: Range<usize> = 37..46;
const UT1_MINUS_UTC: Range<usize> = 58..68;

/// UT1 - UTC and the pole, day by day: measured, and predicted for the year to come.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EarthOrientation {
    days: Vec<(i64, EarthAngles)>,
}

/// A file without a single day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("it has no line of the form finals2000A; the IERS publishes such a file every week")]
pub struct NoOrientation;

impl EarthOrientation {
    /// Reads the file's text. Days without values (the file goes on beyond its predictions) and
    /// other lines are left out.
    ///
    /// # Errors
    /// No day is left.
    pub fn parse(text: &str) -> Result<Self, NoOrientation> {
        let mut days: Vec<(i64, EarthAngles)> = text.lines().filter_map(day).collect();
        days.sort_by_key(|(mjd, _)| *mjd);
        days.dedup_by_key(|(mjd, _)| *mjd);
        if days.is_empty() { Err(NoOrientation) } else { Ok(Self { days }) }
    }

    /// The angles at `time`, between the midnights before and after it in proportion; `None` where
    /// the file has not both.
    pub fn at(&self, time: Time) -> Option<EarthAngles> {
        let seconds = seconds_between(DateTime::UNIX_EPOCH, time);
        let mjd = UNIX_MJD + (seconds / 86_400.0).floor() as i64;
        let part = seconds.rem_euclid(86_400.0) / 86_400.0;
        let index = self.days.binary_search_by_key(&mjd, |(day, _)| *day).ok()?;
        let before = self.days[index].1;
        if part == 0.0 {
            return Some(before);
        }
        let (_, after) = self.days.get(index + 1).filter(|(day, _)| *day == mjd + 1)?;
        let between = |a: f64, b: f64| a + part * (b - a);
        // A leap second at the midnight after is a jump of UTC, not of the Earth.
        let change = after.ut1_minus_utc_s - before.ut1_minus_utc_s;
        Some(EarthAngles {
            ut1_minus_utc_s: before.ut1_minus_utc_s + part * (change - change.round()),
            polar_x_arcsec: between(before.polar_x_arcsec, after.polar_x_arcsec),
            polar_y_arcsec: between(before.polar_y_arcsec, after.polar_y_arcsec),
        })
    }

    /// The days from before `from` until after `until` alone.
    pub fn between(&self, from: Time, until: Time) -> Self {
        let mjd = |time: Time| UNIX_MJD + time.timestamp().div_euclid(86_400);
        let days = mjd(from) - 1..=mjd(until) + 2;
        Self { days: self.days.iter().filter(|(day, _)| days.contains(day)).copied().collect() }
    }

    /// The first and the last instant that the file has values for.
    pub fn span(&self) -> (Time, Time) {
        let midnight = |mjd: i64| later(DateTime::UNIX_EPOCH, (mjd - UNIX_MJD) as f64 * 86_400.0);
        let ends = self.days.first().zip(self.days.last());
        ends.map_or((Time::MIN_UTC, Time::MIN_UTC), |((first, _), (last, _))| {
            (midnight(*first), midnight(*last))
        })
    }
}

/// One line's day. The bounds are far outside what the Earth does, and keep nonsense out.
fn day(line: &str) -> Option<(i64, EarthAngles)> {
    let within = |columns: Range<usize>, most: f64| {
        let value: f64 = line.get(columns)?.trim().parse().ok()?;
        (value.abs() <= most).then_some(value)
    };
    let mjd = within(MJD, 1e6)?;
    let angles = EarthAngles {
        ut1_minus_utc_s: within(UT1_MINUS_UTC, 1.0)?,
        polar_x_arcsec: within(POLE_X, 2.0)?,
        polar_y_arcsec: within(POLE_Y, 2.0)?,
    };
    (mjd.fract() == 0.0).then_some((mjd as i64, angles))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::parse_time;

    /// Four days around the leap second at the end of 2016 (IERS, finals2000A.all).
    const AROUND_A_LEAP_SECOND: &str = "\
161230 57752.00 I  0.082883 0.000052  0.263539 0.000038  I-0.4069180 0.0000079  0.8286 0.0056  I
161231 57753.00 I  0.081400 0.000052  0.263094 0.000039  I-0.4077601 0.0000078  0.8842 0.0055  I
17 1 1 57754.00 I  0.080504 0.000028  0.263145 0.000028  I 0.5912821 0.0000077  1.0342 0.0050  I
17 1 2 57755.00 I  0.080285 0.000029  0.263605 0.000032  I 0.5901752 0.0000063  1.1730 0.0048  I
17 1 3 57756.00
";

    fn at(text: &str) -> Option<EarthAngles> {
        EarthOrientation::parse(AROUND_A_LEAP_SECOND).unwrap().at(parse_time(text).unwrap())
    }

    #[test]
    fn a_midnight_has_the_values_of_its_line() {
        let angles = at("2016-12-31T00:00:00Z").unwrap();
        let line =
            EarthAngles { ut1_minus_utc_s: -0.407_760_1, polar_x_arcsec: 0.0814, polar_y_arcsec: 0.263_094 };
        assert_eq!(angles, line);
    }

    #[test]
    fn nothing_is_interpolated_across_a_leap_second() {
        // By hand: half way from -0.4077601 to 0.5912821 - 1 = -0.4087179, and between 0.0814 and
        // 0.080504. One second before midnight it is still there, and at midnight a second more.
        let noon = at("2016-12-31T12:00:00Z").unwrap();
        assert!((noon.ut1_minus_utc_s - -0.408_239).abs() < 1e-9, "{noon:?}");
        assert!((noon.polar_x_arcsec - 0.080_952).abs() < 1e-9, "{noon:?}");
        let last = at("2016-12-31T23:59:59Z").unwrap();
        assert!((last.ut1_minus_utc_s - -0.408_717_9).abs() < 1e-6, "{last:?}");
        assert!((at("2017-01-01T00:00:00Z").unwrap().ut1_minus_utc_s - 0.591_282_1).abs() < 1e-9);
        assert!((at("2017-01-01T12:00:00Z").unwrap().ut1_minus_utc_s - 0.590_728_65).abs() < 1e-9);
    }

    #[test]
    fn outside_the_files_days_there_is_nothing() {
        assert_eq!(at("2016-12-29T23:59:59Z"), None);
        assert_eq!(at("2017-01-02T00:00:01Z"), None);
        assert!(at("2017-01-02T00:00:00Z").is_some());
        let (first, last) = EarthOrientation::parse(AROUND_A_LEAP_SECOND).unwrap().span();
        assert_eq!(first, parse_time("2016-12-30T00:00:00Z").unwrap());
        assert_eq!(last, parse_time("2017-01-02T00:00:00Z").unwrap());
    }

    #[test]
    fn nonsense_is_no_orientation() {
        for text in [
            "",
            "hello\n",
            "161231 57753.00 I  nan      0.000052  0.263094 0.000039  I-0.4077601 ",
            "é".repeat(80).as_str(),
        ] {
            assert_eq!(EarthOrientation::parse(text), Err(NoOrientation), "{text}");
        }
    }
}
