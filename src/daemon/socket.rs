//! The control socket: JSON-RPC 2.0, one object a line, many clients.

use std::collections::VecDeque;
use std::fs::Permissions;
use std::io;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::unix::{OwnedReadHalf, OwnedWriteHalf};
use tokio::net::{UnixListener, UnixStream};
use tokio::sync::{Notify, mpsc, watch};

use crate::control::{
    Event, Id, LineBuffer, LineError, Method, Notification, Request, Response, RpcError, asks_to_halt, code,
    to_line,
};

use super::engine::{Handle, Published};
use super::vitals::Vitals;

/// How many clients are served at once; one more closes the oldest idle one.
const CLIENTS: usize = 64;
/// What a client may have asked and not been answered, bytes; more closes its connection.
const MOST_WAITING: usize = 1 << 20;
/// What a waiting line costs beyond its text.
const LINE_COSTS: usize = 64;
/// How often the socket shows that it is alive, and after how long without it is stuck.
const BEAT: (Duration, Duration) = (Duration::from_secs(1), Duration::from_secs(5));
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
    pub(super) async fn serve(&self, engine: Handle, vitals: &Vitals) {
        let clients = Clients::default();
        let pulse = vitals.begin("the control socket", BEAT.1);
        loop {
            let accepted = tokio::time::timeout(BEAT.0, self.listener.accept()).await;
            pulse.beat();
            // Nobody came for a while.
            let Ok(accepted) = accepted else { continue };
            match accepted {
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

/// Reads and answers side by side: whoever does not read the answers is still heard.
async fn converse(
    stream: UnixStream,
    engine: &Handle,
    peer: &str,
    place: &mut Place,
    clients: &Clients,
) -> io::Result<()> {
    let (reader, writer) = stream.into_split();
    let (ask, asked) = mpsc::unbounded_channel();
    let waiting = AtomicUsize::new(0);
    let talk = talk(writer, asked, &waiting, engine, peer, (place, clients));
    tokio::pin!(talk);
    tokio::select! {
        ended = &mut talk => return ended,
        ended = listen(reader, ask, &waiting, engine) => ended?,
    }
    // It asks no more; what it asked is answered.
    talk.await
}

/// Hands the lines on, and sees to a halt before anything that was asked earlier is answered.
async fn listen(
    mut reader: OwnedReadHalf,
    ask: mpsc::UnboundedSender<Result<String, LineError>>,
    waiting: &AtomicUsize,
    engine: &Handle,
) -> io::Result<()> {
    let mut lines = LineBuffer::default();
    while let Some(line) = next_line(&mut reader, &mut lines, engine).await? {
        let length = line.as_ref().map_or(0, String::len) + LINE_COSTS;
        if waiting.fetch_add(length, Ordering::Relaxed) + length > MOST_WAITING {
            return Err(io::Error::new(io::ErrorKind::QuotaExceeded, "it asks and reads no answers"));
        }
        if ask.send(line).is_err() {
            break;
        }
    }
    Ok(())
}

/// Answers in order and, once that was asked for, sends the newest status whenever it changed.
async fn talk(
    mut writer: OwnedWriteHalf,
    mut asked: mpsc::UnboundedReceiver<Result<String, LineError>>,
    waiting: &AtomicUsize,
    engine: &Handle,
    peer: &str,
    (place, clients): (&mut Place, &Clients),
) -> io::Result<()> {
    let (mut status, mut missed) = (engine.status.clone(), Missed::default());
    loop {
        let line = tokio::select! {
            changed = status.changed(), if place.subscribed => {
                if changed.is_err() { return Ok(()) }
                let event = missed.event(&mut status);
                write(&mut writer, &Notification::new(event)).await?;
                continue;
            }
            line = asked.recv() => match line {
                Some(line) => line,
                None => return Ok(()),
            },
        };
        let length = line.as_ref().map_or(0, String::len) + LINE_COSTS;
        waiting.fetch_sub(length, Ordering::Relaxed);
        clients.touch(place);
        let (answer, subscribed) = match line {
            Ok(line) => answer(engine, &line, peer).await,
            Err(error) => (Some(no_request(error.to_string())), false),
        };
        if let Some(answer) = answer {
            respond(&mut writer, answer).await?;
        }
        if subscribed && !place.subscribed {
            place.subscribed = true;
            status.mark_changed();
            clients.touch(place);
        }
    }
}

/// The answer to one line, if one is due, and whether it was a subscription.
async fn answer(engine: &Handle, line: &str, peer: &str) -> (Option<Response>, bool) {
    let request = match Request::parse(line) {
        Ok(request) => request,
        Err(mut response) => {
            if let (true, Err(error)) = (asks_to_halt(line), &mut response.outcome) {
                error.message = format!("halted all the same; but {}", error.message);
            }
            return (Some(response), false);
        }
    };
    let subscribes = request.method == Method::Subscribe;
    let outcome = engine.call(request.method, peer).await;
    let subscribed = subscribes && outcome.is_ok();
    (request.id.map(|id| Response { id, outcome }), subscribed)
}

fn no_request(what: String) -> Response {
    Response::error(Id::Null, RpcError::new(code::NO_REQUEST, what))
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

/// The next line, `None` at the end of the stream. A halt is seen to here, also in a line that
/// was begun and not ended.
async fn next_line(
    reader: &mut OwnedReadHalf,
    lines: &mut LineBuffer,
    engine: &Handle,
) -> io::Result<Option<Result<String, LineError>>> {
    let mut bytes = [0_u8; 4096];
    loop {
        if let Some(line) = lines.next_line() {
            if line.as_ref().is_ok_and(|line| asks_to_halt(line)) {
                engine.halt();
            }
            return Ok(Some(line));
        }
        match reader.read(&mut bytes).await? {
            0 => {
                if asks_to_halt(&lines.unfinished()) {
                    engine.halt();
                }
                return Ok(None);
            }
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
