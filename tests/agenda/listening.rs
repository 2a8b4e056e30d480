//! The listening watch: what reaches the radio's far end, and what is in the file afterwards.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use beamhand::config::DEMO_ELEMENTS;
use beamhand::control::{AntennaParams, AutoParams, Method, StartParams, State};
use beamhand::link::received;
use beamhand::listening::{Reading, Spell, form};
use beamhand::sim::radio::SignalSource;
use beamhand::sim::{Act, Cause, Change};
use beamhand::sky::{Station, Track, read_elements};
use beamhand::terms::{Hertz, Time, later, parse_time, seconds_between};

use crate::theatre::{Crew, Theatre};

/// FULMAR-1 is up from 08:11 to 08:25 on this Saturday.
const MORNING: &str = "2026-11-28T08:08:00Z";
const SPEED: f64 = 30.0;
const FULMAR: &str = "[listening]\nsatellites = [\"FULMAR-1\"]\nantenna = \"attic\"\nmargin_s = 100\n";
const DOWNLINK: Hertz = Hertz(437_263_000);

fn switch(on: bool) -> Method {
    Method::SwitchAuto(AutoParams { on })
}

/// The satellite as the station hears it: above the horizon, on its own sliding frequency.
fn satellite(name: &str, downlink: Hertz) -> SignalSource {
    let sets = read_elements(DEMO_ELEMENTS).sets;
    let set = sets.iter().find(|set| set.name == name).unwrap();
    let track = Track::new(set, Station::new(54.0, -2.5, 120.0).unwrap()).unwrap();
    let other = track.clone();
    let range =
        move |time| track.at(time).ok().filter(|look| look.elevation_deg > 0.0).map(|look| look.range_km);
    let arrives =
        move |time| received(downlink.as_f64(), other.at(time).map_or(0.0, |look| look.range_rate_km_s));
    let arrives = Some(Arc::new(arrives) as beamhand::sim::radio::Arrives);
    SignalSource { arrives, noise_db: 1.0, ..SignalSource::new(Arc::new(range), 60.0) }
}

/// A radio of two bands, and FULMAR-1 to hear.
fn open(agenda: &str, start: &str, speed: f64) -> Theatre {
    Theatre::open_with(agenda, start, speed, Some(&fulmar()), "fe-frames")
}

fn fulmar() -> SignalSource {
    satellite("FULMAR-1", DOWNLINK)
}

/// All that is in the files, in the order of the days.
fn heard(theatre: &Theatre) -> Vec<Spell> {
    let folder = theatre.path("state").join(form::FOLDER);
    let mut files: Vec<_> =
        std::fs::read_dir(&folder).into_iter().flatten().map(|file| file.unwrap().path()).collect();
    files.sort();
    files.iter().flat_map(|file| read(file)).collect()
}

fn read(file: &Path) -> Vec<Spell> {
    let bytes = std::fs::read(file).unwrap();
    form::read(&bytes).map(Result::unwrap).collect()
}

/// Nothing of the transmitter was touched by a command.
fn assert_only_received(theatre: &Theatre) {
    theatre.assert_no_violation();
    for device in theatre.devices.iter().filter(|device| !device.is_rotator) {
        let landings = device.handles.record.landings();
        let touched = landings
            .iter()
            .filter(|landing| landing.cause == Cause::Command)
            .filter(|landing| !matches!(landing.what, Change::Receive(_) | Change::ReceiveMode(_)));
        assert_eq!(touched.collect::<Vec<_>>(), [] as [&_; 0]);
        assert!(landings.iter().any(|landing| landing.cause == Cause::Command), "something was tuned");
    }
}

fn listens(crew: &Crew, seconds: f64) {
    crew.until(seconds, "it is listened to", |status| {
        status.listening.as_ref().is_some_and(|l| l.readings > 0)
    });
}

#[test]
fn a_pass_is_listened_to_and_its_file_says_when_it_was_heard() {
    let theatre = open(FULMAR, MORNING, SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    listens(&crew, 20.0);
    let status = crew.status();
    assert_eq!((status.satellite.as_deref(), status.antenna.as_deref()), (Some("FULMAR-1"), Some("attic")));
    let until = status.listening.as_ref().unwrap().until;
    crew.until(60.0, "it is over", |status| status.state == State::Idle && status.time > until);
    crew.ask(switch(false)).unwrap();
    let at_rest = theatre.devices[0].handles.record.receive_at(theatre.now());
    let landings = theatre.devices[0].handles.record.landings();
    let first = landings.into_iter().find_map(|landing| match landing.what {
        Change::Receive(hertz) if landing.cause == Cause::Opening => Some(hertz),
        _ => None,
    });
    // But for the clarifier, which is off.
    let off = at_rest.unwrap() - first.unwrap();
    assert!(off.abs() < Hertz(1_000), "the radio has what it had: {off}");
    drop(crew);
    assert_only_received(&theatre);
    let spells = heard(&theatre);
    let spell = spells.iter().find(|spell| spell.pass.is_some()).unwrap();
    assert_eq!((spell.link.as_str(), spell.antenna.as_str()), ("telemetry", "attic"));
    assert_eq!(spell.downlink, DOWNLINK);
    let pass = spell.pass.unwrap();
    let (inside, outside): (Vec<&Reading>, Vec<&Reading>) =
        spell.readings.iter().partition(|reading| pass.contains(reading.at));
    assert!(inside.len() > 100 && outside.len() > 20, "{} and {}", inside.len(), outside.len());
    assert!(outside.iter().any(|reading| reading.at < pass.from));
    assert!(outside.iter().any(|reading| reading.at > pass.until));
    let open = |readings: &[&Reading]| {
        let open = readings.iter().filter(|reading| reading.is_open == Some(true)).count();
        open as f64 / readings.len() as f64
    };
    assert!(open(&inside) > 0.8, "{}", open(&inside));
    assert!(open(&outside) < 0.05, "{}", open(&outside));
    let mean = |readings: &[&Reading]| {
        let meters: Vec<f64> = readings.iter().filter_map(|reading| reading.meter).map(f64::from).collect();
        meters.iter().sum::<f64>() / meters.len() as f64
    };
    assert!(mean(&inside) > mean(&outside) + 2.0, "{} and {}", mean(&inside), mean(&outside));
    // The shifts of the pass are swept before and after it.
    let extremes = |readings: &[&Reading]| {
        let shifts = readings.iter().map(|reading| reading.shift_hz);
        (shifts.clone().fold(0.0, f32::min), shifts.fold(0.0, f32::max))
    };
    let ((low, high), (swept_low, swept_high)) = (extremes(&inside), extremes(&outside));
    assert!(low < -6_000.0 && high > 6_000.0, "{low} to {high}");
    assert!((swept_low - low).abs() < 700.0 && (swept_high - high).abs() < 700.0, "{swept_low} {swept_high}");
    assert_told(&theatre);
}

/// What the program makes of the daemon's files: one pass, and too little noise yet to judge it by.
fn assert_told(theatre: &Theatre) {
    let folder = theatre.path("state").join(form::FOLDER);
    let begun = parse_time(MORNING).unwrap();
    let days = seconds_between(begun, chrono::Utc::now()).abs() / 86_400.0 + 1.0;
    let mut program = std::process::Command::new(env!("CARGO_BIN_EXE_beamhand"));
    program.args(["listening", "--json", "--days", &days.to_string(), "--folder"]).arg(folder);
    let ran = program.output().unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let told: serde_json::Value = serde_json::from_slice(&ran.stdout).unwrap();
    assert_eq!((&told["satellite"], &told["link"]), (&"FULMAR-1".into(), &"telemetry".into()), "{told}");
    let of_passes = (&told["passes"], &told["not_judged_little_noise"]);
    assert_eq!((&told["state"], of_passes), (&"undecided".into(), (&1.into(), &1.into())), "{told}");
    assert!(told["noise_s"].as_f64().unwrap() > 100.0, "{told}");
}

#[test]
fn where_nothing_passes_the_noise_alone_is_listened_to() {
    let theatre = open(FULMAR, "2026-11-28T08:40:00Z", SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    listens(&crew, 20.0);
    assert!(crew.status().why.contains("it is not up: this is for the noise here"), "{}", crew.status().why);
    crew.until(40.0, "it is over", |status| status.state == State::Idle);
    drop(crew);
    assert_only_received(&theatre);
    let spells = heard(&theatre);
    assert_eq!(spells.len(), 1);
    assert_eq!(spells[0].pass, None);
    // The first readings lack what was not asked for yet; the needle trembles, as it does in the pass.
    let all = spells[0].readings.len();
    let count =
        |is_open| spells[0].readings.iter().filter(|reading| reading.is_open == Some(is_open)).count();
    assert!(10 * count(false) > 9 * all && 20 * count(true) < all, "{} of {all}", count(false));
    assert!(spells[0].readings.iter().all(|reading| reading.sight.elevation_deg < 0.0));
}

#[test]
fn another_antenna_begins_another_spell_and_is_remembered() {
    let theatre = open(FULMAR, MORNING, SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    listens(&crew, 20.0);
    let label = |label: Option<&str>| Method::Antenna(AntennaParams { label: label.map(str::to_owned) });
    let told = |answer: serde_json::Value| answer["why"].as_str().unwrap().to_owned();
    assert_eq!(told(crew.ask(label(None)).unwrap()), "the antenna is called attic");
    let answer = told(crew.ask(label(Some("roof"))).unwrap());
    assert!(answer.contains("the antenna is called roof from now on"), "{answer}");
    assert!(crew.ask(label(Some("a\nb"))).is_err());
    crew.until(10.0, "it is listened to further", |status| {
        let is_new = status.antenna.as_deref() == Some("roof");
        is_new && status.listening.as_ref().is_some_and(|listening| listening.readings > 20)
    });
    drop(crew);
    let crew = theatre.run();
    crew.until(10.0, "the label is known over a restart", |status| status.antenna.as_deref() == Some("roof"));
    drop(crew);
    let antennas: Vec<String> = heard(&theatre).into_iter().map(|spell| spell.antenna).collect();
    assert_eq!(antennas[..2], ["attic", "roof"]);
}

#[test]
fn a_person_comes_first() {
    let theatre = open(FULMAR, MORNING, SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    listens(&crew, 20.0);
    let gannet = StartParams { satellite: "GANNET-1".to_owned(), ..StartParams::default() };
    crew.ask(Method::Start(gannet)).unwrap();
    crew.until(10.0, "it has the station", |status| {
        status.satellite.as_deref() == Some("GANNET-1") && status.listening.is_none()
    });
}

#[test]
fn what_is_stopped_is_not_listened_to_again() {
    let theatre = open(FULMAR, MORNING, SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    listens(&crew, 20.0);
    crew.ask(Method::Stop).unwrap();
    crew.until(10.0, "it is given up", |status| status.state == State::Idle);
    std::thread::sleep(Duration::from_secs(2));
    assert!(crew.status().listening.is_none());
    let why = crew.status().agenda.as_ref().unwrap().why.clone();
    assert!(why.contains("FULMAR-1 telemetry was stopped by the operator"), "{why}");
}

#[test]
fn a_hand_at_the_knob_has_the_radio_at_once_and_as_it_is() {
    let theatre = open(FULMAR, MORNING, 10.0);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    listens(&crew, 40.0);
    // The dial stands still for longest where the sweep begins: let it follow first.
    crew.until(20.0, "it follows", |status| status.state == State::Following);
    let radio = &theatre.devices[0];
    // Half a second of a hand at the knob.
    for tick in 0..10 {
        radio.handles.script.at(later(theatre.now(), f64::from(tick) * 0.5), Act::Turn(Hertz(15_000)));
    }
    let status = crew.until(10.0, "it is left alone", |status| status.listening.is_none());
    assert!(
        status.radios[0].in_use.as_deref().is_some_and(|how| how.contains("turned by hand")),
        "{status:#?}"
    );
    std::thread::sleep(Duration::from_secs(1));
    let turned = radio.handles.record.receive_at(theatre.now()).unwrap();
    assert!((turned - DOWNLINK).abs() > Hertz(30_000), "{turned}");
    std::thread::sleep(Duration::from_secs(1));
    assert_eq!(radio.handles.record.receive_at(theatre.now()), Some(turned), "nobody turns it back");
    assert!(crew.status().listening.is_none());
}

#[test]
fn what_is_more_important_is_worked_and_the_rest_is_listened_to() {
    // GANNET-1 is up from 08:24 to 08:33.
    let both = format!("satellites = [\"GANNET-1\"]\n{FULMAR}");
    let theatre = open(&both, "2026-11-28T08:18:00Z", SPEED);
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    listens(&crew, 20.0);
    crew.until(40.0, "GANNET-1 is worked", |status| {
        status.satellite.as_deref() == Some("GANNET-1") && status.state == State::Following
    });
    assert!(crew.status().listening.is_none());
    drop(crew);
    let rises = parse_time("2026-11-28T08:24:00Z").unwrap();
    let late = |time: &Time| seconds_between(rises, *time) > 60.0;
    let last = heard(&theatre).iter().flat_map(|spell| &spell.readings).map(|reading| reading.at).max();
    assert!(last.is_some_and(|last| !late(&last)), "{last:?}");
    theatre.assert_no_violation();
}

#[test]
fn a_full_disk_is_named_and_nothing_else_suffers() {
    let theatre = open(FULMAR, MORNING, SPEED);
    std::fs::create_dir_all(theatre.path("state")).unwrap();
    // No folder can be made where a file is: to the writer as good as a full disk.
    std::fs::write(theatre.path("state").join(form::FOLDER), b"").unwrap();
    let crew = theatre.run();
    crew.ask(switch(true)).unwrap();
    let status = crew.until(40.0, "the trouble is named", |status| {
        status.listening.as_ref().is_some_and(|listening| listening.trouble.is_some())
    });
    let trouble = status.listening.as_ref().unwrap().trouble.clone().unwrap();
    assert!(trouble.contains("can't be stored") && trouble.contains(".heard"), "{trouble}");
    assert_eq!(status.state, State::Following);
    std::fs::remove_file(theatre.path("state").join(form::FOLDER)).unwrap();
    crew.until(20.0, "it is over", |status| {
        status.listening.as_ref().is_some_and(|listening| listening.trouble.is_none())
    });
    drop(crew);
    assert!(!heard(&theatre).is_empty(), "what came later is there");
}
