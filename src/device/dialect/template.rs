//! One frame's template: literal text or hex bytes with fields in braces. Written to encode,
//! matched to decode.
//!
//! Text: `FA{hz:dec11};`, where `~` stands for any blanks in an answer. Bytes: hex pairs as in
//! `{hz/10:bcd4} 01`. A field is `{sum:form}`; `_` as the sum reads and forgets. Several readings
//! of one byte are `{squelch_open:!bit7, signal:bits0-3}`, where `!` means active low.

use super::super::values::{Kind, Value, Values};
use super::EncodeError;
use super::arithmetic::Sum;
use super::codec::Codec;
use super::table::Table;

pub(super) mod specimen;

/// How a family's templates are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Style {
    /// Literal characters.
    Text,
    /// Pairs of hex digits.
    Hex,
}

/// The code tables that templates refer to.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Tables {
    pub(super) mode: Option<Table>,
    pub(super) tone: Option<Table>,
}

impl Tables {
    /// The codes of this kind of value.
    pub(super) fn of(&self, kind: Kind) -> Option<&Table> {
        match kind {
            Kind::Mode => self.mode.as_ref(),
            Kind::Tone => self.tone.as_ref(),
            Kind::Hertz | Kind::Number | Kind::Flag => None,
        }
    }
}

/// A parsed template. Its `Display` form is the text that it was read from.
#[derive(Debug, Clone, PartialEq)]
pub struct Template {
    text: String,
    pieces: Vec<Piece>,
}

#[derive(Debug, Clone, PartialEq)]
enum Piece {
    Literal(Vec<u8>),
    Blanks,
    Skipped(Codec),
    Number(Sum, Codec),
    Code(Sum, Table),
    Bits(Vec<BitField>),
}

/// Some neighbouring bits of one byte.
#[derive(Debug, Clone, PartialEq)]
struct BitField {
    field: &'static str,
    kind: Kind,
    lowest: u32,
    mask: u8,
    active_low: bool,
}

impl std::fmt::Display for Template {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(&self.text)
    }
}

impl Template {
    pub(super) fn parse(text: &str, style: Style, tables: &Tables) -> Result<Self, String> {
        let mut pieces = Vec::new();
        let mut rest = text;
        while !rest.is_empty() {
            if let Some(inner) = rest.strip_prefix('{') {
                let (field, after) = inner.split_once('}').ok_or("a { without its }")?;
                pieces.push(field_piece(field.trim(), tables)?);
                rest = after;
                continue;
            }
            let (literal, after) = rest.split_at(rest.find('{').unwrap_or(rest.len()));
            match style {
                Style::Text => text_pieces(literal, &mut pieces)?,
                Style::Hex => pieces.extend(hex_piece(literal)?),
            }
            rest = after;
        }
        if pieces.is_empty() {
            return Err("there is nothing in it".to_owned());
        }
        Ok(Self { text: text.to_owned(), pieces })
    }

    /// Whether it can be written, not only read.
    pub(super) fn is_writable(&self) -> bool {
        self.pieces.iter().all(|piece| match piece {
            Piece::Literal(_) | Piece::Code(..) => true,
            Piece::Number(_, codec) => !matches!(codec, Codec::Number | Codec::Any(_)),
            Piece::Blanks | Piece::Skipped(_) | Piece::Bits(_) => false,
        })
    }

    /// Whether both write the same bytes, however they are spelt.
    pub(super) fn is_the_same_as(&self, other: &Template) -> bool {
        self.pieces == other.pieces
    }

    /// Its bytes, if there is no field in it.
    pub(super) fn literal(&self) -> Option<Vec<u8>> {
        let literal =
            |piece: &Piece| if let Piece::Literal(bytes) = piece { Some(bytes.clone()) } else { None };
        Some(self.pieces.iter().map(literal).collect::<Option<Vec<_>>>()?.concat())
    }

    /// How many bytes it takes, if that is fixed.
    pub(crate) fn length(&self) -> Option<usize> {
        self.pieces.iter().try_fold(0, |sum, piece| {
            let length = match piece {
                Piece::Literal(bytes) => Some(bytes.len()),
                Piece::Blanks => None,
                Piece::Skipped(codec) | Piece::Number(_, codec) => codec.length(),
                Piece::Code(_, table) => table.length(),
                Piece::Bits(_) => Some(1),
            };
            length.map(|length| sum + length)
        })
    }

    /// Every field that it names.
    pub(super) fn fields(&self) -> Vec<&'static str> {
        let of_piece = |piece: &Piece| match piece {
            Piece::Number(sum, _) | Piece::Code(sum, _) => sum.fields().collect(),
            Piece::Bits(bits) => bits.iter().map(|bit| bit.field).collect(),
            _ => Vec::new(),
        };
        self.pieces.iter().flat_map(of_piece).collect()
    }

    /// Whether a frequency goes into it.
    pub(super) fn takes_frequency(&self) -> bool {
        self.fields().into_iter().any(|field| matches!(Kind::of(field), Some((_, Kind::Hertz))))
    }

    /// Whether it takes one value, and changes nothing about it but its unit.
    pub(super) fn takes_one_value_as_it_is(&self) -> bool {
        let scales = |piece: &Piece| match piece {
            Piece::Number(sum, _) => sum.only_scales(),
            _ => true,
        };
        self.fields().len() == 1 && self.pieces.iter().all(scales)
    }

    /// Appends the bytes. `look_up` finds a field's value.
    pub(super) fn encode(
        &self,
        look_up: &dyn Fn(&str) -> Option<Value>,
        out: &mut Vec<u8>,
    ) -> Result<(), EncodeError> {
        self.pieces.iter().try_for_each(|piece| self.encode_piece(piece, look_up, out))
    }

    fn encode_piece(
        &self,
        piece: &Piece,
        look_up: &dyn Fn(&str) -> Option<Value>,
        out: &mut Vec<u8>,
    ) -> Result<(), EncodeError> {
        let number_of = |name: &str| look_up(name).and_then(Value::number);
        let template = || self.text.clone();
        let missing = |field| EncodeError::Missing { field, template: template() };
        match piece {
            Piece::Literal(bytes) => out.extend_from_slice(bytes),
            Piece::Number(sum, codec) => {
                let value = number_of(sum.field).ok_or(sum.field).map_err(missing)?;
                let wire = sum.apply(value, &number_of).map_err(missing)?;
                if !codec.encode(wire, out) {
                    return Err(EncodeError::DoesNotFit { field: sum.field, value, template: template() });
                }
            }
            Piece::Code(sum, table) => {
                let value = look_up(sum.field).ok_or(sum.field).map_err(missing)?;
                out.extend_from_slice(table.code(value).ok_or(EncodeError::NoCode { value })?);
            }
            Piece::Blanks | Piece::Skipped(_) | Piece::Bits(_) => {
                return Err(EncodeError::OnlyRead { template: template() });
            }
        }
        Ok(())
    }

    /// Whether `bytes` may be the first part of it, as far as its leading literal tells.
    pub(crate) fn may_begin_with(&self, bytes: &[u8]) -> bool {
        match self.pieces.first() {
            Some(Piece::Literal(literal)) => literal.starts_with(bytes) || bytes.starts_with(literal),
            _ => true,
        }
    }

    /// Every field's value, if `bytes` fit the template from the first to the last.
    pub(crate) fn decode(&self, bytes: &[u8]) -> Option<Values> {
        let mut values = Values::new();
        let mut sums = Vec::new();
        let mut rest = bytes;
        for piece in &self.pieces {
            let taken = match piece {
                Piece::Literal(literal) => rest.starts_with(literal).then_some(literal.len())?,
                Piece::Blanks => rest.iter().take_while(|byte| is_blank(**byte)).count(),
                Piece::Skipped(codec) => codec.decode(rest)?.1,
                Piece::Number(sum, codec) => {
                    let (wire, taken) = codec.decode(rest)?;
                    sums.push((sum, wire));
                    taken
                }
                Piece::Code(sum, table) => {
                    let (value, taken) = table.read(rest)?;
                    values = values.with(sum.field, value);
                    taken
                }
                Piece::Bits(bits) => {
                    let byte = *rest.first()?;
                    values = bits.iter().try_fold(values, |values, bit| bit.read(byte, values))?;
                    1
                }
            };
            rest = rest.get(taken..)?;
        }
        if !rest.is_empty() {
            return None;
        }
        // A factor may stand behind the number that it multiplies: plain fields first.
        sums.sort_by_key(|(sum, _)| sum.needs_fields());
        sums.into_iter().try_fold(values, |values, (sum, wire)| {
            let value = sum.kind.value(sum.undo(wire, &values)?)?;
            Some(values.with(sum.field, value))
        })
    }
}

impl BitField {
    fn read(&self, byte: u8, values: Values) -> Option<Values> {
        let byte = if self.active_low { !byte } else { byte };
        let value = self.kind.value(f64::from((byte >> self.lowest) & self.mask))?;
        Some(values.with(self.field, value))
    }

    fn parse(text: &str) -> Result<Self, String> {
        let (name, form) = text.split_once(':').ok_or_else(|| format!("\"{text}\" is not field:form"))?;
        let (field, kind) = Kind::of(name.trim()).ok_or_else(|| format!("\"{name}\" is no field"))?;
        let form = form.trim();
        let active_low = form.starts_with('!');
        let form = form.trim_start_matches('!');
        let span = match (form.strip_prefix("bits"), form.strip_prefix("bit")) {
            (Some(span), _) => span.split_once('-'),
            (None, Some(bit)) => Some((bit, bit)),
            (None, None) => None,
        };
        let span = span.and_then(|(low, high)| Some((low.parse().ok()?, high.parse().ok()?)));
        let (lowest, highest): (u32, u32) = span
            .filter(|(low, high)| low <= high && *high < 8)
            .ok_or_else(|| format!("\"{form}\" is no bit or bits of a byte; write bit7 or bits0-3"))?;
        let mask = (0xFF_u16 >> (7 - (highest - lowest))) as u8;
        Ok(Self { field, kind, lowest, mask, active_low })
    }
}

/// What separates words in an answer.
fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | b'\r' | b'\n' | 0)
}

/// The bytes of what may stand in a frame that is text.
pub(super) fn printable(text: &str) -> Result<&[u8], String> {
    match text.chars().find(|c| !matches!(c, ' '..='~')) {
        Some(wrong) => Err(format!("{wrong:?} has no place in a frame")),
        None => Ok(text.as_bytes()),
    }
}

fn text_pieces(literal: &str, pieces: &mut Vec<Piece>) -> Result<(), String> {
    printable(literal)?;
    for (i, part) in literal.split('~').enumerate() {
        if i > 0 {
            pieces.push(Piece::Blanks);
        }
        if !part.is_empty() {
            pieces.push(Piece::Literal(part.as_bytes().to_vec()));
        }
    }
    Ok(())
}

fn hex_piece(literal: &str) -> Result<Option<Piece>, String> {
    let bytes = hex(literal)?;
    Ok((!bytes.is_empty()).then_some(Piece::Literal(bytes)))
}

/// Reads pairs of hex digits with blanks between them.
pub(super) fn hex(text: &str) -> Result<Vec<u8>, String> {
    let byte = |pair: &str| {
        let is_pair = pair.len() == 2 && pair.bytes().all(|byte| byte.is_ascii_hexdigit());
        let value = is_pair.then(|| u8::from_str_radix(pair, 16).ok()).flatten();
        value.ok_or_else(|| format!("\"{pair}\" is no pair of hex digits"))
    };
    text.split_whitespace().map(byte).collect()
}

fn field_piece(text: &str, tables: &Tables) -> Result<Piece, String> {
    if text.contains("bit") {
        let bits = text.split(',').map(|part| BitField::parse(part.trim()));
        return Ok(Piece::Bits(bits.collect::<Result<_, _>>()?));
    }
    let (sum, form) = text.split_once(':').ok_or_else(|| format!("{{{text}}} is not {{field:form}}"))?;
    let (sum, form) = (sum.trim(), form.trim());
    if sum == "_" {
        return Codec::parse(form).map(Piece::Skipped);
    }
    let sum = Sum::parse(sum)?;
    if form == "table" {
        let (table, name) = match sum.kind {
            Kind::Mode => (&tables.mode, "mode"),
            Kind::Tone => (&tables.tone, "tone"),
            _ => return Err(format!("{} is written as a number, not from a table", sum.field)),
        };
        let table =
            table.clone().ok_or_else(|| format!("there is no table.{name} to take the codes from"))?;
        return if sum.is_plain() {
            Ok(Piece::Code(sum, table))
        } else {
            Err("a table's entry takes no sum".into())
        };
    }
    if sum.kind == Kind::Mode {
        return Err(format!("{} needs a table", sum.field));
    }
    Ok(Piece::Number(sum, Codec::parse(form)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::Hertz;

    fn text(template: &str) -> Template {
        Template::parse(template, Style::Text, &Tables::default()).unwrap()
    }

    fn bytes(template: &str) -> Template {
        Template::parse(template, Style::Hex, &Tables::default()).unwrap()
    }

    #[test]
    fn blanks_may_be_any_or_none() {
        let template = text("AZ={az:num}~EL={el:num}");
        for answer in ["AZ=180  EL=045", "AZ=180EL=045", "AZ=180\r\nEL=045"] {
            assert_eq!(
                template.decode(answer.as_bytes()),
                Some(Values::of_direction(180.0, 45.0)),
                "{answer}"
            );
        }
        assert_eq!(template.decode(b"AZ=180  EL=045x"), None);
        assert!(!template.is_writable());
    }

    #[test]
    fn one_byte_may_hold_several_readings() {
        let template = bytes("{squelch_open:!bit7, signal:bits0-3}");
        let values = template.decode(&[0x85]).unwrap();
        assert_eq!((values.flag("squelch_open"), values.number("signal")), (Some(false), Some(5.0)));
        let values = template.decode(&[0x3F]).unwrap();
        assert_eq!((values.flag("squelch_open"), values.number("signal")), (Some(true), Some(15.0)));
    }

    #[test]
    fn a_factor_may_stand_behind_what_it_multiplies() {
        let template = bytes("57 {az+360*ph:dec4} {ph:raw1}");
        let values = Values::new().with("ph", Value::Number(2.0)).with("az", Value::Number(180.5));
        let mut out = Vec::new();
        template.encode(&|name| values.get(name), &mut out).unwrap();
        assert_eq!(out, b"\x571081\x02");
        assert_eq!(template.decode(&out).unwrap().number("az"), Some(180.5));
        assert_eq!(template.decode(b"\x571081\x00"), None);
    }

    #[test]
    fn a_missing_field_is_named() {
        let error = text("FA{hz:dec11};").encode(&|_| None, &mut Vec::new()).unwrap_err();
        assert!(error.to_string().contains("hz"), "{error}");
        let hertz = Value::Hertz(Hertz(1_000_000_000_000));
        assert!(text("FA{hz:dec11};").encode(&|_| Some(hertz), &mut Vec::new()).is_err());
    }

    #[test]
    fn bad_templates_are_refused() {
        for template in
            ["FA{hz", "FA{hz};", "FA{hz:dec}", "MD{mode:dec1};", "TN{tone:table};", "FÄ;", "{x:bit9}"]
        {
            assert!(Template::parse(template, Style::Text, &Tables::default()).is_err(), "{template}");
        }
        for template in ["0", "G1", "001", "00 1"] {
            assert!(Template::parse(template, Style::Hex, &Tables::default()).is_err(), "{template}");
        }
    }
}
