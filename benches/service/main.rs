//! What the running daemon costs, and what it survives: real pseudo-terminals, real time.
//!
//!     cargo bench --bench service -- kills [KILLS [SEED]]
//!     cargo bench --bench service -- cuts [STEP]
//!     cargo bench --bench service -- flood [FRAMES]
//!     cargo bench --bench service -- cost [SECONDS]
//!     cargo bench --bench service -- recording [MINUTES]
//!     cargo bench --bench service -- soak [DAYS]
//!     cargo bench --bench service -- watch [DAYS]
//!
//! `kills` ends the daemon with signal 9 at random points of a session, KILLS times (200 by
//! default), and looks how it goes on. `cuts` starts it with its state files cut after every byte, or after
//! every STEP bytes. `flood` has 1,000 idle and 1,000 talkative connections at its
//! socket until FRAMES mutated requests were sent (a million by default). `cost` is memory and
//! processor, idle, in a session and while it listens, each for SECONDS (60 by default). `recording` is what the flight
//! record takes, in four sessions of MINUTES each (2 by default). `soak` plays DAYS (30 by
//! default) of the demo's agenda with faults, at a hundred times its pace. `watch` plays DAYS (30 by default) of
//! listening to twenty links in virtual time.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
#![allow(dead_code)]

mod cost;
#[path = "../../tests/daemon/cuts.rs"]
mod cuts;
#[path = "../../tests/daemon/far_end.rs"]
mod far_end;
mod flood;
mod kills;
#[path = "../../tests/daemon/orbit.rs"]
mod orbit;
#[path = "../../tests/daemon/patience.rs"]
mod patience;
#[path = "../../tests/daemon/process.rs"]
mod process;
mod recording;
mod soak;
#[path = "../../tests/daemon/station.rs"]
mod station;
#[path = "../../tests/daemon/vital_signs.rs"]
mod vital_signs;
mod watch;

/// Numbers from a fixed seed, so that a run can be repeated (Numerical Recipes' constants, from memory).
struct Chance(u64);

impl Chance {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % end
    }

    fn seconds_up_to(&mut self, most: f64) -> f64 {
        most * self.below(1_000_000) as f64 / 1e6
    }
}

/// `p50 0.10, p99 0.30, max 0.40`.
fn spread(mut values: Vec<f64>) -> String {
    values.sort_by(f64::total_cmp);
    let Some(last) = values.len().checked_sub(1) else { return "nothing was measured".to_owned() };
    let at = |part: f64| values[(last as f64 * part) as usize];
    format!("p50 {:.3}, p99 {:.3}, max {:.3}", at(0.5), at(0.99), at(1.0))
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with("--")).collect();
    let number = |place: usize| words.get(place).and_then(|word| word.parse::<u32>().ok());
    match words.first().map(String::as_str) {
        Some("kills") => kills::run(number(1).unwrap_or(200), number(2).unwrap_or(1)),
        Some("cuts") => {
            let starts = cuts::cut(number(1).unwrap_or(1) as usize);
            println!(
                "{starts} starts with cut state files: each was ready, named them and told no device anything"
            );
        }
        Some("flood") => flood::run(number(1).unwrap_or(1_000_000) as usize),
        Some(flood::CROWD) => flood::crowd(words[1].as_ref()),
        Some(soak::SOAKED) => soak::soaked(words[1].as_ref(), number(2).unwrap()),
        Some("recording") => recording::run(f64::from(number(1).unwrap_or(2))),
        Some("soak") => soak::run(number(1).unwrap_or(30)),
        Some("watch") => watch::run(number(1).unwrap_or(30)),
        Some("cost") => cost::run(f64::from(number(1).unwrap_or(60))),
        _ => {
            println!(
                "cargo bench --bench service -- kills [KILLS [SEED]] | cuts [STEP] | flood [FRAMES] | cost [SECONDS] \
                 | recording [MINUTES] | soak [DAYS] | watch [DAYS]"
            )
        }
    }
}
