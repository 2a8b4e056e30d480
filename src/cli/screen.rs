//! The one-screen view of a station at work: plain lines that a screen reader can read in order,
//! at most 80 columns wide.

use std::io::{self, Write};

use crossterm::cursor::MoveTo;
use crossterm::queue;
use crossterm::terminal::{Clear, ClearType};

use crate::control::{
    DialStatus, Exchange, ListeningStatus, LookErrors, PaceStatus, RadioStatus, RotatorStatus, Status,
};
use crate::terms::{AzEl, Direction, Hertz, Time, seconds_between};

use super::off;
use super::text::{both_clocks, compass, duration, height, local, noted, plain, utc_clock, wrap};

/// The largest difference between dial and plan that is shown as an error of tuning.
const FARTHEST: Hertz = Hertz(100_000);

/// Clears the terminal, so that the next page takes the place of the last.
pub(super) fn clear(out: &mut impl Write) -> io::Result<()> {
    queue!(out, MoveTo(0, 0), Clear(ClearType::FromCursorDown))
}

/// The status as a page of text.
pub(super) fn page(status: &Status) -> String {
    let mut lines = vec![title(status), format!("{}: {}", status.state.name(), status.why)];
    lines.extend(status.note.as_deref().map(noted));
    lines.extend(status.clock.why.as_ref().map(|why| format!("clock not trusted: {why}")));
    lines.extend(status.agenda.iter().map(|agenda| format!("auto: {}", agenda.why)));
    lines.extend(status.listening.iter().flat_map(heard));
    lines.extend(status.antenna.iter().map(|antenna| format!("antenna: {}", plain(antenna))));
    let gaps = status.record.iter().filter_map(|record| record.trouble.as_ref());
    lines.extend(gaps.map(|why| format!("the record of this session has gaps: {why}")));
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

/// How the listening gets on.
fn heard(listening: &ListeningStatus) -> Vec<String> {
    let count = format!("listening: {} readings so far", listening.readings);
    let trouble = listening.trouble.as_ref().map(|why| format!("listening: {why}"));
    std::iter::once(count).chain(trouble).collect()
}

fn title(status: &Status) -> String {
    let rehearsal = if status.rehearsal { "REHEARSAL   " } else { "" };
    let station = status.station.as_deref().unwrap_or("station");
    format!("{rehearsal}{station}   {} UTC   {} local", utc_clock(status.time), local(status.time))
}

fn satellite(status: &Status) -> Vec<String> {
    let (Some(name), Some(pass)) = (&status.satellite, &status.pass) else { return Vec::new() };
    let link = status.link.as_deref().unwrap_or("");
    let mut lines = vec![
        format!("{name} {link}   highest {:.0} degrees", height(pass.max_elevation_deg)),
        format!("  {}; {}", rising(pass.aos), setting(pass.los)),
    ];
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
        lines.extend(look.errors.as_ref().map(may_be_off));
        lines.push(format!("  {}", progress(pass.aos, pass.los, status.time)));
    }
    lines.push(String::new());
    lines
}

fn may_be_off(errors: &LookErrors) -> String {
    let LookErrors { pointing_error_deg, timing_error_s, frequency_error_hz, .. } = *errors;
    format!("  {}", off::may_be_off(pointing_error_deg, timing_error_s, frequency_error_hz, "the downlink"))
}

fn rising(aos: Option<Time>) -> String {
    aos.map_or("was up already".to_owned(), |aos| format!("rises {}", both_clocks(aos)))
}

fn setting(los: Option<Time>) -> String {
    los.map_or("sets too late to be foreseen".to_owned(), |los| format!("sets {}", both_clocks(los)))
}

/// How far the pass is, in words.
fn progress(aos: Option<Time>, los: Option<Time>, now: Time) -> String {
    let (Some(aos), Some(los)) = (aos, los) else { return String::new() };
    let between = |from, to| duration(seconds_between(from, to));
    if now < aos {
        format!("rises in {}", between(now, aos))
    } else if now <= los {
        let done = 100.0 * seconds_between(aos, now) / seconds_between(aos, los).max(1.0);
        format!("up for {}, {done:.0} % of the pass, sets in {}", between(aos, now), between(now, los))
    } else {
        format!("set {} ago", between(los, now))
    }
}

fn radio(radio: &RadioStatus) -> Vec<String> {
    let mut lines = vec![format!("{}   {}: {}", radio.name, radio.state.name(), radio.why)];
    let dials = [(Direction::Receive, &radio.receive), (Direction::Transmit, &radio.transmit)];
    lines.extend(
        dials.into_iter().filter_map(|(direction, dial)| Some(self::dial(direction, dial.as_ref()?))),
    );
    lines.extend(radio.in_use.as_ref().map(|what| format!("  in use: {what}")));
    lines.extend(radio.last_over.as_ref().map(|drift| format!("  the last over: {drift}")));
    lines.push(talk(radio.last_sent.as_ref(), radio.last_read.as_ref(), radio.commands, radio.refused));
    lines.push(String::new());
    lines
}

fn dial(direction: Direction, dial: &DialStatus) -> String {
    let at = match (dial.dial_hz, dial.mode) {
        (Some(hertz), Some(mode)) => format!("{hertz} {mode:<4}"),
        (Some(hertz), None) => format!("{hertz} mode not read  "),
        (None, _) => "not read  ".to_owned(),
    };
    let wanted =
        dial.plan_hz.map_or(String::new(), |plan| format!("wanted {plan}  {}", off(plan, dial.dial_hz)));
    let tone = dial.tone_hz.map_or(String::new(), |tone| format!("  tone {tone}"));
    let held = if dial.behind_hz.is_some() { "  held" } else { "" };
    let fixed = if dial.fixed { "  fixed" } else { "" };
    format!("  {direction:<9}{at}{wanted}{fixed}{tone}{held}")
}

/// How far the dial is from its plan. Farther than any Doppler shift is no error of tuning: it is
/// where the operator had left it.
fn off(plan: Hertz, dial: Option<Hertz>) -> String {
    match dial.map(|dial| dial - plan) {
        Some(off) if off.abs() <= FARTHEST => format!("off {:+} Hz", off.0),
        _ => "not tuned yet".to_owned(),
    }
}

fn rotator(rotator: &RotatorStatus) -> Vec<String> {
    let place = |place: Option<AzEl>, none: &str| {
        place.map_or(none.to_owned(), |at| format!("azimuth {:.1} elevation {:.1}", at.azimuth, at.elevation))
    };
    let off =
        rotator.error_deg.map_or(String::new(), |off| format!("  off the satellite by {off:.1} degrees"));
    let mut lines = vec![
        format!("{}   {}: {}", rotator.name, rotator.state.name(), rotator.why),
        format!("  beam     {}{off}", place(rotator.position, "not read")),
        format!("  wanted   {}", place(rotator.plan, "nothing")),
    ];
    lines.extend(rotator.pace.map(pace));
    lines.extend(rotator.caution.iter().map(|caution| format!("  CAUTION  {caution}")));
    lines.push(talk(
        rotator.last_sent.as_ref(),
        rotator.last_read.as_ref(),
        rotator.commands,
        rotator.refused,
    ));
    lines
}

/// What was seen of a mount's speed: `turns 4.9, tilts 3.0 degrees a second, 0.4 s after it is told`.
fn pace(seen: PaceStatus) -> String {
    let speeds = [("turns", seen.azimuth_deg_s), ("tilts", seen.elevation_deg_s)];
    let speeds: Vec<String> =
        speeds.into_iter().filter_map(|(what, speed)| Some(format!("{what} {:.1}", speed?))).collect();
    let speeds = (!speeds.is_empty()).then(|| format!("{} degrees a second", speeds.join(", ")));
    let lag = seen.lag_s.map(|lag| format!("starts {lag:.1} s after it is told"));
    format!("  seen     {}", speeds.into_iter().chain(lag).collect::<Vec<_>>().join(", "))
}

fn talk(sent: Option<&Exchange>, read: Option<&Exchange>, commands: u64, refused: u64) -> String {
    let said = |exchange: Option<&Exchange>| {
        exchange.map_or("nothing".to_owned(), |said| format!("{} ({:.1} s ago)", said.text, said.age_s))
    };
    let refusals = if refused == 0 { String::new() } else { format!(", {refused} refused") };
    let plural = if commands == 1 { "" } else { "s" };
    format!("  sent {}; read {}; {commands} command{plural}{refusals}", said(sent), said(read))
}

fn trims(status: &Status) -> Option<String> {
    let (receive, transmit) = (status.trims.receive.0, status.trims.transmit.0);
    (receive != 0 || transmit != 0)
        .then(|| format!("trim   receive {receive:+} Hz, transmit {transmit:+} Hz"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::Mode;

    fn shown(dial_hz: Option<i64>, mode: Option<Mode>) -> String {
        let plan_hz = Some(Hertz(435_217_000));
        dial(
            Direction::Receive,
            &DialStatus { plan_hz, dial_hz: dial_hz.map(Hertz), mode, ..DialStatus::default() },
        )
    }

    #[test]
    fn a_dial_that_was_not_tuned_yet_is_not_called_off() {
        assert!(
            shown(Some(435_217_058), Some(Mode::Fm))
                .ends_with("435.217 058 MHz FM  wanted 435.217 000 MHz  off +58 Hz")
        );
        assert!(shown(Some(145_500_000), Some(Mode::Fm)).ends_with("wanted 435.217 000 MHz  not tuned yet"));
        assert_eq!(shown(None, None), "  receive  not read  wanted 435.217 000 MHz  not tuned yet");
        assert!(shown(Some(435_217_000), None).contains("MHz mode not read  wanted"));
    }

    #[test]
    fn one_command_is_one() {
        assert_eq!(talk(None, None, 1, 0), "  sent nothing; read nothing; 1 command");
        assert_eq!(talk(None, None, 2, 1), "  sent nothing; read nothing; 2 commands, 1 refused");
    }

    #[test]
    fn the_progress_of_a_pass_is_told_in_minutes_and_seconds() {
        let at = |seconds| crate::terms::later(Time::default(), seconds);
        let told = |now| progress(Some(at(0.0)), Some(at(600.0)), at(now));
        assert_eq!(told(-65.0), "rises in 1 min 05 s");
        assert_eq!(told(150.0), "up for 2 min 30 s, 25 % of the pass, sets in 7 min 30 s");
        assert_eq!(told(641.0), "set 41 s ago");
    }
}
