//! A cable that is pulled and put back again and again.

use beamhand::terms::seconds_between;
use chrono::Utc;

use crate::patience::{let_pass, within};
use crate::ward::{Tongue, Ward};

/// How long it may take to be back; the bench counts 2 s, and this leaves room for a busy machine.
const BACK_WITHIN_S: f64 = 5.0;

#[test]
fn ten_times_pulled_and_put_back_costs_no_file_and_sends_nothing_stale() {
    let mut ward = Ward::open(Tongue::Semicolon);
    ward.work();
    // The last question's connection is closed by then.
    let_pass(0.5);
    let files = ward.open_files();
    for cycle in 0..10 {
        ward.radio.outlet.pull().unwrap();
        let_pass(0.3);
        let back = Utc::now();
        if cycle % 2 == 0 { ward.radio.outlet.put_back() } else { ward.radio.outlet.put_back_alike() }
            .unwrap();
        let first =
            within(BACK_WITHIN_S, "a fresh value", || ward.radio.receive_landings(back).first().copied());
        let (at, hertz) = first;
        let wanted = ward.wanted_receive(at);
        assert!(
            (hertz - wanted).abs() < 60.0,
            "{hertz} Hz, {} s after it was back",
            seconds_between(back, at)
        );
    }
    let_pass(0.5);
    assert_eq!(ward.open_files(), files);
    ward.radio.assert_no_violation();
}
