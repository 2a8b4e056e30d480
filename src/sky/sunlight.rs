//! When the Sun shines on a satellite, and whether it is dark at the station.

use super::shadow::depths;
use super::vector::{dot, norm};
use super::{SkyError, Track, sun_position_km};
use crate::terms::{Time, Validity, seconds_between, spans_where};

/// The Sun so far below the horizon leaves the sky dark enough to see a sunlit satellite, degrees
/// (the end of civil twilight).
const TWILIGHT_DEG: f64 = -6.0;

/// How far apart the orbit is looked at, seconds: no shadow of the Earth is shorter but by grazing,
/// which the atmosphere blurs anyway. On an orbit far out it lasts hours.
const STEP_S: (f64, f64) = (10.0, 60.0);

/// How exactly an edge is found, seconds.
const PRECISION_S: f64 = 0.01;

/// A stay in the Earth's shadow; what lies outside the time that was asked for is `None`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Eclipse {
    /// The Earth begins to hide the Sun.
    pub dims: Option<Time>,
    /// The Sun is gone; `None` also where it never is.
    pub enters: Option<Time>,
    /// The Sun comes back.
    pub leaves: Option<Time>,
    /// All of the Sun is seen again.
    pub brightens: Option<Time>,
    /// Whether the Sun is gone at any time.
    pub is_total: bool,
}

/// Every stay of the satellite in the Earth's half-shadow or shadow between two instants.
///
/// # Errors
/// A satellite that can't be propagated in between.
pub fn eclipses(track: &Track, from: Time, until: Time) -> Result<Vec<Eclipse>, SkyError> {
    let penumbra = positive(from, until, |time| Ok(depth(track, time)?.0))?;
    let umbra = positive(from, until, |time| Ok(depth(track, time)?.1))?;
    let inside = |time: Time| (time > from && time < until).then_some(time);
    let stays = penumbra.into_iter().map(|half| {
        let total = umbra.iter().find(|full| full.from >= half.from && full.until <= half.until);
        Eclipse {
            dims: inside(half.from),
            enters: total.and_then(|full| inside(full.from)),
            leaves: total.and_then(|full| inside(full.until)),
            brightens: inside(half.until),
            is_total: total.is_some(),
        }
    });
    Ok(stays.collect())
}

/// The parts of a time in which any of the Sun shines on the satellite.
///
/// # Errors
/// A satellite that can't be propagated in between.
pub fn sunlit_windows(track: &Track, from: Time, until: Time) -> Result<Vec<Validity>, SkyError> {
    positive(from, until, |time| Ok(-depth(track, time)?.1))
}

/// Whether the sky over the track's station is dark: the Sun lies more than six degrees below the
/// horizon.
pub fn is_dark(track: &Track, time: Time) -> bool {
    let up = track.zenith(time);
    let sun = sun_position_km(time);
    dot(sun, up) < norm(sun) * TWILIGHT_DEG.to_radians().sin()
}

fn depth(track: &Track, time: Time) -> Result<(f64, f64), SkyError> {
    let (state, _) = track.states(time)?;
    Ok(depths(state.position_km, sun_position_km(time)))
}

/// The spans in which a number is positive.
fn positive(
    from: Time,
    until: Time,
    number: impl Fn(Time) -> Result<f64, SkyError>,
) -> Result<Vec<Validity>, SkyError> {
    let step = (seconds_between(from, until) / 500.0).clamp(STEP_S.0, STEP_S.1);
    spans_where(Validity { from, until }, step, PRECISION_S, |time| Ok(number(time)? > 0.0))
}
