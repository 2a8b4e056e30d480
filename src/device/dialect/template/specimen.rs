//! What a device would answer: a template written as the device would write it. For showing, and
//! for proving that what is read is what was set.

use super::{BitField, Codec, Piece, Style, Template, Value};

/// The bytes of an answer; `None` is a byte that may be anything.
pub type Specimen = Vec<Option<u8>>;

impl Template {
    /// The answer that says what `look_up` finds; `None` if a field has no value, or one that the
    /// form can't take.
    pub(in crate::device::dialect) fn specimen(
        &self,
        look_up: &dyn Fn(&str) -> Option<Value>,
    ) -> Option<Specimen> {
        let mut bytes = Specimen::new();
        for piece in &self.pieces {
            match piece {
                Piece::Blanks => bytes.push(Some(b' ')),
                Piece::Skipped(codec) => bytes.extend(vec![None; codec.length().unwrap_or(1)]),
                Piece::Bits(fields) => {
                    let bits = fields.iter().try_fold(0, |sum, bit| Some(sum | bit.write(look_up)?));
                    bytes.push(Some(bits?));
                }
                Piece::Number(sum, Codec::Number) => {
                    // Thousandths: what floating-point arithmetic adds is no reading.
                    let number = (look_up(sum.field)?.number()? * 1e3).round() / 1e3;
                    bytes.extend(number.to_string().bytes().map(Some));
                }
                other => {
                    let mut own = Vec::new();
                    self.encode_piece(other, look_up, &mut own).ok()?;
                    bytes.extend(own.into_iter().map(Some));
                }
            }
        }
        Some(bytes)
    }
}

impl BitField {
    fn write(&self, look_up: &dyn Fn(&str) -> Option<Value>) -> Option<u8> {
        let number = look_up(self.field)?.number()? as u8 & self.mask;
        let bits = if self.active_low { !number & self.mask } else { number };
        Some(bits << self.lowest)
    }
}

/// The specimen with something harmless where there may be anything.
pub(in crate::device::dialect) fn filled(specimen: &Specimen, style: Style) -> Vec<u8> {
    let filler = if style == Style::Text { b'0' } else { 0 };
    specimen.iter().map(|byte| byte.unwrap_or(filler)).collect()
}
