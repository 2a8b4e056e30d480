//! A contact's fields, in the order in which they are written.

use crate::contacts::band::letters;
use crate::contacts::{Contact, Other, Squares, band_of};
use crate::terms::{Hertz, Mode};

use super::Names;

/// The name under which the link is kept, which the format has no field for (section III.C:
/// `APP_{PROGRAMID}_{FIELDNAME}`).
pub(super) const LINK: &str = "APP_BEAMHAND_LINK";

/// The fields in which a station's place is told.
pub(super) struct PlaceFields {
    /// One locator.
    pub(super) one: &'static str,
    /// The squares that meet where it stands on a border: of four characters, and no others
    /// (section II.B, GridSquareList).
    pub(super) border: &'static str,
    /// A border that is known more finely than that.
    pub(super) finer: &'static str,
}

impl PlaceFields {
    /// The field in which a border is told in squares of four characters, and how.
    pub(super) fn coarse(&self, border: &Squares) -> (&'static str, String) {
        let squares = border.fields();
        (if squares.len() == 1 { self.one } else { self.border }, squares.join(","))
    }
}

/// The other station's place.
pub(super) const PLACE: PlaceFields =
    PlaceFields { one: "GRIDSQUARE", border: "VUCC_GRIDS", finer: "APP_BEAMHAND_BORDER" };
/// One's own.
pub(super) const OWN_PLACE: PlaceFields =
    PlaceFields { one: "MY_GRIDSQUARE", border: "MY_VUCC_GRIDS", finer: "APP_BEAMHAND_MY_BORDER" };

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
    put_squares(&mut put, &PLACE, contact.locator.as_ref());
    put("NAME", contact.name.clone());
    put("COMMENT", contact.note.clone());
    put("STATION_CALLSIGN", contact.own_callsign.as_ref().map(ToString::to_string));
    put_squares(&mut put, &OWN_PLACE, contact.own_locator.as_ref());
    put(LINK, contact.link.clone());
    all
}

/// One locator as it is; a border as its squares, and as it is where that says more.
fn put_squares(put: &mut impl FnMut(&str, Option<String>), place: &PlaceFields, squares: Option<&Squares>) {
    let Some(squares) = squares else { return };
    let whole = squares.to_string();
    if squares.locators().len() == 1 {
        return put(place.one, Some(whole));
    }
    let (field, told) = place.coarse(squares);
    let is_all = told == whole;
    put(field, Some(told));
    put(place.finer, (!is_all).then_some(whole));
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::parse_time;

    const NAMES: &str = include_str!("../../../tests/reference/adif_names.csv");

    fn is_published(kind: &str, name: &str) -> bool {
        NAMES.lines().any(|line| line == format!("{kind}|{name}"))
    }

    /// The table is the schema's, which is published with the format.
    #[test]
    fn every_field_and_mode_is_one_of_the_published_ones() {
        let when = parse_time("2026-11-25T18:38:05Z").unwrap();
        for (mode, place) in [(Mode::Fm, "IO84SA"), (Mode::Usb, "IO84,IO94"), (Mode::Lsb, "IO84XA,IO94AA")]
            .into_iter()
            .chain([(Mode::Cw, "IO84SA"), (Mode::Am, "IO84SA")])
        {
            let some = |text: &str| Some(text.to_owned());
            let contact = Contact {
                satellite: some("GANNET-1"),
                link: some("repeater"),
                receive_hz: Some(Hertz(435_213_790)),
                transmit_hz: Some(Hertz(145_928_090)),
                mode: Some(mode),
                sent: some("59"),
                received: some("55"),
                locator: place.parse().ok(),
                name: some("Aino"),
                note: some("clear"),
                own_callsign: "Q0HILL".parse().ok(),
                own_locator: place.parse().ok(),
                ..Contact::new("Q1ABC".parse().unwrap(), when)
            };
            let told = own(&contact, &Names::default());
            assert!(told.len() >= 19, "{told:?}");
            for Other { field, value, .. } in told {
                assert!(field.starts_with("APP_BEAMHAND_") || is_published("field", &field), "{field}");
                let kind = match field.as_str() {
                    "MODE" => "mode",
                    "PROP_MODE" => "propagation",
                    _ => continue,
                };
                assert!(is_published(kind, &value), "{field} {value}");
            }
        }
        assert!(!is_published("field", "QRG") && !is_published("mode", "USB"));
    }
}
