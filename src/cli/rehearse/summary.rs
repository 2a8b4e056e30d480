//! The summary for people.

use crate::rehearsal::{DeviceSummary, Errors, Summary};

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
        "", "commands", "refused", "floor", "rms", "95 %", "largest"
    ));
    for device in &summary.devices {
        lines.extend(of_device(device));
    }
    lines.push("floor: the least error that the line, or the mount's dead band, allows".to_owned());
    let judged = equipment == Equipment::Simulated;
    if judged && summary.devices.iter().all(|device| device.violations == 0) {
        lines.push("Nothing was keyed, nothing left the segments or the mount's limits.".to_owned());
    }
    lines.into_iter().map(|line| line + "\n").collect()
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
    if device.violations > 0 {
        lines.push(format!("  {} VIOLATIONS: what must never happen, happened", device.violations));
    }
    lines
}

fn row(name: &str, counts: &str, errors: &Errors, unit: &str) -> String {
    let figure = |value: Option<f64>| value.map_or("-".to_owned(), |value| format!("{value:.1}"));
    format!(
        "{name:<20}{counts}{:>8}{:>9}{:>9}{:>9} {unit}",
        figure(errors.floor),
        figure(errors.rms),
        figure(errors.p95),
        figure(errors.max)
    )
}
