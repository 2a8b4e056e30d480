//! A record's entries for people: a line or some for each, with the seconds since its beginning.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::cli::text::{local, utc_clock};
use crate::record::{Act, Came, Entry, Head, Look, Order, Stamp, Step, Told, from_text, to_text};

/// So many of a frame's bytes are shown.
const SHOWN: usize = 24;

/// Bytes that came so much later than those before are told by themselves, seconds.
const APART_S: f64 = 0.05;

/// Tells one record's entries.
pub(in crate::cli) struct Telling<'r> {
    head: &'r Head,
    /// The lines' devices, by number.
    lines: Vec<String>,
    /// By line: bytes that came and are not told yet, and when the first and the last of them did.
    came: BTreeMap<usize, (Stamp, Stamp, Vec<u8>)>,
}

impl<'r> Telling<'r> {
    pub(in crate::cli) fn of(head: &'r Head) -> Self {
        let lines = head.lines.iter().map(|line| line.devices.join("+")).collect();
        Self { head, lines, came: BTreeMap::new() }
    }

    /// What it is of.
    pub(in crate::cli) fn beginning(&self, name: &str) -> Vec<String> {
        let Head { satellite, link, begun, version, station, .. } = self.head;
        let station = station.as_ref().map_or(String::new(), |station| format!("  {station}"));
        let (utc, local) = (utc_clock(*begun), local(*begun));
        let mut all = vec![
            format!("record       {name}"),
            format!("session      {}{station}", format!("{satellite} {link}").trim_end()),
            format!("begun        {} {utc} UTC ({local} local)", begun.format("%Y-%m-%d")),
            format!("version      {version}"),
        ];
        for (line, devices) in self.head.lines.iter().zip(&self.lines) {
            all.push(format!("line         {devices} at {}", line.port));
        }
        all.push("seconds since then, who, and what:".to_owned());
        all
    }

    /// What there is to tell of an entry.
    pub(in crate::cli) fn lines(&mut self, entry: &Entry) -> Vec<String> {
        match entry {
            // What only a replay needs.
            Entry::Head(_) | Entry::Job { .. } | Entry::Ticks(_) => Vec::new(),
            Entry::Pause(pause) => {
                let looks = pause.looks().unwrap_or_default();
                looks.into_iter().flat_map(|look| self.look(pause.line, &look)).collect()
            }
            Entry::Session(memo) => vec![at(memo.at, "session", "is watched from here on")],
            Entry::Memo { line, at: stamp, .. } => {
                vec![at(*stamp, self.line(*line), "is at rest, and can be played again from here on")]
            }
            Entry::Step(step) => self.step(step),
            Entry::Request { at: stamp, peer, method } => {
                vec![at(*stamp, "operator", &format!("{peer}: {method}"))]
            }
            Entry::Act(act) => self.act(act),
            Entry::Tick(decision) => self.did(decision.at, &decision.did),
            Entry::Reading { at: stamp, device, sent, read, contact } => {
                let told = |what: &Option<String>| what.clone().unwrap_or_else(|| "nothing".to_owned());
                let (sent, read) = (told(sent), told(read));
                vec![at(*stamp, device, &format!("sent {sent}; read {read}; contact {contact}"))]
            }
            Entry::Lost { entries, why } => {
                vec![format!("             {entries} entries are missing: {why}")]
            }
            Entry::Outcome { at: stamp, state, why } => {
                vec![at(*stamp, "outcome", &format!("{state}: {why}"))]
            }
        }
    }

    fn line(&self, number: usize) -> &str {
        self.lines.get(number).map_or("a line", String::as_str)
    }

    /// What is left to tell at the end.
    pub(in crate::cli) fn rest(&mut self) -> Vec<String> {
        let lines: Vec<usize> = self.came.keys().copied().collect();
        lines.into_iter().flat_map(|line| self.heard(line)).collect()
    }

    /// What is told of a look: what came before it, and what was written then.
    fn look(&mut self, line: usize, look: &Look) -> Vec<String> {
        let mut all: Vec<String> = self.hear(line, look.at, &look.came).into_iter().collect();
        if !look.said.is_empty() {
            all.extend(self.heard(line));
        }
        let said = look.said.iter().map(|said| format!("-> {}", frame(said)));
        all.extend(said.map(|said| at(look.at, self.line(line), &said)));
        all
    }

    /// Bytes come in; tells those before them if they are no part of the same.
    fn hear(&mut self, line: usize, at: Stamp, bytes: &[u8]) -> Option<String> {
        let is_apart = |last: Stamp| at.seconds() - last.seconds() > APART_S;
        let is_other = self.came.get(&line).is_some_and(|(_, last, _)| is_apart(*last));
        let told = if is_other { self.heard(line) } else { None };
        if !bytes.is_empty() {
            let (_, last, all) = self.came.entry(line).or_insert_with(|| (at, at, Vec::new()));
            *last = at;
            all.extend(bytes);
        }
        told
    }

    /// Tells the bytes that came in on a line.
    fn heard(&mut self, line: usize) -> Option<String> {
        let (first, _, bytes) = self.came.remove(&line)?;
        Some(at(first, self.line(line), &format!("<- {}", frame(&to_text(&bytes)))))
    }

    fn step(&mut self, step: &Step) -> Vec<String> {
        let mut all: Vec<String> = self.heard(step.line).into_iter().collect();
        let came = match &step.came {
            Came::Opened => Some("the port is open".to_owned()),
            Came::Lost(why) => Some(format!("the port is lost: {why}")),
            Came::NotSent => Some("the last frame did not leave".to_owned()),
            Came::Halt => Some("is told to stop motors".to_owned()),
            Came::Resume => Some("may move motors".to_owned()),
            // The order itself is told where it was given.
            Came::Order(_) => None,
        };
        let said = step.said.iter().map(|said| format!("-> {}", frame(said)));
        all.extend(came.into_iter().chain(said).map(|what| at(step.at, self.line(step.line), &what)));
        all
    }

    fn act(&self, act: &Act) -> Vec<String> {
        let what = match &act.act {
            Told::Start(_) => "start".to_owned(),
            Told::Stop => "stop".to_owned(),
            Told::Halt => "halt".to_owned(),
            Told::Resume => "resume".to_owned(),
            Told::Point(azimuth, elevation) => format!("point azimuth {azimuth} elevation {elevation}"),
            Told::Nudge(azimuth, elevation) => format!("nudge azimuth {azimuth:+} elevation {elevation:+}"),
            Told::KeepNudge(azimuth, elevation) => {
                format!("nudge azimuth {azimuth:+} elevation {elevation:+} is kept")
            }
            Told::Park => "park".to_owned(),
            Told::Trim(receive, transmit) => format!("trim receive {receive:+} Hz transmit {transmit:+} Hz"),
            Told::Tone(tone) => format!("tone {tone}"),
            Told::Saved(request) => format!("what the radios had is stored ({request})"),
            Told::Warn(what) => format!("warning: {what}"),
            Told::ShutDown => "the daemon ends".to_owned(),
        };
        let refused = act.refused.as_ref().map_or(String::new(), |why| format!("; refused: {why}"));
        let mut all = vec![at(act.decision.at, "session", &format!("is told: {what}{refused}"))];
        all.extend(self.did(act.decision.at, &act.decision.did));
        all
    }

    fn did(&self, stamp: Stamp, orders: &[Order]) -> Vec<String> {
        orders.iter().map(|order| at(stamp, "session", &self.order(order))).collect()
    }

    fn order(&self, order: &Order) -> String {
        match order {
            Order::Radio(number, order) => format!("radio {}: {}", number + 1, plain(order)),
            Order::Rotator(order) => format!("rotator: {}", plain(order)),
            Order::HaltLines => "stops every motor".to_owned(),
            Order::ResumeLines => "lets motors move".to_owned(),
            Order::Save(request, _) => format!("has stored what the radios had ({request})"),
            Order::Forget => "forgets what was stored".to_owned(),
            Order::Shelve => "leaves what was stored for later".to_owned(),
            Order::Say(what) => format!("says: {what}"),
        }
    }
}

fn at(stamp: Stamp, who: &str, what: &str) -> String {
    format!("{:>11.3}  {who:<8} {what}", stamp.seconds())
}

/// A frame's text; hex digits in pairs, and long ones cut.
fn frame(text: &str) -> String {
    if !text.starts_with("0x") {
        return text.escape_debug().to_string();
    }
    let bytes = from_text(text).unwrap_or_default();
    let pairs: Vec<String> = bytes.iter().take(SHOWN).map(|byte| format!("{byte:02X}")).collect();
    let more = bytes.len().saturating_sub(SHOWN);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    pairs.join(" ") + &more
}

/// An order without the signs of its notation.
fn plain(order: &Value) -> String {
    match order {
        Value::String(word) => word.clone(),
        Value::Object(fields) => {
            let each = fields.iter().map(|(name, value)| format!("{name} {}", plain(value)));
            each.collect::<Vec<_>>().join(" ")
        }
        other => other.to_string(),
    }
}
