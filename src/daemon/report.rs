//! The status message, from what the session and the devices know.

use crate::clock::Trust;
use crate::control::{
    ClockStatus, DeviceState, DialStatus, Exchange, LookErrors, LookStatus, PaceStatus, PassStatus,
    RadioStatus, RotatorStatus, State, Status, ToneChoice, ToneStatus, Trims,
};
use crate::device::{
    Contact, DeviceStatus, DialView, Motion, Note, Pace, RadioStage, RadioView, RotatorView, Said,
};
use crate::link::{Link, LinkTone, shift};
use crate::session::{Circumstances, Job, Phase, SentTone, Session};
use crate::sky::Track;
use crate::terms::{AzEl, Moment, Time};

/// How things are.
pub(super) fn status(
    station: Option<&str>,
    rehearsal: bool,
    session: &Session,
    around: &Circumstances,
) -> Status {
    let job = session.job();
    let now = around.now;
    Status {
        station: station.map(str::to_owned),
        time: now.utc,
        rehearsal,
        clock: clock(around.trust),
        state: state(session),
        why: session.why(around),
        satellite: job.map(|job| job.satellite.clone()),
        link: job.map(|job| job.tuning.link().name.clone()),
        pass: job.map(pass),
        look: job.and_then(|job| look(job, around)),
        radios: around
            .radios
            .iter()
            .filter_map(|status| Some(radio(status, status.radio()?, job, now)))
            .collect(),
        rotator: around.rotator.and_then(|status| Some(rotator(status, status.rotator()?, session, now))),
        trims: Trims { receive: session.trim().receive, transmit: session.trim().transmit },
        tone: session.tone().map(tone),
        note: job.and_then(|job| job.note.clone()),
        nudge: Some(session.nudge()).filter(|by| *by != AzEl::ZERO),
        agenda: None,
        record: None,
        antenna: None,
        listening: None,
    }
}

/// The state that messages name.
pub(super) fn state(session: &Session) -> State {
    if session.is_halted() {
        return State::Halted;
    }
    match session.phase() {
        Phase::Idle => State::Idle,
        Phase::Waiting => State::Waiting,
        Phase::Preparing => State::Preparing,
        Phase::Ready => State::Ready,
        Phase::Following => State::Following,
        Phase::Finishing => State::Finishing,
    }
}

fn clock(trust: &Trust) -> ClockStatus {
    let (error_s, why) = match trust {
        Trust::Trusted { error_s } => (*error_s, None),
        Trust::Rehearsal => (None, None),
        Trust::Untrusted { why } => (None, Some(why.clone())),
    };
    ClockStatus { trusted: trust.is_trusted(), error_s, why }
}

fn pass(job: &Job) -> PassStatus {
    pass_status(&job.satellite, job.track.catalog_number(), &job.pass)
}

/// A pass in the wire's words.
pub(super) fn pass_status(satellite: &str, catalog_number: u32, pass: &crate::sky::Pass) -> PassStatus {
    PassStatus {
        satellite: satellite.to_owned(),
        catalog_number,
        aos: pass.aos,
        highest: Some(pass.highest),
        tca: Some(pass.tca),
        los: pass.los,
        max_elevation_deg: pass.max_elevation_deg,
        aos_azimuth_deg: pass.aos_azimuth_deg,
        highest_azimuth_deg: pass.highest_azimuth_deg,
        los_azimuth_deg: pass.los_azimuth_deg,
        duration_s: pass.duration_s,
        sunlit_at_highest: pass.sunlit_at_highest,
    }
}

fn look(job: &Job, around: &Circumstances) -> Option<LookStatus> {
    let look = job.track.at(around.now.utc).ok()?;
    Some(LookStatus {
        azimuth_deg: look.azimuth_deg,
        elevation_deg: look.elevation_deg,
        range_km: look.range_km,
        range_rate_km_s: look.range_rate_km_s,
        sunlit: look.sunlit,
        latitude_deg: look.latitude_deg,
        longitude_deg: look.longitude_deg,
        altitude_km: look.altitude_km,
        errors: look_errors(job, around),
    })
}

/// A clock of which nobody knows how wrong it is makes all of it unknown.
fn look_errors(job: &Job, around: &Circumstances) -> Option<LookErrors> {
    errors_at(&job.track, job.tuning.link(), around.now.utc, around.trust.error_s()?)
}

/// How far a look at this time may be off, and a link's downlink, by a clock that may be wrong by so much.
pub(super) fn errors_at(track: &Track, link: &Link, time: Time, clock_error_s: f64) -> Option<LookErrors> {
    let off = track.uncertainty(time, clock_error_s).ok()?;
    let rounded = |value: f64| (value * 1e4).round() / 1e4;
    Some(LookErrors {
        pointing_error_deg: rounded(off.pointing_deg),
        timing_error_s: rounded(off.timing_s),
        range_rate_error_km_s: rounded(off.range_rate_km_s),
        frequency_error_hz: shift(link.downlink.as_f64(), off.range_rate_km_s).abs().round(),
    })
}

fn radio(status: &DeviceStatus, view: &RadioView, job: Option<&Job>, now: Moment) -> RadioStatus {
    let (state, mut why) = contact(status, doing(view));
    if view.transmitting == Some(true) {
        why.push_str("; transmitting");
    }
    for note in grouped(&view.notes) {
        why.push_str("; ");
        why.push_str(&note);
    }
    RadioStatus {
        name: status.name.clone(),
        state,
        why,
        last_sent: status.last_sent.as_ref().map(|said| exchange(said, now)),
        last_read: status.last_read.as_ref().map(|said| exchange(said, now)),
        receive: view.receive.map(|view| dial(view, false)),
        transmit: view.transmit.map(|view| dial(view, is_fixed(view, job))),
        in_use: view.in_use.clone(),
        last_over: view.last_over.map(|drift| drift.to_string()),
        commands: status.commands,
        refused: status.refused,
    }
}

/// What the session has the radio do.
fn doing(view: &RadioView) -> (DeviceState, &'static str) {
    match view.stage {
        RadioStage::Idle => (DeviceState::Idle, "left alone"),
        RadioStage::Reading => (DeviceState::Preparing, "reading what it has"),
        RadioStage::AwaitingSave => (DeviceState::Preparing, "what it had is being stored"),
        RadioStage::Preparing => (DeviceState::Preparing, "being prepared"),
        RadioStage::Following => (DeviceState::Following, following(view)),
        RadioStage::GivingBack => (DeviceState::Finishing, "getting back what it had"),
    }
}

fn following(view: &RadioView) -> &'static str {
    let is_unknown = |dial: &DialView| dial.plan.is_some() && dial.hertz.is_none();
    if view.transmit.is_some() && !view.notes.is_empty() {
        "NOT READY to transmit"
    } else if view.receive.iter().chain(&view.transmit).any(is_unknown) {
        "being tuned"
    } else {
        "kept on the plan"
    }
}

/// Whether the plan leaves the uplink where it is.
fn is_fixed(view: DialView, job: Option<&Job>) -> bool {
    let uplink = job.and_then(|job| job.tuning.link().uplink);
    view.plan.is_some() && uplink.is_some_and(|uplink| uplink.fixed)
}

fn tone(other: SentTone) -> ToneStatus {
    ToneStatus {
        tone: match other.which {
            LinkTone::Access => ToneChoice::Access,
            LinkTone::Arming => ToneChoice::Arming,
            LinkTone::Off => ToneChoice::Off,
        },
        hz: other.tone,
        set: other.set,
        until: other.until,
        why: other.why,
    }
}

fn dial(view: DialView, fixed: bool) -> DialStatus {
    DialStatus {
        plan_hz: view.plan.map(|plan| plan.hertz),
        dial_hz: view.hertz,
        mode: view.mode,
        tone_hz: view.tone,
        behind_hz: view.behind,
        fixed,
    }
}

fn rotator(status: &DeviceStatus, view: &RotatorView, session: &Session, now: Moment) -> RotatorStatus {
    let motion = match view.motion {
        Motion::Unread => (DeviceState::Idle, "its position was not read yet, so nothing moves"),
        Motion::Resting => (DeviceState::Idle, "standing still"),
        Motion::GoingTo if view.is_there() => (DeviceState::Idle, "at its place"),
        Motion::GoingTo => (DeviceState::Finishing, "on its way to a place"),
        Motion::Following => (DeviceState::Following, "following the plan"),
        Motion::Halted => (DeviceState::Halted, "nothing moves until resume"),
        Motion::ByHand => (DeviceState::Idle, "left to you"),
        Motion::Stopped => (DeviceState::Halted, "stopped until it is told again"),
    };
    let (state, mut why) = contact(status, motion);
    for note in &view.notes {
        why.push_str("; ");
        why.push_str(note);
    }
    let position = view.position.map(|(position, _)| position);
    let satellite = session.job().and_then(|job| job.track.at(now.utc).ok()).map(|look| look.direction());
    let by = session.nudge();
    let beam = position.map(|at| AzEl::new(at.azimuth - by.azimuth, at.elevation - by.elevation));
    RotatorStatus {
        name: status.name.clone(),
        state,
        why,
        last_sent: status.last_sent.as_ref().map(|said| exchange(said, now)),
        last_read: status.last_read.as_ref().map(|said| exchange(said, now)),
        plan: view.target,
        position,
        error_deg: beam.zip(satellite).map(|(beam, satellite)| {
            session.mount().map_or(beam.angle_to(satellite), |mount| mount.error(beam, satellite))
        }),
        pace: pace(view.pace),
        caution: None,
        commands: status.commands,
        refused: status.refused,
    }
}

fn pace(seen: Pace) -> Option<PaceStatus> {
    let Pace { azimuth_deg_s, elevation_deg_s, lag_s } = seen;
    let two = |figure: Option<f64>| figure.map(|figure| (figure * 100.0).round() / 100.0);
    (seen != Pace::default()).then(|| PaceStatus {
        azimuth_deg_s: two(azimuth_deg_s),
        elevation_deg_s: two(elevation_deg_s),
        lag_s: two(lag_s),
    })
}

/// Notes with one reason in one piece: `split on, simplex: left as it is`.
fn grouped(notes: &[Note]) -> Vec<String> {
    let mut reasons: Vec<&str> = Vec::new();
    for note in notes {
        if !reasons.contains(&note.why.as_str()) {
            reasons.push(&note.why);
        }
    }
    let group = |why: &str| {
        let what: Vec<&str> =
            notes.iter().filter(|note| note.why == why).map(|note| note.what.as_str()).collect();
        format!("{}: {why}", what.join(", "))
    };
    reasons.into_iter().map(group).collect()
}

/// What is wrong with the line comes before what the device would be doing.
fn contact(status: &DeviceStatus, doing: (DeviceState, &str)) -> (DeviceState, String) {
    match &status.contact {
        Contact::Unopened => (DeviceState::Opening, "its port is being opened".to_owned()),
        Contact::Closed(why) => (DeviceState::Lost, why.clone()),
        Contact::Bad(why) => (DeviceState::Silent, why.clone()),
        Contact::Odd(seen) => (doing.0, format!("{}; {seen}", doing.1)),
        Contact::Unheard | Contact::Good => (doing.0, doing.1.to_owned()),
    }
}

fn exchange(said: &Said, now: Moment) -> Exchange {
    let age_s = now.mono.saturating_sub(said.mono).as_secs_f64();
    Exchange { text: said.what.clone(), age_s: (age_s * 1000.0).round() / 1000.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::{Dial, Hertz, Mode};

    fn view(stands_at: Option<Hertz>, notes: Vec<Note>) -> RadioView {
        let hertz = Hertz(145_950_000);
        let plan = Some(Dial { hertz, mode: Mode::Fm, tone: None });
        let dial = |hertz| Some(DialView { plan, hertz, ..DialView::default() });
        RadioView {
            stage: RadioStage::Following,
            receive: dial(Some(hertz)),
            transmit: dial(stands_at),
            transmitting: None,
            last_over: None,
            in_use: None,
            memory: None,
            notes,
            heard: Vec::new(),
        }
    }

    fn note(what: &str, why: &str) -> Note {
        Note { what: what.to_owned(), why: why.to_owned() }
    }

    #[test]
    fn nothing_is_kept_on_the_plan_whose_dial_is_unknown_or_that_waits_for_a_hand() {
        let known = Some(Hertz(145_950_000));
        assert_eq!(doing(&view(known, Vec::new())).1, "kept on the plan");
        assert_eq!(doing(&view(None, Vec::new())).1, "being tuned");
        assert_eq!(doing(&view(known, vec![note("split on", "refused")])).1, "NOT READY to transmit");
    }

    #[test]
    fn a_reason_is_given_once_for_all_that_it_holds_for() {
        let notes = [note("split on", "refused"), note("the tone", "no answer"), note("simplex", "refused")];
        assert_eq!(grouped(&notes), ["split on, simplex: refused", "the tone: no answer"]);
    }
}
