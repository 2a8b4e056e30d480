//! The best choice there is, found by trying all of them: for small cases.

use beamhand::agenda::{Candidate, SHORTEST_S};
use beamhand::terms::{Time, Validity, later, seconds_between};

/// Ranks that are told apart.
pub(crate) const RANKS: usize = 3;
/// Seconds between two passes for the radios.
pub(crate) const CHANGE_S: f64 = 15.0;
/// Degrees a second.
pub(crate) const SLEW: f64 = 2.0;

/// A stretch of one pass, as this search counts it.
#[derive(Clone, Copy)]
pub(crate) struct Stretch {
    pub(crate) rank: usize,
    pub(crate) azimuth: f64,
    pub(crate) span: Validity,
}

/// Seconds from one to another: the mount's turn, and the radios.
pub(crate) fn way(from: f64, to: f64) -> f64 {
    (to - from).abs() / SLEW + CHANGE_S
}

pub(crate) fn fits(one: &Stretch, next: &Stretch) -> bool {
    later(one.span.until, way(one.azimuth, next.azimuth)) <= next.span.from
}

pub(crate) fn azimuth(candidate: &Candidate) -> f64 {
    candidate.aim(candidate.pass.highest).unwrap().azimuth
}

pub(crate) fn whole(candidate: &Candidate) -> Stretch {
    let span = Validity { from: candidate.pass.aos.unwrap(), until: candidate.pass.los.unwrap() };
    Stretch { rank: candidate.rank, azimuth: azimuth(candidate), span }
}

/// Every stretch that another pass, at least as important, could leave of one.
pub(crate) fn stretches(all: &[Stretch]) -> Vec<Stretch> {
    let mut found = Vec::new();
    for (index, own) in all.iter().enumerate() {
        let rivals: Vec<&Stretch> = all
            .iter()
            .enumerate()
            .filter(|(other, rival)| *other != index && rival.rank <= own.rank)
            .map(|(_, rival)| rival)
            .collect();
        let begins = rivals.iter().map(|rival| later(rival.span.until, way(rival.azimuth, own.azimuth)));
        let ends = rivals.iter().map(|rival| later(rival.span.from, -way(own.azimuth, rival.azimuth)));
        let begins: Vec<Time> = begins.chain([own.span.from]).collect();
        let ends: Vec<Time> = ends.chain([own.span.until]).collect();
        for from in begins.into_iter().filter(|begin| *begin >= own.span.from) {
            for until in ends.iter().copied().filter(|end| *end <= own.span.until) {
                if seconds_between(from, until) >= SHORTEST_S {
                    found.push(Stretch { span: Validity { from, until }, ..*own });
                }
            }
        }
    }
    found
}

/// The most that can follow after `last`, tried in every order.
pub(crate) fn most_after(last: Option<&Stretch>, all: &[Stretch]) -> [u64; RANKS] {
    let mut best = [0; RANKS];
    for next in all.iter().filter(|next| last.is_none_or(|last| fits(last, next))) {
        let mut total = most_after(Some(next), all);
        total[next.rank] += milliseconds(seconds_between(next.span.from, next.span.until));
        best = best.max(total);
    }
    best
}

pub(crate) fn milliseconds(seconds: f64) -> u64 {
    (seconds * 1e3).round() as u64
}
