//! `beamhand contacts edit`.

use std::path::Path;
use std::str::FromStr;

use clap::Args;

use crate::cli::Failure;
use crate::cli::text::{say, wrap};
use crate::contacts::{Callsign, Contact, Squares, What};
use crate::terms::{Hertz, Mode, Time};

use super::book::Book;
use super::words::{at, line, report, sentence};

/// Changes a contact; what it was stays in the file
#[derive(Args, Debug)]
#[command(after_help = "An empty text, \"\", takes off what is there. The frequencies are megahertz.")]
pub(super) struct Edit {
    /// Its number, as `beamhand contacts list` shows it
    id: u32,
    /// The other station
    #[arg(long)]
    callsign: Option<Callsign>,
    /// When it began: 18:38 in UTC, "2026-11-25 18:38" in UTC, or RFC 3339
    #[arg(long, value_name = "TIME", value_parser = at)]
    at: Option<Time>,
    /// Where the other station is
    #[arg(long, value_name = "LOCATOR[,...]", value_parser = change::<Squares>)]
    locator: Option<Change<Squares>>,
    /// The report that was sent
    #[arg(long, value_name = "REPORT", value_parser = report_or_none, allow_hyphen_values = true)]
    sent: Option<Change<String>>,
    /// The report that was received
    #[arg(long, value_name = "REPORT", value_parser = report_or_none, allow_hyphen_values = true)]
    received: Option<Change<String>>,
    /// The operator's name
    #[arg(long, value_parser = line_or_none)]
    name: Option<Change<String>>,
    /// Anything else
    #[arg(long, value_name = "TEXT", value_parser = line_or_none)]
    note: Option<Change<String>>,
    /// The satellite's name
    #[arg(long, value_name = "NAME", value_parser = line_or_none)]
    satellite: Option<Change<String>>,
    /// The link's name
    #[arg(long, value_name = "NAME", value_parser = line_or_none)]
    link: Option<Change<String>>,
    /// fm, usb, lsb, cw or am
    #[arg(long, value_parser = change::<Mode>)]
    mode: Option<Change<Mode>>,
    /// Where your receiver was
    #[arg(long, value_name = "MHZ", value_parser = megahertz)]
    receive: Option<Change<Hertz>>,
    /// Where your transmitter was
    #[arg(long, value_name = "MHZ", value_parser = megahertz)]
    transmit: Option<Change<Hertz>>,
    /// Where you were
    #[arg(long, value_name = "LOCATOR[,...]", value_parser = change::<Squares>)]
    from: Option<Change<Squares>>,
    /// The callsign that you used
    #[arg(long = "as", value_name = "CALLSIGN", value_parser = change::<Callsign>)]
    own_callsign: Option<Change<Callsign>>,
}

/// What becomes of something that a contact may have.
#[derive(Debug, Clone)]
enum Change<T> {
    TakenOff,
    To(T),
}

impl Edit {
    pub(super) fn run(self, path: &Path) -> Result<(), Failure> {
        let mut book = Book::open(path)?;
        let id = self.id;
        let before = book.entry(id)?.contact.clone();
        let mut contact = before.clone();
        self.apply(&mut contact);
        if contact == before {
            return Err(Failure::Usage(format!(
                "nothing would change in contact {id}: say what, as --note TEXT"
            )));
        }
        let told = format!("contact {id} is now: {}", sentence(&contact));
        book.write(vec![(id, What::Edited(contact.into()))])?;
        say(wrap(&told).join("\n"))
    }

    /// What another log told of the same is forgotten with it.
    fn apply(self, contact: &mut Contact) {
        if let Some(callsign) = self.callsign {
            contact.callsign = callsign;
        }
        if let Some(time) = self.at {
            contact.time = time;
        }
        let mut forgotten: Vec<&str> = Vec::new();
        forgotten.extend(set(
            &mut contact.locator,
            self.locator,
            &["GRIDSQUARE", "GRIDSQUARE_EXT", "VUCC_GRIDS", "APP_BEAMHAND_BORDER"],
        ));
        forgotten.extend(set(&mut contact.sent, self.sent, &["RST_SENT"]));
        forgotten.extend(set(&mut contact.received, self.received, &["RST_RCVD"]));
        forgotten.extend(set(&mut contact.name, self.name, &["NAME"]));
        forgotten.extend(set(&mut contact.note, self.note, &["COMMENT"]));
        forgotten.extend(set(&mut contact.satellite, self.satellite, &["SAT_NAME", "PROP_MODE", "SAT_MODE"]));
        forgotten.extend(set(&mut contact.link, self.link, &[]));
        forgotten.extend(set(&mut contact.mode, self.mode, &["MODE", "SUBMODE"]));
        forgotten.extend(set(&mut contact.receive_hz, self.receive, &["BAND_RX", "FREQ_RX", "SAT_MODE"]));
        forgotten.extend(set(&mut contact.transmit_hz, self.transmit, &["BAND", "FREQ", "SAT_MODE"]));
        let own_place = ["MY_GRIDSQUARE", "MY_GRIDSQUARE_EXT", "MY_VUCC_GRIDS", "APP_BEAMHAND_MY_BORDER"];
        forgotten.extend(set(&mut contact.own_locator, self.from, &own_place));
        forgotten.extend(set(&mut contact.own_callsign, self.own_callsign, &["STATION_CALLSIGN"]));
        contact.forget(&forgotten);
    }
}

/// Gives the fields of another log that say the same, if something changes.
fn set<'f, T>(value: &mut Option<T>, change: Option<Change<T>>, fields: &[&'f str]) -> Vec<&'f str> {
    match change {
        None => return Vec::new(),
        Some(Change::TakenOff) => *value = None,
        Some(Change::To(new)) => *value = Some(new),
    }
    fields.to_vec()
}

/// A value, or none for an empty text.
fn change<T: FromStr>(text: &str) -> Result<Change<T>, String>
where
    T::Err: ToString,
{
    changed(text, |text| text.parse().map_err(|error: T::Err| error.to_string()))
}

fn changed<T>(text: &str, read: impl Fn(&str) -> Result<T, String>) -> Result<Change<T>, String> {
    if text.trim().is_empty() { Ok(Change::TakenOff) } else { read(text).map(Change::To) }
}

fn line_or_none(text: &str) -> Result<Change<String>, String> {
    changed(text, line)
}

fn report_or_none(text: &str) -> Result<Change<String>, String> {
    changed(text, report)
}

fn megahertz(text: &str) -> Result<Change<Hertz>, String> {
    changed(text, |text| {
        let megahertz: Option<f64> = text.trim().parse().ok();
        let inside = megahertz.filter(|megahertz| (0.1..=1e6).contains(megahertz));
        inside
            .map(|megahertz| Hertz::rounded(megahertz * 1e6))
            .ok_or_else(|| "write megahertz, such as 435.217".to_owned())
    })
}
