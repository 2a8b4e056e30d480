//! A contact's fields, in the order in which they are written.

use crate::contacts::band::letters;
use crate::contacts::{Contact, Other, Squares, band_of};
use crate::terms::{Hertz, Mode};

use super::Names;

/// The name under which the link is kept, which the format has no field for (section III.C:
/// `APP_{PROGRAMID}_{FIELDNAME}`).
pub(super) const LINK: &str = "APP_BEAMHAND_LINK";

/// Fields that are worked out from others: another log's own word for them stands.
const DERIVED: [&str; 4] = ["BAND", "BAND_RX", "PROP_MODE", "SAT_MODE"];

/// The fields of a contact; what another log told besides comes at the end.
pub(super) fn fields(contact: &Contact, names: &Names) -> Vec<Other> {
    let mut all: Vec<Other> = own(contact, names);
    all.retain(|own| !DERIVED.contains(&own.field.as_str()) || contact.other(&own.field).is_none());
    all.extend(contact.other.iter().cloned());
    all
}

/// What Beamhand knows itself.
pub(super) fn own(contact: &Contact, names: &Names) -> Vec<Other> {
    let mut all = Vec::new();
    let mut put = |field: &str, value: Option<String>| {
        let value = value.filter(|value| !value.is_empty());
        all.extend(value.map(|value| Other { field: field.to_owned(), value, kind: None, defined: None }));
    };
    let Contact { receive_hz: down, transmit_hz: up, .. } = *contact;
    let band = |hertz: Option<Hertz>| hertz.and_then(band_of).map(str::to_owned);
    put("CALL", Some(contact.callsign.to_string()));
    put("QSO_DATE", Some(contact.time.format("%Y%m%d").to_string()));
    put("TIME_ON", Some(contact.time.format("%H%M%S").to_string()));
    put("BAND", band(up));
    put("FREQ", up.map(megahertz));
    put("BAND_RX", band(down));
    put("FREQ_RX", down.map(megahertz));
    let (mode, submode) = contact.mode.map(exchange_mode).unzip();
    put("MODE", mode.map(str::to_owned));
    put("SUBMODE", submode.flatten().map(str::to_owned));
    let satellite = contact.satellite.as_deref();
    put("PROP_MODE", satellite.map(|_| "SAT".to_owned()));
    put("SAT_NAME", satellite.map(|name| names.exchange(name).to_owned()));
    put("SAT_MODE", satellite.and(up.zip(down)).and_then(|(up, down)| letters(up, down)));
    put("RST_SENT", contact.sent.clone());
    put("RST_RCVD", contact.received.clone());
    put_squares(&mut put, ["GRIDSQUARE", "VUCC_GRIDS"], contact.locator.as_ref());
    put("NAME", contact.name.clone());
    put("COMMENT", contact.note.clone());
    put("STATION_CALLSIGN", contact.own_callsign.as_ref().map(ToString::to_string));
    put_squares(&mut put, ["MY_GRIDSQUARE", "MY_VUCC_GRIDS"], contact.own_locator.as_ref());
    put(LINK, contact.link.clone());
    all
}

/// One locator in the one field, those of a border in the other.
fn put_squares(
    put: &mut impl FnMut(&str, Option<String>),
    [one, several]: [&str; 2],
    squares: Option<&Squares>,
) {
    let Some(squares) = squares else { return };
    put(if squares.locators().len() == 1 { one } else { several }, Some(squares.to_string()));
}

/// Megahertz to the hertz.
fn megahertz(hertz: Hertz) -> String {
    format!("{}.{:06}", hertz.0 / 1_000_000, hertz.0.rem_euclid(1_000_000))
}

/// Mode and submode (section III.B.9: the sidebands are submodes of SSB).
fn exchange_mode(mode: Mode) -> (&'static str, Option<&'static str>) {
    match mode {
        Mode::Fm => ("FM", None),
        Mode::Usb => ("SSB", Some("USB")),
        Mode::Lsb => ("SSB", Some("LSB")),
        Mode::Cw => ("CW", None),
        Mode::Am => ("AM", None),
    }
}
