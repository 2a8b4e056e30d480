//! What was found, for programs.

use serde::Serialize;

use crate::cli::Failure;
use crate::cli::text::{rounded, say, show};
use crate::listening::{Comparison, Estimate, FALSE_ALARMS, Findings, threshold};
use crate::terms::{Time, rfc3339};

/// A link; what does not exist is null.
#[derive(Serialize)]
pub(super) struct Link<'a> {
    satellite: &'a str,
    link: &'a str,
    downlink_hz: i64,
    state: &'static str,
    confidence: f64,
    passes: usize,
    passes_judged: u32,
    passes_heard: u32,
    share_low: f64,
    share_high: f64,
    more_if_heard: u32,
    more_if_silent: u32,
    first_heard: Option<String>,
    last_heard: Option<String>,
    heard_above_deg: Option<f64>,
    heard_above_low_deg: Option<f64>,
    heard_above_high_deg: Option<f64>,
    sunlight_matters: Option<&'static str>,
    sunlit_heard: Option<u32>,
    sunlit_judged: Option<u32>,
    eclipsed_heard: Option<u32>,
    eclipsed_judged: Option<u32>,
    noise_s: f64,
    not_judged_short: u32,
    not_judged_shared: u32,
    not_judged_no_reference: u32,
    not_judged_covered: u32,
    not_judged_little_noise: u32,
    false_alarm_rate: f64,
}

/// A band of elevation, azimuth or time.
#[derive(Serialize)]
pub(super) struct Band<'a> {
    pub(super) satellite: &'a str,
    pub(super) link: &'a str,
    pub(super) by: &'static str,
    pub(super) from: i32,
    pub(super) to: i32,
    pub(super) passes: u32,
    pub(super) listened_s: f64,
    pub(super) heard_s: f64,
    pub(super) share: Option<f64>,
}

/// Two antennas.
#[derive(Serialize)]
pub(super) struct Pair<'a> {
    antenna: &'a str,
    over: &'a str,
    passes: u32,
    over_passes: u32,
    meter_units: Option<f64>,
    meter_units_low: Option<f64>,
    meter_units_high: Option<f64>,
    share: Option<f64>,
    share_low: Option<f64>,
    share_high: Option<f64>,
}

impl<'a> Link<'a> {
    pub(super) fn of(findings: &'a Findings) -> Self {
        let verdict = &findings.verdict;
        let above = threshold(&findings.passes);
        let finite = |value: f64| value.is_finite().then(|| rounded(value));
        let time = |time: Time| rfc3339(time);
        let [short, shared, no_reference, covered, little_noise] = super::table::reasons(findings);
        Self {
            satellite: &findings.satellite,
            link: &findings.link,
            downlink_hz: findings.downlink.0,
            state: verdict.state.name(),
            confidence: rounded(verdict.confidence),
            passes: findings.passes.len(),
            passes_judged: verdict.heard.1,
            passes_heard: verdict.heard.0,
            share_low: rounded(verdict.share.0),
            share_high: rounded(verdict.share.1),
            more_if_heard: verdict.more.0,
            more_if_silent: verdict.more.1,
            first_heard: verdict.times.map(|times| time(times.0)),
            last_heard: verdict.times.map(|times| time(times.1)),
            heard_above_deg: above.map(|above| rounded(above.middle_deg)),
            heard_above_low_deg: above.and_then(|above| finite(above.low_deg)),
            heard_above_high_deg: above.and_then(|above| finite(above.high_deg)),
            sunlight_matters: verdict
                .sunlight
                .and_then(|sun| sun.matters())
                .map(|sunlit| if sunlit { "heard in sunlight" } else { "heard in shadow" }),
            sunlit_heard: verdict.sunlight.map(|sun| sun.sunlit.0),
            sunlit_judged: verdict.sunlight.map(|sun| sun.sunlit.1),
            eclipsed_heard: verdict.sunlight.map(|sun| sun.eclipsed.0),
            eclipsed_judged: verdict.sunlight.map(|sun| sun.eclipsed.1),
            noise_s: findings.noise_s,
            not_judged_short: short,
            not_judged_shared: shared,
            not_judged_no_reference: no_reference,
            not_judged_covered: covered,
            not_judged_little_noise: little_noise,
            false_alarm_rate: FALSE_ALARMS,
        }
    }
}

impl<'a> Pair<'a> {
    pub(super) fn of(pair: &'a Comparison) -> Self {
        let part = |estimate: Option<Estimate>, of: fn(Estimate) -> f64| estimate.map(|e| rounded(of(e)));
        Self {
            antenna: &pair.antennas.1,
            over: &pair.antennas.0,
            passes: pair.passes.1,
            over_passes: pair.passes.0,
            meter_units: part(pair.meter, |estimate| estimate.value),
            meter_units_low: part(pair.meter, |estimate| estimate.low),
            meter_units_high: part(pair.meter, |estimate| estimate.high),
            share: part(pair.share, |estimate| estimate.value),
            share_low: part(pair.share, |estimate| estimate.low),
            share_high: part(pair.share, |estimate| estimate.high),
        }
    }
}

/// One object a line, or one table.
pub(super) fn put<T: Serialize>(lines: &[T], as_csv: bool) -> Result<(), Failure> {
    let failed = |error: &dyn std::fmt::Display| Failure::Failed(error.to_string());
    if !as_csv {
        return lines
            .iter()
            .try_for_each(|line| say(serde_json::to_string(line).map_err(|error| failed(&error))?));
    }
    let mut table = csv::Writer::from_writer(Vec::new());
    for line in lines {
        table.serialize(line).map_err(|error| failed(&error))?;
    }
    let bytes = table.into_inner().map_err(|error| failed(&error))?;
    show(String::from_utf8_lossy(&bytes))
}
