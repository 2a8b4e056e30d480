//! One pass of one link, planned.

use std::sync::Arc;

use crate::beam::{Aim, Mount};
use crate::link::{Link, Satellite, Trim, Tuning};
use crate::sky::{Pass, Track};
use crate::terms::{Generation, Time, Validity, later};

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
        }
    }

    /// The same job with another trim, as a newer plan.
    pub fn with_trim(&self, trim: Trim) -> Self {
        Self { tuning: Arc::new(self.tuning.with_trim(trim)), ..self.clone() }
    }
}
