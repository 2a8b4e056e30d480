//! DTR and RTS. Many interfaces key the transmitter on one of them, so both are cleared the
//! moment a port is open; the kernel itself raises them for an instant at the open, which no
//! program can prevent.

use std::io;

/// The two lines of a port that a program can drive.
pub trait ControlLines {
    /// Raises or clears DTR.
    fn set_dtr(&mut self, high: bool) -> io::Result<()>;
    /// Raises or clears RTS.
    fn set_rts(&mut self, high: bool) -> io::Result<()>;
}

/// The lines that a radio or its interface needs high, for its power or for handshake. Each may
/// key another radio's transmitter: the configuration says so where they are set.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Raise {
    /// Keep DTR high.
    pub dtr: bool,
    /// Keep RTS high.
    pub rts: bool,
}

impl Raise {
    /// Whether any line is to be raised.
    pub fn any(self) -> bool {
        self.dtr || self.rts
    }
}

/// Puts both lines where they belong: what must be low goes low first.
pub(super) fn settle(port: &mut dyn ControlLines, raise: Raise) -> io::Result<()> {
    if !raise.dtr {
        port.set_dtr(false)?;
    }
    if !raise.rts {
        port.set_rts(false)?;
    }
    if raise.dtr {
        port.set_dtr(true)?;
    }
    if raise.rts {
        port.set_rts(true)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Default)]
    struct Watched(Vec<(&'static str, bool)>);

    impl ControlLines for Watched {
        fn set_dtr(&mut self, high: bool) -> io::Result<()> {
            self.0.push(("dtr", high));
            Ok(())
        }
        fn set_rts(&mut self, high: bool) -> io::Result<()> {
            self.0.push(("rts", high));
            Ok(())
        }
    }

    #[test]
    fn both_lines_are_cleared_unless_one_is_needed() {
        let mut port = Watched::default();
        settle(&mut port, Raise::default()).unwrap();
        assert_eq!(port.0, [("dtr", false), ("rts", false)]);
        let mut port = Watched::default();
        settle(&mut port, Raise { dtr: true, rts: false }).unwrap();
        assert_eq!(port.0, [("rts", false), ("dtr", true)]);
    }
}
