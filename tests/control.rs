//! The wire form of the control socket. Other programs rely on it: a line of
//! `golden/control.jsonl` may be added, but none may change.

use beamhand::control::{
    Ack, AgendaEntry, AgendaStatus, AntennaParams, AutoParams, ClockStatus, DeviceState, DialStatus, Event,
    Exchange, Id, ListeningStatus, LookErrors, LookStatus, Method, Notification, NudgeAct, NudgeParams,
    NudgeShift, PaceStatus, PassPage, PassStatus, PassesParams, PointAt, PointParams, PointPlace,
    PointTarget, RadioStatus, Request, Response, RotatorStatus, RpcError, StartParams, State, Status,
    ToneChoice, ToneParams, ToneStatus, TrimAct, TrimAction, TrimParams, TrimShift, Trims, code,
};
use beamhand::terms::{AzEl, Direction, Hertz, Mode, Time, TimeError, Tone, ToneError, parse_time};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

const GOLDEN: &str = include_str!("golden/control.jsonl");

type Made<T> = Result<T, Box<dyn std::error::Error>>;

#[test]
fn the_wire_form_is_that_of_the_golden_file() -> Made<()> {
    let made = messages()?;
    for (line, (number, golden)) in made.iter().zip(GOLDEN.lines().enumerate()) {
        assert_eq!(line, golden, "line {}", number + 1);
    }
    assert_eq!(made.len(), GOLDEN.lines().count());
    Ok(())
}

#[test]
fn what_is_written_is_read_as_the_same() -> Made<()> {
    for line in GOLDEN.lines() {
        let value: Value = serde_json::from_str(line)?;
        let again = if value.get("params").is_some_and(|params| params.get("missed").is_some()) {
            again::<Notification>(line)?
        } else if value.get("method").is_some() {
            serde_json::to_string(&Request::parse(line).map_err(|refused| format!("{refused:?}"))?)?
        } else {
            again::<Response>(line)?
        };
        assert_eq!(again, line);
    }
    again::<Status>(&serde_json::to_string(&busy()?)?)?;
    Ok(())
}

#[test]
fn typed_answers_survive_the_way() -> Made<()> {
    assert_eq!(way(&busy()?)?, busy()?);
    assert_eq!(way(&idle()?)?, idle()?);
    assert_eq!(way(&armed()?)?, armed()?);
    assert_eq!(way(&nudged()?)?, nudged()?);
    assert_eq!(way(&listening()?)?, listening()?);
    let page = PassPage { passes: vec![pass()?, cut_pass()?], next: Some(2) };
    assert_eq!(way(&page)?, page);
    Ok(())
}

#[test]
fn the_golden_file_has_every_method() {
    for name in Method::NAMES {
        assert!(GOLDEN.contains(&format!("\"method\":\"{name}\"")), "{name}");
    }
}

fn again<T: Serialize + DeserializeOwned>(line: &str) -> Made<String> {
    Ok(serde_json::to_string(&serde_json::from_str::<T>(line)?)?)
}

fn way<T: Serialize + DeserializeOwned>(value: &T) -> Made<T> {
    Ok(serde_json::from_str(&serde_json::to_string(value)?)?)
}

/// The golden file's lines, made from the types.
fn messages() -> Made<Vec<String>> {
    let mut lines = Vec::new();
    for (number, method) in (1..).zip(methods()?) {
        lines.push(serde_json::to_string(&Request::new(Id::Number(number), method))?);
    }
    lines.push(serde_json::to_string(&Request::new(Id::Text("a".into()), Method::Halt))?);
    for response in responses()? {
        lines.push(serde_json::to_string(&response)?);
    }
    lines.push(serde_json::to_string(&Notification::new(Event { missed: 2, status: idle()? }))?);
    for (number, method) in (19..).zip(wishes()) {
        lines.push(serde_json::to_string(&Request::new(Id::Number(number), method))?);
    }
    lines.push(serde_json::to_string(&Response::result(Id::Number(5), &armed()?))?);
    let off = Method::SwitchAuto(AutoParams { on: false });
    lines.push(serde_json::to_string(&Request::new(Id::Number(25), off))?);
    lines.push(serde_json::to_string(&Response::result(Id::Number(6), &unattended()?))?);
    lines.push(serde_json::to_string(&Response::result(Id::Number(7), &doubted()?))?);
    for (number, method) in (26..).zip(beam_wishes()) {
        lines.push(serde_json::to_string(&Request::new(Id::Number(number), method))?);
    }
    lines.push(serde_json::to_string(&Response::result(Id::Number(8), &nudged()?))?);
    for (number, label) in (29..).zip([None, Some("beam on the roof".to_owned())]) {
        let antenna = Method::Antenna(AntennaParams { label });
        lines.push(serde_json::to_string(&Request::new(Id::Number(number), antenna))?);
    }
    lines.push(serde_json::to_string(&Response::result(Id::Number(9), &listening()?))?);
    Ok(lines)
}

/// What an operator may wish beyond the plain requests.
fn wishes() -> Vec<Method> {
    let start = StartParams { satellite: "GANNET-1".into(), ..StartParams::default() };
    let act = |action| Method::Trim(TrimParams::Act(TrimAct { action }));
    vec![
        Method::Start(StartParams { fixed_uplink: true, ..start.clone() }),
        Method::Start(StartParams { when_free: true, ..start.clone() }),
        act(TrimAction::Reset),
        act(TrimAction::Keep),
        act(TrimAction::Forget),
        Method::Start(StartParams { instead: true, ..start }),
    ]
}

/// With a look that may be off.
fn doubted() -> Made<Status> {
    let errors = LookErrors {
        pointing_error_deg: 0.25,
        timing_error_s: 0.5,
        range_rate_error_km_s: 0.0125,
        frequency_error_hz: 18.0,
    };
    let busy = busy()?;
    Ok(Status { look: busy.look.map(|look| LookStatus { errors: Some(errors), ..look }), ..busy })
}

/// What an operator may wish of the beam.
fn beam_wishes() -> Vec<Method> {
    vec![
        Method::Point(PointParams::At(PointAt { target: PointTarget::Sun })),
        Method::Nudge(NudgeParams::Shift(NudgeShift { azimuth: 1.5, elevation: -0.5 })),
        Method::Nudge(NudgeParams::Act(NudgeAct { action: TrimAction::Keep })),
    ]
}

/// With a shifted beam, and a mount that is run for the first time.
fn nudged() -> Made<Status> {
    let pace = PaceStatus { azimuth_deg_s: Some(4.5), elevation_deg_s: None, lag_s: Some(0.25) };
    let caution = Some("it moves by itself".into());
    let rotator = RotatorStatus { pace: Some(pace), caution, ..rotator() };
    Ok(Status { nudge: Some(AzEl::new(1.5, -0.5)), rotator: Some(rotator), ..idle()? })
}

/// With an antenna that has a name, and something to hear.
fn listening() -> Made<Status> {
    let listening = ListeningStatus {
        from: time("18:28:00")?,
        until: time("18:43:20")?,
        rises: Some(time("18:30:00")?),
        sets: None,
        readings: 1250,
        trouble: Some("what is heard can't be stored".into()),
    };
    Ok(Status { antenna: Some("beam on the roof".into()), listening: Some(listening), ..idle()? })
}

/// With an uplink that stays where it is, and the arming tone.
fn armed() -> Made<Status> {
    let arming = Tone::from_tenths(744)?;
    let tone = ToneStatus {
        tone: ToneChoice::Arming,
        hz: Some(arming),
        set: true,
        until: Some(time("18:34:30")?),
        why: "the arming tone 74.4 Hz is set".into(),
    };
    let note = Some("ask for the schedule first".into());
    let mut status = Status { tone: Some(tone), note, look: None, pass: None, rotator: None, ..busy()? };
    for dial in status.radios.iter_mut().filter_map(|radio| radio.transmit.as_mut()) {
        (dial.fixed, dial.tone_hz) = (true, Some(arming));
    }
    Ok(status)
}

/// With an agenda that is worked.
fn unattended() -> Made<Status> {
    let next = AgendaEntry {
        satellite: "GANNET-1".into(),
        link: "repeater".into(),
        from: time("18:30:00")?,
        until: time("18:41:20")?,
        prepare_at: Some(time("18:28:00")?),
    };
    let why = "next GANNET-1 repeater at 18:30:00 UTC".into();
    Ok(Status { agenda: Some(AgendaStatus { auto: true, why, next: Some(next) }), ..idle()? })
}

fn methods() -> Made<Vec<Method>> {
    let some = PassesParams {
        satellite: Some("GANNET-1".into()),
        from: Some(time("18:30:00")?),
        hours: Some(12.5),
        skip: 20,
    };
    Ok(vec![
        Method::Status,
        Method::Passes(PassesParams::default()),
        Method::Passes(some),
        Method::Start(StartParams { satellite: "GANNET-1".into(), ..StartParams::default() }),
        Method::Start(StartParams {
            satellite: "99002".into(),
            link: Some("repeater".into()),
            ..StartParams::default()
        }),
        Method::Stop,
        Method::Auto,
        Method::Trim(TrimParams::Shift(TrimShift { direction: Direction::Receive, hertz: Hertz(-250) })),
        Method::Trim(TrimParams::Shift(TrimShift { direction: Direction::Transmit, hertz: Hertz(0) })),
        Method::Tone(ToneParams { tone: ToneChoice::Access }),
        Method::Tone(ToneParams { tone: ToneChoice::Arming }),
        Method::Tone(ToneParams { tone: ToneChoice::Off }),
        Method::Point(PointParams::Place(PointPlace { azimuth: 181.5, elevation: 45.0 })),
        Method::Park,
        Method::Halt,
        Method::Resume,
        Method::Reload,
        Method::Subscribe,
    ])
}

fn responses() -> Made<Vec<Response>> {
    let ack = Ack { state: State::Halted, why: "halted by the operator".into(), note: None };
    let mut failed = RpcError::new(code::FAILED, "the configuration is refused");
    failed.data = Some(json!(["beamhand.toml:3:1: `latitude` is 95"]));
    Ok(vec![
        Response::result(Id::Number(1), &busy()?),
        Response::result(Id::Number(2), &PassPage { passes: vec![pass()?, cut_pass()?], next: Some(2) }),
        Response::result(Id::Text("a".into()), &ack),
        Response::error(Id::Number(3), RpcError::new(code::NOT_FOUND, "there is no satellite \"AUK-9\"")),
        Response::error(Id::Number(4), failed),
        Response::error(Id::Null, RpcError::new(code::NO_REQUEST, "there are no batches here")),
    ])
}

fn time(hour: &str) -> Result<Time, TimeError> {
    parse_time(&format!("2026-11-25T{hour}Z"))
}

fn pass() -> Made<PassStatus> {
    Ok(PassStatus {
        satellite: "GANNET-1".into(),
        catalog_number: 99002,
        aos: Some(time("18:30:00")?),
        highest: Some(time("18:35:40.5")?),
        tca: Some(time("18:35:41")?),
        los: Some(time("18:41:20")?),
        max_elevation_deg: 62.5,
        aos_azimuth_deg: Some(201.25),
        highest_azimuth_deg: 110.0,
        los_azimuth_deg: Some(20.75),
        duration_s: Some(680.0),
        sunlit_at_highest: false,
    })
}

/// A pass that was on before the window.
fn cut_pass() -> Made<PassStatus> {
    Ok(PassStatus { aos: None, tca: None, aos_azimuth_deg: None, duration_s: None, ..pass()? })
}

fn idle() -> Made<Status> {
    Ok(Status {
        station: None,
        time: time("18:00:00")?,
        rehearsal: false,
        clock: ClockStatus {
            trusted: false,
            error_s: None,
            why: Some("the kernel says that no time service has set the clock since it started".into()),
        },
        state: State::Idle,
        why: "nothing was asked for".into(),
        satellite: None,
        link: None,
        pass: None,
        look: None,
        radios: Vec::new(),
        rotator: None,
        trims: Trims::default(),
        tone: None,
        note: None,
        nudge: None,
        agenda: None,
        record: None,
        antenna: None,
        listening: None,
    })
}

fn busy() -> Made<Status> {
    let look = LookStatus {
        azimuth_deg: 150.5,
        elevation_deg: 40.25,
        range_km: 720.5,
        range_rate_km_s: -3.25,
        sunlit: true,
        latitude_deg: 50.5,
        longitude_deg: -1.25,
        altitude_km: 505.5,
        errors: None,
    };
    Ok(Status {
        station: Some("Q0HILL".into()),
        time: time("18:34:00.25")?,
        rehearsal: true,
        clock: ClockStatus { trusted: true, error_s: Some(0.002), why: None },
        state: State::Following,
        why: "started by the operator".into(),
        satellite: Some("GANNET-1".into()),
        link: Some("repeater".into()),
        pass: Some(pass()?),
        look: Some(look),
        radios: vec![radio()?],
        rotator: Some(rotator()),
        trims: Trims { receive: Hertz(-250), transmit: Hertz(0) },
        tone: None,
        note: None,
        nudge: None,
        agenda: None,
        record: None,
        antenna: None,
        listening: None,
    })
}

fn radio() -> Result<RadioStatus, ToneError> {
    let sent = Exchange { text: "FA00435221720;".into(), age_s: 0.25 };
    let receive = DialStatus {
        plan_hz: Some(Hertz(435_221_723)),
        dial_hz: Some(Hertz(435_221_720)),
        mode: Some(Mode::Fm),
        tone_hz: None,
        behind_hz: None,
        fixed: false,
    };
    let tone_hz = Some(Tone::from_tenths(670)?);
    let transmit = DialStatus { tone_hz, dial_hz: None, behind_hz: Some(Hertz(310)), ..receive };
    Ok(RadioStatus {
        name: "duplex".into(),
        state: DeviceState::Following,
        why: "in a session".into(),
        last_sent: Some(sent),
        last_read: None,
        receive: Some(receive),
        transmit: Some(transmit),
        in_use: None,
        last_over: Some("the uplink drifted 310 Hz".into()),
        commands: 120,
        refused: 1,
    })
}

fn rotator() -> RotatorStatus {
    RotatorStatus {
        name: "mast".into(),
        state: DeviceState::Silent,
        why: "no answer to five questions at 9600 baud".into(),
        last_sent: Some(Exchange { text: "AZ EL".into(), age_s: 0.5 }),
        last_read: Some(Exchange { text: "AZ150.0 EL040.0".into(), age_s: 6.0 }),
        plan: Some(AzEl::new(150.5, 40.25)),
        position: Some(AzEl::new(150.0, 40.0)),
        error_deg: Some(0.5),
        pace: None,
        caution: None,
        commands: 30,
        refused: 0,
    }
}
