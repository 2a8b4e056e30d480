//! Which dialects fit which device.

use std::sync::Arc;

use super::dialects::Dialects;
use crate::device::Use;
use crate::device::dialect::Dialect;

/// What a device is there for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Service {
    /// A radio; `None` where it is not known yet which directions it serves.
    Radio(Option<Use>),
    /// A rotator.
    Rotator,
}

impl Service {
    /// Whether the dialect can say what such a device has to be told.
    pub fn fits(self, dialect: &Dialect) -> bool {
        match self {
            Service::Rotator => dialect.can("do.aim") || dialect.can("do.azimuth"),
            Service::Radio(Some(Use::Both)) => dialect.can("do.rx_hz") && dialect.can("do.tx_hz"),
            Service::Radio(Some(Use::Receive | Use::Transmit)) => dialect.can("do.hz"),
            Service::Radio(Some(Use::HalfDuplex)) => dialect.can("do.hz") && dialect.can("do.other_hz"),
            Service::Radio(None) => dialect.can("do.hz") || dialect.can("do.rx_hz"),
        }
    }

    /// The dialects that fit.
    pub fn fitting(self, dialects: &Dialects) -> impl Iterator<Item = Arc<Dialect>> {
        dialects.all().filter(move |dialect| self.fits(dialect))
    }

    /// The names of those that fit, for the end of an error.
    pub(super) fn names(self, dialects: &Dialects) -> String {
        self.fitting(dialects).map(|dialect| dialect.name().to_owned()).collect::<Vec<_>>().join(", ")
    }

    /// Why a dialect does not fit; `None` if it does.
    pub(super) fn objection(self, dialect: &Dialect) -> Option<String> {
        let name = dialect.name();
        if self.fits(dialect) {
            return None;
        }
        Some(match self {
            Service::Rotator => format!("`{name}` is no rotator's language"),
            Service::Radio(_) if Service::Rotator.fits(dialect) => {
                format!("`{name}` is a rotator's language")
            }
            Service::Radio(Some(Use::Both)) => format!("`{name}` has no commands for two bands at once"),
            Service::Radio(Some(Use::HalfDuplex)) => {
                format!("`{name}` has no commands for the VFO that transmits with split")
            }
            Service::Radio(_) => format!("`{name}` has no command for a frequency"),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_built_in_dialect_is_a_radios_or_a_rotators_and_never_both() {
        let sides = |name| {
            let dialect = Dialect::builtin(name).unwrap();
            (Service::Radio(None).fits(&dialect), Service::Rotator.fits(&dialect))
        };
        assert!(Dialect::names().map(sides).all(|(radio, rotator)| radio != rotator));
        assert_eq!(Service::Rotator.names(&Dialects::built_in()), "w-lines, az-el-words, thirteen-byte");
    }

    #[test]
    fn a_language_of_one_vfo_serves_one_direction() {
        let one = Dialect::builtin("five-byte").unwrap();
        assert_eq!(Service::Radio(Some(Use::Receive)).objection(&one), None);
        let objection = Service::Radio(Some(Use::Both)).objection(&one).unwrap();
        assert_eq!(objection, "`five-byte` has no commands for two bands at once");
    }

    #[test]
    fn half_duplex_needs_a_second_vfo() {
        let text = "base = \"five-byte\"\n[do]\nother_hz.finally = \"00 00 00 00 81\"\n";
        let other = Dialect::parse("other", text).unwrap();
        let half_duplex = Service::Radio(Some(Use::HalfDuplex));
        assert_eq!(half_duplex.objection(&other), None);
        let none = Dialect::parse("none", "base = \"five-byte\"\n[do]\nother_hz = false\n").unwrap();
        let objection = half_duplex.objection(&none).unwrap();
        assert_eq!(objection, "`none` has no commands for the VFO that transmits with split");
    }
}
