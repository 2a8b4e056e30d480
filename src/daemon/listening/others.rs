//! Which other satellites the receiver hears on the same dial.

use crate::daemon::Planner;
use crate::link::{Link, LinkKind, Satellite, Trim, Tuning, Watch, received};
use crate::sky::{SkyError, Track};
use crate::terms::{Mode, Plan as _, Validity, spans_where};

/// Downlinks farther apart are never one by Doppler, hertz in each: 7.9 km/s either way, twice.
const FASTEST: f64 = 2.0 * 7.9 / 299_792.458;
/// How often it is looked, and how precisely an end is found, seconds.
const STEP_S: f64 = 15.0;
const PRECISION_S: f64 = 1.0;
/// So many are told.
const MOST: usize = 32;

/// How wide a signal, or a receiver's filter, is, hertz (common practice).
fn width(mode: Mode) -> f64 {
    match mode {
        Mode::Fm => 15_000.0,
        Mode::Am => 6_000.0,
        Mode::Usb | Mode::Lsb | Mode::Cw => 2_700.0,
    }
}

fn width_of(link: &Link) -> f64 {
    match link.kind {
        LinkKind::Linear { passband, .. } => passband.as_f64().max(width(link.mode)),
        LinkKind::FmRepeater | LinkKind::Beacon => width(link.mode),
    }
}

impl Planner {
    /// The other satellites of the catalogue with a downlink within the receiver's passband, and when they
    /// are up meanwhile.
    pub(super) fn others(
        &self,
        own: &Satellite,
        link: &Link,
        track: &Track,
        watch: Watch,
    ) -> Vec<(String, Validity)> {
        let tuning = Tuning::to_listen(track.clone(), link.clone(), Trim::default(), watch, 0);
        let mut all = Vec::new();
        let others = self.catalog.satellites().iter();
        for other in others.filter(|other| other.catalog_number != own.catalog_number) {
            let near: Vec<&Link> = other.links.iter().filter(|theirs| may_meet(link, theirs)).collect();
            if near.is_empty() {
                continue;
            }
            // One that can't be propagated is heard of nowhere else either.
            let Ok(theirs) = self.plain_track(other) else { continue };
            let up = spans_up(&theirs, watch.span).unwrap_or_default();
            let meets =
                |span: &Validity| near.iter().any(|link_| is_heard(&tuning, link, &theirs, link_, *span));
            all.extend(up.into_iter().filter(meets).map(|span| (other.name.clone(), span)));
        }
        all.truncate(MOST);
        all
    }
}

fn may_meet(own: &Link, other: &Link) -> bool {
    let apart = (own.downlink - other.downlink).abs().as_f64();
    let reach = (width(own.mode) + width_of(other)) / 2.0;
    apart <= reach + FASTEST * own.downlink.as_f64().max(other.downlink.as_f64())
}

fn spans_up(track: &Track, within: Validity) -> Result<Vec<Validity>, SkyError> {
    spans_where(within, STEP_S, PRECISION_S, |time| Ok(track.topocentric(time)?.elevation_deg > 0.0))
}

/// Whether their downlink is within the receiver's filter at any moment of a span.
fn is_heard(tuning: &Tuning, own: &Link, theirs: &Track, other: &Link, span: Validity) -> bool {
    let reach = (width(own.mode) + width_of(other)) / 2.0;
    let meets = |time| {
        let dial = tuning.at(time).and_then(|channel| channel.receive);
        let arrives =
            theirs.topocentric(time).map(|look| received(other.downlink.as_f64(), look.range_rate_km_s));
        let near = |dial: f64, arrives: f64| (dial - arrives).abs() <= reach;
        Ok::<bool, std::convert::Infallible>(match (dial, arrives) {
            (Some(dial), Ok(arrives)) => near(dial.hertz.as_f64(), arrives),
            _ => false,
        })
    };
    let Ok(spans) = spans_where(span, STEP_S, STEP_S, meets);
    !spans.is_empty()
}
