//! Abilities that a file takes away, and others that still send the same code.

use super::Dialect;
use super::abilities::{ASK, DO};

/// An ability that was taken away, and whose code goes out nevertheless.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StillSent {
    /// The ability.
    pub verb: String,
    /// Its code: the last frame that it sent. What stands before selects or prepares.
    pub code: String,
    /// The abilities that send it.
    pub by: Vec<String>,
}

impl Dialect {
    /// Every ability that was taken away from the base while others still send its code.
    pub fn still_sent(&self) -> Vec<StillSent> {
        let found = self.off.iter().filter_map(|(verb, was)| {
            let code = was.send.last()?;
            let sends = |name: &&str| {
                let known = self.verbs.get(*name);
                let mut frames = known.into_iter().flat_map(|known| known.send.iter().chain(&known.finally));
                frames.any(|frame| frame.is_the_same_as(code))
            };
            let by: Vec<String> =
                self.verbs().filter(|name| self.is_said(name)).filter(sends).map(str::to_owned).collect();
            (!by.is_empty()).then(|| StillSent { verb: verb.clone(), code: code.to_string(), by })
        });
        found.collect()
    }

    /// Whether anybody says `verb`: a base's step that no preparation names is never said.
    pub(super) fn is_said(&self, verb: &str) -> bool {
        let (known, name) = match verb.split_once('.') {
            Some(("ask", name)) => (ASK.contains(&name), name),
            Some((_, name)) => (DO.contains(&name), name),
            None => (false, verb),
        };
        known || self.prepare.all().any(|step| step == name)
    }
}
