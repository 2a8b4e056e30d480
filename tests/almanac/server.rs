//! A small web server on this computer, which says what it is told to and remembers what it heard.

use std::io::{BufRead as _, BufReader, Write as _};
use std::net::{TcpListener, TcpStream};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Duration;

/// What it does with a request.
pub(crate) enum Reply {
    /// These bytes, then the end of the connection.
    Bytes(Vec<u8>),
    /// Some bytes, and then nothing more for so long.
    Stall(Vec<u8>, Duration),
    /// These bytes, each after so long.
    Trickle(Vec<u8>, Duration),
}

/// Takes one request for each reply, in order.
pub(crate) struct Server {
    pub(crate) port: u16,
    heard: Arc<Mutex<Vec<String>>>,
    thread: Option<JoinHandle<()>>,
}

impl Server {
    pub(crate) fn with(replies: Vec<Reply>) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let heard = Arc::new(Mutex::new(Vec::new()));
        let memory = heard.clone();
        let thread = std::thread::spawn(move || {
            for reply in replies {
                let (stream, _) = listener.accept().unwrap();
                let request = request(&stream);
                if request.is_empty() {
                    return;
                }
                memory.lock().unwrap().push(request);
                answer(stream, reply);
            }
        });
        Self { port, heard, thread: Some(thread) }
    }

    pub(crate) fn url(&self, path: &str) -> String {
        format!("http://127.0.0.1:{}{path}", self.port)
    }

    /// Every request's first line and headers, in lower case.
    pub(crate) fn heard(&self) -> Vec<String> {
        self.heard.lock().unwrap().clone()
    }
}

impl Drop for Server {
    /// Lets a server go that waits for requests which nobody makes any more.
    fn drop(&mut self) {
        let Some(thread) = self.thread.take() else { return };
        while !thread.is_finished() {
            drop(TcpStream::connect(("127.0.0.1", self.port)));
            std::thread::sleep(Duration::from_millis(5));
        }
        drop(thread.join());
    }
}

fn request(stream: &TcpStream) -> String {
    let mut text = String::new();
    for line in BufReader::new(stream).lines() {
        match line {
            Ok(line) if !line.is_empty() => text += &(line.to_lowercase() + "\n"),
            _ => break,
        }
    }
    text
}

/// Who has heard enough may hang up.
fn answer(mut stream: TcpStream, reply: Reply) {
    match reply {
        Reply::Bytes(bytes) => drop(stream.write_all(&bytes)),
        Reply::Stall(bytes, wait) => {
            drop(stream.write_all(&bytes));
            std::thread::sleep(wait);
        }
        Reply::Trickle(bytes, wait) => {
            for byte in bytes {
                std::thread::sleep(wait);
                if stream.write_all(&[byte]).is_err() {
                    return;
                }
            }
        }
    }
}

/// An answer of HTTP/1.1 with its length. It says that the connection ends with it: who is not told
/// (RFC 9112, section 9.6) may ask again on it, and meets a reset.
pub(crate) fn ok(headers: &str, body: &str) -> Reply {
    answered("200 OK", headers, body)
}

/// An answer without a body.
pub(crate) fn status(line: &str, headers: &str) -> Reply {
    answered(line, headers, "")
}

fn answered(line: &str, headers: &str, body: &str) -> Reply {
    let head = format!("HTTP/1.1 {line}\r\nContent-Length: {}\r\nConnection: close\r\n", body.len());
    Reply::Bytes(format!("{head}{headers}\r\n{body}").into_bytes())
}
