//! One set's two lines. The `sgp4` crate reads the fields; it believes "nan", shifts a fraction
//! whose leading zeros are blank, and panics without a digit in column 69, so that the lines are
//! checked and filled before it sees them.

use std::ops::Range;

use super::lines::Line;
use super::{ElementSet, Fault};

const COLUMNS: usize = 69;

/// The catalog number's columns, on both lines; here and below counted from 0.
const NUMBER: Range<usize> = 2..7;

/// How one of the two lines is written.
struct Form {
    /// Where only numbers are written.
    numeric: Range<usize>,
    /// Fields in which a blank stands for a zero: fractions without a written point, and whole
    /// numbers that some programs leave out. A zero adds nothing to the checksum.
    zero_filled: &'static [Range<usize>],
}

/// Numeric after the international designator.
const FIRST: Form = Form { numeric: 18..68, zero_filled: &[45..50, 54..59, 62..63, 64..68] };
const SECOND: Form = Form { numeric: 8..68, zero_filled: &[26..33, 63..68] };

/// The set, or the number of the line at fault and what is wrong.
pub(super) fn read(name: Option<&str>, first: Line, second: Line) -> Result<ElementSet, (usize, Fault)> {
    let on_first = |fault| (first.number, fault);
    let on_second = |fault| (second.number, fault);
    check(first.text, &FIRST).map_err(on_first)?;
    check(second.text, &SECOND).map_err(on_second)?;
    check_same_satellite(first.text[NUMBER].trim(), second.text[NUMBER].trim()).map_err(on_second)?;
    let set = parse(name, first.text, second.text).map_err(|fault| match &fault {
        Fault::Field(error) if error.to_string().contains("line 2") => on_second(fault),
        _ => on_first(fault),
    })?;
    set.check_epoch_and_drag().map_err(on_first)?;
    set.check_orbit().map_err(on_second)?;
    Ok(set)
}

fn check(text: &str, form: &Form) -> Result<(), Fault> {
    if !text.is_ascii() {
        return Err(Fault::NotAscii);
    }
    let columns = text.as_bytes();
    if columns.len() != COLUMNS {
        return Err(Fault::Columns(columns.len()));
    }
    let numeric = |byte: u8| byte.is_ascii_digit() || b" .+-".contains(&byte);
    if let Some(column) = form.numeric.clone().find(|&column| !numeric(columns[column])) {
        return Err(Fault::NotNumeric { column: column + 1, found: char::from(columns[column]) });
    }
    let (sum, written) = (checksum(&columns[..68]), char::from(columns[68]));
    if written.to_digit(10) == Some(sum) { Ok(()) } else { Err(Fault::Checksum { written, sum }) }
}

/// Leading zeros and blanks make no difference.
fn check_same_satellite(first: &str, second: &str) -> Result<(), Fault> {
    if first.trim_start_matches('0') == second.trim_start_matches('0') {
        return Ok(());
    }
    Err(Fault::TwoSatellites { first: first.to_owned(), second: second.to_owned() })
}

/// Digits by their value, a minus as one, all else as nothing, modulo ten.
fn checksum(columns: &[u8]) -> u32 {
    let value = |&byte: &u8| char::from(byte).to_digit(10).unwrap_or(u32::from(byte == b'-'));
    columns.iter().map(value).sum::<u32>() % 10
}

fn zero_filled(text: &str, form: &Form) -> String {
    let in_field = |column: usize| form.zero_filled.iter().any(|field| field.contains(&column));
    let fill = |(column, c): (usize, char)| if c == ' ' && in_field(column) { '0' } else { c };
    text.chars().enumerate().map(fill).collect()
}

fn parse(name: Option<&str>, first: &str, second: &str) -> Result<ElementSet, Fault> {
    let (first, second) = (zero_filled(first, &FIRST), zero_filled(second, &SECOND));
    let elements =
        sgp4::Elements::from_tle(None, first.as_bytes(), second.as_bytes()).map_err(Fault::Field)?;
    if elements.ephemeris_type == 4 {
        return Err(Fault::ExtendedTheory);
    }
    let catalog_number =
        u32::try_from(elements.norad_id).map_err(|_| Fault::CatalogNumber(elements.norad_id.to_string()))?;
    Ok(ElementSet {
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
    })
}
