//! What can be asked of the daemon, and the answers that are not the status.

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::rpc::{RpcError, code};
use super::status::{PassStatus, State, Status};
use super::wire::{is_false, maybe_time};
use crate::terms::{Direction, Hertz, Time};

/// A request's method with its parameters. The answer is an [`Ack`] unless another is named.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "method", content = "params", rename_all = "lowercase")]
pub enum Method {
    /// How things are: a [`Status`].
    Status,
    /// The passes to come: a [`PassPage`].
    Passes(PassesParams),
    /// Work the satellite's pass that is on or comes next.
    Start(StartParams),
    /// End the session orderly, or stop waiting for one.
    Stop,
    /// Work the agenda unattended.
    Auto,
    /// The same, or not any more.
    #[serde(rename = "auto")]
    SwitchAuto(AutoParams),
    /// Shift one direction, or keep what is shifted.
    Trim(TrimParams),
    /// Choose the tone that is sent along.
    Tone(ToneParams),
    /// Turn the beam, outside a session.
    Point(PointParams),
    /// Shift the beam, or keep what is shifted.
    Nudge(NudgeParams),
    /// Park the beam, outside a session.
    Park,
    /// Stop every motor at once; nothing moves until `resume`.
    Halt,
    /// Take the halt back.
    Resume,
    /// Say what the antenna is called, or call it so from now on.
    Antenna(AntennaParams),
    /// Read the files again.
    Reload,
    /// Send an [`Event`] now, and whenever something changes.
    Subscribe,
}

/// Which passes.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct PassesParams {
    /// One satellite's, by name or catalogue number; null for all.
    pub satellite: Option<String>,
    /// From this instant on; null for now.
    #[serde(with = "maybe_time")]
    pub from: Option<Time>,
    /// For so many hours; null for 24.
    pub hours: Option<f64>,
    /// How many to pass over, for the next page.
    pub skip: u32,
}

/// One page of passes, in the order of their AOS.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PassPage {
    /// The passes.
    pub passes: Vec<PassStatus>,
    /// The `skip` that gives the next page; null on the last.
    pub next: Option<u32>,
}

/// Which pass to work.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StartParams {
    /// By name or catalogue number.
    pub satellite: String,
    /// One of its links; null for its first.
    #[serde(default)]
    pub link: Option<String>,
    /// The transmitting dial stays on the uplink's frequency; absent for what the link says.
    #[serde(default, skip_serializing_if = "is_false")]
    pub fixed_uplink: bool,
    /// A radio that is in use is waited for and not taken; absent for false.
    #[serde(default, skip_serializing_if = "is_false")]
    pub when_free: bool,
    /// A pass in progress is given up for it; absent for false.
    #[serde(default, skip_serializing_if = "is_false")]
    pub instead: bool,
}

/// What the antenna is called.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct AntennaParams {
    /// From now on; null to be told.
    pub label: Option<String>,
}

/// What to do with the trim: params with a `direction`, or with an `action`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(untagged)]
pub enum TrimParams {
    /// Shift one direction.
    Shift(TrimShift),
    /// Something else.
    Act(TrimAct),
}

/// A shift of one direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TrimShift {
    /// Which one.
    pub direction: Direction,
    /// The whole shift, not a step; 0 takes it off.
    pub hertz: Hertz,
}

/// What to do with the trim of both directions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TrimAct {
    /// What.
    pub action: TrimAction,
}

/// What can be done with the trim of both directions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum TrimAction {
    /// Zero, for this session.
    Reset,
    /// The next sessions of this link begin with it.
    Keep,
    /// They don't any more; this session's trim stays.
    Forget,
}

impl TrimAction {
    /// The action that an operator means by a word.
    pub fn named(word: &str) -> Option<Self> {
        let words = [("reset", Self::Reset), ("keep", Self::Keep), ("forget", Self::Forget)];
        words.into_iter().find(|(own, _)| word.eq_ignore_ascii_case(own)).map(|(_, action)| action)
    }
}

/// A tone of the link. The arming tone goes back to the access tone by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ToneChoice {
    /// The one without which the satellite does not repeat.
    Access,
    /// The one that switches it on.
    Arming,
    /// None.
    Off,
}

/// Which tone to send along.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ToneParams {
    /// The tone.
    pub tone: ToneChoice,
}

/// Whether to work the agenda.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AutoParams {
    /// Without any params, it is.
    pub on: bool,
}

/// Where to point: params with an `azimuth` and an `elevation`, or with a `target`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(untagged)]
pub enum PointParams {
    /// A direction.
    Place(PointPlace),
    /// Something in the sky.
    At(PointAt),
}

/// A direction; from 360 degrees on the azimuth is in the mount's own coordinates.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PointPlace {
    /// Degrees.
    pub azimuth: f64,
    /// Degrees.
    pub elevation: f64,
}

/// Something in the sky, where it is now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PointAt {
    /// What.
    pub target: PointTarget,
}

/// What can be pointed at besides a direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PointTarget {
    /// The Sun.
    Sun,
}

/// What to do with the beam's shift: params with an `azimuth` and an `elevation`, or with an
/// `action`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(untagged)]
pub enum NudgeParams {
    /// Shift the beam.
    Shift(NudgeShift),
    /// Something else.
    Act(NudgeAct),
}

/// The whole shift of both axes, not a step.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NudgeShift {
    /// Degrees, clockwise.
    pub azimuth: f64,
    /// Degrees, up.
    pub elevation: f64,
}

/// What to do with the beam's shift.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NudgeAct {
    /// What: as for a trim, and kept for the mount.
    pub action: TrimAction,
}

/// Done, and how things are now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ack {
    /// The state after it.
    pub state: State,
    /// Why that state.
    pub why: String,
    /// After a start, what the satellites file notes of the link; else absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// What a subscriber is sent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// How many events were left out before this one because the reader was slow.
    pub missed: u64,
    /// How things are: the newest, not the next in a queue.
    pub status: Status,
}

impl Method {
    /// Every method's name, as the wire has it.
    pub const NAMES: [&'static str; 15] = [
        "status",
        "passes",
        "start",
        "stop",
        "auto",
        "trim",
        "tone",
        "point",
        "nudge",
        "park",
        "halt",
        "resume",
        "antenna",
        "reload",
        "subscribe",
    ];

    /// From the name and parameters of a request.
    ///
    /// # Errors
    /// [`code::NO_SUCH_METHOD`] or [`code::BAD_PARAMS`].
    pub fn from_wire(name: &str, params: Option<Value>) -> Result<Self, RpcError> {
        let plain = |method: Method, params| without(params).map(|()| method);
        match name {
            "status" => plain(Method::Status, params),
            "passes" => typed(params).map(Method::Passes),
            "start" => typed(params).map(Method::Start),
            "stop" => plain(Method::Stop, params),
            "auto" => match without(params.clone()) {
                Ok(()) => Ok(Method::Auto),
                Err(_) => typed(params).map(Method::SwitchAuto),
            },
            "trim" if names(&params, "action") => typed(params).map(|act| Method::Trim(TrimParams::Act(act))),
            "trim" => typed(params).map(|shift| Method::Trim(TrimParams::Shift(shift))),
            "tone" => typed(params).map(Method::Tone),
            "point" if names(&params, "target") => typed(params).map(|at| Method::Point(PointParams::At(at))),
            "point" => typed(params).map(|place| Method::Point(PointParams::Place(place))),
            "nudge" if names(&params, "action") => {
                typed(params).map(|act| Method::Nudge(NudgeParams::Act(act)))
            }
            "nudge" => typed(params).map(|shift| Method::Nudge(NudgeParams::Shift(shift))),
            "park" => plain(Method::Park, params),
            "halt" => plain(Method::Halt, params),
            "resume" => plain(Method::Resume, params),
            "antenna" => typed(params).map(Method::Antenna),
            "reload" => plain(Method::Reload, params),
            "subscribe" => plain(Method::Subscribe, params),
            _ => Err(RpcError::new(
                code::NO_SUCH_METHOD,
                format!("there is no method \"{name}\"; there are {}", Self::NAMES.join(", ")),
            )),
        }
    }
}

fn names(params: &Option<Value>, member: &str) -> bool {
    params.as_ref().is_some_and(|params| params.get(member).is_some())
}

fn typed<T: DeserializeOwned>(params: Option<Value>) -> Result<T, RpcError> {
    let params = params.unwrap_or_else(|| Value::Object(serde_json::Map::new()));
    if !params.is_object() {
        return Err(RpcError::new(code::BAD_PARAMS, "params must be an object with named members"));
    }
    serde_json::from_value(params).map_err(|error| RpcError::new(code::BAD_PARAMS, error.to_string()))
}

fn without(params: Option<Value>) -> Result<(), RpcError> {
    match params {
        None => Ok(()),
        Some(Value::Object(members)) if members.is_empty() => Ok(()),
        Some(Value::Array(members)) if members.is_empty() => Ok(()),
        Some(_) => Err(RpcError::new(code::BAD_PARAMS, "this method has no params")),
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn code_of(name: &str, params: Value) -> i64 {
        Method::from_wire(name, Some(params)).unwrap_err().code
    }

    #[test]
    fn every_name_is_a_method() {
        for name in Method::NAMES {
            let answer = Method::from_wire(name, None);
            assert!(
                answer.is_ok_and(|method| serde_json::to_value(method).unwrap()["method"] == name)
                    || matches!(name, "start" | "trim" | "tone" | "point" | "nudge"),
                "{name}"
            );
        }
        assert_eq!(code_of("beep", json!({})), code::NO_SUCH_METHOD);
    }

    #[test]
    fn params_are_taken_whole_or_refused() {
        let start = Method::from_wire("start", Some(json!({"satellite": "GANNET-1"}))).unwrap();
        assert_eq!(
            start,
            Method::Start(StartParams { satellite: "GANNET-1".into(), ..StartParams::default() })
        );
        for params in [json!({}), json!([1]), json!({"satellite": 3}), json!({"satellite": "a", "lnik": "b"})]
        {
            assert_eq!(code_of("start", params), code::BAD_PARAMS);
        }
        assert_eq!(code_of("halt", json!({"now": true})), code::BAD_PARAMS);
        assert_eq!(Method::from_wire("halt", Some(json!({}))), Ok(Method::Halt));
        assert_eq!(code_of("point", json!({"azimuth": 1.0, "elevation": null})), code::BAD_PARAMS);
    }
}
