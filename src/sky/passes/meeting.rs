//! When two stations have a satellite at the same time.

use super::{Pass, passes_until_lost};
use crate::sky::{SkyError, Track};
use crate::terms::Time;

/// A time in which a satellite is up for two stations.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Meeting {
    /// When the later of the two gets it; `None` if both had it when the search began.
    pub begins: Option<Time>,
    /// When the first of the two loses it; `None` if both still had it when the search ended.
    pub ends: Option<Time>,
}

/// Every time between `from` and `hours` later in which both tracks, of one satellite, are above
/// their own minimum elevations in degrees and their stations' horizons, and why the satellite could
/// not be followed further, as [`passes_until_lost`] has it.
pub fn meetings(
    (here, there): (&Track, &Track),
    from: Time,
    hours: f64,
    (minimum_here, minimum_there): (f64, f64),
) -> (Vec<Meeting>, Option<SkyError>) {
    let (ours, lost) = passes_until_lost(here, from, hours, minimum_here);
    if ours.is_empty() {
        return (Vec::new(), lost);
    }
    let (theirs, lost_there) = passes_until_lost(there, from, hours, minimum_there);
    (overlaps(&ours, &theirs), lost.or(lost_there))
}

/// Both lists are in order and do not overlap in themselves.
fn overlaps(ours: &[Pass], theirs: &[Pass]) -> Vec<Meeting> {
    let (mut ours, mut theirs) = (ours.iter().peekable(), theirs.iter().peekable());
    let mut found = Vec::new();
    while let (Some(our), Some(their)) = (ours.peek(), theirs.peek()) {
        // No rise is earlier than any, no setting later than any.
        let begins = our.aos.max(their.aos);
        let ends = [our.los, their.los].into_iter().flatten().min();
        if begins.zip(ends).is_none_or(|(begins, ends)| begins < ends) {
            found.push(Meeting { begins, ends });
        }
        let ours_ends_first = our.los.is_some_and(|los| their.los.is_none_or(|their| los <= their));
        if ours_ends_first {
            ours.next()
        } else {
            theirs.next()
        };
    }
    found
}
