//! TOML files to checked, plain types. A file is taken whole or refused whole: everything that is
//! wrong with it is reported at once, each at the line and column of its key.

mod agenda;
pub mod defaults;
mod demo;
mod describe;
mod dialects;
mod document;
mod earth;
mod equipment;
mod errors;
mod listening;
mod paths;
mod satellites;
mod sections;
mod service;
mod settings;
mod text_file;

pub use agenda::{Agenda, Listed, UserCommand, When};
pub use demo::{DEMO_CONFIG, DEMO_ELEMENTS, DEMO_SATELLITES, demo_satellites};
pub use describe::is_placeholder;
pub use dialects::Dialects;
pub use earth::load_earth_orientation;
pub use equipment::{Line, Radio, Rotator};
pub use errors::{ConfigError, ConfigErrors, Location};
pub use listening::{Listening, antenna_label};
pub use paths::{DefaultPaths, contact_log};
pub use satellites::{load_satellites, parse_satellites};
pub use service::Service;
pub use settings::{Config, Control, Files, Record, Session, Station, Texts};
pub use text_file::{ELEMENTS_LIMIT, Unreadable, read_text};
