//! The listening watch at work, and the antenna's label.

use serde_json::Value;

use crate::config::antenna_label;
use crate::control::{AntennaParams, ListeningStatus, RpcError, code};
use crate::daemon::listening::{Antenna, Hearing, SpellWriter, deaf_radios};
use crate::daemon::report;

use super::requests::Reply;
use super::{Engine, EngineParts, News, Seen, to_value};

/// Takes up the label, and starts the thread that writes; a rehearsal keeps nothing.
pub(super) fn hearing(
    parts: &EngineParts,
    is_real: bool,
    tell: impl Fn(News) + Send + 'static,
) -> std::io::Result<Hearing> {
    let listening = &parts.planner.listening;
    let antenna = Antenna::load(&parts.state, &listening.antenna);
    let start = || {
        let done = move |done| tell(News::Heard(done));
        SpellWriter::start(&parts.state, listening.total_mb, parts.vitals.clone(), done)
    };
    let deaf = parts.planner.files.as_ref().and_then(|files| deaf_radios(files.config()).into_iter().next());
    Ok(Hearing::new(antenna, is_real.then(start).transpose()?, deaf))
}

impl Engine {
    /// Takes what the radios have heard.
    pub(super) fn hear(&mut self, seen: &Seen) {
        self.hearing.look(&self.parts.session, seen.radios.iter(), seen.now.utc);
    }

    /// A piece of it is on the disk, or not.
    pub(super) fn heard(&mut self, done: std::io::Result<()>) {
        let is_bad = done.is_err();
        match self.hearing.written(done) {
            Some(news) if is_bad => tracing::warn!("{news}"),
            Some(news) => tracing::info!("{news}"),
            None => {}
        }
    }

    /// For listeners.
    pub(super) fn listening_status(&self) -> Option<ListeningStatus> {
        let session = &self.parts.session;
        let job = session.job().filter(|job| job.only_listens() && session.phase().has_devices())?;
        let up = job.listening.as_ref().and_then(|listening| listening.watch.up);
        Some(ListeningStatus {
            from: job.span.from,
            until: job.span.until,
            rises: up.map(|up| up.from),
            sets: up.map(|up| up.until),
            readings: self.hearing.count().unwrap_or_default() as u64,
            trouble: self.hearing.trouble().map(str::to_owned),
        })
    }

    /// What the antenna is called; or it is called so from now on, and another spell begins.
    pub(super) fn antenna(&mut self, params: AntennaParams, reply: Reply) {
        let Some(label) = params.label else {
            let _ = reply.send(self.antenna_now());
            return;
        };
        let Some(label) = antenna_label(&label) else {
            let what = "an antenna's label is a text on one line, of 60 bytes at most";
            let _ = reply.send(Err(RpcError::new(code::BAD_PARAMS, what)));
            return;
        };
        if label != self.hearing.antenna.label() {
            self.hearing.end_spell();
        }
        self.hearing.antenna.call(label.clone());
        let (antenna, tell) = (self.hearing.antenna.clone(), self.tell.clone());
        let is_kept = self.parts.planner.files.is_some();
        self.aside("the antenna's label", move || {
            let kept = if is_kept { antenna.keep() } else { Ok(()) };
            let done = match kept {
                Ok(()) => Ok(format!("the antenna is called {label} from now on")),
                Err(error) => {
                    Err(format!("the antenna is called {label}, but a restart forgets it: {error}"))
                }
            };
            let _ = tell.send(News::AntennaStored(done, reply));
        });
    }

    fn antenna_now(&self) -> Result<Value, RpcError> {
        let why = match self.hearing.antenna.label() {
            "" => "the antenna has no name".to_owned(),
            label => format!("the antenna is called {label}"),
        };
        to_value(&crate::control::Ack { state: report::state(&self.parts.session), why, note: None })
    }
}
