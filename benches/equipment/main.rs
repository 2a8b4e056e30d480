//! What equipment of every language, well or sick, gets and costs: real pseudo-terminals, real time.
//!
//!     cargo bench --bench equipment -- sick [SECONDS]
//!     cargo bench --bench equipment -- replug [CYCLES]
//!     cargo bench --bench equipment -- passes [DIALECT]
//!
//! `sick` tries every ailment, a few stations at once, each for SECONDS of warm-up and as long
//! again (60 by default). `replug` pulls a radio's cable CYCLES times (1000 by default).
//! `passes` plays one pass in every radio language, or in one: in virtual time, and at its real pace.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
#![allow(dead_code)]

#[path = "../../tests/sick/cases.rs"]
mod cases;
#[path = "../../tests/daemon/orbit.rs"]
mod orbit;
mod passes;
#[path = "../../tests/daemon/patience.rs"]
mod patience;
#[path = "../../tests/sick/patient.rs"]
mod patient;
#[path = "../../tests/virtual_pass/repertoire.rs"]
mod repertoire;
mod replug;
mod sick;
#[path = "../../tests/virtual_pass/theatre.rs"]
mod theatre;
#[path = "../../tests/daemon/vital_signs.rs"]
mod vital_signs;
#[path = "../../tests/sick/ward.rs"]
mod ward;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with("--")).collect();
    let number = words.get(1).and_then(|word| word.parse::<u32>().ok());
    match words.first().map(String::as_str) {
        Some("sick") => sick::run(f64::from(number.unwrap_or(60))),
        Some("replug") => replug::run(number.unwrap_or(1000)),
        Some("passes") => passes::run(words.get(1).map(String::as_str)),
        _ => {
            println!("cargo bench --bench equipment -- sick [SECONDS] | replug [CYCLES] | passes [DIALECT]")
        }
    }
}
