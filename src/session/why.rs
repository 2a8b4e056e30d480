//! Why a session is in the state that it is in, in a sentence for people.

use crate::clock::Trust;
use crate::device::{Contact, DeviceStatus, RadioStage};
use crate::link::LinkTone;
use crate::terms::{AzEl, Time, Tone, seconds_between};

use super::arming::{OtherTone, ToneStage};
use super::{Circumstances, Job, Phase, Session, SessionSetup, ToneSender, nudge};

pub(super) fn explain(session: &Session, around: &Circumstances) -> String {
    let mut parts = vec![state(session, around)];
    if session.is_halted() {
        parts.push("no motor moves until resume".to_owned());
    }
    parts.extend(owed(session, around));
    parts.extend(tone(session));
    parts.extend(nudged(session));
    parts.extend(session.job().and_then(kept));
    parts.extend(around.radios.iter().filter_map(by_hand));
    parts.extend(session.job().into_iter().flat_map(|job| job.warnings.iter().cloned()));
    parts.extend(around.radios.iter().chain(around.rotator).filter_map(trouble));
    parts.join("; ")
}

fn state(session: &Session, around: &Circumstances) -> String {
    let Some(job) = session.job() else {
        return match session.phase() {
            Phase::Finishing => "the radios get back what they had before a session that did not end",
            _ => "no session is running",
        }
        .to_owned();
    };
    if job.only_listens() && session.phase() != Phase::Finishing {
        return listening(session, job, around);
    }
    let now = around.now.utc;
    match session.phase() {
        Phase::Idle => "no session is running".to_owned(),
        Phase::Waiting => waiting(session, job, around),
        Phase::Preparing if now >= job.span.from => format!("{} is up; {}", job.satellite, pending(around)),
        Phase::Preparing => format!("AOS in {}; {}", span(now, job.span.from), pending(around)),
        Phase::Ready => format!("everything is set; AOS in {}", span(now, job.span.from)),
        Phase::Following => format!("{} is up; LOS in {}", job.satellite, span(now, job.span.until)),
        Phase::Finishing if job.only_listens() => "the radios get back what they had".to_owned(),
        Phase::Finishing => "the beam comes to rest and the radios get back what they had".to_owned(),
    }
}

/// What is listened to, until when, and why.
fn listening(session: &Session, job: &Job, around: &Circumstances) -> String {
    let now = around.now.utc;
    let clock = |time: Time| time.format("%H:%M:%S");
    let name = job.name();
    if !session.phase().has_devices() {
        return match session.in_the_way() {
            Some(why) => format!("{name} is not listened to: {why}"),
            None => format!("{name} is listened to from {} UTC", clock(job.prepare_at)),
        };
    }
    let up = job.listening.as_ref().and_then(|listening| listening.watch.up);
    let where_it_is = match up {
        None => "it is not up: this is for the noise here".to_owned(),
        Some(up) if now < up.from => format!("it rises in {}", span(now, up.from)),
        Some(up) if now <= up.until => format!("it is up and sets in {}", span(now, up.until)),
        Some(_) => "it has set".to_owned(),
    };
    format!(
        "listening to {name} until {} UTC; {where_it_is}; nothing more important wants the station",
        clock(job.span.until)
    )
}

fn waiting(session: &Session, job: &Job, around: &Circumstances) -> String {
    let now = around.now.utc;
    match (around.trust, session.in_the_way()) {
        (Trust::Untrusted { why }, _) if now >= job.prepare_at => {
            format!("the clock can't be trusted: {why}")
        }
        (_, Some(why)) => format!("left alone: {why}; {}", progress(job, now)),
        _ => format!(
            "the pass begins in {}; preparation starts {} UTC",
            span(now, job.span.from),
            job.prepare_at.format("%H:%M:%S")
        ),
    }
}

/// How far from its pass a job is, in words.
pub(super) fn progress(job: &Job, now: Time) -> String {
    if job.only_listens() {
        return "only listened to".to_owned();
    }
    if now < job.span.from {
        format!("{} before AOS", span(now, job.span.from))
    } else {
        format!("{} before LOS", span(now, job.span.until))
    }
}

/// What comes to the devices when nobody expects it any more.
fn owed(session: &Session, around: &Circumstances) -> Vec<String> {
    let park = session.park_owed().then_some("the beam is not parked: resume parks it");
    let memories = session
        .memories_owed()
        .then_some("what a radio had before an earlier pass is still stored: it gets it after the next one");
    let elsewhere = (!session.park_owed() && session.rests_elsewhere(around))
        .then_some("the beam is not at its resting place: `beamhand park` turns it there");
    let is_on = session.job().is_none() && session.interrupted().is_some_and(|los| around.now.utc < los);
    let interrupted = is_on.then_some(
        "the pass in which Beamhand ended was not taken up again: `beamhand start` with its satellite does that",
    );
    park.into_iter().chain(elsewhere).chain(interrupted).chain(memories).map(str::to_owned).collect()
}

/// The trim of an earlier session, while it is in force.
fn kept(job: &Job) -> Option<String> {
    let kept = job.kept.filter(|kept| kept.trim == job.tuning.trim())?;
    Some(kept.to_string())
}

/// How the beam is shifted, while it is used.
fn nudged(session: &Session) -> Option<String> {
    let by = session.nudge();
    let is_shifted = by != AzEl::ZERO && session.has_beam();
    is_shifted.then(|| format!("the beam is nudged by {}", nudge::how(by)))
}

/// The tone in place of the access tone.
pub(super) fn tone(session: &Session) -> Option<String> {
    let (other, job) = (session.other_tone()?, session.job()?);
    Some(other_tone(other, job.tuning.hertz_of(LinkTone::Access), session.setup()))
}

/// How a tone gets on that is sent in place of `normal`, and who presses the key.
pub(super) fn other_tone(other: &OtherTone, normal: Option<Tone>, setup: &SessionSetup) -> String {
    let what = called(other);
    let armed = match &other.stage {
        ToneStage::Asked(_) => return format!("{what} is being set: wait for it before you press your key"),
        ToneStage::Stays => return format!("{what} is set"),
        ToneStage::Armed(armed) => armed,
    };
    let back = normal.map_or("the tone goes off".to_owned(), |normal| format!("{normal} Hz comes back"));
    let by = armed.by_utc.format("%H:%M:%S");
    let tells_overs = matches!(setup.tone, ToneSender::Radio { tells_overs: true, .. });
    if let Some(rises) = armed.rises {
        let aos = rises.format("%H:%M:%S");
        let over = if tells_overs { "after your over, or " } else { "" };
        return format!(
            "{what} is set, but the satellite is not up yet: press your key for two seconds after AOS at \
             {aos} UTC; {back} {over}at {by} UTC"
        );
    }
    match (armed.transmitting, tells_overs) {
        (true, _) => format!("{what} is set and you transmit: {back} after your over"),
        (false, true) => {
            format!("{what} is set: press your key for two seconds; {back} after your over, or at {by} UTC")
        }
        (false, false) => format!("{what} is set: press your key for two seconds; {back} at {by} UTC"),
    }
}

/// A tone's name in a sentence.
pub(super) fn called(other: &OtherTone) -> String {
    match (other.which, other.tone) {
        (LinkTone::Arming, Some(tone)) => format!("the arming tone {tone} Hz"),
        (_, Some(tone)) => format!("{tone} Hz"),
        (_, None) => "no tone".to_owned(),
    }
}

/// What the radio is to go back to.
pub(super) fn wanted(normal: Option<Tone>) -> String {
    normal.map_or("the radio gets no tone again".to_owned(), |tone| format!("the radio gets {tone} Hz again"))
}

/// What preparation still waits for.
fn pending(around: &Circumstances) -> String {
    let radio = |status: &DeviceStatus| {
        let stage = status.radio()?.stage;
        (stage != RadioStage::Following).then(|| format!("{} is not ready", status.name))
    };
    let waiting: Vec<String> = around.radios.iter().filter_map(radio).collect();
    if waiting.is_empty() { "the beam is on its way".to_owned() } else { waiting.join(", ") }
}

/// What the operator has to set by hand before transmitting.
fn by_hand(status: &DeviceStatus) -> Option<String> {
    let radio = status.radio()?;
    let what: Vec<&str> = radio.notes.iter().map(|note| note.what.as_str()).collect();
    let in_use = matches!(radio.stage, RadioStage::Preparing | RadioStage::Following);
    let transmits = in_use && radio.transmit.is_some() && !what.is_empty();
    transmits.then(|| format!("{} is NOT READY to transmit; look at: {}", status.name, what.join(", ")))
}

fn trouble(status: &DeviceStatus) -> Option<String> {
    match &status.contact {
        Contact::Closed(why) | Contact::Bad(why) | Contact::Odd(why) => {
            Some(format!("{}: {why}", status.name))
        }
        Contact::Unopened | Contact::Unheard | Contact::Good => None,
    }
}

/// Minutes and seconds between two instants, never negative.
fn span(from: Time, to: Time) -> String {
    let seconds = seconds_between(from, to).max(0.0).round() as u64;
    match (seconds / 3600, seconds / 60 % 60, seconds % 60) {
        (0, 0, s) => format!("{s} s"),
        (0, m, s) => format!("{m} min {s:02} s"),
        (h, m, _) => format!("{h} h {m:02} min"),
    }
}
