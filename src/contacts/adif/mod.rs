//! The Amateur Data Interchange Format, version 3.1.4, in its text form (ADI, section IV.A,
//! <https://adif.org>). The names of fields, bands and modes are held against its published schema; their
//! meanings, and the numbers of sections, are from memory.
//!
//! A field is `<NAME:LENGTH>value` or `<NAME:LENGTH:TYPE>value`; a record ends with `<EOR>`, the head with
//! `<EOH>`; what stands between is passed over. The specification knows printable ASCII only, for which a
//! length in bytes and one in characters are the same. Names and notes may hold other letters: they are
//! written as UTF-8, and their length counts bytes.

mod fields;
mod read;
mod tags;
mod write;

pub use read::{AdifFile, read};
pub use write::write;

/// Satellites by the names that this station uses, and by those of the exchange.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Names(Vec<(String, String)>);

impl Names {
    /// From pairs: the station's own name, and the exchange's.
    pub fn new(pairs: impl IntoIterator<Item = (String, String)>) -> Self {
        Self(pairs.into_iter().collect())
    }

    fn exchange<'n>(&'n self, own: &'n str) -> &'n str {
        let found = self.0.iter().find(|(name, _)| name.eq_ignore_ascii_case(own));
        found.map_or(own, |(_, exchange)| exchange)
    }

    fn own<'n>(&'n self, told: &'n str) -> &'n str {
        let by = |is_it: &dyn Fn(&(String, String)) -> bool| self.0.iter().find(|pair| is_it(pair));
        let found = by(&|(_, exchange)| exchange.eq_ignore_ascii_case(told));
        let found = found.or_else(|| by(&|(own, _)| own.eq_ignore_ascii_case(told)));
        found.map_or(told, |(own, _)| own)
    }
}
