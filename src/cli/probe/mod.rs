//! `beamhand probe`: tries one wire language on one port, with questions only.

mod cautions;
mod search;

use std::path::PathBuf;

use clap::Args;

use crate::device::family::ADDRESSES;
use crate::device::line::ports::{System, User, in_use_by, list};

use super::Failure;
use super::consent;
use super::source::{load_dialects, named};
use search::Search;

/// Try one wire language on a port, at the usual speeds, with questions only
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand probe /dev/serial/by-id/usb-ADAPTER --dialect az-el-words
  beamhand probe /dev/ttyUSB0 --dialect fe-frames --address 0x4C --baud 19200
  beamhand probe /dev/ttyUSB0 --dialect mine --config beamhand.toml

`beamhand ports` lists the ports, `beamhand dialects` the languages: choose the one that the \
manual shows. Only questions are sent, one at a time, and the greeting of a language that needs \
one; but a question in one language can be a command in another, so read what is asked of you \
first. Ctrl-C ends it at any time. Exit code 0: something answered. 1: nothing did.")]
pub(super) struct Probe {
    /// The serial port
    port: PathBuf,
    /// The wire language to try
    #[arg(long, value_name = "NAME")]
    dialect: String,
    /// The configuration whose own dialects are meant too [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
    /// Only this speed, bits per second [default: the usual ones, one after the other]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(300..=115_200))]
    baud: Option<u32>,
    /// The radio's address on a bus, such as 0x4C [default: one after the other, which takes
    /// minutes]
    #[arg(long, value_name = "N", value_parser = address)]
    address: Option<u8>,
    /// Wait for no confirmation: you know the cautions, and all of it is so
    #[arg(long)]
    yes: bool,
}

impl Probe {
    pub(super) fn run(self) -> Result<(), Failure> {
        let dialect = named(&load_dialects(self.config.as_deref())?, &self.dialect)?;
        if self.address.is_some() && !dialect.family().is_addressed() {
            let what = format!("--address: devices that speak {} have no address", dialect.name());
            return Err(Failure::Usage(what));
        }
        if let Some(holders) = in_use_by(&System::real(), &self.port) {
            let port = self.port.display();
            return Err(Failure::Failed(format!("{port} is in use by {holders}: end that first")));
        }
        if !self.yes {
            consent::obtain(&cautions::of(&dialect), "nothing was opened")?;
        }
        let address = self.address.or(dialect.address());
        Search { name: self.lasting_name(), port: self.port, dialect, address, baud: self.baud }.run()
    }

    /// The port's name that stays the same, for the configuration.
    fn lasting_name(&self) -> PathBuf {
        let real = self.port.canonicalize().ok();
        let mut ports = list(&System::real(), &User::me()).into_iter();
        let known = ports.find(|port| port.device.canonicalize().ok() == real);
        known.map_or(self.port.clone(), |port| port.name.path)
    }
}

/// `0x4C` or `76`.
fn address(text: &str) -> Result<u8, String> {
    let text = text.trim();
    let hex = text.strip_prefix("0x").or(text.strip_prefix("0X"));
    let number = hex.map_or(text.parse(), |digits| u8::from_str_radix(digits, 16));
    let inside = number.ok().filter(|address| ADDRESSES.contains(address));
    inside.ok_or_else(|| {
        let (first, last) = (ADDRESSES.start(), ADDRESSES.end());
        format!(
            "Beamhand serves the addresses {first:#04x} to 0x{last:X}: set another one in the radio's menu"
        )
    })
}

#[cfg(test)]
mod tests {
    use super::address;

    #[test]
    fn an_address_is_written_as_in_the_radios_menu() {
        assert_eq!(address("0x4C"), Ok(0x4C));
        assert_eq!(address("76"), Ok(0x4C));
        for wrong in ["", "4C", "0x", "0xFE", "0xE0", "0", "1", "0x02", "-1", "256"] {
            assert!(address(wrong).is_err(), "{wrong}");
        }
    }
}
