//! What stands in one block.

use chrono::DateTime;

use super::super::{Reading, Spell};
use super::nibbles::{Reader, Writer};
use super::{MOST, column, sights};
use crate::terms::{Hertz, Time, Validity};

/// Other satellites that are kept.
const OTHERS: usize = 32;

/// A reading's moment in units of 10 ms.
fn moment(time: Time) -> i64 {
    (time.timestamp_millis() + 5).div_euclid(10)
}

fn time(moment: i64) -> Option<Time> {
    DateTime::from_timestamp_millis(moment.checked_mul(10)?)
}

/// The spell with these readings only, of which there is one at least.
pub(super) fn write(spell: &Spell, readings: &[Reading]) -> Vec<u8> {
    let mut writer = Writer::default();
    write_head(&mut writer, spell);
    writer.count(readings.len() as u64);
    write_moments(&mut writer, readings);
    let of = |number: fn(&Reading) -> i64| readings.iter().map(number);
    column::write(&mut writer, of(|reading| f64::from(reading.shift_hz).round().clamp(-1e9, 1e9) as i64));
    column::write(&mut writer, of(|reading| reading.is_open.map_or(0, |is_open| 1 + i64::from(is_open))));
    column::write(&mut writer, of(|reading| i64::from(reading.meter.is_some())));
    column::write(&mut writer, readings.iter().filter_map(|reading| reading.meter).map(i64::from));
    sights::write(&mut writer, readings);
    writer.into_bytes()
}

fn write_head(writer: &mut Writer, spell: &Spell) {
    writer.text(&spell.satellite);
    writer.text(&spell.link);
    writer.text(&spell.antenna);
    writer.number(spell.downlink.0);
    writer.count(u64::from(spell.pass.is_some()));
    if let Some(pass) = spell.pass {
        write_validity(writer, pass);
    }
    writer.count(spell.others.len().min(OTHERS) as u64);
    for (name, above) in spell.others.iter().take(OTHERS) {
        writer.text(name);
        write_validity(writer, *above);
    }
}

fn write_validity(writer: &mut Writer, validity: Validity) {
    writer.number(validity.from.timestamp_millis());
    writer.number(validity.until.timestamp_millis());
}

/// The first moment, the usual step, and what each step differs from it.
fn write_moments(writer: &mut Writer, readings: &[Reading]) {
    let moments: Vec<i64> = readings.iter().map(|reading| moment(reading.at)).collect();
    let mut steps: Vec<i64> = moments.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let mut sorted = steps.clone();
    sorted.sort_unstable();
    let usual = sorted.get(sorted.len() / 2).copied().unwrap_or_default();
    writer.number(moments.first().copied().unwrap_or_default());
    writer.number(usual);
    for step in &mut steps {
        writer.number(*step - usual);
    }
}

fn read_moments(reader: &mut Reader<'_>, length: usize) -> Option<Vec<Time>> {
    let mut moment = reader.number()?;
    let usual = reader.number()?;
    let mut times = vec![time(moment)?];
    while times.len() < length {
        moment = moment.checked_add(usual.checked_add(reader.number()?)?)?;
        times.push(time(moment)?);
    }
    Some(times)
}

/// A block's spell; `None` for what makes none.
pub(super) fn read(body: &[u8]) -> Option<Spell> {
    let mut reader = Reader::new(body);
    let mut spell = read_head(&mut reader)?;
    spell.readings = read_readings(&mut reader)?;
    Some(spell)
}

fn read_head(reader: &mut Reader<'_>) -> Option<Spell> {
    Some(Spell {
        satellite: reader.text()?,
        link: reader.text()?,
        antenna: reader.text()?,
        downlink: Hertz(reader.number()?),
        pass: match reader.count_up_to(1)? {
            0 => None,
            _ => Some(read_validity(reader)?),
        },
        others: (0..reader.count_up_to(OTHERS)?)
            .map(|_| Some((reader.text()?, read_validity(reader)?)))
            .collect::<Option<_>>()?,
        readings: Vec::new(),
    })
}

fn read_validity(reader: &mut Reader<'_>) -> Option<Validity> {
    let from = DateTime::from_timestamp_millis(reader.number()?)?;
    let until = DateTime::from_timestamp_millis(reader.number()?)?;
    Some(Validity { from, until })
}

fn read_readings(reader: &mut Reader<'_>) -> Option<Vec<Reading>> {
    let length = reader.count_up_to(MOST).filter(|length| *length > 0)?;
    let moments = read_moments(reader, length)?;
    let shifts = column::read(reader, length)?;
    let squelch = column::read(reader, length)?;
    let has_meter = column::read(reader, length)?;
    let metered = has_meter.iter().filter(|has| **has != 0).count();
    let mut meters = column::read(reader, metered)?.into_iter();
    let sights = sights::read(reader, length)?;
    let reading = |at: usize| {
        Some(Reading {
            at: *moments.get(at)?,
            shift_hz: *shifts.get(at)? as f32,
            meter: match has_meter.get(at)? {
                0 => None,
                _ => Some(u16::try_from(meters.next()?).ok()?),
            },
            is_open: match squelch.get(at)? {
                0 => None,
                1 => Some(false),
                2 => Some(true),
                _ => return None,
            },
            sight: *sights.get(at)?,
        })
    };
    (0..length).map(reading).collect()
}
