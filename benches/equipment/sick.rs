//! Every ailment: how soon it is named, and what it costs.

use std::panic::{AssertUnwindSafe, catch_unwind};

use beamhand::terms::seconds_between;
use chrono::Utc;

use crate::cases::{CASES, Case};
use crate::patience::let_pass;
use crate::ward::{Tongue, Ward, Which};

/// How many stations work at once.
const AT_ONCE: usize = 12;
/// The longest wait for the sentence.
const PATIENCE_S: f64 = 30.0;

/// What one station showed.
struct Row {
    name: String,
    named_s: Option<f64>,
    growth_kb: i64,
    lines_a_minute: f64,
    pause_ms: f64,
    processor_percent: f64,
}

/// Prints the table; `seconds` of warm-up, and as long again.
pub(crate) fn run(seconds: f64) {
    println!("warm-up {seconds} s, then {seconds} s measured; {AT_ONCE} stations at once");
    println!(
        "{:<30} {:>7} {:>9} {:>9} {:>14} {:>6}",
        "", "named s", "memory kB", "log /min", "other pause ms", "CPU %"
    );
    let well = [Which::Radio, Which::Mast].map(Trial::Well);
    let trials: Vec<Trial> = well.into_iter().chain(CASES.iter().map(Trial::Sick)).collect();
    for some in trials.chunks(AT_ONCE) {
        std::thread::scope(|scope| {
            let running: Vec<_> = some.iter().map(|trial| scope.spawn(|| trial.run(seconds))).collect();
            running.into_iter().for_each(|row| print(&row.join().unwrap()));
        });
    }
}

/// What one station is for.
enum Trial {
    /// Nothing is wrong: the pauses of this device are what the others are compared with.
    Well(Which),
    Sick(&'static Case),
}

impl Trial {
    fn run(&self, seconds: f64) -> Row {
        match self {
            Trial::Well(which) => undisturbed(*which, seconds),
            Trial::Sick(case) => sick(case, seconds),
        }
    }
}

fn print(row: &Row) {
    let named = row.named_s.map_or("-".to_owned(), |seconds| format!("{seconds:.1}"));
    println!(
        "{:<30} {named:>7} {:>9} {:>9.1} {:>14.0} {:>6.1}",
        row.name, row.growth_kb, row.lines_a_minute, row.pause_ms, row.processor_percent
    );
}

/// The pauses of a device whose neighbour is well.
fn undisturbed(which: Which, seconds: f64) -> Row {
    let ward = Ward::open(Tongue::Semicolon);
    ward.work();
    watch(&ward, which, format!("all well, {which:?}'s pauses").to_lowercase(), None, seconds)
}

fn sick(case: &Case, seconds: f64) -> Row {
    let mut ward = Ward::open(case.tongue);
    ward.work();
    let fell_ill = Utc::now();
    ward.bed_mut(case.which).falls_ill(case.ailment);
    let named = catch_unwind(AssertUnwindSafe(|| ward.until_named(case.which, case.says, PATIENCE_S)));
    let shown = ward.bed(case.which).first_after(fell_ill, case.shown_by).unwrap_or(fell_ill);
    let named_s = named.ok().map(|named| seconds_between(shown.min(named), named));
    watch(&ward, case.which.other(), case.name.to_owned(), named_s, seconds)
}

/// Lets the station warm up, and measures it. The other device is the one that is well.
fn watch(ward: &Ward, other: Which, name: String, named_s: Option<f64>, seconds: f64) -> Row {
    let_pass(seconds);
    let (memory, lines, busy, begin) = (ward.memory_kb(), ward.log().len(), ward.processor_s(), Utc::now());
    let_pass(seconds);
    let (end, took) = (Utc::now(), seconds_between(begin, Utc::now()));
    Row {
        name,
        named_s,
        growth_kb: ward.memory_kb() - memory,
        lines_a_minute: (ward.log().len() - lines) as f64 * 60.0 / took,
        pause_ms: ward.bed(other).longest_pause(begin, end) * 1000.0,
        processor_percent: (ward.processor_s() - busy) / took * 100.0,
    }
}
