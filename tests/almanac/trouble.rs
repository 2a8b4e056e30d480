//! Sources and circumstances in a bad state.

use std::time::{Duration, Instant};

use beamhand::almanac::{Limits, Outcome, update};

use crate::server::{Reply, Server, ok};
use crate::{Bench, DEMO, noon, taken};

/// How a packed file begins (RFC 1952, and the signatures of other packers), and what follows.
const GZIP: &[u8] = b"\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\x03\x73\xf7\xf5";

fn bytes(headers: &str, body: &[u8]) -> Reply {
    let head = format!("HTTP/1.1 200 OK\r\nContent-Length: {}\r\n{headers}\r\n", body.len());
    Reply::Bytes([head.as_bytes(), body].concat())
}

#[test]
fn a_packed_answer_is_named_and_changes_nothing() {
    let server = Server::with(vec![
        ok("Content-Encoding: identity\r\n", DEMO),
        bytes("Content-Encoding: gzip\r\n", GZIP),
        bytes("Content-Type: application/gzip\r\n", GZIP),
    ]);
    let mut bench = Bench::new(&server.url("/a"));
    assert_eq!(bench.ask(), taken(5, 0, 0));
    bench.assert_fails("the answer is packed");
    bench.assert_fails("the answer is no text");
    assert!(server.heard().iter().all(|asked| asked.contains("accept-encoding: identity\n")));
}

/// Neither one that takes up the line and says nothing, nor one that says a byte now and then, for
/// ever: the time limit is for the whole.
#[test]
fn a_server_that_takes_for_ever_is_given_up() {
    let head = format!("HTTP/1.1 200 OK\r\nContent-Length: {}\r\n\r\n", DEMO.len());
    let trickle = (head + DEMO).into_bytes();
    let server = Server::with(vec![
        Reply::Stall(Vec::new(), Duration::from_secs(4)),
        Reply::Trickle(trickle[..200].to_vec(), Duration::from_millis(100)),
    ]);
    let mut bench = Bench::new(&server.url("/a"));
    for _ in 0..2 {
        let begin = Instant::now();
        let outcome = bench.ask_within(Limits { whole: Duration::from_secs(1), ..Limits::default() });
        assert!(matches!(outcome, Outcome::Failed(_)), "{outcome:?}");
        assert!(begin.elapsed() < Duration::from_secs(3), "{:?}", begin.elapsed());
    }
    assert!(bench.sets().is_empty());
}

/// The timer's process and one by hand, say.
#[test]
fn of_two_updates_at_once_one_asks() {
    let pause = Reply::Stall(b"HTTP/1.1 200 OK\r\n".to_vec(), Duration::from_millis(500));
    let server = Server::with(vec![pause, ok("", DEMO)]);
    let bench = Bench::new(&server.url("/a"));
    let ask = || update(&bench.shelf, &bench.source, noon(), Limits::default()).unwrap();
    let outcomes: Vec<Outcome> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4).map(|_| scope.spawn(ask)).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    let refused = outcomes.iter().filter(|outcome| matches!(outcome, Outcome::TooSoon(_))).count();
    assert_eq!((refused, server.heard().len()), (3, 1), "{outcomes:?}");
}
