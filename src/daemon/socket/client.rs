//! One client of the control socket, from its first line to its last.

use std::io;
use std::time::Duration;

use tokio::io::AsyncWriteExt;
use tokio::net::UnixStream;
use tokio::net::unix::{OwnedReadHalf, OwnedWriteHalf};
use tokio::sync::{mpsc, watch};

use crate::control::{
    Event, Id, LineBuffer, LineError, Method, Notification, Request, Response, RpcError, asks_to_halt, code,
    to_line,
};

use super::super::engine::{Handle, Published};
use super::clients::Guest;

/// What a waiting line costs beyond its text, bytes.
const LINE_COSTS: usize = 64;
/// A reader that takes nothing for this long is gone.
const WRITE_PATIENCE: Duration = Duration::from_secs(5);

/// Whether it is the daemon's own user, or root, who connects.
pub(super) fn is_own(stream: &UnixStream) -> bool {
    let own = nix::unistd::Uid::effective();
    stream.peer_cred().is_ok_and(|peer| peer.uid() == own.as_raw() || peer.uid() == 0)
}

/// Serves a client from now on, until it leaves or has to.
pub(super) fn begin(stream: UnixStream, engine: &Handle, guest: Guest) {
    drop(tokio::spawn(serve(stream, engine.clone(), guest)));
}

async fn serve(stream: UnixStream, engine: Handle, guest: Guest) {
    let peer = match stream.peer_cred() {
        Ok(credentials) => format!("user {}", credentials.uid()),
        Err(_) => "unknown user".to_owned(),
    };
    tokio::select! {
        () = guest.has_to_leave() => {}
        _ = converse(stream, &engine, &peer, &guest) => {}
    }
}

/// Reads and answers side by side: whoever does not read the answers is still heard.
async fn converse(stream: UnixStream, engine: &Handle, peer: &str, guest: &Guest) -> io::Result<()> {
    let (reader, writer) = stream.into_split();
    let (ask, asked) = mpsc::unbounded_channel();
    let talk = talk(writer, asked, engine, peer, guest);
    tokio::pin!(talk);
    tokio::select! {
        ended = &mut talk => return ended,
        ended = listen(reader, ask, engine, guest) => ended?,
    }
    // It asks no more; what it asked is answered.
    talk.await
}

/// Hands the lines on, and sees to a halt before anything that was asked earlier is answered.
async fn listen(
    reader: OwnedReadHalf,
    ask: mpsc::UnboundedSender<Result<String, LineError>>,
    engine: &Handle,
    guest: &Guest,
) -> io::Result<()> {
    let mut lines = LineBuffer::default();
    while let Some(line) = next_line(&reader, &mut lines, engine, guest).await? {
        guest.asks(cost(&line))?;
        if ask.send(line).is_err() {
            break;
        }
        // Each client has one line heard and one answered, and then it is the next one's turn.
        tokio::task::yield_now().await;
    }
    Ok(())
}

fn cost(line: &Result<String, LineError>) -> usize {
    line.as_ref().map_or(0, String::len) + LINE_COSTS
}

/// Answers in order and, once that was asked for, sends the newest status whenever it changed.
async fn talk(
    mut writer: OwnedWriteHalf,
    mut asked: mpsc::UnboundedReceiver<Result<String, LineError>>,
    engine: &Handle,
    peer: &str,
    guest: &Guest,
) -> io::Result<()> {
    let (mut status, mut missed) = (engine.status.clone(), Missed::default());
    let mut subscribed = false;
    loop {
        let line = tokio::select! {
            changed = status.changed(), if subscribed => {
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
        let cost = cost(&line);
        let (answer, subscribes) = match line {
            Ok(line) => answer(engine, &line, peer).await,
            Err(error) => (Some(no_request(error.to_string())), false),
        };
        if let Some(answer) = answer {
            respond(&mut writer, answer).await?;
        }
        guest.is_answered(cost);
        if subscribes && !subscribed {
            subscribed = true;
            status.mark_changed();
            guest.subscribes();
        }
        tokio::task::yield_now().await;
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
    reader: &OwnedReadHalf,
    lines: &mut LineBuffer,
    engine: &Handle,
    guest: &Guest,
) -> io::Result<Option<Result<String, LineError>>> {
    loop {
        if let Some(line) = lines.next_line() {
            if line.as_ref().is_ok_and(|line| asks_to_halt(line)) {
                engine.halt();
            }
            guest.begins(lines.held())?;
            return Ok(Some(line));
        }
        reader.readable().await?;
        match take_in(reader, lines) {
            Ok(0) => {
                if asks_to_halt(&lines.unfinished()) {
                    engine.halt();
                }
                return Ok(None);
            }
            Ok(_) => guest.begins(lines.held())?,
            Err(error) if error.kind() == io::ErrorKind::WouldBlock => {}
            Err(error) => return Err(error),
        }
    }
}

/// Takes in what is there. The room for it is only needed now: who says nothing takes none.
fn take_in(reader: &OwnedReadHalf, lines: &mut LineBuffer) -> io::Result<usize> {
    let mut bytes = [0_u8; 4096];
    let count = reader.try_read(&mut bytes)?;
    lines.feed(&bytes[..count]);
    Ok(count)
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
