//! A pass that is only listened to, in each wire language: the receiver follows, and nothing moves the
//! transmitter. The judge is the equipment's own record.

use std::collections::BTreeSet;

use beamhand::device::dialect::Dialect;
use beamhand::link::Watch;
use beamhand::session::{Job, Listening};
use beamhand::sim::{Cause, Change, Landing, Violation};
use beamhand::terms::{Direction, Hertz};

use crate::repertoire::{Follow, Piece, Radios};
use crate::theatre::{Theatre, demo_with};

/// The demo's pass again, to listen to.
fn to_listen(theatre: &Theatre) -> Job {
    let job = &theatre.stage.job;
    let range_rate = |time| job.track.topocentric(time).unwrap().range_rate_km_s;
    let watch = Watch {
        span: job.span,
        up: Some(job.span),
        rising_km_s: range_rate(job.span.from),
        setting_km_s: range_rate(job.span.until),
    };
    let (link, listening) = (job.tuning.link().clone(), Listening { watch, others: Vec::new() });
    Job::to_listen(job.satellite.clone(), link, (job.pass, job.track.clone()), listening, None, 1)
}

/// Every language of radios, with whether one radio of it works both bands at once.
fn languages() -> impl Iterator<Item = (&'static str, bool)> {
    let can = |name: &str, verb| Dialect::builtin(name).unwrap().can(verb);
    let radios = Dialect::names().filter(move |name| can(name, "do.hz") || can(name, "do.rx_hz"));
    radios.map(move |name| (name, can(name, "do.tx_hz")))
}

#[track_caller]
fn only_listens(dialect: &'static str, radios: Radios) {
    let piece = Piece { dialect, radios, follow: Follow::Fm };
    let mut theatre = Theatre::open(demo_with(&piece.equipment()));
    theatre.stage.job = to_listen(&theatre);
    theatre.start();
    theatre.play_out();
    let score = theatre.dial(piece.of(Direction::Receive), Direction::Receive);
    // It begins with the pass, and is prepared in its first seconds.
    assert!(score.within >= 0.95, "{dialect}: {score:?}");
    let record = theatre.record(piece.of(Direction::Receive));
    // An operator's clarifier may be off now.
    let opening = record.landings().into_iter().find_map(|landing| match landing.what {
        Change::Receive(hertz) => Some(hertz),
        _ => None,
    });
    let left = record.receive_at(theatre.station.now()).unwrap() - opening.unwrap();
    assert!(left.abs() <= Hertz(350), "{dialect}: given back, {left}");
    let landings = theatre.record(piece.of(Direction::Transmit)).landings();
    // Out of split the receiver's dial is where a transmission would be, too.
    let is_the_receivers = |of: &Landing| {
        let is = |what| matches!(what, Change::Receive(_) | Change::ReceiveMode(_));
        landings.iter().any(|landing| landing.at == of.at && is(landing.what))
    };
    let commanded = landings.iter().filter(|landing| landing.cause == Cause::Command);
    let moved = commanded.filter(|landing| match landing.what {
        Change::Tone(_) | Change::Split(_) => true,
        Change::Transmit(_) | Change::TransmitMode(_) => !is_the_receivers(landing),
        _ => false,
    });
    assert_eq!(moved.collect::<Vec<_>>(), Vec::<&Landing>::new(), "{dialect}");
    let names: BTreeSet<&str> = Direction::BOTH.map(|direction| piece.of(direction)).into();
    for name in names {
        // Out of split it receives where nobody may transmit.
        let is_reception = |what: &Violation| matches!(what, Violation::OutsideSegments { keyed: false, .. });
        let breaches =
            theatre.record(name).violations().into_iter().filter(|breach| !is_reception(&breach.what));
        assert_eq!(breaches.collect::<Vec<_>>(), [], "{dialect} {name}");
    }
}

#[test]
fn a_duplex_radio_of_every_language_listens_and_its_transmitter_stays() {
    let duplex: Vec<&str> = languages().filter(|(_, both)| *both).map(|(name, _)| name).collect();
    assert_eq!(duplex.len(), 5, "{duplex:?}");
    duplex.into_iter().for_each(|dialect| only_listens(dialect, Radios::Duplex));
}

#[test]
fn beside_a_transmitter_of_its_language_every_receiver_listens_alone() {
    assert_eq!(languages().count(), 6);
    languages().for_each(|(dialect, _)| only_listens(dialect, Radios::Pair));
}
