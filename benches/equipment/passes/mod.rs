//! One pass in every radio language: how closely the dials follow, and by how many commands. The
//! whole pass in virtual time, and its steepest minutes at real pace.

mod lateness;
mod live;

use beamhand::rehearsal::DialScore;
use beamhand::terms::{Direction, Time, Validity, later};

use crate::repertoire::{Follow, Piece, Radios};
use crate::theatre::{Theatre, demo_with};
use lateness::Probe;
use live::Live;

/// Every radio language, and the radios that it is played by.
const LANGUAGES: [(&str, Radios); 6] = [
    ("semicolon-eleven", Radios::Duplex),
    ("semicolon-nine", Radios::Duplex),
    ("semicolon-two-bands", Radios::Duplex),
    ("fe-frames", Radios::Duplex),
    ("five-byte", Radios::Pair),
    ("five-byte-duplex", Radios::Duplex),
];
/// The part of the pass at real pace, seconds before and after the closest approach.
const STEEPEST_S: f64 = 120.0;

/// How a pass was played; of two directions the worse.
pub(crate) struct Figures {
    /// Share of instants within 1.2 times the floor.
    within: f64,
    /// The largest error, hertz.
    largest: f64,
    /// The largest floor, hertz.
    floor: f64,
    /// Commands for each change that was worth one.
    commands: f64,
}

/// Prints the table, of all languages or of one.
pub(crate) fn run(dialect: Option<&str>) {
    let chosen = LANGUAGES.into_iter().filter(|(name, _)| dialect.is_none_or(|dialect| dialect == *name));
    let pieces: Vec<Piece> = chosen
        .flat_map(|(dialect, radios)| {
            [Follow::Steps, Follow::Fm].map(|follow| Piece { dialect, radios, follow })
        })
        .collect();
    if pieces.is_empty() {
        let names: Vec<&str> = LANGUAGES.iter().map(|(name, _)| *name).collect();
        return println!("there is no such radio language; there are {}", names.join(", "));
    }
    let imagined: Vec<Figures> = pieces.iter().map(in_virtual_time).collect();
    let probe = Probe::start();
    let played: Vec<Figures> = std::thread::scope(|scope| {
        let running: Vec<_> =
            pieces.iter().map(|piece| scope.spawn(|| Live::of(*piece).play(STEEPEST_S))).collect();
        running.into_iter().map(|figures| figures.join().unwrap()).collect()
    });
    print(&pieces, &imagined, &played);
    println!("{}", probe.stop());
}

fn print(pieces: &[Piece], imagined: &[Figures], played: &[Figures]) {
    println!("a pass at 505 km, 435 MHz; within: share of instants within 1.2 times the floor");
    println!("max, floor: hertz, of the worse direction; x: commands a worthwhile change");
    println!("{:<24}{:>28}{:>28}", "", "virtual time, whole pass", "real pace, 240 s around TCA");
    let heads = format!("{:>9}{:>7}{:>6}{:>6}", "within", "max", "floor", "x");
    println!("{:<24}{heads}{heads}", "");
    for ((piece, imagined), played) in pieces.iter().zip(imagined).zip(played) {
        let how = match piece.follow {
            Follow::Steps => "SSB",
            Follow::Fm => "FM",
        };
        println!("{:<20}{how:<4}{}{}", piece.dialect, columns(imagined), columns(played));
    }
}

fn columns(figures: &Figures) -> String {
    let Figures { within, largest, floor, commands } = figures;
    format!("{:>8.2}%{largest:>7.0}{floor:>6.0}{commands:>6.2}", within * 100.0)
}

fn in_virtual_time(piece: &Piece) -> Figures {
    let mut theatre = Theatre::open(demo_with(&piece.equipment()));
    theatre.start();
    let commands = |theatre: &Theatre| theatre.station.radios().iter().map(|radio| radio.commands).sum();
    theatre.play_until(0.0);
    let before: u64 = commands(&theatre);
    let span = theatre.stage.job.span;
    theatre.station.run_until(span.until);
    let sent = commands(&theatre) - before;
    theatre.assert_no_violation();
    let scores = Direction::BOTH.map(|direction| theatre.dial(piece.of(direction), direction));
    Figures::new(&scores, sent, piece.needed(&theatre.stage.job, span))
}

impl Figures {
    fn new(scores: &[DialScore], sent: u64, needed: f64) -> Self {
        let worst = |pick: fn(&DialScore) -> f64| scores.iter().map(pick).fold(0.0, f64::max);
        Self {
            within: 1.0 - worst(|score| 1.0 - score.within),
            largest: worst(|score| score.max),
            floor: worst(|score| score.floor),
            commands: sent as f64 / needed,
        }
    }
}

/// So many seconds around the closest approach.
fn around(tca: Time, seconds: f64) -> Validity {
    Validity { from: later(tca, -seconds), until: later(tca, seconds) }
}
