//! The wire languages as users' equipment speaks them: hand-written captures, good and bad, and
//! round trips over the whole range of what can be said.
#![allow(clippy::unwrap_used)]

mod capture;
mod captures;
mod cells;
mod hostile;
mod play;
mod round_trips;

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use beamhand::device::dialect::Dialect;

/// The built-in dialects, each read once.
static DIALECTS: LazyLock<BTreeMap<&str, Arc<Dialect>>> =
    LazyLock::new(|| Dialect::names().map(|name| (name, Dialect::builtin(name).unwrap())).collect());

fn dialect(name: &str) -> Arc<Dialect> {
    DIALECTS[name].clone()
}
