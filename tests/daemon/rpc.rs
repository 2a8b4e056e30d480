//! The control socket by hand.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::time::Duration;

use beamhand::control::{MAX_LINE, State, code};
use serde_json::{Value, json};

use crate::patience::until;
use crate::station::Station;

/// How many clients are served at once.
const CLIENTS: usize = 64;

/// A client that can say anything.
pub(crate) struct Raw {
    stream: UnixStream,
    reader: BufReader<UnixStream>,
}

impl Raw {
    pub(crate) fn connect(station: &Station) -> Self {
        Self::at(&station.path("control"))
    }

    fn at(path: &Path) -> Self {
        let stream = UnixStream::connect(path).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(5))).unwrap();
        Self { reader: BufReader::new(stream.try_clone().unwrap()), stream }
    }

    fn send(&mut self, bytes: &[u8]) {
        self.stream.write_all(bytes).unwrap();
    }

    /// The next line; `None` when the daemon has hung up.
    fn line(&mut self) -> Option<Value> {
        let mut line = String::new();
        let length = self.reader.read_line(&mut line).unwrap();
        (length > 0).then(|| serde_json::from_str(&line).unwrap())
    }

    fn ask(&mut self, line: &str) -> Value {
        self.send(format!("{line}\n").as_bytes());
        self.line().unwrap()
    }

    pub(crate) fn call(&mut self, method: &str, params: Value) -> Value {
        self.ask(&json!({"jsonrpc": "2.0", "id": 7, "method": method, "params": params}).to_string())
    }

    fn status(&mut self) -> Value {
        self.call("status", json!({}))["result"]["state"].clone()
    }
}

#[test]
fn what_is_no_request_is_answered_by_the_specifications_codes_and_the_line_stays_open() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let mut raw = Raw::connect(&station);
    let huge = format!("{{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"{}\"}}", "x".repeat(MAX_LINE));
    let batch = r#"[{"jsonrpc":"2.0","id":1,"method":"status"}]"#;
    for (line, expected) in [
        ("{\"jsonrpc\":", code::NO_JSON),
        (batch, code::NO_REQUEST),
        ("42", code::NO_REQUEST),
        (r#"{"jsonrpc":"1.0","id":1,"method":"status"}"#, code::NO_REQUEST),
        (r#"{"jsonrpc":"2.0","id":1}"#, code::NO_REQUEST),
        (huge.as_str(), code::NO_REQUEST),
    ] {
        let answer = raw.ask(line);
        let shown: String = line.chars().take(60).collect();
        assert_eq!(answer["error"]["code"], expected, "{shown}");
        assert_eq!(answer["jsonrpc"], "2.0");
    }
    assert_eq!(raw.status(), "idle");
}

#[test]
fn an_answer_that_would_repeat_more_than_a_line_holds_is_short_and_the_line_stays_open() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let mut raw = Raw::connect(&station);
    let long = "x".repeat(MAX_LINE - 200);
    let named = raw.ask(&json!({"jsonrpc": "2.0", "id": long, "method": "status"}).to_string());
    assert_eq!((&named["id"], &named["error"]["code"]), (&Value::Null, &json!(code::NO_REQUEST)));
    // Every quote of the name is two bytes in the answer.
    let quotes = "\"".repeat(MAX_LINE / 2 - 200);
    let unknown = raw.call(&quotes, json!({}));
    assert_eq!((&unknown["id"], &unknown["error"]["code"]), (&json!(7), &json!(code::NO_SUCH_METHOD)));
    assert_eq!(raw.status(), "idle");
}

#[test]
fn unknown_methods_and_wrong_params_are_refused_by_name_and_move_nothing() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let mut raw = Raw::connect(&station);
    let unknown = raw.call("key", json!({}));
    assert_eq!((&unknown["id"], &unknown["error"]["code"]), (&json!(7), &json!(code::NO_SUCH_METHOD)));
    assert!(unknown["error"]["message"].as_str().unwrap().contains("halt"));
    for (method, params) in [
        ("point", json!({"azimuth": "south", "elevation": 0})),
        ("point", json!({"azimuth": 90})),
        ("point", json!([90, 10])),
        ("start", json!({"satellite": 7})),
        ("start", json!({"satellite": "GANNET-1", "lnik": "repeater"})),
        ("trim", json!({"direction": "sideways", "hertz": 1})),
        ("passes", json!({"hours": "two"})),
        ("auto", json!({"on": "yes"})),
        ("auto", json!({"off": true})),
    ] {
        assert_eq!(raw.call(method, params.clone())["error"]["code"], code::BAD_PARAMS, "{method} {params}");
    }
    let auto = raw.call("auto", json!({}));
    assert_eq!(auto["error"]["code"], code::FAILED, "no agenda is configured: {auto}");
    assert_eq!(station.status().state, State::Idle);
    assert_eq!(station.mast.record().aims(), []);
}

#[test]
fn a_request_without_an_id_is_obeyed_and_not_answered() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let mut raw = Raw::connect(&station);
    raw.send(b"{\"jsonrpc\":\"2.0\",\"method\":\"halt\"}\n");
    assert_eq!(raw.call("status", json!({}))["result"]["state"], "halted");
}

#[test]
fn requests_in_one_piece_are_answered_in_order_and_one_in_many_pieces_too() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let mut raw = Raw::connect(&station);
    let ask = |id: usize| format!("{{\"jsonrpc\":\"2.0\",\"id\":{id},\"method\":\"status\"}}\r\n");
    raw.send((0..20).map(ask).collect::<String>().as_bytes());
    let ids: Vec<u64> = (0..20).map(|_| raw.line().unwrap()["id"].as_u64().unwrap()).collect();
    assert_eq!(ids, (0..20).collect::<Vec<u64>>());
    for byte in ask(21).as_bytes() {
        raw.send(&[*byte]);
    }
    assert_eq!(raw.line().unwrap()["id"], 21);
}

#[test]
fn a_subscriber_gets_the_state_now_and_every_change_and_may_still_ask() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let mut raw = Raw::connect(&station);
    assert_eq!(raw.call("subscribe", json!({}))["result"]["state"], "idle");
    let event = raw.line().unwrap();
    assert_eq!((&event["method"], &event["params"]["status"]["state"]), (&json!("event"), &json!("idle")));
    assert!(event.get("id").is_none());
    station.say(&["halt"]).assert_done();
    until(5.0, "the event", || raw.line().unwrap()["params"]["status"]["state"] == "halted");
    raw.send(b"{\"jsonrpc\":\"2.0\",\"id\":\"mine\",\"method\":\"resume\"}\n");
    until(5.0, "the answer among the events", || raw.line().unwrap()["id"] == "mine");
    until(5.0, "the event", || raw.line().unwrap()["params"]["status"]["state"] == "idle");
}

#[test]
fn a_subscriber_that_reads_slowly_gets_the_newest_state_and_delays_nobody() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let mut slow = Raw::connect(&station);
    slow.call("subscribe", json!({}));
    // It reads nothing while others work.
    for _ in 0..20 {
        station.say(&["halt"]).assert_done();
        station.say(&["resume"]).assert_done();
    }
    assert_eq!(station.status().state, State::Idle);
    until(5.0, "an event comes", || slow.line().unwrap()["method"] == "event");
}

#[test]
fn the_pages_of_passes_join_without_gap() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let mut raw = Raw::connect(&station);
    let (mut aos, mut skip) = (Vec::new(), json!(0));
    while !skip.is_null() {
        let from = "2026-11-25T00:00:00Z";
        let page = raw.call("passes", json!({"hours": 240, "from": from, "skip": skip}))["result"].clone();
        aos.extend(page["passes"].as_array().unwrap().iter().map(|pass| pass["aos"].clone()));
        skip = page["next"].clone();
    }
    let in_order = aos.windows(2).all(|pair| pair[0].as_str() < pair[1].as_str());
    assert!(aos.len() > 50 && in_order, "{aos:?}");
}

#[test]
fn the_oldest_idle_client_makes_room_and_a_subscriber_stays() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let mut subscriber = Raw::connect(&station);
    subscriber.call("subscribe", json!({}));
    let mut clients: Vec<Raw> = (0..CLIENTS - 1).map(|_| Raw::connect(&station)).collect();
    // All of them are known to be there, and the second is the one that was idle for longest.
    clients.iter_mut().for_each(|client| assert_eq!(client.status(), "idle"));
    clients[0].status();
    let mut newest = Raw::connect(&station);
    assert_eq!(newest.status(), "idle");
    let mut oldest = clients.remove(1);
    assert!(oldest.line().is_none(), "it was hung up on");
    clients.iter_mut().for_each(|client| assert_eq!(client.status(), "idle"));
    until(5.0, "events still come", || subscriber.line().unwrap()["method"] == "event");
}

#[test]
fn a_flood_of_connections_leaves_the_daemon_answering() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let mut flood: Vec<Raw> = (0..4 * CLIENTS).map(|_| Raw::connect(&station)).collect();
    assert_eq!(flood.last_mut().unwrap().status(), "idle");
    drop(flood);
    assert_eq!(station.status().state, State::Idle);
}

#[test]
fn garbage_leaves_the_daemon_alive_and_answering() {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    // Every byte value, many times over, in an order that a fixed rule gives (Knuth's multiplier).
    let garbage: Vec<u8> = (0_u32..200_000).map(|n| (n.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    let mut raw = Raw::connect(&station);
    let mut sink = raw.stream.try_clone().unwrap();
    let reader = std::thread::spawn(move || {
        let mut bytes = [0; 4096];
        while matches!(sink.read(&mut bytes), Ok(count) if count > 0) {}
    });
    raw.send(&garbage);
    raw.stream.shutdown(std::net::Shutdown::Write).unwrap();
    reader.join().unwrap();
    assert!(daemon.is_alive());
    assert_eq!(Raw::connect(&station).status(), "idle");
    // A client that leaves in the middle of a line harms nobody either.
    let mut rude = Raw::connect(&station);
    rude.send(b"{\"jsonrpc\":\"2.0\",\"id\":1,");
    drop(rude);
    assert_eq!(Raw::connect(&station).status(), "idle");
}
