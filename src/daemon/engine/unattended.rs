//! The agenda at work: `daemon::auto` decides, this does.

use std::sync::Arc;

use serde_json::Value;

use crate::control::{Ack, AgendaStatus, RpcError, code};
use crate::daemon::alarms::Upcoming;
use crate::daemon::auto::{HORIZON_H, Station, Wish};
use crate::daemon::{Files, Outlook, Planner, report};
use crate::session::{Command, Job, Phase};
use crate::terms::Time;

use super::requests::with_kept;
use super::{Engine, News, Seen, to_value};

impl Engine {
    /// As the last daemon was left.
    pub(super) fn remember_auto(&mut self) {
        if self.auto.is_on() {
            tracing::info!("auto was on when the last daemon ended, and is again");
        }
    }

    /// Does what the agenda wants now.
    pub(super) fn run_auto(&mut self, seen: &Seen) {
        if !self.auto.is_on() || self.taking_up.is_some() {
            return;
        }
        match self.auto.wish(&self.station(seen)) {
            Wish::Nothing => {}
            Wish::Outlook => self.look_out(seen),
            Wish::Begin(entry) => {
                let (planner, tell, generation) =
                    (self.parts.planner.clone(), self.tell.clone(), self.generation);
                let trims = (!self.parts.clock.is_rehearsal()).then(|| self.trims.clone());
                self.aside("the plan of a pass", move || {
                    let job =
                        planner.job_for(&entry, generation).map(|job| trims.iter().fold(job, with_kept));
                    let _ = tell.send(News::Due(generation, Box::new(job)));
                });
            }
        }
    }

    fn look_out(&self, seen: &Seen) {
        let (planner, tell, now) = (self.parts.planner.clone(), self.tell.clone(), seen.now.utc);
        let session = &self.parts.session;
        let noise_after = self.auto.noise_after(now);
        let busy = self.auto.busy(&self.station(seen), session.next().or(session.job()));
        self.aside("the agenda", move || {
            // A file that is just being written must not cost a pass: what was known before will do.
            let (planner, complaint) = match planner.refreshed() {
                Ok(refreshed) => (refreshed, None),
                Err(why) => (planner, Some(why)),
            };
            let mut outlook = planner.outlook_with(now, HORIZON_H, busy, noise_after);
            outlook.complaints.extend(complaint);
            let _ = tell.send(News::Outlook(now, Box::new(planner), outlook));
        });
    }

    /// The agenda is made; its passes are planned from the same elements.
    pub(super) fn outlook_made(&mut self, at: Time, planner: Planner, outlook: Outlook) {
        let is_same_file = |one: &Option<Arc<Files>>, other: &Option<Arc<Files>>| match (one, other) {
            (Some(one), Some(other)) => Arc::ptr_eq(one, other),
            (one, other) => one.is_none() && other.is_none(),
        };
        if is_same_file(&planner.files, &self.parts.planner.files) {
            self.parts.planner = planner;
        }
        self.auto.made(at, outlook);
    }

    /// A pass of the agenda is planned: it begins, unless a person came first.
    pub(super) fn due(&mut self, generation: u64, job: Result<Job, String>) {
        let seen = self.seen();
        let station = self.station(&seen);
        let gives_way = station.only_listens && job.as_ref().is_ok_and(|job| !job.only_listens());
        let is_taken = !station.is_free && !gives_way;
        if !self.auto.is_on() || generation != self.generation || is_taken || station.is_halted {
            return self.auto.begun();
        }
        let is_noise =
            |job: &Job| job.listening.as_ref().is_some_and(|listening| listening.watch.up.is_none());
        if job.as_ref().is_ok_and(is_noise) {
            self.auto.noise_begun(seen.now.utc);
        }
        let begun = job.and_then(|job| {
            let start = Command::Start(Box::new(job));
            self.order_session(start, &seen).map_err(|refusal| refusal.to_string())
        });
        match begun {
            Ok(outputs) => {
                self.carry_out(outputs, "auto");
                self.auto.begun();
            }
            Err(why) => {
                self.log("auto", &format!("auto: {why}"));
                self.auto.refused(seen.now.utc, why);
            }
        }
    }

    /// Starts the user's own programs that are due.
    pub(super) fn ring(&mut self, seen: &Seen) {
        let upcoming = self.upcoming(seen);
        for due in self.alarms.due(seen.now.utc, upcoming.as_ref()) {
            self.programs.start(due);
        }
    }

    /// The pass that is on or comes next: the session's, or else the agenda's.
    fn upcoming(&self, seen: &Seen) -> Option<Upcoming> {
        let session = &self.parts.session;
        let job = match session.phase() {
            Phase::Finishing => session.next(),
            _ => session.job(),
        };
        if let Some(job) = job.filter(|job| !job.only_listens()) {
            return Some(Upcoming {
                satellite: job.satellite.clone(),
                link: job.tuning.link().name.clone(),
                span: job.span,
                max_elevation_deg: job.pass.max_elevation_deg,
                is_followed: session.phase() == Phase::Following,
            });
        }
        let entry = self.auto.upcoming(seen.now.utc).filter(|entry| !entry.listens)?;
        Some(Upcoming {
            satellite: entry.satellite.clone(),
            link: entry.link.clone(),
            span: entry.span,
            max_elevation_deg: entry.pass.max_elevation_deg,
            is_followed: false,
        })
    }

    /// `auto`, and not any more.
    pub(super) fn switch_auto(&mut self, on: bool) -> Result<Value, RpcError> {
        let planner = &self.parts.planner;
        let works = !planner.agenda.satellites.is_empty();
        let moves = works || planner.listening.beam;
        if on && !works && planner.listening.satellites.is_empty() {
            let why = "there is nothing to do: `satellites` in [agenda] of the configuration is the list of what \
                       is worked, and in [listening] of what is listened to";
            return Err(RpcError::new(code::FAILED, why));
        }
        self.auto.switch(on);
        self.writer.auto(on);
        if !on && self.parts.session.job().is_some_and(Job::only_listens) {
            // Nobody wants to hear it any more.
            let _ = self.command(Command::Stop);
        }
        let session = &self.parts.session;
        let why = match (on, session.phase()) {
            (true, _) if !moves => {
                "auto is on: the receiver is tuned without anybody asking, also after a restart, \
                                   until `beamhand auto off`"
                    .to_owned()
            }
            (true, _) => {
                "auto is on: passes are worked and the beam moves without anybody asking, also after a \
                          restart, until `beamhand auto off`"
                    .to_owned()
            }
            (false, Phase::Idle) => "auto is off".to_owned(),
            (false, _) => format!("auto is off; {}", session.why(&self.seen().around())),
        };
        to_value(&Ack { state: report::state(session), why, note: None })
    }

    /// A person stops what is on: what is stopped is not begun again.
    pub(super) fn stopped_by_hand(&mut self) {
        let session = &self.parts.session;
        let job = session.next().or(session.job());
        if let Some(job) = job.filter(|job| self.parts.clock.now().utc >= job.prepare_at) {
            self.auto.stopped(job);
        }
        self.auto.renew();
    }

    /// For listeners.
    pub(super) fn auto_status(&self, seen: &Seen) -> Option<AgendaStatus> {
        self.auto.status(&self.station(seen))
    }

    fn station(&self, seen: &Seen) -> Station {
        let session = &self.parts.session;
        let phase = session.phase();
        Station {
            now: seen.now.utc,
            phase,
            job: session.next().or(session.job()).map(Job::name),
            only_listens: session.job().is_some_and(Job::only_listens) && session.next().is_none(),
            is_free: phase == Phase::Idle || (phase == Phase::Finishing && session.next().is_none()),
            is_halted: session.is_halted(),
            is_clock_trusted: seen.trust.is_trusted(),
        }
    }
}
