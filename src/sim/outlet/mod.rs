//! A real serial device to plug into: a pseudo-terminal behind a stable link, with a modelled
//! wire and its device at the far end, served by one thread on the rehearsal's clock.

mod pty;
mod serve;

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{self, Sender};
use std::thread::JoinHandle;
use std::time::Duration;
use std::{fs, io};

use super::{Handles, Wire};
use crate::clock::Clock;
use pty::Pty;
use serve::Order;

/// How long the thread may take to close its end.
const PATIENCE: Duration = Duration::from_secs(2);

/// What can keep an outlet from being there.
#[derive(Debug, thiserror::Error)]
pub enum OutletError {
    /// The system gives no pseudo-terminal.
    #[error("no pseudo-terminal for simulated equipment: {0}; is /dev/pts mounted, and are all in use?")]
    Pty(#[from] serialport::Error),
    /// The link could not be put where it was wanted.
    #[error("{path}: {error}; the link to simulated equipment needs a folder that can be written")]
    Link {
        /// The link.
        path: PathBuf,
        /// What the system said.
        error: io::Error,
    },
    /// The thread could not be started, or is no longer there.
    #[error("the thread of the simulated equipment at {0} does not run")]
    NoThread(PathBuf),
}

/// A simulated device on a pseudo-terminal. Dropping it unplugs it and ends its thread.
pub struct Outlet {
    link: PathBuf,
    /// The name of the pseudo-terminal, which changes whenever the cable is put back.
    device: PathBuf,
    baud: u32,
    handles: Handles,
    orders: Sender<Order>,
    thread: Option<JoinHandle<()>>,
}

impl Outlet {
    /// Plugs `wire` in and puts a link to it at `link`, replacing one that is there. Plan time
    /// comes from `clock`; bytes are put on the wire at the plan time at which they were read.
    pub fn open(link: impl Into<PathBuf>, wire: Wire, clock: Arc<dyn Clock>) -> Result<Self, OutletError> {
        let link = link.into();
        let (handles, baud) = (wire.handles().clone(), wire.settings().baud);
        let pty = Pty::open(baud, None)?;
        let device = pty.path().to_owned();
        let (orders, taken) = mpsc::channel();
        let thread = std::thread::Builder::new()
            .name("simulated".into())
            .spawn(move || serve::serve(wire, pty, &*clock, &taken))
            .map_err(|_| OutletError::NoThread(link.clone()))?;
        let outlet = Self { link, device, baud, handles, orders, thread: Some(thread) };
        outlet.point_link()?;
        Ok(outlet)
    }

    /// The stable name, to be opened by the driver.
    pub fn link(&self) -> &Path {
        &self.link
    }

    /// The name of the pseudo-terminal behind the link at present.
    pub fn device(&self) -> &Path {
        &self.device
    }

    /// The device's record, faults and script.
    pub fn handles(&self) -> &Handles {
        &self.handles
    }

    /// Pulls the cable: when this returns the far end is closed and the link is gone. The
    /// device lives on behind it. Pulling a cable that is out changes nothing.
    pub fn pull(&mut self) -> Result<(), OutletError> {
        let (done, is_done) = mpsc::channel();
        let _ = fs::remove_file(&self.link);
        self.order(Order::Pull(done))?;
        is_done.recv_timeout(PATIENCE).map_err(|_| OutletError::NoThread(self.link.clone()))
    }

    /// Puts the cable back: a pseudo-terminal of another name, behind the same link.
    pub fn put_back(&mut self) -> Result<(), OutletError> {
        let pty = Pty::open(self.baud, Some(&self.device))?;
        self.plug_in(pty)
    }

    /// Puts the cable back under the name that it had, if nothing else has taken that meanwhile.
    pub fn put_back_alike(&mut self) -> Result<(), OutletError> {
        let pty = Pty::open(self.baud, None)?;
        self.plug_in(pty)
    }

    fn plug_in(&mut self, pty: Pty) -> Result<(), OutletError> {
        self.device = pty.path().to_owned();
        self.order(Order::PutBack(pty))?;
        self.point_link()
    }

    fn order(&self, order: Order) -> Result<(), OutletError> {
        self.orders.send(order).map_err(|_| OutletError::NoThread(self.link.clone()))
    }

    /// Makes the link by renaming a new one over it, so that it never points nowhere.
    fn point_link(&self) -> Result<(), OutletError> {
        let mut name = self.link.file_name().unwrap_or_default().to_owned();
        name.push(".new");
        let new = self.link.with_file_name(name);
        let _ = fs::remove_file(&new);
        std::os::unix::fs::symlink(&self.device, &new)
            .and_then(|()| fs::rename(&new, &self.link))
            .map_err(|error| OutletError::Link { path: self.link.clone(), error })
    }
}

impl Drop for Outlet {
    fn drop(&mut self) {
        if fs::read_link(&self.link).is_ok_and(|device| device == self.device) {
            let _ = fs::remove_file(&self.link);
        }
        let _ = self.orders.send(Order::Stop);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

#[cfg(test)]
mod tests;
