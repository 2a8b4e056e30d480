//! One set's two lines. The `sgp4` crate reads the fields; it believes "nan", shifts a fraction
//! whose leading zeros are blank, and panics without a digit in column 69, so that the lines are
//! checked and filled before it sees them.

use std::ops::Range;

use super::lines::Line;
use super::{ElementSet, Fault};

const COLUMNS: usize = 69;

/// The catalog number's columns, on both lines; here and below counted from 0.
const NUMBER: Range<usize> = 2..7;

/// Where only numbers are written: on line 1 all after the international designator.
const NUMERIC: [Range<usize>; 2] = [18..68, 8..68];

/// Fields in which a blank stands for a zero: fractions without a written point, whole numbers
/// that some programs leave out. A zero adds nothing to the checksum.
const ZERO_FILLED: [&[Range<usize>]; 2] = [&[45..50, 54..59, 62..63, 64..68], &[26..33, 63..68]];

/// The set, or the number of the line at fault and what is wrong.
pub(super) fn read(name: Option<&str>, first: Line, second: Line) -> Result<ElementSet, (usize, Fault)> {
    check(first.text, 0).map_err(|fault| (first.number, fault))?;
    check(second.text, 1).map_err(|fault| (second.number, fault))?;
    let (written, other) = (first.text[NUMBER].trim(), second.text[NUMBER].trim());
    if written.trim_start_matches('0') != other.trim_start_matches('0') {
        let fault = Fault::TwoSatellites { first: written.to_owned(), second: other.to_owned() };
        return Err((second.number, fault));
    }
    let lines = [zero_filled(first.text, 0), zero_filled(second.text, 1)];
    let elements =
        sgp4::Elements::from_tle(None, lines[0].as_bytes(), lines[1].as_bytes()).map_err(|error| {
            let number = if error.to_string().contains("line 2") { second.number } else { first.number };
            (number, Fault::Field(error))
        })?;
    from_crate(name, &elements).map_err(|fault| (first.number, fault))
}

fn check(text: &str, which: usize) -> Result<(), Fault> {
    if !text.is_ascii() {
        return Err(Fault::NotAscii);
    }
    let columns = text.as_bytes();
    if columns.len() != COLUMNS {
        return Err(Fault::Columns(columns.len()));
    }
    let numeric = |byte: u8| byte.is_ascii_digit() || b" .+-".contains(&byte);
    let stray = NUMERIC[which].clone().find(|&column| !numeric(columns[column]));
    let stray = stray.or_else(|| NUMBER.into_iter().find(|&column| columns[column] == b'+'));
    if let Some(column) = stray {
        return Err(Fault::NotNumeric { column: column + 1, found: char::from(columns[column]) });
    }
    let (sum, written) = (checksum(&columns[..68]), char::from(columns[68]));
    if written.to_digit(10) == Some(sum) { Ok(()) } else { Err(Fault::Checksum { written, sum }) }
}

/// Digits by their value, a minus as one, all else as nothing, modulo ten.
fn checksum(columns: &[u8]) -> u32 {
    let value = |&byte: &u8| char::from(byte).to_digit(10).unwrap_or(u32::from(byte == b'-'));
    columns.iter().map(value).sum::<u32>() % 10
}

fn zero_filled(text: &str, which: usize) -> String {
    let in_field = |column: usize| ZERO_FILLED[which].iter().any(|field| field.contains(&column));
    let fill = |(column, c): (usize, char)| if c == ' ' && in_field(column) { '0' } else { c };
    text.chars().enumerate().map(fill).collect()
}

fn from_crate(name: Option<&str>, elements: &sgp4::Elements) -> Result<ElementSet, Fault> {
    let catalog_number =
        u32::try_from(elements.norad_id).map_err(|_| Fault::CatalogNumber(elements.norad_id.to_string()))?;
    ElementSet {
        name: name.map_or_else(|| catalog_number.to_string(), str::to_owned),
        catalog_number,
        epoch: elements.datetime.and_utc(),
        inclination_deg: elements.inclination,
        right_ascension_deg: elements.right_ascension,
        eccentricity: elements.eccentricity,
        argument_of_perigee_deg: elements.argument_of_perigee,
        mean_anomaly_deg: elements.mean_anomaly,
        mean_motion_rev_day: elements.mean_motion,
        drag_term: elements.drag_term,
    }
    .checked()
}
