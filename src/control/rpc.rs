//! The envelopes of JSON-RPC 2.0 (the specification of 2013-01-04), without batches.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::method::{Event, Method};

/// Error codes. Those down to -32700 are the specification's, the others Beamhand's.
pub mod code {
    /// The line is no JSON.
    pub const NO_JSON: i64 = -32700;
    /// It is JSON, but no request; or a batch.
    pub const NO_REQUEST: i64 = -32600;
    /// There is no such method.
    pub const NO_SUCH_METHOD: i64 = -32601;
    /// The method's parameters are wrong.
    pub const BAD_PARAMS: i64 = -32602;
    /// The daemon failed in a way that it did not expect.
    pub const INTERNAL: i64 = -32603;
    /// Not in this state: halted, in a session, or a clock that can't be trusted.
    pub const NOT_NOW: i64 = -32000;
    /// No such satellite, link or pass.
    pub const NOT_FOUND: i64 = -32001;
    /// The station has no equipment for it, or it does not answer.
    pub const NO_EQUIPMENT: i64 = -32002;
    /// Beyond the mount's limits, or outside the transmit segments.
    pub const OUT_OF_BOUNDS: i64 = -32003;
    /// It was tried and failed; `data` holds the errors, one text each, where there are several.
    pub const FAILED: i64 = -32004;
}

/// What a request is called, so that its answer is known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Id {
    /// A number.
    Number(i64),
    /// A text.
    Text(String),
    /// The answer to something in which no name could be read.
    Null,
}

/// The longest name of a request, bytes: every answer repeats it.
const LONGEST_ID: usize = 256;

impl Id {
    fn is_short(&self) -> bool {
        if let Id::Text(text) = self { text.len() <= LONGEST_ID } else { true }
    }
}

/// A request; without a name nobody waits for the answer and none is sent.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Request {
    jsonrpc: Version,
    /// Its name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<Id>,
    /// What is asked.
    #[serde(flatten)]
    pub method: Method,
}

impl Request {
    /// With a name.
    pub fn new(id: Id, method: Method) -> Self {
        Self { jsonrpc: Version::Two, id: Some(id), method }
    }

    /// From a line.
    ///
    /// # Errors
    /// The answer that the sender is owed.
    pub fn parse(line: &str) -> Result<Self, Response> {
        let refuse = |id: Option<Id>, error| Response::error(id.unwrap_or(Id::Null), error);
        let value: Value = serde_json::from_str(line).map_err(|error| {
            refuse(None, RpcError::new(code::NO_JSON, format!("this is no JSON: {error}")))
        })?;
        let Value::Object(mut members) = value else {
            let what = if value.is_array() { "there are no batches here" } else { "a request is an object" };
            return Err(refuse(None, RpcError::new(code::NO_REQUEST, what)));
        };
        let id = match members.remove("id").map(serde_json::from_value::<Id>) {
            None => None,
            Some(Ok(id)) if id.is_short() => Some(id),
            Some(_) => {
                let what = format!("an id is a whole number, a text of at most {LONGEST_ID} bytes, or null");
                return Err(refuse(None, RpcError::new(code::NO_REQUEST, what)));
            }
        };
        if members.get("jsonrpc") != Some(&Value::from("2.0")) {
            return Err(refuse(id, RpcError::new(code::NO_REQUEST, "\"jsonrpc\" must be \"2.0\"")));
        }
        let Some(Value::String(name)) = members.remove("method") else {
            return Err(refuse(id, RpcError::new(code::NO_REQUEST, "\"method\" must be a text")));
        };
        match Method::from_wire(&name, members.remove("params")) {
            Ok(method) => Ok(Self { jsonrpc: Version::Two, id, method }),
            Err(error) => Err(refuse(id, error)),
        }
    }
}

/// Whether a line asks to halt, however wrong the rest of it is: motors stop first, and the
/// formalities are looked at afterwards.
pub fn asks_to_halt(line: &str) -> bool {
    let names_halt = |value: &Value| value.get("method").is_some_and(|name| name == "halt");
    match serde_json::from_str(line) {
        Ok(Value::Array(batch)) => batch.iter().any(names_halt),
        Ok(value) => names_halt(&value),
        Err(_) => false,
    }
}

/// The answer to a request.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(into = "ResponseWire", try_from = "ResponseWire")]
pub struct Response {
    /// The request's name.
    pub id: Id,
    /// What came of it.
    pub outcome: Result<Value, RpcError>,
}

impl Response {
    /// It was done.
    pub fn result(id: Id, result: &impl Serialize) -> Self {
        let internal = |error: serde_json::Error| RpcError::new(code::INTERNAL, error.to_string());
        Self { id, outcome: serde_json::to_value(result).map_err(internal) }
    }

    /// It was not.
    pub fn error(id: Id, error: RpcError) -> Self {
        Self { id, outcome: Err(error) }
    }
}

/// Why a request was not done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, thiserror::Error)]
#[error("{message}")]
pub struct RpcError {
    /// One of [`code`].
    pub code: i64,
    /// What happened and what to do next, for people.
    pub message: String,
    /// More of it, for programs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub data: Option<Value>,
}

impl RpcError {
    /// Without data.
    pub fn new(code: i64, message: impl Into<String>) -> Self {
        Self { code, message: message.into(), data: None }
    }
}

/// What the daemon sends unasked to those who subscribed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Notification {
    jsonrpc: Version,
    method: EventMethod,
    /// What happened.
    pub params: Event,
}

impl Notification {
    /// Of an event.
    pub fn new(event: Event) -> Self {
        Self { jsonrpc: Version::Two, method: EventMethod::Event, params: event }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
enum Version {
    #[serde(rename = "2.0")]
    Two,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum EventMethod {
    Event,
}

#[derive(Serialize, Deserialize)]
struct ResponseWire {
    jsonrpc: Version,
    id: Id,
    // A result of null is a result; only an absent one is none.
    #[serde(default, skip_serializing_if = "Option::is_none", deserialize_with = "present")]
    result: Option<Value>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    error: Option<RpcError>,
}

fn present<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Option<Value>, D::Error> {
    Value::deserialize(from).map(Some)
}

impl From<Response> for ResponseWire {
    fn from(response: Response) -> Self {
        let (result, error) = match response.outcome {
            Ok(result) => (Some(result), None),
            Err(error) => (None, Some(error)),
        };
        Self { jsonrpc: Version::Two, id: response.id, result, error }
    }
}

impl TryFrom<ResponseWire> for Response {
    type Error = &'static str;
    fn try_from(wire: ResponseWire) -> Result<Self, Self::Error> {
        let outcome = match (wire.result, wire.error) {
            (Some(result), None) => Ok(result),
            (None, Some(error)) => Err(error),
            _ => return Err("an answer has either a result or an error"),
        };
        Ok(Self { id: wire.id, outcome })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(line: &str) -> (Id, i64) {
        let response = Request::parse(line).unwrap_err();
        (response.id, response.outcome.unwrap_err().code)
    }

    #[test]
    fn what_is_no_request_is_answered_with_the_specifications_code() {
        assert_eq!(refusal("{"), (Id::Null, code::NO_JSON));
        assert_eq!(refusal("[]"), (Id::Null, code::NO_REQUEST));
        assert_eq!(refusal("3"), (Id::Null, code::NO_REQUEST));
        assert_eq!(refusal(r#"{"id":7,"method":"halt"}"#), (Id::Number(7), code::NO_REQUEST));
        assert_eq!(refusal(r#"{"jsonrpc":"2.0","id":"x"}"#), (Id::Text("x".into()), code::NO_REQUEST));
        assert_eq!(refusal(r#"{"jsonrpc":"2.0","id":{},"method":"halt"}"#), (Id::Null, code::NO_REQUEST));
        assert_eq!(
            refusal(r#"{"jsonrpc":"2.0","id":1,"method":"x"}"#),
            (Id::Number(1), code::NO_SUCH_METHOD)
        );
        assert_eq!(
            refusal(r#"{"jsonrpc":"2.0","id":1,"method":"start"}"#),
            (Id::Number(1), code::BAD_PARAMS)
        );
    }

    #[test]
    fn a_request_without_a_name_wants_no_answer_and_one_named_null_does() {
        let id = |line| Request::parse(line).unwrap().id;
        assert_eq!(id(r#"{"jsonrpc":"2.0","method":"halt"}"#), None);
        assert_eq!(id(r#"{"jsonrpc":"2.0","id":null,"method":"halt"}"#), Some(Id::Null));
    }

    #[test]
    fn a_name_that_would_make_every_answer_too_long_is_refused() {
        let named =
            |length: usize| format!(r#"{{"jsonrpc":"2.0","id":"{}","method":"status"}}"#, "x".repeat(length));
        assert!(Request::parse(&named(256)).is_ok());
        assert_eq!(refusal(&named(257)), (Id::Null, code::NO_REQUEST));
        assert_eq!(refusal(&named(60_000)), (Id::Null, code::NO_REQUEST));
    }

    #[test]
    fn deep_nesting_is_refused_and_not_followed() {
        let deep = "[".repeat(60_000);
        assert_eq!(refusal(&deep), (Id::Null, code::NO_JSON));
    }

    #[test]
    fn an_answer_has_a_result_or_an_error_and_null_is_a_result() {
        let parse = |line| serde_json::from_str::<Response>(line);
        let null = parse(r#"{"jsonrpc":"2.0","id":1,"result":null}"#).unwrap();
        assert_eq!(null.outcome, Ok(Value::Null));
        assert!(parse(r#"{"jsonrpc":"2.0","id":1}"#).is_err());
        assert!(parse(r#"{"jsonrpc":"2.0","id":1,"result":1,"error":{"code":1,"message":""}}"#).is_err());
        assert!(parse(r#"{"jsonrpc":"1.0","id":1,"result":1}"#).is_err());
    }
}
