use std::io::{BufRead as _, BufReader};
use std::os::unix::net::UnixListener;
use std::thread::{self, JoinHandle};

use super::*;
use crate::control::{MAX_LINE, PointParams, PointPlace, code};

const STATUS: &str = r#"{"station":null,"time":"2026-11-25T18:30:00.000Z","rehearsal":false,"clock":{"trusted":true,"error_s":null,"why":null},"state":"idle","why":"","satellite":null,"link":null,"pass":null,"look":null,"radios":[],"rotator":null,"trims":{"receive":0,"transmit":0}}"#;

/// A daemon for one connection: reads a line and writes the answer, for every answer; then it
/// returns what it was asked.
fn daemon(answers: Vec<String>) -> (tempfile::TempDir, PathBuf, JoinHandle<Vec<String>>) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("control");
    let listener = UnixListener::bind(&path).unwrap();
    let thread = thread::spawn(move || {
        let (mut stream, _) = listener.accept().unwrap();
        let mut reader = BufReader::new(stream.try_clone().unwrap());
        let mut asked = Vec::new();
        for answer in answers {
            let mut line = String::new();
            reader.read_line(&mut line).unwrap();
            asked.push(line);
            // The client may have gone away by design.
            let _ = stream.write_all(answer.as_bytes());
        }
        asked
    });
    (folder, path, thread)
}

fn result(id: i64, result: &str) -> String {
    format!("{{\"jsonrpc\":\"2.0\",\"id\":{id},\"result\":{result}}}\n")
}

fn event(missed: u64) -> String {
    format!(
        "{{\"jsonrpc\":\"2.0\",\"method\":\"event\",\"params\":{{\"missed\":{missed},\"status\":{STATUS}}}}}\n"
    )
}

#[test]
fn questions_are_numbered_and_answers_typed() {
    let (_folder, path, daemon) = daemon(vec![result(1, STATUS), result(2, "null")]);
    let mut client = Client::connect(&path).unwrap();
    assert_eq!(client.status().unwrap().state, crate::control::State::Idle);
    let point = Method::Point(PointParams::Place(PointPlace { azimuth: 180.0, elevation: 45.5 }));
    assert_eq!(client.call(point).unwrap(), Value::Null);
    assert_eq!(
        daemon.join().unwrap(),
        [
            "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"status\"}\n",
            "{\"jsonrpc\":\"2.0\",\"id\":2,\"method\":\"point\",\"params\":{\"azimuth\":180.0,\"elevation\":45.5}}\n",
        ]
    );
}

#[test]
fn events_and_stale_answers_before_the_answer_are_passed_over() {
    let (_folder, path, _daemon) = daemon(vec![event(0) + &result(99, "1") + &result(1, "2")]);
    assert_eq!(Client::connect(&path).unwrap().call(Method::Halt).unwrap(), Value::from(2));
}

#[test]
fn a_refusal_is_told_in_the_daemons_words() {
    let refusal = "{\"jsonrpc\":\"2.0\",\"id\":1,\"error\":{\"code\":-32000,\"message\":\"halted\"}}\n";
    let (_folder, path, _daemon) = daemon(vec![refusal.into()]);
    let error = Client::connect(&path).unwrap().call(Method::Park).unwrap_err();
    assert_eq!(error.to_string(), "halted");
    assert!(matches!(error, ClientError::Refused(RpcError { code: code::NOT_NOW, .. })));
}

#[test]
fn no_daemon_is_not_reachable_and_a_daemon_that_goes_away_is_not_that() {
    let folder = tempfile::tempdir().unwrap();
    let missing = Client::connect(&folder.path().join("none")).unwrap_err();
    assert!(missing.is_not_reachable());
    assert!(missing.to_string().contains("none: No such file"), "{missing}");
    // A socket without a listener: what a daemon that was killed leaves behind.
    let stale = folder.path().join("stale");
    drop(UnixListener::bind(&stale).unwrap());
    assert!(Client::connect(&stale).unwrap_err().is_not_reachable());
    let (_folder, path, _daemon) = daemon(vec![String::new()]);
    let gone = Client::connect(&path).unwrap().call(Method::Status).unwrap_err();
    assert!(matches!(gone, ClientError::Broken(_)), "{gone}");
}

#[test]
fn a_daemon_that_never_answers_is_waited_for_only_so_long_even_if_it_sends_events() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("control");
    let listener = UnixListener::bind(&path).unwrap();
    thread::spawn(move || {
        let (mut stream, _) = listener.accept().unwrap();
        while stream.write_all(event(0).as_bytes()).is_ok() {
            thread::sleep(Duration::from_millis(20));
        }
    });
    let mut client = Client::connect(&path).unwrap();
    client.patience = Duration::from_millis(200);
    let start = Instant::now();
    let error = client.call(Method::Status).unwrap_err();
    assert!(matches!(error, ClientError::NoAnswer(_)), "{error}");
    assert!(start.elapsed() < Duration::from_secs(5));
}

#[test]
fn an_answer_longer_than_a_line_is_not_taken() {
    let (_folder, path, _daemon) = daemon(vec![result(1, &format!("\"{}\"", "x".repeat(MAX_LINE)))]);
    let error = Client::connect(&path).unwrap().call(Method::Status).unwrap_err();
    assert!(error.to_string().contains("longer than 65536 bytes"), "{error}");
}

#[test]
fn a_subscriber_gets_events_until_the_daemon_goes() {
    let (_folder, path, daemon) = daemon(vec![result(1, "null") + &event(0) + &event(3)]);
    let mut events = Client::connect(&path).unwrap().subscribe().unwrap();
    let missed: Vec<u64> = events.by_ref().take(2).map(|event| event.unwrap().missed).collect();
    assert_eq!(missed, [0, 3]);
    daemon.join().unwrap();
    assert!(matches!(events.next(), Some(Err(ClientError::Broken(_)))));
    assert!(events.next().is_none());
}
