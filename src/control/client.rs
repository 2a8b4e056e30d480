//! The asking side of the control socket, blocking.

use std::io::{self, ErrorKind, Read as _, Write as _};
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use serde::de::DeserializeOwned;
use serde_json::Value;

use super::lines::{LineBuffer, LineError, to_line};
use super::method::{Event, Method};
use super::rpc::{Id, Notification, Request, Response, RpcError};
use super::status::Status;

/// How long an answer may take. The daemon answers at once; this is for one that hangs.
const PATIENCE: Duration = Duration::from_secs(10);

/// What can go wrong when the daemon is asked.
#[derive(Debug, thiserror::Error)]
pub enum ClientError {
    /// Nothing listens there.
    #[error(
        "the daemon can't be reached at {}: {why}; see that `beamhand run` is running, or name its \
         configuration with --config",
        .path.display()
    )]
    NotReachable {
        /// The socket.
        path: PathBuf,
        /// What the system said.
        why: io::Error,
    },
    /// It was there and is gone, or can't be written to.
    #[error("the connection to the daemon broke: {0}")]
    Broken(#[from] io::Error),
    /// It is there and says nothing.
    #[error("the daemon did not answer within {} s", .0.as_secs())]
    NoAnswer(Duration),
    /// It says what this program does not understand.
    #[error("the daemon and this program do not understand each other ({0}); are they of one version?")]
    Nonsense(String),
    /// It refuses.
    #[error(transparent)]
    Refused(#[from] RpcError),
}

impl ClientError {
    /// Whether there is no daemon to talk to (exit code 69).
    pub fn is_not_reachable(&self) -> bool {
        matches!(self, ClientError::NotReachable { .. })
    }
}

impl From<LineError> for ClientError {
    fn from(error: LineError) -> Self {
        ClientError::Nonsense(error.to_string())
    }
}

impl From<serde_json::Error> for ClientError {
    fn from(error: serde_json::Error) -> Self {
        ClientError::Nonsense(error.to_string())
    }
}

/// A connection to the daemon.
#[derive(Debug)]
pub struct Client {
    stream: UnixStream,
    lines: LineBuffer,
    last_id: i64,
    patience: Duration,
}

impl Client {
    /// To the socket at `path`.
    ///
    /// # Errors
    /// [`ClientError::NotReachable`].
    pub fn connect(path: &Path) -> Result<Self, ClientError> {
        let not_reachable = |why| ClientError::NotReachable { path: path.to_owned(), why };
        let stream = UnixStream::connect(path).map_err(not_reachable)?;
        Ok(Self { stream, lines: LineBuffer::default(), last_id: 0, patience: PATIENCE })
    }

    /// Asks, waits, and returns the answer.
    ///
    /// # Errors
    /// [`ClientError::Refused`] if the daemon says no; the others if it says nothing that can be
    /// understood.
    pub fn call(&mut self, method: Method) -> Result<Value, ClientError> {
        self.last_id += 1;
        let id = Id::Number(self.last_id);
        let deadline = Instant::now() + self.patience;
        self.stream.set_write_timeout(Some(self.patience))?;
        self.stream
            .write_all(&to_line(&Request::new(id.clone(), method))?)
            .map_err(|error| self.broken(error))?;
        loop {
            let value: Value = serde_json::from_str(&self.read_line(Some(deadline))?)?;
            // An event between question and answer is not the answer.
            if value.get("method").is_some() {
                continue;
            }
            let response: Response = serde_json::from_value(value)?;
            if response.id == id || response.id == Id::Null {
                return response.outcome.map_err(ClientError::Refused);
            }
        }
    }

    /// [`Client::call`] with the answer as the type that the method promises.
    ///
    /// # Errors
    /// As [`Client::call`]'s.
    pub fn call_as<T: DeserializeOwned>(&mut self, method: Method) -> Result<T, ClientError> {
        Ok(serde_json::from_value(self.call(method)?)?)
    }

    /// How things are.
    ///
    /// # Errors
    /// As [`Client::call`]'s.
    pub fn status(&mut self) -> Result<Status, ClientError> {
        self.call_as(Method::Status)
    }

    /// Turns the connection into a stream of events that ends when the daemon does.
    ///
    /// # Errors
    /// As [`Client::call`]'s.
    pub fn subscribe(mut self) -> Result<Events, ClientError> {
        self.call(Method::Subscribe)?;
        Ok(Events { client: self, over: false })
    }

    /// The next line; without a deadline it waits as long as it takes.
    fn read_line(&mut self, deadline: Option<Instant>) -> Result<String, ClientError> {
        let mut bytes = [0; 4096];
        loop {
            if let Some(line) = self.lines.next_line() {
                return Ok(line?);
            }
            let left = deadline.map(|deadline| deadline.saturating_duration_since(Instant::now()));
            if left.is_some_and(|left| left.is_zero()) {
                return Err(ClientError::NoAnswer(self.patience));
            }
            self.stream.set_read_timeout(left)?;
            match self.stream.read(&mut bytes) {
                Ok(0) => return Err(io::Error::from(ErrorKind::UnexpectedEof).into()),
                Ok(count) => self.lines.feed(&bytes[..count]),
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(self.broken(error)),
            }
        }
    }

    fn broken(&self, error: io::Error) -> ClientError {
        match error.kind() {
            ErrorKind::WouldBlock | ErrorKind::TimedOut => ClientError::NoAnswer(self.patience),
            _ => error.into(),
        }
    }
}

/// The daemon's events, as they come.
#[derive(Debug)]
pub struct Events {
    client: Client,
    over: bool,
}

/// Ends after the first error; the daemon's going away is one.
impl Iterator for Events {
    type Item = Result<Event, ClientError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.over {
            return None;
        }
        let line = self.client.read_line(None);
        // By way of a value, as answers are read: a second reader of the whole status would make the program larger.
        let value = line.and_then(|line| Ok(serde_json::from_str::<Value>(&line)?));
        let event = value.and_then(|value| Ok(serde_json::from_value::<Notification>(value)?.params));
        self.over = event.is_err();
        Some(event)
    }
}

#[cfg(test)]
mod tests;
