//! Why a session is in the state that it is in, in a sentence for people.

use crate::clock::Trust;
use crate::device::{Contact, DeviceStatus, RadioStage};
use crate::terms::{Time, seconds_between};

use super::{Circumstances, Phase, Session};

pub(super) fn explain(session: &Session, around: &Circumstances) -> String {
    let mut parts = vec![state(session, around)];
    if session.is_halted() {
        parts.push("halted by the operator: no motor moves until resume".to_owned());
    }
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
    let now = around.now.utc;
    match session.phase() {
        Phase::Idle => "no session is running".to_owned(),
        Phase::Waiting => match around.trust {
            Trust::Untrusted { why } if now >= job.prepare_at => format!("the clock can't be trusted: {why}"),
            _ => format!(
                "the pass begins in {}; preparation starts {} UTC",
                span(now, job.span.from),
                job.prepare_at.format("%H:%M:%S")
            ),
        },
        Phase::Preparing if now >= job.span.from => format!("{} is up; {}", job.satellite, pending(around)),
        Phase::Preparing => format!("AOS in {}; {}", span(now, job.span.from), pending(around)),
        Phase::Ready => format!("everything is set; AOS in {}", span(now, job.span.from)),
        Phase::Following => format!("{} is up; LOS in {}", job.satellite, span(now, job.span.until)),
        Phase::Finishing => "the beam comes to rest and the radios get back what they had".to_owned(),
    }
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
        Contact::Unheard | Contact::Good => None,
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
