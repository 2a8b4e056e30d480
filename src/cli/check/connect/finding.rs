//! What was found of one device, for people and for programs.

use std::fmt::Write as _;
use std::time::Duration;

use serde::Serialize;

use crate::cli::answer_times::AnswerTimes;
use crate::cli::met::Met;
use crate::cli::text::{plain, wrap_at};
use crate::cli::wire;
use crate::device::{DeviceSetup, LinePlan, Question, Values};
use crate::terms::AngleRange;

/// Columns of the device's name.
const INDENT: usize = 13;

/// One device and what it answered.
pub(super) struct Finding {
    name: String,
    is_rotator: bool,
    limits: Option<(AngleRange, Option<AngleRange>)>,
    port: String,
    dialect: String,
    baud: u32,
    address: Option<u8>,
    patience: Duration,
    times: AnswerTimes,
    asked: usize,
    values: Values,
    /// What came of a question that brought no reading, with the question in words.
    instead: Vec<(String, Met)>,
    /// Why the line could not be used.
    pub(super) lost: Option<String>,
}

/// The machine-readable line; what does not exist is null.
#[derive(Serialize)]
struct Line<'a> {
    device: &'a str,
    kind: &'static str,
    port: &'a str,
    dialect: &'a str,
    baud: u32,
    address: Option<u8>,
    answered: bool,
    why: Option<String>,
    hz: Option<i64>,
    receive_hz: Option<i64>,
    transmit_hz: Option<i64>,
    mode: Option<String>,
    receive_mode: Option<String>,
    transmit_mode: Option<String>,
    transmitting: Option<bool>,
    azimuth_deg: Option<f64>,
    elevation_deg: Option<f64>,
    asked: usize,
    answers: usize,
    answer_min_ms: Option<f64>,
    answer_median_ms: Option<f64>,
    answer_max_ms: Option<f64>,
    answer_ms: u128,
    proposed_answer_ms: Option<u32>,
}

impl Finding {
    pub(super) fn new(device: &DeviceSetup, plan: &LinePlan) -> Self {
        let (address, dialect) = device.identity();
        let limits = match device {
            DeviceSetup::Radio(_) => None,
            DeviceSetup::Rotator(setup) => Some((setup.azimuth, setup.elevation)),
        };
        Self {
            name: device.name().to_owned(),
            is_rotator: limits.is_some(),
            limits,
            port: plan.port.port.display().to_string(),
            dialect: dialect.name().to_owned(),
            baud: plan.port.baud,
            address: address.filter(|_| dialect.family().is_addressed()),
            patience: plan.answer,
            times: AnswerTimes::default(),
            asked: 0,
            values: Values::new(),
            instead: Vec::new(),
            lost: None,
        }
    }

    /// What came of a question, and after how long.
    pub(super) fn take(&mut self, question: &Question, met: Met, waited: Duration) {
        self.asked += 1;
        if met.is_heard() {
            self.times.add(waited);
        }
        match met {
            Met::Answer(values) => {
                // The first question is asked again to time it; its reading stays in its place.
                let new = values.iter().filter(|(field, _)| self.values.get(field).is_none());
                self.values = new.fold(self.values.clone(), |all, (field, value)| all.with(field, value));
            }
            met => self.instead.push((wire::question(question), met)),
        }
    }

    /// Whether the device gave a reading, and its line is still there.
    pub(super) fn is_good(&self) -> bool {
        self.lost.is_none() && !self.values.is_empty()
    }

    fn why(&self) -> Option<String> {
        if self.is_good() {
            return None;
        }
        let seen = self
            .instead
            .last()
            .map(|(asked, met)| format!("asked {asked} at {} baud: {}", self.baud, met.describe()));
        self.lost.clone().or(seen).or(Some("it has no question that changes nothing".to_owned()))
    }

    /// What deserves a second look although the device answered.
    fn doubts(&self) -> Vec<String> {
        let mut doubts: Vec<String> =
            self.instead.iter().map(|(asked, met)| format!("asked {asked}: {}", met.describe())).collect();
        doubts.dedup();
        if let Some(ms) = self.times.proposal_ms(self.patience) {
            let patience = self.patience.as_millis();
            doubts.push(format!("answer_ms, {patience}, is too tight for that: set answer_ms = {ms}"));
        }
        if let Some((azimuth, elevation)) = &self.limits {
            doubts.extend(self.outside("az", "azimuth", Some(*azimuth)));
            doubts.extend(self.outside("el", "elevation", *elevation));
        }
        doubts
    }

    fn outside(&self, field: &str, name: &str, limits: Option<AngleRange>) -> Option<String> {
        let (limits, angle) = (limits?, self.values.number(field)?);
        (!limits.contains(angle)).then(|| {
            let (from, to) = (limits.from, limits.to);
            format!("its {name}, {angle}, is outside the limits of the configuration, {from} to {to}")
        })
    }

    /// For people.
    pub(super) fn text(&self) -> String {
        let address = self.address.map_or(String::new(), |address| format!(", address {address:#04x}"));
        let mut text = String::new();
        let mut line = |name: &str, what: &str| {
            // Writing to a String can't fail.
            let _ = writeln!(text, "{}", wrap_at(&format!("{name:<12} {}", plain(what)), INDENT));
        };
        line(&self.name, &format!("{}, {} baud{address}", self.dialect, self.baud));
        line("", &format!("on {}", self.port));
        match self.why() {
            Some(why) => {
                line("", &format!("NOT READ: {why}"));
                if self.lost.is_none() {
                    line("", &format!("check {}", self.to_check()));
                }
            }
            None => {
                line("", &wire::reading(&self.values));
                line(
                    "",
                    &format!(
                        "{} of {} questions answered, {}",
                        self.times.count(),
                        self.asked,
                        self.times.describe()
                    ),
                );
                self.doubts().iter().for_each(|doubt| line("", &format!("warning: {doubt}")));
            }
        }
        text
    }

    fn to_check(&self) -> &'static str {
        if self.address.is_some() {
            "that it is switched on; the cable; speed and address in its menu; the dialect; `beamhand probe` \
             tries other speeds"
        } else {
            "that it is switched on; the cable; the speed in its menu; the dialect; `beamhand probe` tries \
             other speeds"
        }
    }

    /// For programs, with the line's end.
    pub(super) fn json(&self) -> String {
        let hertz = |field| self.values.hertz(field).map(|hertz| hertz.0);
        let mode = |field| self.values.mode(field).map(|mode| mode.to_string().to_lowercase());
        let spread = self.times.spread_ms();
        let line = Line {
            device: &self.name,
            kind: if self.is_rotator { "rotator" } else { "radio" },
            port: &self.port,
            dialect: &self.dialect,
            baud: self.baud,
            address: self.address,
            answered: self.is_good(),
            why: self.why(),
            hz: hertz("hz"),
            receive_hz: hertz("rx_hz"),
            transmit_hz: hertz("tx_hz"),
            mode: mode("mode"),
            receive_mode: mode("rx_mode"),
            transmit_mode: mode("tx_mode"),
            transmitting: self.values.flag("transmitting"),
            azimuth_deg: self.values.number("az"),
            elevation_deg: self.values.number("el"),
            asked: self.asked,
            answers: self.times.count(),
            answer_min_ms: spread.map(|spread| spread[0]),
            answer_median_ms: spread.map(|spread| spread[1]),
            answer_max_ms: spread.map(|spread| spread[2]),
            answer_ms: self.patience.as_millis(),
            proposed_answer_ms: self.times.proposal_ms(self.patience),
        };
        format!("{}\n", serde_json::to_string(&line).unwrap_or_default())
    }
}
