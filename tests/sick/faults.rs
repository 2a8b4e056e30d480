//! Each ailment for a few seconds, all of them side by side.

use std::panic::{AssertUnwindSafe, catch_unwind};

use beamhand::terms::{Time, seconds_between};
use chrono::Utc;

use crate::cases::{CASES, Case};
use crate::patience::let_pass;
use crate::ward::Ward;

/// How many stations work at once.
const AT_ONCE: usize = 6;
/// How long the exchange that shows an ailment may wait: the questions of a radio take turns.
const NEXT_EXCHANGE_S: f64 = 12.0;
/// The bound is 3 s; this leaves room for a busy machine.
const NAMED_WITHIN_S: f64 = 6.0;
/// Each device is told or asked something every second or two.
const LONGEST_PAUSE_S: f64 = 4.0;

fn try_case(case: &Case) {
    let mut ward = Ward::open(case.tongue);
    ward.work();
    let fell_ill = Utc::now();
    let lines = ward.log().len();
    ward.bed_mut(case.which).falls_ill(case.ailment);
    let named = ward.until_named(case.which, case.says, NEXT_EXCHANGE_S + NAMED_WITHIN_S);
    let why = ward.why(case.which);
    let shown: Time = ward.bed(case.which).first_after(fell_ill, case.shown_by).unwrap_or(fell_ill);
    let took = seconds_between(shown.min(named), named);
    assert!(took <= NAMED_WITHIN_S, "named after {took} s");
    let_pass(2.0);
    let pause = ward.bed(case.which.other()).longest_pause(fell_ill, Utc::now());
    assert!(pause <= LONGEST_PAUSE_S, "the other device waited for {pause} s");
    let logged = ward.log().len() - lines;
    assert!(logged <= 10, "{logged} lines: {:#?}", ward.log());
    ward.radio.assert_no_violation();
    ward.mast.assert_no_violation();
    println!("{}: after {took:.1} s, the other's longest pause {pause:.1} s: {why}", case.name);
}

#[test]
fn every_ailment_is_named_soon_and_the_other_device_goes_on() {
    let mut failed = Vec::new();
    for some in CASES.chunks(AT_ONCE) {
        std::thread::scope(|scope| {
            let running: Vec<_> = some
                .iter()
                .map(|case| (case, scope.spawn(|| catch_unwind(AssertUnwindSafe(|| try_case(case))))))
                .collect();
            for (case, thread) in running {
                if thread.join().unwrap().is_err() {
                    failed.push(case.name);
                }
            }
        });
    }
    assert!(failed.is_empty(), "{failed:?}");
}
