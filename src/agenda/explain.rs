//! Why a pass is worked or left out, in words that can be checked by hand.

use std::fmt::Write as _;

use crate::terms::{Time, Validity, later};

use super::hours::length_s;
use super::pieces::{Piece, longest_turnaround};
use super::{Busy, Candidate, Entry, Question, SHORTEST_S, prepare_at};

/// An entry for each piece that was chosen, and for each pass of which nothing was.
pub(super) fn explain(question: &Question, chosen: &[Piece]) -> Vec<Entry> {
    let reach_s = longest_turnaround(question);
    // For each piece, who loses a pass or a part of one to it.
    let mut losers: Vec<Vec<&str>> = vec![Vec::new(); chosen.len()];
    let mut entries = Vec::new();
    for (index, candidate) in question.candidates.iter().enumerate() {
        let window = candidate.window();
        let (first, near) = near(chosen, window, reach_s);
        let own = |piece: &Piece| piece.candidate == index;
        if !near.iter().any(|piece| own(piece) && piece.span == window) {
            for (piece, losers) in near.iter().zip(&mut losers[first..]) {
                if takes_from(question, piece, candidate) && !losers.contains(&candidate.satellite.as_str()) {
                    losers.push(&candidate.satellite);
                }
            }
        }
        if !near.iter().any(own) {
            let why = left_out(question, near, candidate);
            entries.push(entry(candidate, window, candidate.useful_s(window), None, why));
        }
    }
    for (number, losers) in losers.iter().enumerate() {
        entries.push(worked(question, chosen, number, losers));
    }
    entries
}

/// The pieces that something in `window` could touch, and the number of the first.
fn near(chosen: &[Piece], window: Validity, reach_s: f64) -> (usize, &[Piece]) {
    let (from, until) = (later(window.from, -reach_s), later(window.until, reach_s));
    let first = chosen.partition_point(|piece| piece.span.until < from);
    let end = chosen.partition_point(|piece| piece.span.from <= until);
    (first, chosen.get(first..end).unwrap_or_default())
}

/// Whether a piece of another satellite is worked while this one is up.
fn takes_from(question: &Question, piece: &Piece, candidate: &Candidate) -> bool {
    let window = candidate.window();
    let overlaps = window.from < piece.span.until && piece.span.from < window.until;
    overlaps && question.candidates[piece.candidate].satellite != candidate.satellite
}

fn entry(
    candidate: &Candidate,
    span: Validity,
    useful_s: f64,
    prepare_at: Option<Time>,
    why: String,
) -> Entry {
    let (satellite, link, window) = (candidate.satellite.clone(), candidate.link.clone(), candidate.window());
    let (listens, pass) = (candidate.listens, candidate.pass);
    Entry { satellite, link, listens, pass, window, span, useful_s, prepare_at, why }
}

/// A piece that is worked, and why; what cut it.
fn worked(question: &Question, chosen: &[Piece], number: usize, losers: &[&str]) -> Entry {
    let piece = &chosen[number];
    let own = &question.candidates[piece.candidate];
    let window = own.window();
    let before = number.checked_sub(1).map(|before| &chosen[before]);
    let name = |other: &Piece| question.candidates[other.candidate].satellite.clone();
    let mut why = match losers {
        [] => "nothing in its way".to_owned(),
        names => format!("before {}", names.join(", ")),
    };
    if let Some(next) = chosen.get(number + 1).filter(|_| piece.span.until < window.until) {
        // Writing to a String can't fail.
        let _ = write!(why, "; ends early for {}", name(next));
    }
    let after = before.map(name).or(question.busy.as_ref().map(|busy| busy.what.clone()));
    if let Some(after) = after.filter(|_| piece.span.from > window.from) {
        let _ = write!(why, "; begins late after {after}");
    }
    let before = match (before, &question.busy) {
        (Some(before), _) => Some((before.span.until, before.end)),
        (None, Some(busy)) => Some((busy.until, busy.end)),
        (None, None) => None,
    };
    let prepare_at = prepare_at(question, piece.span.from, piece.begin, before);
    entry(own, piece.span, piece.worth as f64 / 1e3, Some(prepare_at), why)
}

/// What stands in a pass' way.
fn left_out(question: &Question, near: &[Piece], candidate: &Candidate) -> String {
    let window = candidate.window();
    if let Some(busy) = &question.busy
        && is_blocked_by(busy, question, candidate)
    {
        return busy.what.clone();
    }
    if window.until <= later(question.from, SHORTEST_S) {
        return "it is nearly over".to_owned();
    }
    // Were only less important ones in the way, it would be worked.
    let in_the_way = |piece: &&Piece| {
        let (from, until) = (window.from, window.until);
        let turnaround = &question.turnaround;
        let after = turnaround.missing_s((piece.span.until, piece.end), (from, candidate.aim(from)));
        let before = turnaround.missing_s((until, candidate.aim(until)), (piece.span.from, piece.begin));
        piece.rank <= candidate.rank && after > 0.0 && before > 0.0
    };
    let in_the_way = near.iter().filter(in_the_way);
    let reasons: Vec<String> = in_the_way.map(|piece| reason(question, piece, candidate)).collect();
    if reasons.is_empty() { "too little is left of it".to_owned() } else { reasons.join("; ") }
}

fn is_blocked_by(busy: &Busy, question: &Question, candidate: &Candidate) -> bool {
    let window = candidate.window();
    let turning = question.turnaround.seconds(busy.end, candidate.aim(window.until));
    later(busy.until, turning + SHORTEST_S) > window.until
}

/// Why one piece goes before a candidate.
fn reason(question: &Question, piece: &Piece, candidate: &Candidate) -> String {
    let other = &question.candidates[piece.candidate];
    let (name, window) = (&other.satellite, candidate.window());
    let overlaps = window.from < piece.span.until && piece.span.from < window.until;
    let way = if overlaps { "" } else { ", and the mount needs the time between them" };
    if other.satellite == candidate.satellite {
        return format!("its {} is worked{way}", other.link);
    }
    if other.rank < candidate.rank {
        return format!("{name} comes first{way}");
    }
    let (theirs, own) = (length_s(piece.span) / 60.0, candidate.useful_s(window) / 60.0);
    format!("{name} is as important, {theirs:.1} to {own:.1} minutes{way}")
}
