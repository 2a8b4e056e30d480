//! The control socket: JSON-RPC 2.0, one object a line, many clients.

use std::collections::VecDeque;
use std::fs::Permissions;
use std::io;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::unix::{OwnedReadHalf, OwnedWriteHalf};
use tokio::net::{UnixListener, UnixStream};
use tokio::sync::{Notify, mpsc, watch};

use crate::control::{
    Event, Id, LineBuffer, LineError, Method, Notification, Request, Response, RpcError, code, to_line,
};

use super::engine::{Handle, Published};

/// How many clients are served at once; one more closes the oldest idle one.
const CLIENTS: usize = 64;
/// A reader that takes nothing for this long is gone.
const WRITE_PATIENCE: Duration = Duration::from_secs(5);

/// The socket's place in the file system, removed with it.
pub(super) struct Socket {
    listener: UnixListener,
    path: PathBuf,
}

impl Socket {
    /// Listens at `path` with these permission bits. A socket that nobody listens on any more is
    /// replaced; one that answers is not, and neither is a file of any other kind.
    pub(super) fn listen(path: &Path, mode: u32, group: Option<&str>) -> io::Result<Self> {
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder)?;
        }
        make_room(path)?;
        let listener = UnixListener::bind(path)?;
        std::fs::set_permissions(path, Permissions::from_mode(mode))?;
        if let Some(group) = group {
            super::group::give_to(path, group)?;
        }
        Ok(Self { listener, path: path.to_owned() })
    }

    /// Serves clients until the future is dropped.
    pub(super) async fn serve(&self, engine: Handle) {
        let clients = Clients::default();
        loop {
            match self.listener.accept().await {
                Ok((stream, _)) => {
                    let place = clients.enter();
                    tokio::spawn(serve_client(stream, engine.clone(), place, clients.clone()));
                }
                Err(error) => {
                    tracing::warn!("the control socket can't accept a client: {error}");
                    tokio::time::sleep(Duration::from_millis(100)).await;
                }
            }
        }
    }
}

impl Drop for Socket {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.path);
    }
}

fn make_room(path: &Path) -> io::Result<()> {
    use std::os::unix::fs::FileTypeExt;
    let Ok(found) = std::fs::symlink_metadata(path) else { return Ok(()) };
    let refuse =
        |what: &str| Err(io::Error::new(io::ErrorKind::AddrInUse, format!("{}: {what}", path.display())));
    if !found.file_type().is_socket() {
        return refuse("there is a file that is no socket; remove it or name another place");
    }
    if std::os::unix::net::UnixStream::connect(path).is_ok() {
        return refuse("another daemon answers there; stop it first, or name another place");
    }
    std::fs::remove_file(path)
}

/// Who is connected, the longest idle first.
#[derive(Clone, Default)]
struct Clients(Arc<Mutex<(u64, VecDeque<Place>)>>);

/// One client's place.
#[derive(Clone)]
struct Place {
    number: u64,
    leave: Arc<Notify>,
    subscribed: bool,
}

impl Clients {
    /// A place for a new client; if all are taken, the one that was idle for longest has to leave.
    fn enter(&self) -> Place {
        let (count, places) = &mut *self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if places.len() >= CLIENTS
            && let Some(index) = places.iter().position(|place| !place.subscribed).or(Some(0))
            && let Some(oldest) = places.remove(index)
        {
            oldest.leave.notify_one();
        }
        *count += 1;
        let place = Place { number: *count, leave: Arc::new(Notify::new()), subscribed: false };
        places.push_back(place.clone());
        place
    }

    /// The client was active just now.
    fn touch(&self, place: &Place) {
        let (_, places) = &mut *self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(index) = places.iter().position(|other| other.number == place.number) {
            places.remove(index);
            places.push_back(place.clone());
        }
    }

    fn exit(&self, place: &Place) {
        let (_, places) = &mut *self.0.lock().unwrap_or_else(PoisonError::into_inner);
        places.retain(|other| other.number != place.number);
    }
}

async fn serve_client(stream: UnixStream, engine: Handle, mut place: Place, clients: Clients) {
    let peer = match stream.peer_cred() {
        Ok(credentials) => format!("user {}", credentials.uid()),
        Err(_) => "unknown user".to_owned(),
    };
    let leave = place.leave.clone();
    tokio::select! {
        () = leave.notified() => {}
        _ = converse(stream, &engine, &peer, &mut place, &clients) => {}
    }
    clients.exit(&place);
}

async fn converse(
    stream: UnixStream,
    engine: &Handle,
    peer: &str,
    place: &mut Place,
    clients: &Clients,
) -> io::Result<()> {
    let (mut reader, mut writer) = stream.into_split();
    let mut lines = LineBuffer::default();
    loop {
        let Some(line) = next_line(&mut reader, &mut lines).await? else { return Ok(()) };
        clients.touch(place);
        let (answer, subscribed) = match line {
            Ok(line) => answer(engine, &line, peer).await,
            Err(error) => (Some(no_request(error.to_string())), false),
        };
        if let Some(answer) = answer {
            respond(&mut writer, answer).await?;
        }
        if subscribed {
            place.subscribed = true;
            clients.touch(place);
            return stream_events(reader, writer, lines, engine, peer).await;
        }
    }
}

/// The answer to one line, if one is due, and whether it was a subscription.
async fn answer(engine: &Handle, line: &str, peer: &str) -> (Option<Response>, bool) {
    let request = match Request::parse(line) {
        Ok(request) => request,
        Err(response) => return (Some(response), false),
    };
    let subscribes = request.method == Method::Subscribe;
    let outcome = engine.call(request.method, peer).await;
    let subscribed = subscribes && outcome.is_ok();
    (request.id.map(|id| Response { id, outcome }), subscribed)
}

fn no_request(what: String) -> Response {
    Response::error(Id::Null, RpcError::new(code::NO_REQUEST, what))
}

/// Sends the newest status whenever it changed, and still answers requests.
async fn stream_events(
    mut reader: OwnedReadHalf,
    mut writer: OwnedWriteHalf,
    mut lines: LineBuffer,
    engine: &Handle,
    peer: &str,
) -> io::Result<()> {
    let (ask, mut asked) = mpsc::channel::<String>(4);
    let mut status = engine.status.clone();
    status.mark_changed();
    let listen = async {
        while let Some(line) = next_line(&mut reader, &mut lines).await? {
            if let Ok(line) = line
                && ask.send(line).await.is_err()
            {
                break;
            }
        }
        Ok::<(), io::Error>(())
    };
    let talk = async {
        let mut missed = Missed::default();
        loop {
            tokio::select! {
                changed = status.changed() => {
                    if changed.is_err() { return Ok(()) }
                    let event = missed.event(&mut status);
                    write(&mut writer, &Notification::new(event)).await?;
                }
                Some(line) = asked.recv() => {
                    if let (Some(response), _) = answer(engine, &line, peer).await {
                        respond(&mut writer, response).await?;
                    }
                }
            }
        }
    };
    tokio::select! {
        ended = listen => ended,
        ended = talk => ended,
    }
}

/// Counts what a slow reader did not see.
#[derive(Default)]
struct Missed {
    last: Option<u64>,
}

impl Missed {
    fn event(&mut self, status: &mut watch::Receiver<Published>) -> Event {
        let (number, newest) = status.borrow_and_update().clone();
        let missed = self.last.map_or(0, |last| number.saturating_sub(last + 1));
        self.last = Some(number);
        Event { missed, status: (*newest).clone() }
    }
}

/// The next line, `None` at the end of the stream.
async fn next_line(
    reader: &mut OwnedReadHalf,
    lines: &mut LineBuffer,
) -> io::Result<Option<Result<String, LineError>>> {
    let mut bytes = [0_u8; 4096];
    loop {
        if let Some(line) = lines.next_line() {
            return Ok(Some(line));
        }
        match reader.read(&mut bytes).await? {
            0 => return Ok(None),
            count => lines.feed(&bytes[..count]),
        }
    }
}

/// Sends an answer. One that no line can hold, because it repeats what was asked, is replaced by
/// its code and a word about it.
async fn respond(writer: &mut OwnedWriteHalf, mut answer: Response) -> io::Result<()> {
    if to_line(&answer) == Err(LineError::TooLong) {
        let code = answer.outcome.err().map_or(code::INTERNAL, |error| error.code);
        answer.outcome = Err(RpcError::new(code, "the answer is too long for a line"));
    }
    write(writer, &answer).await
}

async fn write(writer: &mut OwnedWriteHalf, message: &impl serde::Serialize) -> io::Result<()> {
    let line = to_line(message).map_err(|error| io::Error::new(io::ErrorKind::InvalidData, error))?;
    match tokio::time::timeout(WRITE_PATIENCE, writer.write_all(&line)).await {
        Ok(written) => written,
        Err(_) => Err(io::ErrorKind::TimedOut.into()),
    }
}
