//! A clock that can't be trusted starts nothing.

use beamhand::control::State;
use chrono::Utc;

use crate::far_end::is_aim;
use crate::patience::let_pass;
use crate::station::Station;

#[test]
fn a_clock_that_no_time_service_keeps_starts_no_session_and_says_why() {
    let kernel = |config: String| config.replace("\"always\"", "\"kernel\"");
    let station = Station::with(&kernel, Utc::now());
    let _daemon = station.run();
    if station.status().clock.trusted {
        println!("left out: this machine's clock is kept by a time service");
        return;
    }
    let why = station.status().clock.why.unwrap();
    let ran = station.say(&["start", "GANNET-1"]);
    ran.assert_refused(1, "the clock can't be trusted, so nothing is moved");
    ran.assert_refused(1, &why);
    let_pass(1.0);
    assert!(station.mast.frames().iter().all(|frame| !is_aim(&frame.text)));
    assert_eq!(station.radio.record().receive_at(Utc::now()).map(|hertz| hertz.0), Some(435_000_350));
    assert_eq!(station.status().state, State::Idle);
}

#[test]
fn a_clock_that_the_operator_vouches_for_is_trusted() {
    let station = Station::in_mid_pass();
    let _daemon = station.run();
    let clock = station.status().clock;
    assert!(clock.trusted);
    assert_eq!((clock.error_s, clock.why), (None, None));
    station.work();
}
