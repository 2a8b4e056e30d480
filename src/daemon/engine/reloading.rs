//! Reload: the files are read again. A session in progress goes on with what it has.

use std::sync::Arc;

use serde_json::{Value, json};

use crate::config::{Config, ConfigErrors, DefaultPaths, load_satellites};
use crate::control::{RpcError, code};
use crate::daemon::{Catalog, Files, Planner};

use super::requests::Reply;
use super::{Engine, News};

/// What was read.
pub(super) struct Reloaded {
    planner: Planner,
    callsign: Option<String>,
    /// What of it only a restart brings, in words.
    later: Vec<&'static str>,
    complaints: Vec<String>,
}

impl Engine {
    /// Reads the files again, away from the loop.
    pub(super) fn reload(&self, reply: Reply) {
        let Some(files) = self.parts.planner.files.clone() else {
            let why = "a rehearsal has no files that could be read again";
            let _ = reply.send(Err(RpcError::new(code::NOT_NOW, why)));
            return;
        };
        let (planner, tell) = (self.parts.planner.clone(), self.tell.clone());
        self.aside("the reading of the files", move || {
            let _ = tell.send(News::Reloaded(read(files.config(), &planner).map(Box::new), reply));
        });
    }

    /// Takes what was read, or says what is wrong with it.
    pub(super) fn reloaded(&mut self, read: Result<Box<Reloaded>, ConfigErrors>, reply: Reply) {
        let answer = match read {
            Ok(reloaded) => self.take_over(*reloaded),
            Err(errors) => {
                tracing::warn!("the files are not read again: {errors}");
                let all: Vec<String> = errors.iter().map(ToString::to_string).collect();
                let what = format!("the configuration is refused, and nothing has changed: {errors}");
                Err(RpcError { data: Some(json!(all)), ..RpcError::new(code::FAILED, what) })
            }
        };
        let _ = reply.send(answer);
    }

    fn take_over(&mut self, reloaded: Reloaded) -> Result<Value, RpcError> {
        let Reloaded { planner, callsign, later, complaints } = reloaded;
        self.alarms.replace(planner.agenda.commands.clone());
        self.hearing.antenna.configure(&planner.listening.antenna);
        self.parts.planner = planner;
        self.parts.callsign = callsign;
        self.auto.renew();
        let mut said = vec!["the files are read again".to_owned()];
        if !later.is_empty() {
            said.push(format!("what has changed in {} waits for a restart", later.join(", ")));
        }
        said.extend(complaints);
        said.iter().for_each(|line| tracing::info!("{line}"));
        self.ack(said, None)
    }
}

/// The files as they are now. The equipment stays as it was: its lines are open.
fn read(old: &Config, planner: &Planner) -> Result<Reloaded, ConfigErrors> {
    let (config, state, socket) = (old.file.clone(), old.files.state.clone(), old.control.socket.clone());
    let new = Config::load(&old.file, &DefaultPaths { config, state, socket })?;
    let satellites = load_satellites(&new.files.satellites)?;
    let (catalog, complaints) = Catalog::load(&new, satellites);
    let taken = taken(old, &new);
    let (mount, slew, transmits) = (planner.mount.clone(), planner.slew, planner.transmits);
    let later = later(&taken, &new);
    let callsign = taken.station.callsign.clone();
    let files = Some(Arc::new(Files::new(taken.clone())));
    let planner = Planner { mount, slew, transmits, files, ..Planner::new(&taken, catalog) };
    Ok(Reloaded { planner, callsign, later, complaints })
}

/// The old configuration with all that can change while the lines are open.
fn taken(old: &Config, new: &Config) -> Config {
    let mut taken = old.clone();
    taken.station = new.station.clone();
    taken.agenda = new.agenda.clone();
    taken.listening = new.listening.clone();
    taken.sources = new.sources.clone();
    taken.session.prepare_before_s = new.session.prepare_before_s;
    taken.files = new.files.clone();
    taken.files.state.clone_from(&old.files.state);
    taken.files.dialects.clone_from(&old.files.dialects);
    taken
}

/// The sections of which something is not taken.
fn later(taken: &Config, new: &Config) -> Vec<&'static str> {
    let differs = [
        ("[files]", taken.files != new.files),
        ("[transmit]", taken.transmit != new.transmit),
        ("[clock]", taken.clock != new.clock),
        ("[control]", taken.control != new.control),
        ("[session]", taken.session != new.session),
        ("[record]", taken.record != new.record),
        ("[[radio]]", taken.radios != new.radios),
        ("[rotator]", taken.rotator != new.rotator),
    ];
    differs.into_iter().filter(|(_, differs)| *differs).map(|(section, _)| section).collect()
}
