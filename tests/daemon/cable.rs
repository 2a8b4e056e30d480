//! A cable that is pulled in mid-pass and put back.

use beamhand::control::DeviceState;
use beamhand::sim::{Change, Landing};
use beamhand::terms::{Direction, Time, seconds_between};
use chrono::Utc;

use crate::far_end::FarEnd;
use crate::patience::{let_pass, until, within};
use crate::station::Station;

/// How long the cable is out: the Doppler shift moves on by some hundred hertz meanwhile.
const OUT_S: f64 = 3.0;

/// For how long a thing is waited for, seconds. How soon it comes is measured where nothing else is at work
/// (`cargo bench --bench equipment -- replug`): here it must come, and nothing wrong before it.
const PATIENCE_S: f64 = 10.0;

/// The longest pause between two things that a device heard within a span, seconds.
fn longest_pause(device: &FarEnd, from: Time, until: Time) -> f64 {
    let inside = device.frames_after(from, |_| true).into_iter().filter(|frame| frame.at <= until);
    let times: Vec<Time> = [from].into_iter().chain(inside.map(|frame| frame.at)).chain([until]).collect();
    times.windows(2).map(|pair| seconds_between(pair[0], pair[1])).fold(0.0, f64::max)
}

fn receive_landings(station: &Station, after: Time) -> Vec<(Time, f64)> {
    let hertz = |landing: &Landing| match landing.what {
        Change::Receive(hertz) if landing.at > after => Some((landing.at, hertz.0 as f64)),
        _ => None,
    };
    station.radio.record().landings().iter().filter_map(hertz).collect()
}

#[test]
fn a_radio_is_back_with_a_fresh_value_and_the_mount_never_notices() {
    let mut station = Station::in_mid_pass();
    let _daemon = station.run();
    station.work();
    let calm = Utc::now();
    let_pass(OUT_S);
    let pulled = Utc::now();
    station.radio.outlet.pull().unwrap();
    let status = within(PATIENCE_S, "the loss is named", || {
        Some(station.status()).filter(|status| status.radios[0].state == DeviceState::Lost)
    });
    let port = station.path("radio");
    assert!(status.why.contains("duplex: ") && status.why.contains("check the cable"), "{}", status.why);
    until(PATIENCE_S, "the remedy is named", || {
        let why = station.status().radios[0].why.clone();
        why.contains(port.to_str().unwrap()) && why.contains("check the cable")
    });
    while seconds_between(pulled, Utc::now()) < OUT_S {
        let_pass(0.05);
    }
    let before = station.radio.outlet.device().to_owned();
    station.radio.outlet.put_back().unwrap();
    let back = Utc::now();
    assert_ne!(station.radio.outlet.device(), before, "it comes back under another name");
    let first = within(PATIENCE_S, "a fresh value", || receive_landings(&station, back).first().copied());
    println!("back in service after {:.0} ms", seconds_between(back, first.0) * 1000.0);
    let_pass(1.5);
    let moved_on =
        (station.wanted(Direction::Receive, pulled) - station.wanted(Direction::Receive, back)).abs();
    assert!(moved_on > 100.0, "only {moved_on} Hz: a stale value would not show");
    for (at, hertz) in receive_landings(&station, back) {
        let off = (hertz - station.wanted(Direction::Receive, at)).abs();
        // Far from late and near to stale, also where the computer is late by a second.
        assert!(off < moved_on / 2.0, "{off} Hz off at {at}: a stale value is off by {moved_on}");
    }
    let (undisturbed, disturbed) =
        (longest_pause(&station.mast, calm, pulled), longest_pause(&station.mast, pulled, back));
    println!("the mount's longest pause: {undisturbed:.3} s before, {disturbed:.3} s meanwhile");
    // It is asked or told something every second; a busy computer makes longer pauses of that, before too.
    assert!(disturbed < 1.5_f64.max(2.0 * undisturbed), "{disturbed} s, and {undisturbed} s before");
    station.assert_no_violation();
}

#[test]
fn a_mount_is_back_with_a_fresh_aim_after_it_was_read_again_and_the_radio_never_notices() {
    let mut station = Station::in_mid_pass();
    let _daemon = station.run();
    station.work();
    let calm = Utc::now();
    let_pass(OUT_S);
    station.mast.outlet.pull().unwrap();
    let pulled = Utc::now();
    let_pass(OUT_S);
    station.mast.outlet.put_back().unwrap();
    let back = Utc::now();
    let first = within(PATIENCE_S, "a fresh aim", || {
        station.mast.record().aims().into_iter().find(|aim| aim.at > back)
    });
    println!("back in service after {:.0} ms", seconds_between(back, first.at) * 1000.0);
    let heard = station.mast.frames_after(back, |_| true);
    // What was on its way when the cable was pulled may stand before it.
    assert!(heard[0].text.ends_with("AZ EL"), "it is asked before it is told: {}", heard[0].text);
    assert!(first.aim.angle_to(station.look(first.at).direction()) < 3.0, "{first:?}");
    let (undisturbed, disturbed) =
        (longest_pause(&station.radio, calm, pulled), longest_pause(&station.radio, pulled, back));
    // Tuned as often as every tenth of a second here, and asked for its meter between.
    assert!(disturbed < 1.0_f64.max(2.0 * undisturbed), "{disturbed} s, and {undisturbed} s before");
    station.assert_no_violation();
}

#[test]
fn a_rotator_that_comes_back_in_the_radios_place_is_asked_and_never_told() {
    let mut station = Station::in_mid_pass();
    let _daemon = station.run();
    station.work();
    station.radio.outlet.pull().unwrap();
    let stranger = FarEnd::mast(&station.path("radio"), 9600);
    let begin = Utc::now();
    until(PATIENCE_S, "the stranger is asked", || !stranger.frames_after(begin, |_| true).is_empty());
    let_pass(3.0);
    let told = stranger.frames_after(begin, |frame| !["FA", "FB", "ID"].contains(&frame));
    assert!(told.is_empty(), "{told:?}");
    assert!(stranger.record().aims().is_empty());
    station.assert_no_violation();
}
