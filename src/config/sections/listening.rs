//! `[listening]`.

use crate::config::defaults;
use crate::config::document::Section;
use crate::config::document::kind::{flag, number, text};
use crate::config::listening::{Listening, antenna_label};

use super::agenda::listed;

pub(super) fn listening(mut listening: Section<'_>) -> Listening {
    let default = defaults::listening();
    let label = text().map("a text in quotes, of 60 bytes at most", |label| antenna_label(&label));
    let settings = Listening {
        satellites: listed(&mut listening),
        antenna: listening.or("antenna", &label, default.antenna),
        beam: listening.or("beam", &flag(), default.beam),
        margin_s: listening.or("margin_s", &number(0.0..=1800.0, "seconds"), default.margin_s),
        minimum_elevation: listening.or(
            "minimum_elevation",
            &number(0.0..=89.0, "degrees"),
            default.minimum_elevation,
        ),
        total_mb: listening.or("total_mb", &number(1.0..=10_000.0, "megabytes"), default.total_mb),
    };
    listening.finish();
    settings
}
