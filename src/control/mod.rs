//! What is said on the control socket: JSON-RPC 2.0, one object a line, UTF-8. One definition for
//! both sides, and the client. `tests/golden/control.jsonl` pins the wire form.

mod client;
mod lines;
mod method;
mod rpc;
mod status;
mod wire;

pub use client::{Client, ClientError, Events};
pub use lines::{LineBuffer, LineError, MAX_LINE, to_line};
pub use method::{
    Ack, AntennaParams, AutoParams, Event, Method, NudgeAct, NudgeParams, NudgeShift, PassPage, PassesParams,
    PointAt, PointParams, PointPlace, PointTarget, StartParams, ToneChoice, ToneParams, TrimAct, TrimAction,
    TrimParams, TrimShift,
};
pub use rpc::{Id, Notification, Request, Response, RpcError, asks_to_halt, code};
pub use status::{
    AgendaEntry, AgendaStatus, ClockStatus, DeviceState, DialStatus, Exchange, ListeningStatus, LookErrors,
    LookStatus, PaceStatus, PassStatus, RadioStatus, RecordStatus, RotatorStatus, State, Status, ToneStatus,
    Trims, fact,
};
