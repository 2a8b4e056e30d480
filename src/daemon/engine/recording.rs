//! The flight record of what the engine does: when it begins, and who is asked to tell.

use crate::control::Method;
use crate::daemon::recording::LineTape;
use crate::daemon::report;
use crate::session::{Command, Output, Refusal};

use super::{Engine, Seen};

impl Engine {
    /// Hands the session a command; a record begins before one that may begin a pass.
    pub(super) fn order_session(&mut self, command: Command, seen: &Seen) -> Result<Vec<Output>, Refusal> {
        if let Command::Start(job) = &command
            && self.parts.recording.is_due_for(job, seen.now)
        {
            let link = job.tuning.link().name.clone();
            self.begin_record(&job.satellite.clone(), &link, seen);
        }
        self.parts.session.command(command, &seen.around())
    }

    /// What a person asked for; a pass that is wanted begins a record, because the lines have to come
    /// to rest once before it.
    pub(super) fn record_request(&mut self, method: &Method, peer: &str) {
        if matches!(method, Method::Status | Method::Passes(_) | Method::Subscribe) {
            return;
        }
        let seen = self.seen();
        if let Method::Start(wanted) = method
            && self.parts.recording.is_possible()
        {
            let link = wanted.link.clone().unwrap_or_default();
            self.begin_record(&wanted.satellite, &link, &seen);
        }
        if let Some(tape) = self.parts.session.tape() {
            tape.asked(method, peer, seen.now);
        }
    }

    /// Before the session takes the devices.
    pub(super) fn begin_record_if_due(&mut self, seen: &Seen) {
        if !self.parts.recording.is_due(&self.parts.session, seen.now) {
            return;
        }
        let session = &self.parts.session;
        let of = session.job().or(session.next());
        let (satellite, link) =
            of.map_or_else(Default::default, |job| (job.satellite.clone(), job.tuning.link().name.clone()));
        self.begin_record(&satellite, &link, seen);
    }

    fn begin_record(&mut self, satellite: &str, link: &str, seen: &Seen) {
        let parts = &mut self.parts;
        let begun = parts.recording.begin(seen.now, (satellite, link), parts.callsign.as_deref());
        let Some(tape) = begun else { return };
        let (recorder, origin) = (tape.recorder.clone(), tape.origin);
        parts.session.watch(tape);
        parts.fleet.watched_by(|line| Some(Box::new(LineTape::new(recorder.clone(), origin, line))));
    }

    pub(super) fn end_record_if_over(&mut self, seen: &Seen) {
        let parts = &mut self.parts;
        if let Some(tape) = parts.session.tape() {
            parts.recording.tell_readings(tape, seen.radios.iter().chain(&seen.rotator), seen.now);
        }
        if parts.recording.is_over(&parts.session, seen.now) {
            self.end_record();
        }
    }

    /// Ends the record that is on, if one is.
    pub(super) fn end_record(&mut self) {
        let seen = self.seen();
        let Some(tape) = self.parts.session.unwatch() else { return };
        self.parts.fleet.watched_by(|_| None);
        let state = report::state(&self.parts.session).name().to_owned();
        let why = self.parts.session.why(&seen.around());
        self.parts.recording.end(tape, seen.now, state, why);
    }
}
