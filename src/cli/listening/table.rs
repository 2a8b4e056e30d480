//! The verdicts for people.

use chrono::{Local, Utc};

use crate::cli::Failure;
use crate::cli::text::{both_clocks, day, say, wrap_at};
use crate::listening::{
    Comparison, Estimate, FALSE_ALARMS, FEWEST, Finding, Findings, GOOD_DEG, State, Verdict, Why, threshold,
};
use crate::terms::Time;

use super::named;

pub(super) fn show(findings: &[Findings], days: f64) -> Result<(), Failure> {
    let now = Utc::now();
    say(format_args!("{days} days until {}, {}", day(now), both_clocks(now)))?;
    say("")?;
    say(format_args!(
        "{:<13} {:<11} {:<9} {:>5} {:>8}  {:<11} last heard",
        "satellite", "link", "it is", "sure", "heard", "from"
    ))?;
    say(format_args!("{:<13} {:<11} {:<9} {:>5} {:>8}  {:<11} local", "", "", "", "", "passes", "degrees"))?;
    for link in findings {
        say(row(link).trim_end())?;
        for remark in remarks(link) {
            say(wrap_at(&format!("  {remark}"), 4))?;
        }
    }
    say("")?;
    let promise = format!(
        "Noise alone makes a pass heard in {} % of passes at most. Of passes above {GOOD_DEG} degrees that \
         could be judged. \"From\" is the elevation above which it is heard.",
        FALSE_ALARMS * 100.0
    );
    say(wrap_at(&promise, 0))
}

fn row(link: &Findings) -> String {
    let Verdict { state, confidence, heard, times, .. } = &link.verdict;
    let from = threshold(&link.passes).filter(|_| *state == State::Active);
    let from = from.map_or("-".to_owned(), |from| match from.low_deg.is_finite() {
        true => format!("{:.0} ({:.0} to {:.0})", from.middle_deg, from.low_deg, from.high_deg),
        false => format!("about {:.0}", from.middle_deg),
    });
    let last = times.map_or("-".to_owned(), |(_, last)| clock(last));
    format!(
        "{:<13.13} {:<11.11} {:<9} {:>3.0} % {:>8}  {:<11} {last}",
        link.satellite,
        link.link,
        state.name(),
        (confidence * 100.0).floor(),
        format!("{} of {}", heard.0, heard.1),
        from
    )
}

/// `30 Nov 19:12` by the clock on the wall.
fn clock(time: Time) -> String {
    time.with_timezone(&Local).format("%d %b %H:%M").to_string()
}

fn remarks(link: &Findings) -> Vec<String> {
    let mut remarks = Vec::new();
    let Verdict { state, heard, share, more, sunlight, times, .. } = &link.verdict;
    if let Some((first, last)) = times {
        let utc = |time: &Time| time.format("%-d %b %H:%M UTC").to_string();
        let local = first.with_timezone(&Local).format("%-d %b %H:%M local");
        remarks.push(format!("first heard {} ({local}), last {}", utc(first), utc(last)));
    }
    if *state == State::Undecided {
        remarks.push(format!(
            "settled by {} more good pass{} if heard in all, by {} if in none",
            more.0,
            if more.0 == 1 { "" } else { "es" },
            more.1
        ));
    }
    if heard.1 > 0 {
        remarks.push(format!("heard in {:.0} to {:.0} % of such passes", share.0 * 100.0, share.1 * 100.0));
    }
    if let Some(sun) = sunlight.filter(|sun| sun.matters().is_some()) {
        let where_to = if sun.matters() == Some(true) { "in sunlight" } else { "in the Earth's shadow" };
        let ((a, b), (c, d)) = (sun.sunlit, sun.eclipsed);
        remarks.push(format!(
            "it lives {where_to}: heard in {a} of {b} passes in sunlight, {c} of {d} in shadow; only that \
             kind of pass counts here"
        ));
    }
    remarks.extend(not_judged(link));
    remarks
}

/// Why passes could not be judged, the most frequent reasons together.
fn not_judged(link: &Findings) -> Option<String> {
    let [short, shared, unheard, covered, little] = reasons(link);
    let all = short + shared + unheard + covered + little;
    let part = |count: u32, why: &str| (count > 0).then(|| format!("{count} {why}"));
    let parts: Vec<String> = [
        part(short, "too short"),
        part(shared, "with another satellite on the same dial"),
        part(unheard, "without noise at the same dial settings before and after"),
        part(covered, "covered by local noise"),
        part(little, "because too little noise is known yet: it comes with each pass"),
    ]
    .into_iter()
    .flatten()
    .collect();
    (all > 0).then(|| format!("not judged: {all} of {} passes: {}", link.passes.len(), parts.join(", ")))
}

/// Passes that were not judged: short, shared, no reference, covered, little noise.
pub(super) fn reasons(link: &Findings) -> [u32; 5] {
    let mut reasons = [0; 5];
    for pass in &link.passes {
        let Finding::NotJudged(why) = pass.finding else { continue };
        let at = match why {
            Why::Short => 0,
            Why::Shared => 1,
            Why::NoReference => 2,
            Why::Covered => 3,
            Why::LittleNoise { .. } => 4,
        };
        reasons[at] += 1;
    }
    reasons
}

/// Two antennas, in sentences.
pub(super) fn antennas(pair: &Comparison) -> String {
    let Comparison { antennas: (first, second), passes, meter, share } = pair;
    let (one, two) = (named(first), named(second));
    let mut lines = vec![format!("{one}, {} passes, and {two}, {} passes", passes.0, passes.1)];
    let told = |estimate: &Option<Estimate>, scale: f64, unit: &str| {
        let Some(estimate) = estimate else {
            return format!(
                "can't be told yet: {FEWEST} passes with each are needed where both hear the satellite"
            );
        };
        let better = match estimate.is_settled() {
            Some(true) => format!("{two} is better"),
            Some(false) => format!("{one} is better"),
            None => "which is better can't be told yet".to_owned(),
        };
        let [value, low, high] = [estimate.value, estimate.low, estimate.high].map(|value| value * scale);
        format!("{two} over {one}: {value:+.1} {unit} ({low:+.1} to {high:+.1} at 95 %); {better}")
    };
    lines.push(format!("  signal over noise: {}", told(meter, 1.0, "of the radio's own meter units")));
    lines.push(format!("  time heard: {}", told(share, 100.0, "percent of the time")));
    lines.push(
        "  Compared at the same elevations of the same satellites, with the slant range taken out by \
         free-space loss. The meter's units are the radio's own, and may be uneven."
            .to_owned(),
    );
    lines.iter().map(|line| wrap_at(line, 4) + "\n").collect()
}
