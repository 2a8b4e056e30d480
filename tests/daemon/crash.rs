//! A daemon that is killed, and the next one.

use beamhand::control::State;
use beamhand::terms::{Direction, rfc3339};
use chrono::Utc;

use crate::far_end::{RECEIVE_BEFORE, TRANSMIT_BEFORE, is_aim};
use crate::patience::until;
use crate::station::Station;

/// Works the pass, and kills the daemon in the middle of it.
fn killed() -> Station {
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    station.work();
    daemon.signal("KILL");
    assert_eq!(daemon.wait().0.code(), None);
    assert!(station.keepsake().exists());
    assert_ne!(station.radio.record().receive_at(Utc::now()), Some(RECEIVE_BEFORE));
    station
}

/// The file that says which pass a daemon was in.
fn undertaking(station: &Station) -> std::path::PathBuf {
    station.path("state/session.json")
}

#[test]
fn after_a_crash_the_pass_goes_on_as_it_was_and_the_mount_is_read_before_it_moves() {
    const TRIM: f64 = 700.0;
    let station = Station::in_mid_pass();
    let mut daemon = station.run();
    station.work();
    station.say(&["trim", "+700"]).assert_done();
    until(5.0, "the trim is stored", || {
        std::fs::read_to_string(undertaking(&station)).is_ok_and(|text| text.contains("700"))
    });
    daemon.signal("KILL");
    daemon.wait();
    let restarted = Utc::now();
    let _daemon = station.run();
    until(20.0, "the radio follows again", || {
        let now = Utc::now();
        let dial = station.radio.record().receive_at(now);
        station.status().state == State::Following
            && dial.is_some_and(|dial| {
                (dial.0 as f64 - TRIM - station.wanted(Direction::Receive, now)).abs() < 60.0
            })
            && !station.mast.frames_after(restarted, is_aim).is_empty()
    });
    let asked = station.mast.frames_after(restarted, |frame| !is_aim(frame));
    let aims = station.mast.frames_after(restarted, is_aim);
    assert!(asked[0].at < aims[0].at, "{asked:?} {aims:?}");
    station.say(&["stop"]).assert_done();
    until(10.0, "the radio has what it had", || {
        station.radio.record().receive_at(Utc::now()) == Some(RECEIVE_BEFORE)
    });
    until(5.0, "the pass is not gone on with any more", || !undertaking(&station).exists());
    station.assert_no_violation();
}

#[test]
fn a_pass_that_was_over_meanwhile_is_not_begun() {
    let station = killed();
    let text = std::fs::read_to_string(undertaking(&station)).unwrap();
    let mut file: serde_json::Value = serde_json::from_str(&text).unwrap();
    file["undertaking"]["until"] = rfc3339(Utc::now()).into();
    std::fs::write(undertaking(&station), file.to_string()).unwrap();
    let restarted = Utc::now();
    let _daemon = station.run();
    until(10.0, "the radio has what it had", || {
        station.radio.record().receive_at(Utc::now()) == Some(RECEIVE_BEFORE)
    });
    assert!(station.mast.frames_after(restarted, is_aim).is_empty());
    until(5.0, "the pass is not gone on with any more", || !undertaking(&station).exists());
}

#[test]
fn which_pass_it_was_cut_short_is_said_and_the_radio_has_what_it_had() {
    let station = killed();
    std::fs::write(undertaking(&station), "{\"format\": 1, \"under").unwrap();
    let _daemon = station.run();
    until(10.0, "the radio has what it had", || {
        station.radio.record().receive_at(Utc::now()) == Some(RECEIVE_BEFORE)
    });
    let log = std::fs::read_to_string(station.path("log")).unwrap();
    assert!(log.contains("session.json") && log.contains("damaged"), "{log}");
}

#[test]
fn where_the_pass_is_not_known_the_next_daemon_gives_the_radio_back_what_it_had_and_moves_nothing() {
    let station = killed();
    std::fs::remove_file(undertaking(&station)).unwrap();
    let restarted = Utc::now();
    let _daemon = station.run();
    let record = station.radio.record();
    until(10.0, "the radio has what it had", || {
        let now = Utc::now();
        record.receive_at(now) == Some(RECEIVE_BEFORE) && record.transmit_at(now) == Some(TRANSMIT_BEFORE)
    });
    until(10.0, "the session of before is over", || station.status().state == State::Idle);
    assert!(!station.keepsake().exists());
    assert!(station.mast.frames_after(restarted, is_aim).is_empty());
    let why = station.status().why;
    assert!(why.contains("not taken up again: `beamhand start`"), "{why}");
    assert!(why.contains("not at its resting place: `beamhand park`"), "{why}");
    station.assert_no_violation();
}

#[test]
fn a_memory_that_can_not_be_read_is_said_and_kept_under_another_name() {
    let station = Station::in_mid_pass();
    std::fs::create_dir_all(station.path("state")).unwrap();
    let damaged = "{\"format\": 1, \"rad";
    std::fs::write(station.keepsake(), damaged).unwrap();
    let _daemon = station.run();
    assert_eq!(station.status().state, State::Idle);
    let log = std::fs::read_to_string(station.path("log")).unwrap();
    let aside = station.keepsake().with_extension("damaged-1");
    let kept = format!("it is kept as {}", aside.display());
    assert!(log.contains("what the radios had before") && log.contains(&kept), "{log}");
    assert_eq!(std::fs::read_to_string(aside).unwrap(), damaged);
    assert!(!station.keepsake().exists());
}

/// The keepsake as a daemon leaves it, with another end of the time in which it is given back.
fn keepsake_until(station: &Station, until: &str) {
    let text = std::fs::read_to_string(station.keepsake()).unwrap();
    let mut file: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert!(file["give_back_until"].is_string(), "{text}");
    file["give_back_until"] = until.into();
    std::fs::write(station.keepsake(), file.to_string()).unwrap();
}

#[test]
fn long_after_a_crash_no_radio_is_retuned_by_surprise_and_nothing_is_lost() {
    let station = killed();
    std::fs::remove_file(undertaking(&station)).unwrap();
    keepsake_until(&station, "2026-01-01T00:00:00Z");
    let stood = station.radio.record().receive_at(Utc::now());
    let _daemon = station.run();
    let status = station.status();
    assert_eq!(status.state, State::Idle);
    assert!(status.why.contains("is still stored"), "{}", status.why);
    crate::patience::let_pass(3.0);
    assert_eq!(station.radio.record().receive_at(Utc::now()), stood);
    assert!(station.keepsake().exists());
    station.say(&["start", "GANNET-1"]).assert_done();
    until(20.0, "the radio follows", || {
        station.off(Direction::Receive, Utc::now()).is_some_and(|off| off < 60.0)
    });
    station.say(&["stop"]).assert_done();
    until(10.0, "the radio has what it had before the first of the two", || {
        station.radio.record().receive_at(Utc::now()) == Some(RECEIVE_BEFORE)
    });
}

#[test]
fn a_memory_that_can_not_be_stored_is_told_to_who_asks() {
    let station = Station::in_mid_pass();
    std::fs::create_dir_all(station.keepsake()).unwrap();
    let _daemon = station.run();
    station.work();
    let why = station.status().why;
    assert!(why.contains("what the radios had can't be stored"), "{why}");
}
