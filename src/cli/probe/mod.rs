//! `beamhand probe`: tries one wire language on one port, with questions only.

mod consent;
mod search;

use std::path::PathBuf;
use std::sync::Arc;

use clap::Args;

use crate::device::dialect::Dialect;
use crate::device::line::ports::{System, User, in_use_by, list};

use super::Failure;
use search::Search;

/// Try one wire language on a port, at the usual speeds, with questions only
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand probe /dev/serial/by-id/usb-ADAPTER --dialect az-el-words
  beamhand probe /dev/ttyUSB0 --dialect fe-frames --address 0x4C --baud 19200

`beamhand ports` lists the ports, `beamhand dialects` the languages: choose the one that the \
manual shows. Only questions are sent, one at a time; but a question in one language can be a \
command in another, so read what is asked of you first. Ctrl-C ends it at any time. Exit code \
0: something answered. 1: nothing did.")]
pub(super) struct Probe {
    /// The serial port
    port: PathBuf,
    /// The wire language to try
    #[arg(long, value_name = "NAME")]
    dialect: String,
    /// Only this speed, bits per second [default: the usual ones, one after the other]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(300..=115_200))]
    baud: Option<u32>,
    /// The radio's address on a bus, such as 0x4C [default: one after the other, which takes
    /// minutes]
    #[arg(long, value_name = "N", value_parser = address)]
    address: Option<u8>,
    /// Ask nothing: you have read the cautions, and they are met
    #[arg(long)]
    yes: bool,
}

impl Probe {
    pub(super) fn run(self) -> Result<(), Failure> {
        let dialect = self.known_dialect()?;
        if self.address.is_some() && !dialect.family().is_addressed() {
            let what = format!("--address: devices that speak {} have no address", dialect.name());
            return Err(Failure::Usage(what));
        }
        if let Some(holders) = in_use_by(&System::real(), &self.port) {
            let port = self.port.display();
            return Err(Failure::Failed(format!("{port} is in use by {holders}: end that first")));
        }
        consent::obtain(self.yes)?;
        let address = self.address.or(dialect.address());
        Search { name: self.lasting_name(), port: self.port, dialect, address, baud: self.baud }.run()
    }

    fn known_dialect(&self) -> Result<Arc<Dialect>, Failure> {
        Dialect::builtin(&self.dialect).ok_or_else(|| {
            let known: Vec<&str> = Dialect::names().collect();
            Failure::Usage(format!("no dialect \"{}\"; there are {}", self.dialect, known.join(", ")))
        })
    }

    /// The port's name that stays the same, for the configuration.
    fn lasting_name(&self) -> PathBuf {
        let real = self.port.canonicalize().ok();
        let mut ports = list(&System::real(), &User::me()).into_iter();
        let known = ports.find(|port| port.device.canonicalize().ok() == real);
        known.map_or(self.port.clone(), |port| port.name.path)
    }
}

/// `0x4C` or `76`; the bytes from F0 on are the bus's own.
fn address(text: &str) -> Result<u8, String> {
    let text = text.trim();
    let hex = text.strip_prefix("0x").or(text.strip_prefix("0X"));
    let number = hex.map_or(text.parse(), |digits| u8::from_str_radix(digits, 16));
    let inside = number.ok().filter(|address| (0x01..=0xEF).contains(address) && *address != 0xE0);
    inside.ok_or_else(|| "an address from 0x01 to 0xEF is wanted, but not 0xE0".to_owned())
}

#[cfg(test)]
mod tests {
    use super::address;

    #[test]
    fn an_address_is_written_as_in_the_radios_menu() {
        assert_eq!(address("0x4C"), Ok(0x4C));
        assert_eq!(address("76"), Ok(0x4C));
        for wrong in ["", "4C", "0x", "0xFE", "0xE0", "0", "-1", "256"] {
            assert!(address(wrong).is_err(), "{wrong}");
        }
    }
}
