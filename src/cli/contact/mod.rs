//! `beamhand contact`: a contact in one line.

mod circumstances;

use std::path::PathBuf;
use std::sync::mpsc;
use std::time::Duration;

use chrono::Utc;
use clap::Args;

use crate::config::Config;
use crate::contacts::{Callsign, Contact as Written, Squares, What, remarks};
use crate::control::{Client, Status};
use crate::sky::locator_of;
use crate::terms::{Time, later};

use super::Failure;
use super::contacts::{Book, at, line, log_path, report, sentence};
use super::remote::Daemon;
use super::source::load_any_config;
use super::text::{remark, say, wrap};

use circumstances::{Asked, Circumstances, by_sky, by_status};

/// How long the daemon may take to say how things are; without it, the elements have to do.
const PATIENCE: Duration = Duration::from_millis(50);

/// Write a contact down, with all that is known of it
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand contact Q1ABC
  beamhand contact Q1ABC --locator KP20LG --sent 59 --received 55 --name Aino
  beamhand contact Q1ABC --at 18:38             afterwards; UTC, the last 18:38
  beamhand contact Q1ABC --at \"2026-11-25 18:38\" --satellite GANNET-1
  beamhand contact Q1ABC --as Q0HILL/P --from IO84XA,IO94AA

While the daemon follows a satellite, that one, its link and both dials as they stand are filled in. \
Else it is the satellite that was up, and the link's frequencies as published. What is odd is said, \
and nothing is refused for it. The log is yours: `beamhand contacts` lists, mends and exports it. \
Nothing is sent anywhere.")]
pub(super) struct Contact {
    /// The station that you worked
    callsign: Callsign,
    /// Where it is; on a border, the locators with commas between
    #[arg(long, value_name = "LOCATOR[,...]")]
    locator: Option<Squares>,
    /// The report that you sent
    #[arg(long, value_name = "REPORT", value_parser = report, allow_hyphen_values = true)]
    sent: Option<String>,
    /// The report that you received
    #[arg(long, value_name = "REPORT", value_parser = report, allow_hyphen_values = true)]
    received: Option<String>,
    /// The operator's name
    #[arg(long, value_parser = line)]
    name: Option<String>,
    /// Anything else
    #[arg(long, value_name = "TEXT", value_parser = line)]
    note: Option<String>,
    /// When, if not now: 18:38 in UTC, "2026-11-25 18:38" in UTC, or RFC 3339
    #[arg(long, value_name = "TIME", value_parser = at)]
    at: Option<Time>,
    /// The satellite, by name or catalog number [default: the one that is followed, else that was up]
    #[arg(long, value_name = "NAME|NUMBER")]
    satellite: Option<String>,
    /// Its link [default: the one that is followed, else the first with an uplink]
    #[arg(long, value_name = "NAME")]
    link: Option<String>,
    /// Where you are, if not at home; on a border, the locators with commas between
    #[arg(long, value_name = "LOCATOR[,...]")]
    from: Option<Squares>,
    /// The callsign that you use [default: the configuration's]
    #[arg(long = "as", value_name = "CALLSIGN")]
    own_callsign: Option<Callsign>,
    /// The log [default: the configuration's, else yours]
    #[arg(long, value_name = "FILE")]
    log: Option<PathBuf>,
    #[command(flatten)]
    daemon: Daemon,
}

impl Contact {
    pub(super) fn run(self) -> Result<(), Failure> {
        let config = load_any_config(self.daemon.config())?;
        let path = log_path(self.log.as_deref(), config.as_ref())?;
        let socket =
            config.as_ref().map_or_else(|| self.daemon.socket(), |config| Ok(self.daemon.socket_by(config)));
        let status = if self.at.is_none() { ask(socket?) } else { None };
        if status.as_ref().is_some_and(|status| status.rehearsal) && self.log.is_none() {
            return Err(Failure::Failed(
                "the daemon plays a rehearsal: a contact in it is none; name another log with --log"
                    .to_owned(),
            ));
        }
        let own_callsign = self.own_callsign(config.as_ref(), status.as_ref())?;
        let found = self.circumstances(config.as_ref(), status.as_ref())?;
        let contact = self.written(config.as_ref(), own_callsign, &found);
        let mut book = Book::open(&path)?;
        let odd = remarks(&contact, &book.log, found.sight.as_ref());
        let id = book.log.next_id();
        book.write(vec![(id, What::Added(contact.clone().into()))])?;
        say(wrap(&format!("contact {id}: {}", sentence(&contact))).join("\n"))?;
        found.remarks.iter().for_each(remark);
        odd.iter().for_each(remark);
        Ok(())
    }

    fn circumstances(
        &self,
        config: Option<&Config>,
        status: Option<&Status>,
    ) -> Result<Circumstances, Failure> {
        let asked = Asked {
            satellite: self.satellite.as_deref(),
            link: self.link.as_deref(),
            from: self.from.as_ref(),
        };
        if let Some(found) = status.and_then(|status| by_status(status, &asked, config)) {
            return Ok(found);
        }
        let time = self.at.or_else(|| status.map(|status| status.time)).unwrap_or_else(Utc::now);
        let mut found = by_sky(&asked, time, config)?;
        if time > later(Utc::now(), 60.0) && self.at.is_some() {
            found.remarks.push("its time is still to come".to_owned());
        }
        Ok(found)
    }

    fn own_callsign(&self, config: Option<&Config>, status: Option<&Status>) -> Result<Callsign, Failure> {
        if let Some(own) = &self.own_callsign {
            return Ok(own.clone());
        }
        let configured = config.and_then(|config| config.station.callsign.as_deref());
        let told = configured.or_else(|| status.and_then(|status| status.station.as_deref()));
        let Some(told) = told else {
            let file = config.map_or("beamhand.toml".to_owned(), |config| config.file.display().to_string());
            let remedy = format!("write callsign = \"...\" into [station] of {file}, or give it with --as");
            return Err(Failure::Failed(format!("your own callsign is not known: {remedy}")));
        };
        told.parse()
            .map_err(|error| Failure::Failed(format!("[station]: {error}; give the right one with --as")))
    }

    fn written(self, config: Option<&Config>, own: Callsign, found: &Circumstances) -> Written {
        let home = config.map(|config| &config.station).and_then(|station| {
            let named = station.locator.as_ref().map(ToString::to_string);
            named.unwrap_or_else(|| locator_of(&station.position)).parse().ok()
        });
        Written {
            satellite: Some(found.satellite.clone()),
            link: found.link.clone(),
            receive_hz: found.receive_hz,
            transmit_hz: found.transmit_hz,
            mode: found.mode,
            sent: self.sent,
            received: self.received,
            locator: self.locator,
            name: self.name,
            note: self.note,
            own_callsign: Some(own),
            own_locator: self.from.or(home),
            ..Written::new(self.callsign, found.time)
        }
    }
}

/// How things are, if the daemon says so at once. One that hangs is not waited for.
fn ask(socket: PathBuf) -> Option<Status> {
    let (answer, answered) = mpsc::channel();
    std::thread::spawn(move || {
        let told = Client::connect(&socket).and_then(|mut client| client.status());
        // Nobody listens any more when it took too long.
        let _ = answer.send(told);
    });
    let why = match answered.recv_timeout(PATIENCE) {
        Ok(Ok(status)) => return Some(status),
        Ok(Err(error)) if error.is_not_reachable() => return None,
        Ok(Err(error)) => error.to_string(),
        Err(_) => "it is there and does not answer at once".to_owned(),
    };
    remark(format_args!("without the daemon's help: {why}"));
    None
}
