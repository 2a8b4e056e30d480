//! The little sums in a template's fields: `hz/10`, `az+360*ph`. Evaluated left to right, and
//! undone from right to left to decode.

use super::super::values::{Kind, Values};

/// A field's name and what is done to its value before it is written.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sum {
    pub(super) field: &'static str,
    pub(super) kind: Kind,
    operations: Vec<(char, Operand)>,
}

#[derive(Debug, Clone, PartialEq)]
enum Operand {
    Constant(f64),
    Field(&'static str),
}

impl Operand {
    fn value(&self, look_up: &dyn Fn(&str) -> Option<f64>) -> Result<f64, &'static str> {
        match self {
            Operand::Constant(number) => Ok(*number),
            Operand::Field(name) => look_up(name).ok_or(name),
        }
    }
}

impl Sum {
    /// Reads `name`, then any number of `+ - * /` each with a number or a field.
    pub(super) fn parse(text: &str) -> Result<Self, String> {
        let mut parts = Vec::new();
        let mut rest = text;
        while let Some(at) = rest.rfind(['+', '-', '*', '/']) {
            parts.push((char::from(rest.as_bytes()[at]), &rest[at + 1..]));
            rest = &rest[..at];
        }
        let (field, kind) = known(rest)?;
        let operations = parts.into_iter().rev().map(|(sign, text)| Ok((sign, operand(text)?)));
        Ok(Self { field, kind, operations: operations.collect::<Result<_, String>>()? })
    }

    /// Whether the value is written as it is.
    pub(super) fn is_plain(&self) -> bool {
        self.operations.is_empty()
    }

    /// Whether the value is at most scaled to another unit.
    pub(super) fn only_scales(&self) -> bool {
        let scales = |(sign, operand): &(char, Operand)| {
            matches!(sign, '*' | '/') && matches!(operand, Operand::Constant(_))
        };
        self.operations.iter().all(scales)
    }

    /// Whether undoing the sum asks for another field's value.
    pub(super) fn needs_fields(&self) -> bool {
        self.operations.iter().any(|(_, operand)| matches!(operand, Operand::Field(_)))
    }

    /// The fields that the sum takes its values from.
    pub(super) fn fields(&self) -> impl Iterator<Item = &'static str> {
        let named = self.operations.iter().filter_map(|(_, operand)| match operand {
            Operand::Field(name) => Some(*name),
            Operand::Constant(_) => None,
        });
        std::iter::once(self.field).chain(named)
    }

    /// From the field's value to the number on the wire; the name of a missing field otherwise.
    pub(super) fn apply(
        &self,
        value: f64,
        look_up: &dyn Fn(&str) -> Option<f64>,
    ) -> Result<f64, &'static str> {
        self.operations.iter().try_fold(value, |value, (sign, operand)| {
            let operand = operand.value(look_up)?;
            Ok(match sign {
                '+' => value + operand,
                '-' => value - operand,
                '*' => value * operand,
                _ => value / operand,
            })
        })
    }

    /// From the number on the wire to the field's value; `None` if a field is missing or the sum
    /// can't be undone (a factor of zero).
    pub(super) fn undo(&self, wire: f64, values: &Values) -> Option<f64> {
        let look_up = |name: &str| values.number(name);
        let value = self.operations.iter().rev().try_fold(wire, |value, (sign, operand)| {
            let operand = operand.value(&look_up).ok()?;
            Some(match sign {
                '+' => value - operand,
                '-' => value + operand,
                '*' => value / operand,
                _ => value * operand,
            })
        });
        value.filter(|value| value.is_finite())
    }
}

fn known(name: &str) -> Result<(&'static str, Kind), String> {
    Kind::of(name).ok_or_else(|| format!("\"{name}\" is no field; one of {}, or _", Kind::names()))
}

fn operand(text: &str) -> Result<Operand, String> {
    match text.parse::<f64>() {
        Ok(number) if number.is_finite() && number != 0.0 => Ok(Operand::Constant(number)),
        Ok(_) => Err(format!("\"{text}\" can't be undone")),
        Err(_) => known(text).map(|(name, _)| Operand::Field(name)),
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::values::Value;
    use super::*;

    #[test]
    fn sums_go_left_to_right_and_back() {
        let sum = Sum::parse("az+360*ph").unwrap();
        let values = Values::new().with("ph", Value::Number(2.0));
        let look_up = |name: &str| values.number(name);
        assert_eq!(sum.apply(180.5, &look_up), Ok(1081.0));
        assert_eq!(sum.undo(1081.0, &values), Some(180.5));
        assert_eq!(sum.apply(180.5, &|_| None), Err("ph"));
        assert_eq!(sum.fields().collect::<Vec<_>>(), ["az", "ph"]);
    }

    #[test]
    fn nonsense_is_refused() {
        assert!(Sum::parse("herz/10").unwrap_err().contains("is no field"));
        assert!(Sum::parse("hz/0").unwrap_err().contains("can't be undone"));
        assert!(Sum::parse("").is_err());
    }
}
