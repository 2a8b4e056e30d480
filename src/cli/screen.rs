//! The one-screen view of a station at work: plain lines that a screen reader can read in order,
//! at most 80 columns wide.

use std::io::{self, Write};

use crossterm::cursor::MoveTo;
use crossterm::queue;
use crossterm::terminal::{Clear, ClearType};

use crate::control::{DialStatus, Exchange, RadioStatus, RotatorStatus, Status};
use crate::terms::{AzEl, Direction, Time, seconds_between};

use super::text::{compass, local, utc_clock, wrap};

/// Clears the terminal, so that the next page takes the place of the last.
pub(super) fn clear(out: &mut impl Write) -> io::Result<()> {
    queue!(out, MoveTo(0, 0), Clear(ClearType::FromCursorDown))
}

/// The status as a page of text.
pub(super) fn page(status: &Status) -> String {
    let mut lines = vec![title(status), format!("{}: {}", status.state.name(), status.why)];
    lines.extend(status.clock.why.as_ref().map(|why| format!("clock not trusted: {why}")));
    lines.push(String::new());
    lines.extend(satellite(status));
    for radio in &status.radios {
        lines.extend(self::radio(radio));
    }
    lines.extend(status.rotator.iter().flat_map(rotator));
    lines.extend(trims(status));
    let wrapped = lines.iter().flat_map(|line| wrap(line));
    wrapped.map(|line| line + "\n").collect()
}

/// The status in a sentence, on as many lines as it takes.
pub(super) fn sentence(status: &Status) -> String {
    let rehearsal = if status.rehearsal { "REHEARSAL " } else { "" };
    wrap(&format!("{rehearsal}{} UTC {}: {}", utc_clock(status.time), status.state.name(), status.why))
        .join("\n")
}

fn title(status: &Status) -> String {
    let rehearsal = if status.rehearsal { "REHEARSAL   " } else { "" };
    let station = status.station.as_deref().unwrap_or("station");
    format!("{rehearsal}{station}   {} UTC   {} local", utc_clock(status.time), local(status.time))
}

fn satellite(status: &Status) -> Vec<String> {
    let (Some(name), Some(pass)) = (&status.satellite, &status.pass) else { return Vec::new() };
    let link = status.link.as_deref().unwrap_or("");
    let mut lines = vec![format!(
        "{name} {link}   rises {}   highest {:.0} degrees   sets {}",
        clock(pass.aos),
        pass.max_elevation_deg,
        clock(pass.los)
    )];
    if let Some(look) = &status.look {
        lines.push(format!(
            "  at azimuth {:5.1} {}  elevation {:4.1}  range {:.0} km, {:+.2} km/s  {}",
            look.azimuth_deg,
            compass(look.azimuth_deg),
            look.elevation_deg,
            look.range_km,
            look.range_rate_km_s,
            if look.sunlit { "in sunlight" } else { "in shadow" }
        ));
        lines.push(format!("  {}", progress(pass.aos, pass.los, status.time)));
    }
    lines.push(String::new());
    lines
}

fn clock(time: Option<Time>) -> String {
    time.map_or("-".to_owned(), utc_clock)
}

/// How far the pass is, in words.
fn progress(aos: Option<Time>, los: Option<Time>, now: Time) -> String {
    let (Some(aos), Some(los)) = (aos, los) else { return String::new() };
    let minutes = |from, to| format!("{:.1} min", seconds_between(from, to) / 60.0);
    if now < aos {
        format!("rises in {}", minutes(now, aos))
    } else if now <= los {
        let done = 100.0 * seconds_between(aos, now) / seconds_between(aos, los).max(1.0);
        format!("up for {}, {done:.0} % of the pass, sets in {}", minutes(aos, now), minutes(now, los))
    } else {
        format!("set {} ago", minutes(los, now))
    }
}

fn radio(radio: &RadioStatus) -> Vec<String> {
    let mut lines = vec![format!("{}   {}: {}", radio.name, radio.state.name(), radio.why)];
    let dials = [(Direction::Receive, &radio.receive), (Direction::Transmit, &radio.transmit)];
    lines.extend(
        dials.into_iter().filter_map(|(direction, dial)| Some(self::dial(direction, dial.as_ref()?))),
    );
    lines.push(talk(radio.last_sent.as_ref(), radio.last_read.as_ref(), radio.commands, radio.refused));
    lines.push(String::new());
    lines
}

fn dial(direction: Direction, dial: &DialStatus) -> String {
    let hertz = |value: Option<crate::terms::Hertz>| value.map_or("-".to_owned(), |hertz| hertz.to_string());
    let off = match (dial.plan_hz, dial.dial_hz) {
        (Some(plan), Some(at)) => format!("off {:+} Hz", (at - plan).0),
        _ => String::new(),
    };
    let tone = dial.tone_hz.map_or(String::new(), |tone| format!("  tone {tone}"));
    let mode = dial.mode.map_or("-".to_owned(), |mode| mode.to_string());
    let (at, plan) = (hertz(dial.dial_hz), hertz(dial.plan_hz));
    format!("  {direction:<9}{at} {mode:<4}wanted {plan}  {off}{tone}")
}

fn rotator(rotator: &RotatorStatus) -> Vec<String> {
    let place = |place: Option<AzEl>| {
        place.map_or("-".to_owned(), |at| format!("azimuth {:.1} elevation {:.1}", at.azimuth, at.elevation))
    };
    let off =
        rotator.error_deg.map_or(String::new(), |off| format!("  off the satellite by {off:.1} degrees"));
    vec![
        format!("{}   {}: {}", rotator.name, rotator.state.name(), rotator.why),
        format!("  beam     {}{off}", place(rotator.position)),
        format!("  wanted   {}", place(rotator.plan)),
        talk(rotator.last_sent.as_ref(), rotator.last_read.as_ref(), rotator.commands, rotator.refused),
    ]
}

fn talk(sent: Option<&Exchange>, read: Option<&Exchange>, commands: u64, refused: u64) -> String {
    let said = |exchange: Option<&Exchange>| {
        exchange.map_or("-".to_owned(), |said| format!("{} ({:.1} s ago)", said.text, said.age_s))
    };
    let refusals = if refused == 0 { String::new() } else { format!(", {refused} refused") };
    format!("  sent {}; read {}; {commands} commands{refusals}", said(sent), said(read))
}

fn trims(status: &Status) -> Option<String> {
    let (receive, transmit) = (status.trims.receive.0, status.trims.transmit.0);
    (receive != 0 || transmit != 0)
        .then(|| format!("trim   receive {receive:+} Hz, transmit {transmit:+} Hz"))
}
