//! One contact.

use serde::{Deserialize, Serialize};

use super::wire::{maybe_text, text, time};
use super::{Callsign, Squares, band_of};
use crate::terms::{Hertz, Mode, Time};

/// A contact with another station, as the log has it. What is not known is left out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Contact {
    /// The other station.
    #[serde(with = "text")]
    pub callsign: Callsign,
    /// When it began.
    #[serde(with = "time")]
    pub time: Time,
    /// The satellite, by the name in the satellites file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub satellite: Option<String>,
    /// Its link.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub link: Option<String>,
    /// Where this station's receiver was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub receive_hz: Option<Hertz>,
    /// Where this station's transmitter was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub transmit_hz: Option<Hertz>,
    /// The mode that this station transmitted in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mode: Option<Mode>,
    /// The report that was sent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sent: Option<String>,
    /// The report that was received.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub received: Option<String>,
    /// Where the other station is.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "maybe_text")]
    pub locator: Option<Squares>,
    /// The other operator's name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Anything else.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// The callsign that this station used.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "maybe_text")]
    pub own_callsign: Option<Callsign>,
    /// Where this station was.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "maybe_text")]
    pub own_locator: Option<Squares>,
    /// What another log told besides, in its order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub other: Vec<Other>,
}

/// A field of another log that Beamhand keeps and has no use for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Other {
    /// Its name, in capitals.
    pub field: String,
    /// What it holds.
    pub value: String,
    /// The type that was written beside it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
    /// How the other log's head defined it, where it did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub defined: Option<String>,
}

impl Contact {
    /// With a station at a time; nothing else is known.
    pub fn new(callsign: Callsign, time: Time) -> Self {
        Self {
            callsign,
            time,
            satellite: None,
            link: None,
            receive_hz: None,
            transmit_hz: None,
            mode: None,
            sent: None,
            received: None,
            locator: None,
            name: None,
            note: None,
            own_callsign: None,
            own_locator: None,
            other: Vec::new(),
        }
    }

    /// What another log told in a field that Beamhand has no use for.
    pub fn other(&self, field: &str) -> Option<&str> {
        self.other.iter().find(|other| other.field == field).map(|other| other.value.as_str())
    }

    /// Forgets what another log told in these fields.
    pub fn forget(&mut self, fields: &[&str]) {
        self.other.retain(|other| !fields.contains(&other.field.as_str()));
    }

    /// The mode in the exchange's words, also one that Beamhand does not know.
    pub fn mode_name(&self) -> Option<String> {
        let known = self.mode.map(|mode| mode.to_string());
        let told = || self.other("SUBMODE").or_else(|| self.other("MODE"));
        known.or_else(|| told().map(str::to_owned))
    }

    /// Whether both are one contact, told twice: the same two callsigns in the same minute, on the same
    /// satellite, or on the same band where one of them names no satellite.
    pub fn is_same(&self, other: &Contact) -> bool {
        let minute = |contact: &Contact| contact.time.timestamp().div_euclid(60);
        let both = (self.callsign == other.callsign, self.own_callsign == other.own_callsign);
        if both != (true, true) || minute(self) != minute(other) {
            return false;
        }
        match (&self.satellite, &other.satellite) {
            (Some(one), Some(another)) => one.eq_ignore_ascii_case(another),
            _ => self.band() == other.band(),
        }
    }

    fn band(&self) -> Option<String> {
        let by_dial = self.transmit_hz.and_then(band_of).map(str::to_owned);
        by_dial.or_else(|| self.other("BAND").map(str::to_lowercase))
    }
}
