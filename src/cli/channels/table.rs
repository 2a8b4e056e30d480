//! A card for people: one page of text.

use crate::card::{Change, Setting};
use crate::cli::Failure;
use crate::cli::text::{compass, say, utc_clock, wall_clock, wrap, wrap_at};

use super::{Page, Row, megahertz};

pub(super) fn show(page: &Page<'_>) -> Result<(), Failure> {
    say(page.title())?;
    say(wrap_at(&page.promise(), 0))?;
    say("")?;
    let heading =
        [("memory", ""), ("receive", "MHz"), ("off by", "kHz"), ("transmit", "MHz"), ("off by", "kHz")];
    let line = |cells: [&str; 5], last: &str| {
        let [name, receive, missed, transmit, aside] = cells;
        say(format_args!("{name:<7} {receive:<11} {missed:<7} {transmit:<11} {aside:<7} {last}")
            .to_string()
            .trim_end())
    };
    line(heading.map(|(name, _)| name), "tone Hz")?;
    line(heading.map(|(_, unit)| unit), "")?;
    for row in page.rows() {
        let [(receive, missed), (transmit, aside)] = [row.memory.receive, row.memory.transmit].map(shown);
        let missed = if row.arms.is_some() { "" } else { &missed };
        let aside = if row.arms.is_some() { "" } else { &aside };
        line([&row.name, &receive, missed, &transmit, aside], &last(&row))?;
    }
    say("")?;
    pass(page)?;
    for remark in page.remarks() {
        say("")?;
        say(wrap_at(&remark, 0))?;
    }
    say("")
}

/// A dial and how far off it comes to be.
fn shown(setting: Option<Setting>) -> (String, String) {
    let off = |setting: Setting| format!("{:.1}", setting.error.as_f64() / 1000.0);
    setting.map_or(("-".into(), "-".into()), |setting| (megahertz(setting.hertz), off(setting)))
}

fn last(row: &Row<'_>) -> String {
    let tone = row.tone.map_or("-".to_owned(), |tone| tone.to_string());
    let arms = row.arms.as_ref().map_or(String::new(), |with| format!("  to arm, before {with}"));
    format!("{tone}{arms}")
}

fn pass(page: &Page<'_>) -> Result<(), Failure> {
    let (span, pass) = (page.job.span, &page.job.pass);
    let title = format!(
        "The pass of {}, {} to {} UTC, highest {:.0} degrees in the {}:",
        span.from.format("%-d %b %Y"),
        utc_clock(span.from),
        utc_clock(span.until),
        pass.max_elevation_deg,
        compass(pass.highest_azimuth_deg)
    );
    wrap(&title).iter().try_for_each(say)?;
    say(format_args!(
        "{:<9} {:<9} {:<7} {:<11} {:<11} the satellite is",
        "UTC", "local", "memory", "receive", "transmit"
    ))?;
    page.changes.iter().try_for_each(|change| say(change_line(page, change)))
}

fn change_line(page: &Page<'_>, change: &Change) -> String {
    let memory = page.card.memories.get(change.memory);
    let receive = shown(memory.and_then(|memory| memory.receive)).0;
    let transmit = shown(memory.and_then(|memory| memory.transmit)).0;
    let look = page.job.track.at(change.time).ok();
    let place = look.map_or(String::new(), |look| {
        format!("{:>2.0} high in the {}", look.elevation_deg.max(0.0), compass(look.azimuth_deg))
    });
    format!(
        "{:<9} {:<9} {:<7} {receive:<11} {transmit:<11} {place}",
        utc_clock(change.time),
        wall_clock(change.time),
        change.memory + 1
    )
}
