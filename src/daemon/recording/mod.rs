//! The flight record of each session: when one begins and ends, and what goes into it. Nothing that
//! runs waits for it.

mod jobs;
mod line;
mod patch;
mod session;
mod sight;
mod words;

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use crate::config::Config;
use crate::control::{Method, RecordStatus};
use crate::device::{Contact, DeviceStatus, LinePlan};
use crate::record::{Entry, FORMAT, Head, Limits, LineHead, Nanos, Origin, Recorder, Records, Writing};
use crate::session::{Job, Phase, Session};
use crate::terms::{Moment, seconds_between};

pub(in crate::daemon) use jobs::{JobAs, Recipe};
pub(in crate::daemon) use line::LineTape;
pub(in crate::daemon) use session::Tape;
pub use session::Watched;
pub(in crate::daemon) use sight::Sight;
pub(in crate::daemon) use words::{BeamAs, DialsOf, RadioAs, RotatorAs, Words};

/// A record begins so long before the devices are prepared, seconds: long enough for every line to
/// come to rest once, so that what it remembers can be written down.
const LEAD_S: f64 = 10.0;
/// A pass that was asked for has so long to be planned and begun.
const PLANNED_WITHIN: Duration = Duration::from_secs(30);
/// How long the end of the daemon waits for the last record to reach the disk.
const WRITTEN_WITHIN: Duration = Duration::from_secs(1);
/// How often it is told what each device was last told and said.
const READINGS_EVERY: Duration = Duration::from_secs(10);
/// More than this of the user's own dialects is left out of a record, bytes.
const DIALECTS_AT_MOST: usize = 256 << 10;

/// Begins and ends records, as the configuration wants it.
pub(in crate::daemon) struct Recording {
    records: Records,
    limits: Limits,
    enabled: bool,
    configuration: Arc<str>,
    dialects: BTreeMap<String, String>,
    lines: Vec<LineHead>,
    wire_speed: f64,
    on: Option<On>,
    /// The last record's thread.
    writing: Option<Writing>,
}

/// The record that is on.
struct On {
    begun: Duration,
    /// The session has taken the devices since.
    was_at_work: bool,
    told_readings_at: Duration,
}

impl Recording {
    /// For the station of a configuration; `is_real`: a rehearsal is not recorded.
    pub(in crate::daemon) fn new(config: &Config, plans: &[LinePlan], is_real: bool) -> Self {
        let megabytes = |count: f64| (count * 1e6) as u64;
        let line = |plan: &LinePlan| LineHead {
            port: plan.port.port.display().to_string(),
            devices: plan.devices.iter().map(|device| device.name().to_owned()).collect(),
        };
        let size: usize = config.texts.dialects.values().map(String::len).sum();
        let dialects = if size <= DIALECTS_AT_MOST { config.texts.dialects.clone() } else { BTreeMap::new() };
        let limits =
            Limits { each: megabytes(config.record.session_mb), all: megabytes(config.record.total_mb) };
        Self {
            records: Records::in_folder(&config.files.state),
            limits,
            enabled: is_real && config.record.enabled,
            configuration: config.texts.configuration.clone(),
            dialects,
            lines: plans.iter().map(line).collect(),
            wire_speed: plans.first().map_or(1.0, |plan| plan.speed),
            on: None,
            writing: None,
        }
    }

    /// Whether a record is to begin now: a pass is about to be prepared, or a person asked for one.
    pub(in crate::daemon) fn is_due(&self, session: &Session, now: Moment) -> bool {
        self.enabled && self.on.is_none() && is_near(session, now)
    }

    /// Whether one may begin for this pass, which is about to be handed to the session.
    pub(in crate::daemon) fn is_due_for(&self, job: &Job, now: Moment) -> bool {
        let may = self.enabled && self.on.is_none() && !job.only_listens();
        may && seconds_between(now.utc, job.prepare_at) <= LEAD_S
    }

    /// Whether one may begin at all.
    pub(in crate::daemon) fn is_possible(&self) -> bool {
        self.enabled && self.on.is_none()
    }

    /// Begins a record.
    pub(in crate::daemon) fn begin(
        &mut self,
        now: Moment,
        (satellite, link): (&str, &str),
        station: Option<&str>,
    ) -> Option<Tape> {
        let recorder = Recorder::begin(&self.records, self.limits, now.utc, satellite);
        let failed = |error: &std::io::Error| tracing::warn!("no record of this session: {error}");
        let (recorder, writing) = recorder.inspect_err(failed).ok()?;
        self.writing = Some(writing);
        let origin = Origin { begun: now };
        recorder.tell(Entry::Head(Box::new(Head {
            format: FORMAT,
            version: env!("CARGO_PKG_VERSION").to_owned(),
            begun: now.utc,
            mono: Nanos(now.mono.as_nanos().try_into().unwrap_or(i64::MAX)),
            speed: now.speed,
            wire_speed: self.wire_speed,
            satellite: satellite.to_owned(),
            link: link.to_owned(),
            station: station.map(str::to_owned),
            configuration: self.configuration.to_string(),
            dialects: self.dialects.iter().map(|(name, text)| (name.clone(), text.as_str().into())).collect(),
            lines: self.lines.clone(),
        })));
        self.on = Some(On { begun: now.mono, was_at_work: false, told_readings_at: now.mono });
        Some(Tape::new(recorder, origin))
    }

    /// Whether the record that is on is over: the session is, or was never begun.
    pub(in crate::daemon) fn is_over(&mut self, session: &Session, now: Moment) -> bool {
        let Some(on) = &mut self.on else { return false };
        on.was_at_work |= session.phase().has_devices() || session.phase() == Phase::Finishing;
        let is_idle = matches!(session.phase(), Phase::Idle | Phase::Waiting) && !is_near(session, now);
        is_idle && (on.was_at_work || now.mono.saturating_sub(on.begun) > PLANNED_WITHIN)
    }

    /// Ends the record. One of a session that never was is thrown away.
    pub(in crate::daemon) fn end(&mut self, tape: Tape, now: Moment, state: String, why: String) {
        let Some(on) = self.on.take() else { return };
        tape.recorder.tell(Entry::Outcome { at: tape.origin.stamp(now), state, why });
        if !on.was_at_work {
            tape.recorder.discard();
        }
    }

    /// Tells what the devices were last told and said, from time to time.
    pub(in crate::daemon) fn tell_readings<'d>(
        &mut self,
        tape: &Tape,
        devices: impl Iterator<Item = &'d DeviceStatus>,
        now: Moment,
    ) {
        let Some(on) = self.on.as_mut() else { return };
        if now.mono.saturating_sub(on.told_readings_at) < READINGS_EVERY {
            return;
        }
        on.told_readings_at = now.mono;
        for device in devices {
            tape.recorder.tell(Entry::Reading {
                at: tape.origin.stamp(now),
                device: device.name.clone(),
                sent: device.last_sent.as_ref().map(|said| said.what.clone()),
                read: device.last_read.as_ref().map(|said| said.what.clone()),
                contact: in_words(&device.contact),
            });
        }
    }
}

/// Where a record's numbers count from.
pub(in crate::daemon) fn origin(head: &Head) -> Origin {
    let mono = Duration::from_nanos(head.mono.0.max(0).unsigned_abs());
    Origin { begun: Moment { utc: head.begun, mono, speed: head.speed } }
}

impl Tape {
    /// Tells what somebody asked for.
    pub(in crate::daemon) fn asked(&self, method: &Method, peer: &str, now: Moment) {
        let method = serde_json::to_value(method).unwrap_or_default();
        self.recorder.tell(Entry::Request { at: self.origin.stamp(now), peer: peer.to_owned(), method });
    }

    /// For those who look at the daemon.
    pub(in crate::daemon) fn status(&self) -> RecordStatus {
        RecordStatus { name: self.recorder.name().to_owned(), trouble: self.recorder.trouble().said() }
    }
}

impl Drop for Recording {
    /// Those who told have ended by now; what they told is still to reach the disk.
    fn drop(&mut self) {
        if let Some(writing) = &self.writing {
            writing.wait(WRITTEN_WITHIN);
        }
    }
}

/// Whether a pass is at hand, or being worked. One that is only listened to is not: day and night of
/// those would drive out what is looked for.
fn is_near(session: &Session, now: Moment) -> bool {
    if session.next().is_none() && session.job().is_some_and(Job::only_listens) {
        return false;
    }
    match session.phase() {
        Phase::Idle => false,
        Phase::Waiting => session.job().is_some_and(|job| seconds_between(now.utc, job.prepare_at) <= LEAD_S),
        _ => true,
    }
}

fn in_words(contact: &Contact) -> String {
    match contact {
        Contact::Unopened => "not opened yet".to_owned(),
        Contact::Closed(why) => format!("closed: {why}"),
        Contact::Unheard => "nothing heard yet".to_owned(),
        Contact::Good => "good".to_owned(),
        Contact::Odd(what) | Contact::Bad(what) => what.clone(),
    }
}
