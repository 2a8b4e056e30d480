//! Shares of the time, by elevation, azimuth or hour.

use std::collections::BTreeMap;

use chrono::{Local, Timelike as _};

use crate::cli::Failure;
use crate::cli::text::{compass, rounded, say, wrap_at};
use crate::listening::{self, BLOCK_S, Findings, Mark, Share, by_hour, shares};

use super::By;
use super::wire::Band;

/// The longest bar, columns.
const BAR: f64 = 40.0;

fn of(link: &Findings, by: By) -> BTreeMap<i32, Share> {
    let hour = |mark: &Mark| mark.at.with_timezone(&Local).hour();
    match by {
        By::Azimuth => shares(&link.passes, listening::By::Azimuth),
        By::Hour => by_hour(&link.passes, hour),
        By::Elevation | By::Antenna => shares(&link.passes, listening::By::Elevation),
    }
}

fn width(by: By) -> i32 {
    match by {
        By::Azimuth => listening::By::Azimuth.width_deg() as i32,
        By::Hour => 1,
        By::Elevation | By::Antenna => listening::By::Elevation.width_deg() as i32,
    }
}

fn name(by: By) -> &'static str {
    match by {
        By::Elevation => "elevation",
        By::Azimuth => "azimuth",
        By::Hour => "hour",
        By::Antenna => "antenna",
    }
}

pub(super) fn show(findings: &[Findings], by: By) -> Result<(), Failure> {
    for link in findings {
        let bands = of(link, by);
        let which = match by {
            By::Hour => "by the hour on the wall's clock, of all passes that were judged",
            By::Azimuth => "by azimuth, of the passes in which it was heard",
            By::Elevation | By::Antenna => "by elevation, of the passes in which it was heard",
        };
        let title = format!("{} {}: share of the time heard, {which}", link.satellite, link.link);
        say(wrap_at(&title, 2))?;
        if bands.is_empty() {
            say("  none yet")?;
        }
        for (from, share) in &bands {
            say(row(*from, share, by).trim_end())?;
        }
        say("")?;
    }
    say(wrap_at("Of a silent time, about two in a hundred count as heard.", 0))
}

fn row(from: i32, share: &Share, by: By) -> String {
    let until = from + width(by);
    let what = match by {
        By::Hour => format!("{from:02}:00"),
        By::Azimuth => format!("{from} to {until} {}", compass(f64::from(from + until) / 2.0)),
        By::Elevation | By::Antenna => format!("{from} to {until}"),
    };
    let value = share.value().unwrap_or_default();
    let bar = "#".repeat((value * BAR).round() as usize);
    let noun = if share.passes == 1 { "pass" } else { "passes" };
    format!("  {what:<14} {:>4.0} %  {bar:<40} {:>3} {noun}", value * 100.0, share.passes)
}

/// The same for programs.
pub(super) fn lines(findings: &[Findings], by: By) -> Vec<Band<'_>> {
    let mut lines = Vec::new();
    for link in findings {
        for (from, share) in of(link, by) {
            lines.push(Band {
                satellite: &link.satellite,
                link: &link.link,
                by: name(by),
                from,
                to: from + width(by),
                passes: share.passes,
                listened_s: f64::from(share.blocks) * BLOCK_S,
                heard_s: f64::from(share.heard) * BLOCK_S,
                share: share.value().map(rounded),
            });
        }
    }
    lines
}
