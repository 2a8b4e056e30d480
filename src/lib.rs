//! Beamhand, a spare hand at an amateur-satellite station.
//!
//! The one idea: everything that a pass needs is a function of time. The pure rooms (`sky`,
//! `link`, `beam`) turn elements, links and the mount into [`terms::Plan`]s; the players in
//! `device` bring each radio and rotator to its plan; everything else is a thin shell.
//! Imports run downward only; `tests/house` holds the arrows.
//!
//! * [`terms`]: the few value types that everybody speaks.
//! * [`sky`]: where things are: element files, SGP4, the turning Earth, look angles from a station,
//!   Sun and shadow, and the search for passes. Pure: a [`sky::Track`] is a function of time.
//! * [`link`]: what to tune: satellites' links, Doppler, and the plan of both dials. Pure.
//! * [`beam`]: where to aim: the mount's geometry and the plan of its axes. Pure.
//! * [`agenda`]: which pass comes next, and why. Pure.
//! * [`card`]: the memory channels of a radio that no computer tunes. Pure.
//! * [`guide`]: a pass as sentences for a beam held in the hand. Pure.
//! * [`contacts`]: what is written down of each contact, what is odd about one, and the form in which logs
//!   are exchanged. Pure.
//! * [`clock`]: system, scaled and manual clocks, and how far the kernel's is to be trusted.
//! * [`device`]: how to say it: serial lines, wire languages, the never-list, and the players that
//!   bring each radio and rotator to its plan. Knows no orbit.
//! * [`sim`]: simulated equipment, hand-written from the wire languages, on modelled wires and on real
//!   pseudo-terminals; it keeps its own record of what reached it. Knows nothing of `device`.
//! * [`session`]: one pass from before AOS to after LOS: a state machine that joins plans and players.
//! * [`store`]: what must survive: bytes by atomic write.
//! * [`record`]: the flight record of a session: its form, its reader, its writer and its folder.
//! * [`almanac`]: the element sets that the station has taken in, and how new ones are fetched.
//! * [`control`]: the control socket's messages, one definition for both sides, and the client.
//! * [`config`]: TOML to checked types; every default in one place.
//! * [`rehearsal`]: a pass with simulated equipment, judged by what reached it; and a whole station in
//!   virtual time.
//! * [`daemon`]: the service: planner, devices, socket, service manager, orderly end.
//! * [`cli`]: one file a verb: prints, and talks to the daemon through `control`.

pub mod agenda;
pub mod almanac;
pub mod beam;
pub mod card;
pub mod cli;
pub mod clock;
pub mod config;
pub mod contacts;
pub mod control;
pub mod daemon;
pub mod device;
pub mod guide;
pub mod link;
pub mod listening;
pub mod record;
pub mod rehearsal;
pub mod session;
pub mod sim;
pub mod sky;
pub mod store;
pub mod terms;
