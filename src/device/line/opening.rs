//! Opening a port by its stable name.

use std::io;
use std::os::unix::fs::FileTypeExt as _;
use std::path::{Path, PathBuf};
use std::time::Duration;

use serialport::{ClearBuffer, DataBits, FlowControl, Parity, SerialPort, StopBits};

use super::control_lines::{ControlLines, Raise, settle};
use super::ports::{self, System};

/// How `serialport` words ENOTTY.
const NO_LINE: &str = "Not a typewriter";

/// How a line is to be opened.
#[derive(Debug, Clone, PartialEq)]
pub struct LineSetup {
    /// The port's stable name: a link is resolved anew at every open.
    pub port: PathBuf,
    /// Bits per second.
    pub baud: u32,
    /// One or two.
    pub stop_bits: u8,
    /// The lines that this radio needs high.
    pub raise: Raise,
}

/// An open port, as the line's thread uses it.
pub trait Port: Send {
    /// Reads what is there within `wait`: an error of kind `TimedOut` when nothing came; zero
    /// bytes or any other error when the far end is gone.
    fn read(&mut self, buffer: &mut [u8], wait: Duration) -> io::Result<usize>;
    /// Writes, as far as the port takes it without blocking for long.
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize>;
    /// Goes on at another speed, for those who look for the right one.
    fn set_speed(&mut self, _baud: u32) -> io::Result<()> {
        Err(io::ErrorKind::Unsupported.into())
    }
}

/// Something that opens ports.
pub trait Opener: Send + Sync {
    /// Opens the port; the error says what was seen and what to do.
    fn open(&self) -> Result<Box<dyn Port>, String>;
}

/// Opens real serial ports (and pseudo-terminals).
pub struct SerialOpener(pub LineSetup);

impl Opener for SerialOpener {
    fn open(&self) -> Result<Box<dyn Port>, String> {
        let setup = &self.0;
        let name = setup.port.display();
        let stop_bits = if setup.stop_bits == 2 { StopBits::Two } else { StopBits::One };
        let mut port = serialport::new(setup.port.to_string_lossy(), setup.baud)
            .data_bits(DataBits::Eight)
            .parity(Parity::None)
            .stop_bits(stop_bits)
            .flow_control(FlowControl::None)
            .timeout(Duration::from_millis(20))
            .dtr_on_open(false)
            .open()
            .map_err(|error| describe(&setup.port, &error))?;
        if has_control_lines(&setup.port) {
            settle(&mut port, setup.raise).map_err(|error| {
                format!("{name}: DTR and RTS can't be cleared ({error}), so it is not used")
            })?;
        }
        // What came in before belongs to no question of ours.
        port.clear(ClearBuffer::Input).map_err(|error| describe(&setup.port, &error))?;
        Ok(Box::new(Serial(port)))
    }
}

/// A pseudo-terminal has no control lines, and says so with an error that is no trouble.
fn has_control_lines(port: &Path) -> bool {
    !std::fs::canonicalize(port).is_ok_and(|real| real.starts_with("/dev/pts"))
}

/// What was seen, and what to do.
fn describe(port: &Path, error: &serialport::Error) -> String {
    let name = port.display();
    match error.kind() {
        serialport::ErrorKind::Io(io::ErrorKind::NotFound) => {
            format!(
                "{name} is not there: check the cable and the name; `beamhand ports` lists those there are"
            )
        }
        serialport::ErrorKind::Io(io::ErrorKind::PermissionDenied) => not_allowed(port),
        _ if port.metadata().is_ok_and(|node| !node.file_type().is_char_device()) => no_port(port),
        // What the system says to questions for a line of something that has none (ENOTTY).
        _ if error.description == NO_LINE => no_port(port),
        serialport::ErrorKind::NoDevice | serialport::ErrorKind::Io(io::ErrorKind::ResourceBusy) => {
            in_use(port)
        }
        _ => format!("{name}: {error}"),
    }
}

fn no_port(port: &Path) -> String {
    format!("{} is no serial port; `beamhand ports` lists those there are", port.display())
}

fn in_use(port: &Path) -> String {
    let name = port.display();
    match ports::in_use_by(&System::real(), port) {
        Some(holders) => format!("{name} is in use by {holders}: end that first, a port has one user"),
        None => format!("{name} is in use by a program that this user can't see: a port has one user"),
    }
}

fn not_allowed(port: &Path) -> String {
    let name = port.display();
    let access = ports::access(port);
    let belongs = access.as_ref().map_or(String::new(), |access| format!(": it is {}", access.describe()));
    let remedy = access.and_then(|access| access.remedy);
    let remedy = remedy.map_or(String::new(), |remedy| format!("; {remedy}"));
    format!("{name}: this user may not open it{belongs}{remedy}")
}

struct Serial(Box<dyn SerialPort>);

impl Port for Serial {
    fn read(&mut self, buffer: &mut [u8], wait: Duration) -> io::Result<usize> {
        self.0.set_timeout(wait)?;
        self.0.read(buffer)
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes)
    }

    fn set_speed(&mut self, baud: u32) -> io::Result<()> {
        self.0.set_baud_rate(baud).map_err(io::Error::from)
    }
}

impl ControlLines for Box<dyn SerialPort> {
    fn set_dtr(&mut self, high: bool) -> io::Result<()> {
        self.write_data_terminal_ready(high).map_err(io::Error::from)
    }

    fn set_rts(&mut self, high: bool) -> io::Result<()> {
        self.write_request_to_send(high).map_err(io::Error::from)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(port: &Path, kind: serialport::ErrorKind) -> String {
        describe(port, &serialport::Error::new(kind, "the system's words"))
    }

    #[test]
    fn what_is_no_port_is_called_so() {
        let folder = tempfile::tempdir().unwrap();
        let (file, pipe) = (folder.path().join("file"), folder.path().join("pipe"));
        std::fs::write(&file, "").unwrap();
        nix::unistd::mkfifo(&pipe, nix::sys::stat::Mode::S_IRWXU).unwrap();
        for port in [folder.path(), &file, &pipe, Path::new("/dev/full")] {
            let setup =
                LineSetup { port: port.to_owned(), baud: 9600, stop_bits: 1, raise: Raise::default() };
            let said = SerialOpener(setup).open().err().unwrap();
            assert!(said.contains("is no serial port; `beamhand ports`"), "{said}");
        }
    }

    #[test]
    fn who_may_not_open_a_port_hears_whose_it_is() {
        let file = tempfile::NamedTempFile::new().unwrap();
        let said = said(file.path(), serialport::ErrorKind::Io(io::ErrorKind::PermissionDenied));
        assert!(said.contains("this user may not open it: it is ") && said.contains(", mode 0600"), "{said}");
    }

    #[test]
    fn what_nobody_foresaw_is_told_in_the_systems_words() {
        assert_eq!(said(Path::new("/dev/a"), serialport::ErrorKind::Unknown), "/dev/a: the system's words");
    }
}
