//! `[[satellite.link]]`.

use chrono::{NaiveTime, Weekday, WeekdaySet};

use crate::config::defaults;
use crate::config::document::Section;
use crate::config::document::kind::{choice, flag, frequency, text, time_of_day, tone, whole};
use crate::link::{Link, LinkKind, Schedule, Uplink};
use crate::terms::{Hertz, Mode};

/// `None` only where an error was reported.
pub(in crate::config) fn link(link: &mut Section<'_>) -> Option<Link> {
    let name = link.required("name", &text());
    let kind = kind(link);
    let downlink = link.required("downlink", &frequency());
    let mode = link.required("mode", &choice(&MODES));
    let uplink = match (kind, mode) {
        (Some(kind), Some(mode)) => uplink(link, kind, mode),
        _ => unread_uplink(link),
    };
    let on = link.one_or_more_sections("on", "on").into_iter().map(schedule).collect();
    let sunlight_only = link.or("sunlight_only", &flag(), false);
    let note = link.optional("note", &text());
    link.finish();
    Some(Link { name: name?, kind: kind?, downlink: downlink?, mode: mode?, uplink, on, sunlight_only, note })
}

/// [`LinkKind`] before its details are known.
#[derive(Clone, Copy, PartialEq)]
enum Shape {
    FmRepeater,
    Beacon,
    Linear,
}

const SHAPES: [(&str, Shape); 3] =
    [("fm-repeater", Shape::FmRepeater), ("beacon", Shape::Beacon), ("linear", Shape::Linear)];

const MODES: [(&str, Mode); 5] =
    [("fm", Mode::Fm), ("usb", Mode::Usb), ("lsb", Mode::Lsb), ("cw", Mode::Cw), ("am", Mode::Am)];

const DAYS: [(&str, Weekday); 7] = [
    ("mon", Weekday::Mon),
    ("tue", Weekday::Tue),
    ("wed", Weekday::Wed),
    ("thu", Weekday::Thu),
    ("fri", Weekday::Fri),
    ("sat", Weekday::Sat),
    ("sun", Weekday::Sun),
];

fn kind(link: &mut Section<'_>) -> Option<LinkKind> {
    const DETAILS: [&str; 2] = ["inverting", "passband"];
    let simple = match link.required("kind", &choice(&SHAPES)) {
        Some(Shape::FmRepeater) => LinkKind::FmRepeater,
        Some(Shape::Beacon) => LinkKind::Beacon,
        Some(Shape::Linear) => return linear(link),
        None => {
            link.know(DETAILS);
            return None;
        }
    };
    link.forbid(DETAILS, "only a linear transponder has one");
    Some(simple)
}

fn linear(link: &mut Section<'_>) -> Option<LinkKind> {
    let inverting = link.required("inverting", &flag());
    let width = whole(1_000..=10_000_000, "hertz, the whole width");
    let passband = link.required("passband", &width).map(Hertz);
    Some(LinkKind::Linear { inverting: inverting?, passband: passband? })
}

/// The keys of an uplink but its frequency.
const UPLINK_DETAILS: [&str; 4] = ["uplink_mode", "access_tone", "arming_tone", "fixed_uplink"];

fn uplink(link: &mut Section<'_>, kind: LinkKind, mode: Mode) -> Option<Uplink> {
    if kind == LinkKind::Beacon {
        link.forbid(["uplink"], "a beacon has no uplink");
        link.forbid(UPLINK_DETAILS, "a beacon has no uplink");
        return None;
    }
    let inverting = matches!(kind, LinkKind::Linear { inverting: true, .. });
    let hertz = link.required("uplink", &frequency());
    let mode = link.or("uplink_mode", &choice(&MODES), defaults::uplink_mode(mode, inverting));
    let access_tone = link.optional("access_tone", &tone());
    let arming_tone = link.optional("arming_tone", &tone());
    let fixed = link.or("fixed_uplink", &flag(), false);
    if mode != Mode::Fm {
        for key in ["access_tone", "arming_tone", "fixed_uplink"] {
            if link.has(key) && (fixed || key != "fixed_uplink") {
                link.refuse(key, format!("`{key}` needs an FM uplink, and this one is {mode}"));
            }
        }
    }
    Some(Uplink { hertz: hertz?, mode, access_tone, arming_tone, fixed })
}

/// Without the kind or the mode, whether there is an uplink can't be judged.
fn unread_uplink(link: &mut Section<'_>) -> Option<Uplink> {
    link.know(["uplink"]);
    link.know(UPLINK_DETAILS);
    None
}

/// Days and hours: of the link's, UTC; of quiet, by the clock on the wall.
pub(super) fn schedule(mut on: Section<'_>) -> Schedule {
    let days = on.list("days", &choice(&DAYS));
    if days.as_ref().is_some_and(Vec::is_empty) {
        on.refuse("days", "`days` is empty: leave it out if every day is meant");
    }
    let from = on.or("from", &time_of_day(), NaiveTime::MIN);
    let to = on.or("to", &time_of_day(), NaiveTime::MIN);
    on.finish();
    let days = days.map_or(WeekdaySet::ALL, WeekdaySet::from_iter);
    Schedule { days, from, to }
}
