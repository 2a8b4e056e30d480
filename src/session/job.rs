//! One pass of one link, planned.

use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::beam::{Aim, Mount};
use crate::link::{Link, LinkKind, Satellite, Trim, Tuning, Watch, to_arrive_on};
use crate::sky::{Pass, Track};
use crate::terms::{Generation, Time, Validity, later, seconds_between};

/// A pass of a satellite and the link to be worked in it, with the plans of all devices.
#[derive(Clone)]
pub struct Job {
    /// The satellite's name.
    pub satellite: String,
    /// Where it is.
    pub track: Track,
    /// The pass.
    pub pass: Pass,
    /// AOS to LOS, with the ends of the search where the pass has none.
    pub span: Validity,
    /// When the devices are prepared.
    pub prepare_at: Time,
    /// The plan of the dials.
    pub tuning: Arc<Tuning>,
    /// The plan of the mount; `None` without one.
    pub aim: Option<Arc<Aim>>,
    /// What the operator should know before the pass.
    pub warnings: Vec<String>,
    /// What the satellites file notes of the link: its author's words, and none of Beamhand's.
    pub note: Option<String>,
    /// The trim of an earlier session with which this one begins.
    pub kept: Option<KeptTrim>,
    /// A radio that is in use is waited for and not taken.
    pub when_free: bool,
    /// Another pass that is in progress is given up for it.
    pub instead: bool,
    /// It is only listened to, and anything else comes first. `span` is then the time of the listening.
    pub listening: Option<Listening>,
}

/// What is listened to, and what else may be heard.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Listening {
    /// Where the dial goes.
    pub watch: Watch,
    /// Other satellites that the receiver hears on this dial as well, and when they are up.
    pub others: Vec<(String, Validity)>,
}

/// A trim that was kept for a link.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KeptTrim {
    /// The trim.
    pub trim: Trim,
    /// When it was kept.
    pub on: Time,
}

/// For people: `trim receive +500 Hz, transmit +0 Hz as kept on 21 Nov`.
impl fmt::Display for KeptTrim {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "trim {} as kept on {}", self.trim, self.on.format("%-d %b"))
    }
}

/// What a job is planned from.
#[derive(Clone)]
pub struct Wanted {
    /// The satellite.
    pub satellite: Satellite,
    /// Its link.
    pub link: Link,
    /// The pass.
    pub pass: Pass,
    /// AOS to LOS, with the ends of the search where the pass has none.
    pub span: Validity,
}

impl Job {
    /// Plans a pass. Propagates the orbit a thousand times or so: not for a socket's thread.
    pub fn plan(
        wanted: Wanted,
        track: Track,
        mount: Option<&Mount>,
        prepare_before_s: f64,
        generation: Generation,
    ) -> Self {
        let Wanted { satellite, link, pass, span } = wanted;
        let note = link.note.clone();
        let mut warnings = warnings(&link, &pass, span, &track);
        warnings.extend(elements_too_old(&satellite, &pass, &track, mount));
        let tuning = Tuning::new(track.clone(), link, Trim::default(), span, generation);
        let aim = mount.and_then(|mount| Aim::new(track.clone(), mount.clone(), span, generation));
        Self {
            satellite: satellite.name,
            prepare_at: later(span.from, -prepare_before_s),
            track,
            pass,
            span,
            tuning: Arc::new(tuning),
            aim: aim.map(Arc::new),
            warnings,
            note,
            kept: None,
            when_free: false,
            instead: false,
            listening: None,
        }
    }

    /// Plans to listen; the beam follows where it is given, and stays else.
    pub fn to_listen(
        satellite: String,
        link: Link,
        (pass, track): (Pass, Track),
        listening: Listening,
        aim: Option<Aim>,
        generation: Generation,
    ) -> Self {
        let span = listening.watch.span;
        let tuning = Tuning::to_listen(track.clone(), link, Trim::default(), listening.watch, generation);
        Self {
            satellite,
            track,
            pass,
            span,
            prepare_at: span.from,
            tuning: Arc::new(tuning),
            aim: aim.map(Arc::new),
            warnings: Vec::new(),
            note: None,
            kept: None,
            when_free: true,
            instead: false,
            listening: Some(listening),
        }
    }

    /// Whether it is only listened to.
    pub fn only_listens(&self) -> bool {
        self.listening.is_some()
    }

    /// The satellite and its link, for people.
    pub fn name(&self) -> String {
        format!("{} {}", self.satellite, self.tuning.link().name)
    }

    /// The same job, begun with a trim that was kept.
    pub fn with_kept(&self, kept: KeptTrim) -> Self {
        Self { kept: Some(kept), ..self.with_trim(kept.trim) }
    }

    /// The same job with another trim, as a newer plan.
    pub fn with_trim(&self, trim: Trim) -> Self {
        Self { tuning: Arc::new(self.tuning.with_trim(trim)), ..self.clone() }
    }
}

/// An element set older than this may be off by more than a narrow beam forgives, days (common
/// practice for low orbits).
const ELEMENTS_GOOD_FOR_DAYS: f64 = 7.0;

/// A fixed uplink may arrive so far off, hertz (common practice: FM receivers of satellites are
/// some 15 kHz wide, of which speech takes two thirds).
const FIXED_ARRIVES_WITHIN: f64 = 5_000.0;

/// The range rate is largest at one of the ends of a pass.
fn fixed_too_far(link: &Link, span: Validity, track: &Track) -> Option<String> {
    let uplink = link.uplink.filter(|uplink| uplink.fixed)?;
    let off = |time| {
        let hertz = uplink.hertz.as_f64();
        Some((to_arrive_on(hertz, track.at(time).ok()?.range_rate_km_s) - hertz).abs())
    };
    let most = [span.from, span.until].into_iter().filter_map(off).fold(0.0, f64::max);
    (most > FIXED_ARRIVES_WITHIN).then(|| {
        format!(
            "the uplink is fixed and arrives up to {:.0} kHz off, which an FM receiver may not forgive",
            most / 1e3
        )
    })
}

fn warnings(link: &Link, pass: &Pass, span: Validity, track: &Track) -> Vec<String> {
    let mut all = Vec::new();
    if !link.is_on(pass.highest) {
        all.push(format!("the {} is off at the time of this pass, says the satellites file", link.name));
    }
    if link.sunlight_only && !pass.sunlit_at_highest {
        all.push(format!(
            "the {} works in sunlight only, and the satellite is in shadow when highest",
            link.name
        ));
    }
    if let LinkKind::Linear { .. } = link.kind {
        all.push(
            "the dials are kept at the middle of the passband: one that you turn is set back".to_owned(),
        );
    }
    all.extend(fixed_too_far(link, span, track));
    all
}

/// The degrees by which the beam may miss the satellite where it is highest, if the beam does not
/// forgive them. The clock is left out: it is watched by itself.
pub fn beam_may_miss(track: &Track, pass: &Pass, mount: &Mount) -> Option<f64> {
    let deviation_deg = track.uncertainty(pass.highest, 0.0).ok()?.pointing_deg;
    (!mount.forgives(deviation_deg)).then_some(2.0 * deviation_deg)
}

fn elements_too_old(
    satellite: &Satellite,
    pass: &Pass,
    track: &Track,
    mount: Option<&Mount>,
) -> Option<String> {
    let name = &satellite.name;
    let days = seconds_between(track.epoch(), pass.highest) / 86_400.0;
    if let Some(degrees) = mount.and_then(|mount| beam_may_miss(track, pass, mount)) {
        return Some(format!(
            "the elements of {name}, {days:.0} days old, are too uncertain for the beam, which may miss by \
             {degrees:.0} degrees: renew them"
        ));
    }
    (days > ELEMENTS_GOOD_FOR_DAYS)
        .then(|| format!("the elements of {name} are {days:.0} days old: renew them"))
}
