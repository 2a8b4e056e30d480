//! Fetching element sets from a real server on this computer: what is asked, and what of the
//! answers is believed.

// The helpers of tests may fail loudly too; the lint knows only the tests themselves.
#![allow(clippy::unwrap_used, clippy::panic)]

mod server;
mod trouble;

use std::time::{Duration, Instant};

use beamhand::almanac::{Limits, Outcome, Shelf, Source, Tally, update};
use beamhand::sky::{ElementSet, read_elements};
use beamhand::terms::{Time, later, parse_time};
use tempfile::TempDir;

use server::{Reply, Server, ok, status};

const DEMO: &str = include_str!("../../config/demo/elements.txt");
const XML: &str = include_str!("../reference/omm/seabirds.xml");

fn noon() -> Time {
    parse_time("2026-11-25T12:00:00Z").unwrap()
}

/// A station's shelf, the clock, and the source that it asks.
struct Bench {
    _folder: TempDir,
    shelf: Shelf,
    source: Source,
    hours: f64,
}

impl Bench {
    fn new(url: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::in_folder(folder.path());
        let source = Source { name: "club".to_owned(), url: url.parse().unwrap() };
        Self { _folder: folder, shelf, source, hours: 0.0 }
    }

    /// Asks, three hours after the last time.
    fn ask(&mut self) -> Outcome {
        self.ask_within(Limits::default())
    }

    fn ask_within(&mut self, limits: Limits) -> Outcome {
        self.hours += 3.0;
        update(&self.shelf, &self.source, later(noon(), self.hours * 3600.0), limits).unwrap()
    }

    #[track_caller]
    fn assert_fails(&mut self, says: &str) {
        let before = self.shelf.sets().unwrap();
        match self.ask() {
            Outcome::Failed(why) => assert!(why.contains(says), "no {says:?} in {why}"),
            other => panic!("{other:?}, where a failure was expected: {says}"),
        }
        assert_eq!(self.shelf.sets().unwrap(), before, "what was there stays");
    }

    fn sets(&self) -> Vec<ElementSet> {
        self.shelf.sets().unwrap().iter().map(|held| held.set.clone()).collect()
    }
}

fn taken(new: usize, newer: usize, known: usize) -> Outcome {
    Outcome::Taken(Tally { new, newer, known, ..Tally::default() }, vec![])
}

#[test]
fn what_a_source_gives_is_taken_in_with_its_name_and_the_time() {
    let server = Server::with(vec![ok("", XML)]);
    let mut bench = Bench::new(&server.url("/seabirds.xml?all=1"));
    assert_eq!(bench.ask(), taken(3, 0, 0));
    let mut wanted = read_elements(XML).sets;
    wanted.sort_by_key(|set| set.catalog_number);
    assert_eq!(bench.sets(), wanted);
    let sets = bench.shelf.sets().unwrap();
    assert!(sets.iter().all(|held| held.source == "club" && held.came == later(noon(), 3.0 * 3600.0)));
    let heard = server.heard();
    assert!(heard[0].starts_with("get /seabirds.xml?all=1 http/1.1\n"), "{heard:?}");
    assert!(heard[0].contains("user-agent: beamhand/") && !heard[0].contains("if-"), "{heard:?}");
}

#[test]
fn a_source_is_asked_only_for_what_has_changed() {
    let marks = "ETag: \"gull-1\"\r\nLast-Modified: Wed, 25 Nov 2026 11:00:00 GMT\r\n";
    let newer = DEMO.replace("26324", "26325");
    let newer: Vec<String> = newer.lines().map(summed).collect();
    let replies = vec![ok(marks, DEMO), status("304 Not Modified", ""), ok("", &newer.join("\n"))];
    let server = Server::with(replies);
    let mut bench = Bench::new(&server.url("/a"));
    assert_eq!(bench.ask(), taken(5, 0, 0));
    assert_eq!(bench.ask(), Outcome::NotModified);
    let Outcome::Taken(tally, _) = bench.ask() else { panic!("the third answer holds sets") };
    assert!(tally.newer > 0 && tally.newer + tally.known == 5, "{tally:?}");
    for asked in &server.heard()[1..] {
        assert!(asked.contains("if-none-match: \"gull-1\"\n"), "{asked}");
        assert!(asked.contains("if-modified-since: wed, 25 nov 2026 11:00:00 gmt\n"), "{asked}");
    }
}

/// An element line with its right checksum; any other line as it is.
fn summed(line: &str) -> String {
    if line.len() != 69 {
        return line.to_owned();
    }
    let value = |c: char| c.to_digit(10).unwrap_or(u32::from(c == '-'));
    format!("{}{}", &line[..68], line[..68].chars().map(value).sum::<u32>() % 10)
}

#[test]
fn nobody_is_asked_twice_within_two_hours_whatever_the_answer_was() {
    let server = Server::with(vec![status("503 Service Unavailable", ""), ok("", DEMO)]);
    let mut bench = Bench::new(&server.url("/a"));
    bench.assert_fails("it answers 503");
    let at = |minutes: f64| later(noon(), (3.0 * 60.0 + minutes) * 60.0);
    let ask = |bench: &Bench, minutes| update(&bench.shelf, &bench.source, at(minutes), Limits::default());
    let next = at(120.0);
    for minutes in [0.0, 5.0, 119.0] {
        assert_eq!(ask(&bench, minutes), Ok(Outcome::TooSoon(next)));
    }
    assert_eq!(server.heard().len(), 1);
    assert_eq!(ask(&bench, 120.0), Ok(taken(5, 0, 0)));
}

#[test]
fn a_server_that_was_never_reached_may_be_tried_again_at_once() {
    let port = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    // A name that is reserved for being nobody's (RFC 6761).
    for url in [format!("http://127.0.0.1:{port}/a"), "https://seabirds.invalid/a".to_owned()] {
        let bench = Bench::new(&url);
        for _ in 0..2 {
            let outcome = update(&bench.shelf, &bench.source, noon(), Limits::default()).unwrap();
            let is_unreachable = matches!(&outcome, Outcome::Failed(why) if why.contains("can't be reached"));
            assert!(is_unreachable, "{outcome:?}");
        }
    }
}

#[test]
fn a_bad_answer_changes_nothing_and_is_named() {
    let cut = |text: &str, length: usize| {
        let head = format!("HTTP/1.1 200 OK\r\nContent-Length: {}\r\n\r\n", text.len());
        Reply::Bytes((head + &text[..length]).into_bytes())
    };
    let chunked =
        format!("HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n{:x}\r\n{DEMO}\r\n", DEMO.len());
    let endless = format!("HTTP/1.1 200 OK\r\n\r\n{}", &XML[..XML.len() - 900]);
    let two: Vec<&str> = DEMO.lines().skip(1).take(6).collect();
    let server = Server::with(vec![
        ok("ETag: \"good\"\r\n", DEMO),
        ok("ETag: \"page\"\r\n", "<!DOCTYPE html><html><body>Log in first</body></html>"),
        ok("", ""),
        cut(DEMO, DEMO.len() - 100),
        Reply::Bytes(chunked.into_bytes()),
        Reply::Bytes(endless.into_bytes()),
        ok("", &two.join("\n")),
        status("404 Not Found", ""),
        Reply::Bytes(b"SSH-2.0-gull\r\n".to_vec()),
        ok("", DEMO),
    ]);
    let mut bench = Bench::new(&server.url("/a"));
    assert_eq!(bench.ask(), taken(5, 0, 0));
    bench.assert_fails("no element set (line 1: <html>");
    bench.assert_fails("no element set (it is empty)");
    bench.assert_fails("the answer breaks off");
    bench.assert_fails("the answer breaks off");
    bench.assert_fails("it ends in the middle of a set");
    bench.assert_fails("it holds 2 good sets, fewer than half of the 5 before");
    bench.assert_fails("it answers 404");
    bench.assert_fails("");
    assert_eq!(bench.ask(), taken(0, 0, 5));
    // What is asked with is the mark of the last good answer.
    assert!(server.heard()[1..].iter().all(|asked| asked.contains("if-none-match: \"good\"")));
}

#[test]
fn an_answer_that_is_too_large_or_too_slow_is_given_up() {
    let large = "#".repeat(30_000) + "\n" + DEMO;
    let slow =
        Reply::Stall(b"HTTP/1.1 200 OK\r\nContent-Length: 99\r\n\r\nGAN".to_vec(), Duration::from_secs(4));
    let server = Server::with(vec![ok("", &large), slow]);
    let mut bench = Bench::new(&server.url("/a"));
    let small = Limits { bytes: 20_000, whole: Duration::from_secs(1), ..Limits::default() };
    let outcome = bench.ask_within(small);
    assert!(matches!(&outcome, Outcome::Failed(why) if why.contains("is larger than")), "{outcome:?}");
    let begin = Instant::now();
    let outcome = bench.ask_within(small);
    assert!(matches!(&outcome, Outcome::Failed(why) if why.contains("breaks off")), "{outcome:?}");
    assert!(begin.elapsed() < Duration::from_secs(3));
    assert!(bench.sets().is_empty());
}

#[test]
fn a_server_may_point_on_but_not_forever_and_not_to_where_it_is_not_safe() {
    let on = |to: &str| status("302 Found", &format!("Location: {to}\r\n"));
    let mut replies = vec![on("/b"), ok("", DEMO), on("http://example.org/a"), on("")];
    replies.extend((0..6).map(|_| on("/again")));
    replies.push(ok("", DEMO));
    let server = Server::with(replies);
    let mut bench = Bench::new(&server.url("/a"));
    assert_eq!(bench.ask(), taken(5, 0, 0));
    assert!(server.heard()[1].starts_with("get /b "));
    bench.assert_fails("it points elsewhere: \"http://example.org/a\" is no address");
    bench.assert_fails("it points elsewhere");
    bench.assert_fails("it points elsewhere more than 5 times");
    assert_eq!(server.heard().len(), 10);
}

#[test]
fn another_place_under_an_old_name_is_asked_without_the_old_ones_marks() {
    let first = Server::with(vec![ok("ETag: \"old\"\r\n", DEMO)]);
    let second = Server::with(vec![ok("", &DEMO.lines().skip(1).take(3).collect::<Vec<_>>().join("\n"))]);
    let mut bench = Bench::new(&first.url("/a"));
    bench.ask();
    bench.source.url = second.url("/a").parse().unwrap();
    // One set is fewer than half of five, but those were another place's.
    assert_eq!(bench.ask(), taken(0, 0, 1));
    assert!(!second.heard()[0].contains("if-none-match"));
}
