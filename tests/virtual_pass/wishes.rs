//! The operator's wishes against the simulated radio: what is judged is what it transmits with.

use beamhand::link::LinkTone;
use beamhand::session::Command;
use beamhand::sim::Act;
use beamhand::terms::{Direction, Hertz, Plan as _};

use super::duplex;
use super::theatre::Theatre;

fn tone(theatre: &Theatre) -> Option<u16> {
    theatre.record("duplex").tone_at(theatre.station.now()).map(|tone| tone.tenths())
}

/// Armed a hundred seconds after AOS.
fn armed() -> Theatre {
    let mut theatre = duplex();
    theatre.start();
    theatre.play_until(100.0);
    assert_eq!(tone(&theatre), Some(670));
    theatre.station.command(Command::Tone(LinkTone::Arming)).unwrap();
    theatre.play_until(102.0);
    assert_eq!(tone(&theatre), Some(744), "the demo's arming tone");
    assert!(theatre.station.said().last().unwrap().contains("74.4 Hz is set: press your key"));
    theatre
}

#[test]
fn the_radio_gets_the_arming_tone_for_the_stated_time_and_then_the_access_tone() {
    let mut theatre = armed();
    theatre.play_until(128.0);
    assert_eq!(tone(&theatre), Some(744));
    theatre.play_until(134.0);
    assert_eq!(tone(&theatre), Some(670));
    theatre.play_out();
    assert!(theatre.dial("duplex", Direction::Receive).within >= 0.99);
    theatre.assert_no_violation();
}

#[test]
fn the_access_tone_comes_back_after_the_over_and_never_within_it() {
    let mut theatre = armed();
    let script = theatre.device("duplex").handles.script.clone();
    script.at(theatre.after_aos(103.0), Act::Press);
    script.at(theatre.after_aos(143.0), Act::Release);
    theatre.play_until(142.9);
    assert_eq!(tone(&theatre), Some(744), "the time is up, but the over is not");
    theatre.play_until(152.0);
    assert_eq!(tone(&theatre), Some(670));
    theatre.assert_no_violation();
}

#[test]
fn a_fixed_uplink_stands_still_through_the_pass_while_the_downlink_is_followed() {
    let mut theatre = duplex();
    let mut wanted = theatre.stage.planner.catalog.satellite("GANNET-1").unwrap().links[0].clone();
    wanted.uplink.as_mut().unwrap().fixed = true;
    let tuning = &theatre.stage.job.tuning;
    let fixed = beamhand::link::Tuning::new(
        theatre.stage.job.track.clone(),
        wanted,
        tuning.trim(),
        tuning.validity(),
        tuning.generation(),
    );
    theatre.stage.job.tuning = std::sync::Arc::new(fixed);
    theatre.start();
    for seconds in [10.0, 200.0, 500.0] {
        theatre.play_until(seconds);
        let record = theatre.record("duplex");
        assert_eq!(record.transmit_at(theatre.station.now()), Some(Hertz(145_927_000)), "{seconds} s");
    }
    theatre.play_out();
    assert!(theatre.dial("duplex", Direction::Receive).within >= 0.99);
}
