//! A pair of ends of a pseudo-terminal that can neither block nor spin.

use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use serialport::{SerialPort, TTYPort};

/// How long a byte may wait for the driver to make room.
const ROOM_WAIT: Duration = Duration::from_millis(1);

/// A pseudo-terminal. The driver's end is held open here too, so that ours does not hang up
/// while no driver has it, and so that the settings that the driver made can be read.
pub(super) struct Pty {
    ours: TTYPort,
    theirs: TTYPort,
    path: PathBuf,
}

impl Pty {
    /// Opens one in raw mode, under another name than `unlike`.
    pub(super) fn open(baud: u32, unlike: Option<&Path>) -> Result<Self, serialport::Error> {
        let first = Self::any(baud)?;
        // While `first` is held, its name is not given out again.
        if unlike == Some(first.path()) { Self::any(baud) } else { Ok(first) }
    }

    fn any(baud: u32) -> Result<Self, serialport::Error> {
        let (ours, theirs) = TTYPort::pair()?;
        let path = theirs.name().map(PathBuf::from).unwrap_or_default();
        // The copies, unlike the originals, are not passed on to child processes, which would
        // keep the cable in when it is pulled.
        let (ours, mut theirs) = (ours.try_clone_native()?, theirs.try_clone_native()?);
        theirs.set_baud_rate(baud)?;
        Ok(Self { ours, theirs, path })
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// The line speed that the driver chose.
    pub(super) fn far_baud(&self) -> Option<u32> {
        self.theirs.baud_rate().ok()
    }

    /// Waits up to `wait` for bytes from the driver; an empty slice if there were none.
    pub(super) fn read<'b>(&mut self, buffer: &'b mut [u8], wait: Duration) -> io::Result<&'b [u8]> {
        self.ours.set_timeout(wait)?;
        match self.ours.read(buffer) {
            Ok(length) => Ok(&buffer[..length]),
            Err(error) if error.kind() == io::ErrorKind::TimedOut => Ok(&[]),
            Err(error) => Err(error),
        }
    }

    /// Passes bytes to the driver, one at a time because a longer write blocks where there is
    /// room for a part of it; gives how many went. The rest found no room.
    pub(super) fn write(&mut self, bytes: &[u8]) -> usize {
        let sendable = self.ours.set_timeout(ROOM_WAIT).is_ok();
        bytes.iter().take_while(|byte| sendable && self.ours.write_all(&[**byte]).is_ok()).count()
    }
}
