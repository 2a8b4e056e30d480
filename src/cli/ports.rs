//! `beamhand ports`: the serial ports, and under which name each stays the same.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::config::Config;
use crate::device::line::ports::{Basis, SerialPort, System, User, list};

use super::Failure;
use super::source::load_config;
use super::text::{plain, say, wrap_at};

/// Columns of the words in front of each fact.
const INDENT: usize = 13;

/// What to do where no port is seen.
const NONE: &str = "\
no serial port is there. What to check:
- the cable: some USB cables only charge; try one that carries data
- the other end: some devices have to be switched on first
- the adapter: unplug it, plug it in again, and see what `sudo dmesg | tail` says
- the driver: if `lsusb` lists the adapter and no port appears, the kernel has
  none for it";

/// What is missing where no configuration says which device is on which port.
const NO_CONFIGURATION: &str = "\
no usable configuration: which device is on which port is not shown; `beamhand
check` says what is wrong with it";

/// List the serial ports: what is plugged in, who may open it, who has it open
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand ports
  beamhand ports --json                one object per port, a line each

The first line of each port is the name to put into the configuration. Nothing is opened: \
opening a port raises two of its lines for an instant, and some radios transmit on that. Exit \
code 1: there is no port.")]
pub(super) struct Ports {
    /// The configuration [default: yours, else the system's]
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
    /// JSON, one object a line
    #[arg(long)]
    json: bool,
    /// Look at another computer's sys, dev and proc, below this folder
    #[arg(long, value_name = "FOLDER", hide = true)]
    root: Option<PathBuf>,
}

/// The machine-readable line; what does not exist is null.
#[derive(Serialize)]
struct Line<'a> {
    name: &'a Path,
    basis: &'static str,
    device: &'a Path,
    vendor: Option<&'a str>,
    product: Option<&'a str>,
    vendor_id: Option<&'a str>,
    product_id: Option<&'a str>,
    serial_number: Option<&'a str>,
    owner: Option<&'a str>,
    group: Option<&'a str>,
    mode: Option<String>,
    may_open: Option<bool>,
    remedy: Option<String>,
    in_use_by: Vec<Process<'a>>,
    console: bool,
    configured_for: Vec<&'a str>,
}

#[derive(Serialize)]
struct Process<'a> {
    pid: u32,
    name: &'a str,
}

impl Ports {
    pub(super) fn run(self) -> Result<(), Failure> {
        let config = self.configuration()?;
        let ports = list(&self.system(), &User::me());
        if ports.is_empty() {
            return Err(Failure::Failed(NONE.to_owned()));
        }
        for port in &ports {
            let devices = config.as_ref().map_or(Vec::new(), |config| configured_for(config, port));
            if self.json {
                say(serde_json::to_string(&line(port, devices)).unwrap_or_default())?;
            } else {
                say(paragraph(port, &devices).join("\n"))?;
            }
        }
        if config.is_none() && !self.json {
            say(NO_CONFIGURATION)?;
        }
        Ok(())
    }

    /// The configuration, where there is one that can be used.
    fn configuration(&self) -> Result<Option<Config>, Failure> {
        match load_config(self.config.as_deref()) {
            Err(refused) if self.config.is_some() => Err(refused),
            loaded => Ok(loaded.ok()),
        }
    }

    fn system(&self) -> System {
        self.root.as_ref().map_or_else(System::real, |root| System {
            sys: root.join("sys"),
            dev: root.join("dev"),
            proc: root.join("proc"),
        })
    }
}

/// All ports, for people.
pub(super) fn described(config: &Config) -> String {
    let ports = list(&System::real(), &User::me());
    let each = ports.iter().map(|port| paragraph(port, &configured_for(config, port)).join("\n") + "\n");
    if ports.is_empty() { NONE.to_owned() } else { each.collect() }
}

/// The devices that the configuration has on a port, whatever name it gives the port.
fn configured_for<'c>(config: &'c Config, port: &SerialPort) -> Vec<&'c str> {
    let same =
        |named: &Path| named.canonicalize().is_ok_and(|real| Some(real) == port.device.canonicalize().ok());
    config.lines().filter(|(_, line)| same(&line.port)).map(|(name, _)| name).collect()
}

/// A port in lines for people.
fn paragraph(port: &SerialPort, devices: &[&str]) -> Vec<String> {
    let mut lines = vec![port.name.path.display().to_string()];
    let mut fact = |what: &str, is: &str| lines.push(wrap_at(&format!("  {what:<11}{}", plain(is)), INDENT));
    if port.name.path != port.device {
        fact("now", &port.device.display().to_string());
    }
    fact("name", by(port.name.basis).1);
    fact("is", &plugged(port));
    if let Some(access) = &port.access {
        let may = access.remedy.as_ref().map_or("you may open it".to_owned(), |remedy| {
            format!("you may not open it; what helps: {remedy}")
        });
        fact("belongs to", &format!("{}; {may}", access.describe()));
    }
    match port.holders.describe() {
        Some(holders) => fact("in use by", &holders),
        None if port.holders.some_hidden => {
            fact("in use by", "nobody that you may see; `sudo beamhand ports` sees everybody")
        }
        None => fact("in use by", "nobody"),
    }
    if !devices.is_empty() {
        fact("configured", &format!("for {}", devices.join(", ")));
    }
    lines
}

fn plugged(port: &SerialPort) -> String {
    let Some(adapter) = &port.adapter else { return "a port of the computer itself".to_owned() };
    let words: Vec<&str> =
        [&adapter.vendor, &adapter.product].into_iter().flatten().map(String::as_str).collect();
    let named = if words.is_empty() { String::new() } else { format!(" \"{}\"", words.join(" ")) };
    let number = adapter.serial_number.as_ref();
    let number = number.map_or("no serial number".to_owned(), |number| format!("serial number {number}"));
    format!("USB{named}, {}:{}, {number}", adapter.vendor_id, adapter.product_id)
}

/// What a name goes by, for programs and for people.
fn by(basis: Basis) -> (&'static str, &'static str) {
    match basis {
        Basis::SerialNumber => {
            ("serial-number", "stays the same in any USB socket: it goes by the adapter's serial number")
        }
        Basis::SocketWithoutNumber => (
            "socket",
            "goes by the USB socket, because the adapter has no serial number: always plug it into the same \
             one",
        ),
        Basis::SocketOfTwins => (
            "socket-of-twins",
            "goes by the USB socket, because another adapter here calls itself the same, and their names in \
             by-id are worthless: always plug each into its own socket",
        ),
        Basis::BuiltIn => ("built-in", "stays the same: the port is never anywhere else"),
        Basis::Order => {
            ("order", "may be another one after a cable was pulled: this system makes no lasting names")
        }
    }
}

fn line<'a>(port: &'a SerialPort, configured_for: Vec<&'a str>) -> Line<'a> {
    let (adapter, access) = (port.adapter.as_ref(), port.access.as_ref());
    let process =
        |holder: &'a crate::device::line::ports::Holder| Process { pid: holder.pid, name: &holder.name };
    Line {
        name: &port.name.path,
        basis: by(port.name.basis).0,
        device: &port.device,
        vendor: adapter.and_then(|adapter| adapter.vendor.as_deref()),
        product: adapter.and_then(|adapter| adapter.product.as_deref()),
        vendor_id: adapter.map(|adapter| adapter.vendor_id.as_str()),
        product_id: adapter.map(|adapter| adapter.product_id.as_str()),
        serial_number: adapter.and_then(|adapter| adapter.serial_number.as_deref()),
        owner: access.map(|access| access.owner.as_str()),
        group: access.map(|access| access.group.as_str()),
        mode: access.map(|access| format!("{:04o}", access.mode)),
        may_open: access.map(|access| access.remedy.is_none()),
        remedy: access.and_then(|access| Some(access.remedy.as_ref()?.to_string())),
        in_use_by: port.holders.processes.iter().map(process).collect(),
        console: port.holders.console,
        configured_for,
    }
}
