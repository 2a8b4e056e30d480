//! Radios of each wire language at a pass of some 500 km and 435 MHz, and what the pass asks of them.

use beamhand::session::Job;
use beamhand::terms::{Direction, Plan, Validity, later, seconds_between};

use crate::theatre::radio;

/// The radios of a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Radios {
    /// One for both directions.
    Duplex,
    /// One for each.
    Pair,
}

/// How closely the dials follow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Follow {
    /// Every step of 10 Hz, as in SSB.
    Steps,
    /// What is worth it in FM: 500 Hz.
    Fm,
}

impl Follow {
    fn worthwhile(self) -> f64 {
        match self {
            Follow::Steps => 10.0,
            Follow::Fm => 500.0,
        }
    }
}

/// What is played: a language, by which radios, and how closely.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Piece {
    pub(crate) dialect: &'static str,
    pub(crate) radios: Radios,
    pub(crate) follow: Follow,
}

impl Piece {
    /// The radios' part of the configuration.
    pub(crate) fn equipment(&self) -> String {
        let dialect = self.dialect;
        let mut equipment = match self.radios {
            Radios::Duplex => radio("duplex", dialect, "both"),
            Radios::Pair => {
                radio("receiver", dialect, "receive") + &radio("transmitter", dialect, "transmit")
            }
        };
        if dialect == "fe-frames" {
            equipment = equipment.replace("step_hz", "address = 0x5A\nstep_hz");
        }
        if self.follow == Follow::Fm {
            equipment = equipment.replace("worthwhile_hz = 10\n", "");
        }
        equipment
    }

    /// The name of the radio of a direction.
    pub(crate) fn of(&self, direction: Direction) -> &'static str {
        match (self.radios, direction) {
            (Radios::Duplex, _) => "duplex",
            (Radios::Pair, Direction::Receive) => "receiver",
            (Radios::Pair, Direction::Transmit) => "transmitter",
        }
    }

    /// Changes of a worthwhile size in the plans of both directions over `span`.
    pub(crate) fn needed(&self, job: &Job, span: Validity) -> f64 {
        let wanted = |direction, second: u32| {
            let time = later(span.from, f64::from(second));
            Some(job.tuning.at(time)?.dial(direction)?.hertz.as_f64())
        };
        let seconds = seconds_between(span.from, span.until) as u32;
        let slid = |direction| {
            let slide = |second| Some((wanted(direction, second + 1)? - wanted(direction, second)?).abs());
            (0..seconds).filter_map(slide).sum::<f64>()
        };
        Direction::BOTH.into_iter().map(slid).sum::<f64>() / self.follow.worthwhile()
    }
}
