//! A mount that says nothing.

use beamhand::control::DeviceState;
use beamhand::sim::Fault;

use crate::far_end::{is_aim, is_stop};
use crate::patience::{let_pass, until};
use crate::station::Station;

#[test]
fn nothing_moves_before_the_position_was_read() {
    let station = Station::in_mid_pass();
    station.mast.handles.faults.switch_on(Fault::Mute);
    let _daemon = station.run();
    station.say(&["point", "90", "10"]).assert_done();
    station.say(&["start", "GANNET-1"]).assert_done();
    until(10.0, "the silence is named", || {
        let mast = station.status().rotator.unwrap();
        mast.state == DeviceState::Silent && mast.why.contains("no answer")
    });
    let_pass(1.0);
    let asked = station.mast.frames();
    assert!(asked.len() > 1, "{asked:?}");
    assert!(asked.iter().all(|frame| !is_aim(&frame.text)), "{asked:?}");
    assert!(asked.iter().all(|frame| !is_stop(&frame.text)), "{asked:?}");
    station.mast.handles.faults.clear();
    until(10.0, "it moves once it was heard", || !station.mast.record().aims().is_empty());
}
