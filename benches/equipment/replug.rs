//! A cable that is pulled and put back, again and again, half of the times under another name.

use beamhand::terms::seconds_between;
use chrono::Utc;

use crate::patience::{let_pass, within};
use crate::ward::{Tongue, Ward};

/// How long the cable is out in turn, seconds.
const OUT_S: [f64; 4] = [0.05, 0.3, 1.1, 0.6];
/// How long it is in before it is pulled again, seconds.
const IN_S: f64 = 0.15;
/// A dial this far from the textbook's value was set to what was decided before the cable was out.
const STALE_HZ: f64 = 60.0;
/// How long the processor is watched while the cable stays out, seconds.
const AWAY_S: f64 = 10.0;
/// How many stations work at once, and how many cycles fit into a part of a pass.
const AT_ONCE: usize = 7;
const CYCLES_A_PASS: u32 = 150;

/// What one station showed.
#[derive(Default)]
struct Tally {
    back_s: Vec<f64>,
    stale: usize,
    files: (usize, usize),
    processor_percent: f64,
}

/// Prints what `cycles` cost.
pub(crate) fn run(cycles: u32) {
    let whole = (0..cycles / CYCLES_A_PASS).map(|_| CYCLES_A_PASS);
    let parts: Vec<u32> = whole.chain([cycles % CYCLES_A_PASS]).filter(|part| *part > 0).collect();
    let mut tallies = Vec::new();
    for some in parts.chunks(AT_ONCE) {
        std::thread::scope(|scope| {
            let running: Vec<_> = some.iter().map(|cycles| scope.spawn(|| station(*cycles))).collect();
            tallies.extend(running.into_iter().map(|tally| tally.join().unwrap()));
        });
    }
    let mut back: Vec<f64> = tallies.iter().flat_map(|tally| tally.back_s.clone()).collect();
    back.sort_by(f64::total_cmp);
    let at = |part: f64| back[((back.len() - 1) as f64 * part) as usize];
    println!("{} cycles, {AT_ONCE} stations at once", back.len());
    println!("back after: p50 {:.2} s, p99 {:.2} s, max {:.2} s", at(0.5), at(0.99), at(1.0));
    let stale: usize = tallies.iter().map(|tally| tally.stale).sum();
    println!("values decided before the cable was out that arrived after it: {stale}");
    let files: Vec<_> = tallies.iter().map(|tally| tally.files).collect();
    println!("open files before and after: {files:?}");
    let away: Vec<f64> = tallies.iter().map(|tally| tally.processor_percent).collect();
    println!("processor while the cable is out: {away:.1?} %");
}

fn station(cycles: u32) -> Tally {
    let mut ward = Ward::open(Tongue::Semicolon);
    ward.work();
    let_pass(1.0);
    let mut tally = Tally { files: (ward.open_files(), 0), ..Tally::default() };
    for cycle in 0..cycles {
        let (took, stale) = replug(&mut ward, cycle);
        tally.back_s.push(took);
        tally.stale += stale;
    }
    let_pass(1.0);
    tally.files.1 = ward.open_files();
    tally.processor_percent = processor_while_away(&mut ward);
    tally
}

/// Seconds from the cable's return to a fresh value on the dial, and stale values after it.
fn replug(ward: &mut Ward, cycle: u32) -> (f64, usize) {
    ward.radio.outlet.pull().unwrap();
    let_pass(OUT_S[cycle as usize / 2 % OUT_S.len()]);
    let back = Utc::now();
    if cycle.is_multiple_of(2) { ward.radio.outlet.put_back() } else { ward.radio.outlet.put_back_alike() }
        .unwrap();
    let first = within(30.0, "a value after the cable is back", || {
        ward.radio.receive_landings(back).first().copied()
    });
    let_pass(IN_S);
    let landings = ward.radio.receive_landings(back);
    let is_stale =
        |(at, hertz): &&(beamhand::terms::Time, f64)| (hertz - ward.wanted_receive(*at)).abs() > STALE_HZ;
    (seconds_between(back, first.0), landings.iter().filter(is_stale).count())
}

fn processor_while_away(ward: &mut Ward) -> f64 {
    ward.radio.outlet.pull().unwrap();
    let_pass(2.0);
    let busy = ward.processor_s();
    let_pass(AWAY_S);
    (ward.processor_s() - busy) / AWAY_S * 100.0
}
