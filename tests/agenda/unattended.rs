//! The daemon works through the agenda with nobody there.

use beamhand::control::{AutoParams, Method, StartParams, State};
use beamhand::sim::Act;
use beamhand::terms::{Hertz, Time, parse_time, seconds_between};

use crate::theatre::Theatre;

/// FULMAR-1 is up from 08:11 to 08:25, GANNET-1 from 08:24 to 08:33 on this Saturday.
const SATURDAY: &str = "2026-11-28T08:06:00Z";
const BOTH: &str = "satellites = [\"GANNET-1\", \"FULMAR-1\"]\nminimum_elevation = 5\n";
const SPEED: f64 = 60.0;

/// A time of that Saturday.
fn at(clock: &str) -> Time {
    parse_time(&format!("2026-11-28T{clock}Z")).unwrap()
}

fn switch(on: bool) -> Method {
    Method::SwitchAuto(AutoParams { on })
}

#[test]
fn two_passes_in_a_row_are_worked_and_the_less_important_is_cut_for_the_other() {
    let theatre = Theatre::open(BOTH, SATURDAY, SPEED);
    let crew = theatre.run();
    assert_eq!(crew.status().agenda, None);
    crew.ask(switch(true)).unwrap();
    let status = crew.until(10.0, "there is an agenda", |status| {
        status.agenda.as_ref().is_some_and(|agenda| agenda.next.is_some())
    });
    let next = status.agenda.as_ref().unwrap().next.as_ref().unwrap();
    assert_eq!((next.satellite.as_str(), next.link.as_str()), ("FULMAR-1", "telemetry"));
    crew.until(60.0, "the second pass is over", |_| theatre.followed().len() == 2);
    crew.until(20.0, "the station rests", |status| status.state == State::Idle);
    let followed = theatre.followed();
    let [(first, _, set), (second, rose, _)] = followed.as_slice() else { panic!("{followed:?}") };
    assert_eq!((first.as_str(), second.as_str()), ("FULMAR-1", "GANNET-1"));
    // The mount needs a minute at most, and the radio 15 seconds.
    let between = seconds_between(*set, *rose);
    assert!((10.0..95.0).contains(&between), "{between} s between {set} and {rose}");
    theatre.assert_no_violation();
}

#[test]
fn what_a_person_stops_is_not_begun_again_and_nothing_else_in_its_place() {
    let theatre = Theatre::open(BOTH, "2026-11-28T08:12:00Z", SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    crew.until(10.0, "the pass in progress is taken", |status| status.state == State::Following);
    crew.ask(Method::Stop).unwrap();
    let status = crew.until(10.0, "it has ended", |status| status.state == State::Idle);
    let why = &status.agenda.as_ref().unwrap().why;
    assert!(why.contains("FULMAR-1 telemetry was stopped by the operator: nothing begins before"), "{why}");
    crew.until(30.0, "the next pass is taken", |status| status.state == State::Following);
    let followed: Vec<String> = theatre.deeds().into_iter().filter_map(|deed| deed.satellite).collect();
    assert_eq!(followed.last().map(String::as_str), Some("GANNET-1"));
    assert_eq!(theatre.followed().len(), 1, "FULMAR-1 once");
}

#[test]
fn a_halt_holds_the_agenda_until_resume() {
    let theatre = Theatre::open(BOTH, "2026-11-28T08:07:00Z", SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    crew.ask(Method::Halt).unwrap();
    crew.until(20.0, "the pass has begun in the sky", |_| theatre.now() > at("08:14:00"));
    assert_eq!(crew.status().state, State::Halted);
    assert!(crew.status().satellite.is_none());
    assert!(crew.status().agenda.as_ref().unwrap().why.contains("nothing begins until resume"));
    crew.ask(Method::Resume).unwrap();
    crew.until(10.0, "the pass is taken", |status| status.state == State::Following);
}

#[test]
fn a_persons_start_goes_first_and_auto_goes_on_after_it() {
    let theatre = Theatre::open("satellites = [\"GANNET-1\"]\n", "2026-11-28T08:09:30Z", SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    let fulmar = StartParams { satellite: "FULMAR-1".to_owned(), ..StartParams::default() };
    crew.ask(Method::Start(fulmar)).unwrap();
    crew.until(60.0, "GANNET-1 is followed", |status| {
        status.state == State::Following && status.satellite.as_deref() == Some("GANNET-1")
    });
    let followed = theatre.followed();
    assert_eq!(followed.len(), 1, "{followed:?}");
    assert_eq!(followed[0].0, "FULMAR-1");
    // FULMAR-1 sets at 08:25 and is not cut short: a person began it.
    assert!(followed[0].2 > at("08:24:30"), "{followed:?}");
}

#[test]
fn a_radio_that_is_in_use_is_not_taken() {
    let theatre = Theatre::open(BOTH, "2026-11-28T08:07:00Z", SPEED);
    let crew = theatre.run();
    crew.until(10.0, "the radio was read", |status| {
        status.radios[0].receive.is_some_and(|dial| dial.dial_hz.is_some())
    });
    theatre.devices[0].handles.script.at(theatre.now(), Act::Turn(Hertz(25_000)));
    crew.until(10.0, "it is seen", |status| status.radios[0].in_use.is_some());
    crew.ask(switch(true)).unwrap();
    let status = crew.until(20.0, "the pass is waited for", |status| {
        status.state == State::Waiting && status.why.contains("left alone")
    });
    assert!(status.why.contains("its dial was turned by hand"), "{}", status.why);
}

#[test]
fn quiet_hours_keep_the_mount_still() {
    let quiet =
        "satellites = [\"GANNET-1\", \"FULMAR-1\"]\n[[agenda.quiet]]\nfrom = \"00:00\"\nto = \"00:00\"\n";
    let theatre = Theatre::open(quiet, "2026-11-28T08:08:00Z", SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    let status = crew.until(10.0, "there is an agenda", |status| {
        status.agenda.as_ref().is_some_and(|agenda| agenda.why.contains("nothing to work"))
    });
    assert_eq!(status.agenda.as_ref().unwrap().next, None);
    crew.until(20.0, "both satellites are up", |_| theatre.now() > at("08:16:00"));
    assert_eq!(theatre.devices[1].handles.record.aims(), []);
}

#[test]
fn a_session_in_progress_survives_a_reload_and_wrong_files_change_nothing() {
    let theatre = Theatre::open(BOTH, "2026-11-28T08:12:00Z", SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    crew.until(10.0, "the pass is taken", |status| status.state == State::Following);
    theatre.rewrite("satellites = [");
    let refused = crew.ask(Method::Reload).unwrap_err();
    assert!(refused.message.contains("nothing has changed"), "{refused:?}");
    theatre.rewrite("satellites = [\"TERN-1\"]\n[[agenda.quiet]]\nfrom = \"00:00\"\nto = \"00:00\"\n");
    let answer = crew.ask(Method::Reload).unwrap();
    assert!(answer["why"].as_str().unwrap().contains("read again"), "{answer}");
    assert_eq!(crew.status().satellite.as_deref(), Some("FULMAR-1"));
    crew.until(60.0, "the pass is over", |status| status.state == State::Idle);
    let followed = theatre.followed();
    assert_eq!(followed.len(), 1, "{followed:?}");
    // Its end is that of the agenda by which it was begun: early for GANNET-1 at 08:24.
    assert!(followed[0].2 > at("08:22:00"), "{followed:?}");
}

#[test]
fn a_reload_says_what_waits_for_a_restart() {
    let theatre = Theatre::open(BOTH, SATURDAY, SPEED);
    let crew = theatre.run();
    theatre.rewrite(&format!("{BOTH}\n[clock]\ndrift_ppm = 7\n"));
    let answer = crew.ask(Method::Reload).unwrap();
    assert!(answer["why"].as_str().unwrap().contains("in [clock] waits for a restart"), "{answer}");
}

#[test]
fn a_daemon_that_starts_anew_goes_on_where_auto_was_on_and_only_there() {
    let theatre = Theatre::open(BOTH, "2026-11-28T08:12:00Z", SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    crew.until(10.0, "the pass is taken", |status| status.state == State::Following);
    drop(crew);
    let crew = theatre.run();
    crew.until(20.0, "the rest of the pass is taken", |status| {
        status.state == State::Following && status.satellite.as_deref() == Some("FULMAR-1")
    });
    crew.ask(switch(false)).unwrap();
    assert_eq!(crew.status().state, State::Following, "auto off ends no session");
    drop(crew);
    let crew = theatre.run();
    std::thread::sleep(std::time::Duration::from_secs(1));
    assert_eq!((crew.status().state, crew.status().agenda.clone()), (State::Idle, None));
}

#[test]
fn an_empty_agenda_is_not_switched_on() {
    let theatre = Theatre::open("", SATURDAY, SPEED);
    let crew = theatre.run();
    let refused = crew.ask(switch(true)).unwrap_err();
    assert!(refused.message.contains("there is nothing to do: `satellites` in [agenda]"), "{refused:?}");
}

#[test]
fn a_satellites_file_that_is_being_written_costs_no_pass() {
    let theatre = Theatre::open(BOTH, "2026-11-28T08:06:00Z", SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    crew.until(10.0, "there is an agenda", |status| {
        status.agenda.as_ref().is_some_and(|agenda| agenda.next.is_some())
    });
    std::fs::write(theatre.path("satellites.toml"), "format = 1\n[[satel").unwrap();
    crew.until(30.0, "the pass is taken", |status| status.state == State::Following);
    // The agenda is made anew with each pass that begins, and says what it could not read.
    let status = crew.until(10.0, "the fault is told", |status| {
        status.agenda.as_ref().is_some_and(|agenda| agenda.why.contains("satellites.toml"))
    });
    assert_eq!(status.satellite.as_deref(), Some("FULMAR-1"));
}

#[test]
fn a_rehearsal_is_not_disturbed_by_an_agenda_that_is_worked() {
    let theatre = Theatre::open(BOTH, "2026-11-28T08:12:00Z", SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    crew.until(10.0, "the pass is taken", |status| status.state == State::Following);
    drop(crew);
    let crew = theatre.rehearse();
    std::thread::sleep(std::time::Duration::from_secs(3));
    assert_eq!((crew.status().agenda.clone(), crew.status().satellite.clone()), (None, None));
}
