//! Opening a port by its stable name.

use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use serialport::{DataBits, FlowControl, Parity, SerialPort, StopBits};

use super::control_lines::{ControlLines, Raise, settle};

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
}

/// Something that opens ports.
pub trait Opener: Send {
    /// Opens the port; the error says what was seen and what to do.
    fn open(&mut self) -> Result<Box<dyn Port>, String>;
}

/// Opens real serial ports (and pseudo-terminals).
pub struct SerialOpener(pub LineSetup);

impl Opener for SerialOpener {
    fn open(&mut self) -> Result<Box<dyn Port>, String> {
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
        Ok(Box::new(Serial(port)))
    }
}

/// A pseudo-terminal has no control lines, and says so with an error that is no trouble.
fn has_control_lines(port: &Path) -> bool {
    !std::fs::canonicalize(port).is_ok_and(|real| real.starts_with("/dev/pts"))
}

fn describe(port: &Path, error: &serialport::Error) -> String {
    let name = port.display();
    match error.kind() {
        serialport::ErrorKind::Io(io::ErrorKind::NotFound) => {
            format!("{name} is not there: check the cable and the name")
        }
        serialport::ErrorKind::NoDevice => {
            format!("{name} is in use by another program, or is no serial port")
        }
        serialport::ErrorKind::Io(io::ErrorKind::PermissionDenied) => {
            format!("{name}: this user may not open it; add it to the group that owns the port")
        }
        _ => format!("{name}: {error}"),
    }
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
}

impl ControlLines for Box<dyn SerialPort> {
    fn set_dtr(&mut self, high: bool) -> io::Result<()> {
        self.write_data_terminal_ready(high).map_err(io::Error::from)
    }

    fn set_rts(&mut self, high: bool) -> io::Result<()> {
        self.write_request_to_send(high).map_err(io::Error::from)
    }
}
