//! The summary for people.

use crate::rehearsal::{Broken, DeviceSummary, Errors, Seen, Summary};

use super::super::text::{utc_clock, wrap};
use super::Equipment;

/// What came of it, in lines of at most 80 columns.
pub(super) fn text(summary: &Summary, equipment: Equipment) -> String {
    let heard = match equipment {
        Equipment::Simulated => "as heard at the far end of the lines",
        Equipment::Configured => "as sent; real equipment keeps no record",
    };
    let mut lines = vec![String::new(), format!("{}: the rehearsal, {heard}", summary.pass.satellite)];
    lines.push(format!(
        "{:<20}{:>9}{:>8}{:>8}{:>9}{:>9}{:>9}",
        "", "commands", "refused", "allowed", "rms", "95 %", "largest"
    ));
    for device in &summary.devices {
        lines.extend(of_device(device));
    }
    lines.push("allowed: what step, worthwhile change, line and dead band leave room for".to_owned());
    let judged = equipment == Equipment::Simulated;
    if judged && summary.violations() == 0 {
        lines.push("Nothing was keyed, nothing left the segments or the mount's limits.".to_owned());
    }
    lines.extend(incidents(summary));
    lines.into_iter().map(|line| line + "\n").collect()
}

/// What was ordered to happen, and what was noticed.
fn incidents(summary: &Summary) -> Vec<String> {
    let faults = summary.faults.iter().map(|fault| format!("  fault    {fault}"));
    let acts = summary.operator.iter().map(|act| format!("  operator {act}"));
    let mut lines: Vec<String> = faults.chain(acts).flat_map(|line| wrap(&line)).collect();
    if lines.is_empty() {
        return lines;
    }
    lines.insert(0, "Ordered to happen, in seconds after the clock's start:".to_owned());
    lines.push("What Beamhand said of its devices, in seconds after the clock's start:".to_owned());
    for Seen { after_s, until_s, device, state, why, .. } in &summary.seen {
        let until = until_s.map_or("the end".to_owned(), |until_s| format!("{until_s:.1}"));
        lines.extend(wrap(&format!("  {after_s:>6.1} to {until:<7}  {device} {}: {why}", state.name())));
    }
    if summary.seen_left_out > 0 {
        lines.push(format!("  {} later changes are left out here", summary.seen_left_out));
    }
    lines
}

fn of_device(device: &DeviceSummary) -> Vec<String> {
    let counts = format!("{:>9}{:>8}", device.commands, device.refused);
    let mut lines = Vec::new();
    if device.directions.is_empty() {
        lines.push(row(&device.device, &counts, &device.errors, device.unit));
    } else {
        lines.push(format!("{:<20}{counts}", device.device));
        let blank = " ".repeat(counts.len());
        lines.extend(
            device
                .directions
                .iter()
                .map(|one| row(&format!("  {}", one.direction), &blank, &one.errors, device.unit)),
        );
    }
    if device.azimuth_only {
        lines.push("  (it only turns, and is judged in azimuth alone)".to_owned());
    }
    if device.violations > 0 {
        lines.push(format!("  {} VIOLATIONS: what must never happen, happened:", device.violations));
    }
    for Broken { what, times, after_s, first, .. } in &device.broken {
        let often = if *times == 1 { "once".to_owned() } else { format!("{times} times, first") };
        let when = format!("{often} {after_s:.1} s after the clock's start, {} UTC", utc_clock(*first));
        lines.extend(wrap(&format!("    {what}; {when}")));
    }
    lines
}

fn row(name: &str, counts: &str, errors: &Errors, unit: &str) -> String {
    let figure = |value: Option<f64>| match value {
        None => "-".to_owned(),
        // A dial that was never tuned may be megahertz away.
        Some(value) if value >= 1e5 => format!("{:.0}k", value / 1e3),
        Some(value) => format!("{value:.1}"),
    };
    format!(
        "{name:<20}{counts}{:>8}{:>9}{:>9}{:>9} {unit}",
        figure(errors.floor),
        figure(errors.rms),
        figure(errors.p95),
        figure(errors.max)
    )
}
