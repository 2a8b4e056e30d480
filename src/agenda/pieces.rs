//! The pieces of passes that can be chosen: whole ones, and what other passes leave of them.

use crate::terms::{AzEl, Time, Validity, later};

use super::{Candidate, Question, SHORTEST_S};

/// How often an edge is corrected for the way that the satellite goes meanwhile. What then still
/// does not fit is refused when pieces are put side by side.
const CORRECTIONS: usize = 50;
/// After the first time an edge is corrected by this at least, seconds.
const LEAST_CORRECTION_S: f64 = 0.5;

/// A pass or a part of one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Piece {
    /// Which of the candidates it is of.
    pub(super) candidate: usize,
    /// Its candidate's.
    pub(super) rank: usize,
    /// From when to when.
    pub(super) span: Validity,
    /// What it is worth: how much of it is of use, milliseconds.
    pub(super) worth: u64,
    /// Where the mount looks when it begins.
    pub(super) begin: Option<AzEl>,
    /// Where the mount looks when it ends.
    pub(super) end: Option<AzEl>,
}

impl Piece {
    /// The piece of a candidate in a span, if that is worth a change-over.
    pub(super) fn new(candidates: &[Candidate], candidate: usize, span: Validity) -> Option<Self> {
        let whole = candidates.get(candidate)?;
        let useful_s = whole.useful_s(span);
        (useful_s >= SHORTEST_S).then(|| Self {
            candidate,
            rank: whole.rank,
            span,
            worth: (useful_s * 1e3).round() as u64,
            begin: whole.aim(span.from),
            end: whole.aim(span.until),
        })
    }

    /// Whether `next` can come after this one.
    pub(super) fn lets(&self, next: &Piece, question: &Question) -> bool {
        let (end, begin) = ((self.span.until, self.end), (next.span.from, next.begin));
        end.0 < begin.0 && question.turnaround.missing_s(end, begin) <= 0.0
    }
}

/// All pieces, in the order of their ends.
pub(super) fn pieces(question: &Question) -> Vec<Piece> {
    let candidates = question.candidates;
    let windows: Vec<Validity> = candidates.iter().map(Candidate::window).collect();
    let reach_s = longest_turnaround(question);
    let mut order: Vec<usize> = (0..candidates.len()).collect();
    order.sort_by_key(|index| windows[*index].from);
    let longest = windows.iter().map(|window| window.until - window.from).max().unwrap_or_default();
    let mut all = Vec::new();
    for (index, window) in windows.iter().enumerate() {
        let near = Validity { from: later(window.from, -reach_s), until: later(window.until, reach_s) };
        let first = order.partition_point(|other| windows[*other].from < near.from - longest);
        let rivals = order[first..].iter().copied().take_while(|other| windows[*other].from <= near.until);
        let rivals = rivals.filter(|other| {
            *other != index
                && windows[*other].until >= near.from
                && candidates[*other].rank <= candidates[index].rank
        });
        all.extend(pieces_of(question, index, *window, &rivals.collect::<Vec<_>>(), &windows));
    }
    all.sort_by_key(|piece| (piece.span.until, piece.span.from, piece.rank));
    all
}

/// One candidate's pieces: each way to begin with each way to end.
fn pieces_of(
    question: &Question,
    index: usize,
    window: Validity,
    rivals: &[usize],
    windows: &[Validity],
) -> Vec<Piece> {
    let candidates = question.candidates;
    let own = &candidates[index];
    let earliest = match &question.busy {
        Some(busy) => begin_after(question, own, window.from, busy.until, busy.end),
        None => window.from,
    };
    let earliest = earliest.max(question.from).max(window.from);
    let mut begins = vec![earliest];
    let mut ends = vec![window.until];
    for rival in rivals {
        let (rival, other) = (&candidates[*rival], windows[*rival]);
        begins.push(begin_after(question, own, earliest, other.until, rival.aim(other.until)));
        ends.push(end_before(question, own, window.until, other.from, rival.aim(other.from)));
    }
    begins.retain(|begin| *begin >= earliest && *begin < window.until);
    ends.retain(|end| *end <= window.until && *end > earliest);
    for edges in [&mut begins, &mut ends] {
        edges.sort_unstable();
        edges.dedup();
    }
    let spans =
        begins.iter().flat_map(|from| ends.iter().map(|until| Validity { from: *from, until: *until }));
    spans
        .filter(|span| span.from < span.until)
        .filter_map(|span| Piece::new(candidates, index, span))
        .collect()
}

/// By how much an edge is corrected at least, each time. At the first the satellite may stand still,
/// and then what is missing is all there is.
fn corrections() -> impl Iterator<Item = f64> {
    std::iter::once(0.0).chain(std::iter::repeat_n(LEAST_CORRECTION_S, CORRECTIONS))
}

/// The first begin found, not before `earliest`, that can be reached from where something ends.
fn begin_after(question: &Question, own: &Candidate, earliest: Time, end: Time, place: Option<AzEl>) -> Time {
    let mut begin = earliest;
    for least in corrections() {
        let missing = question.turnaround.missing_s((end, place), (begin, own.aim(begin)));
        if missing <= 0.0 {
            break;
        }
        begin = later(begin, missing.max(least));
    }
    begin
}

/// The last end found, not after `latest`, from where the beginning of something can be reached.
fn end_before(question: &Question, own: &Candidate, latest: Time, begin: Time, place: Option<AzEl>) -> Time {
    let mut end = latest;
    for least in corrections() {
        let missing = question.turnaround.missing_s((end, own.aim(end)), (begin, place));
        if missing <= 0.0 {
            break;
        }
        end = later(end, -missing.max(least));
    }
    end
}

/// No two passes are farther apart than this, seconds.
pub(super) fn longest_turnaround(question: &Question) -> f64 {
    let points = question.candidates.iter().filter_map(|candidate| candidate.path.as_ref());
    let points = points.flat_map(|path| path.points().iter());
    let busy = question.busy.as_ref().and_then(|busy| busy.end);
    let mut corners: Option<(AzEl, AzEl)> = None;
    for point in points.chain(&busy) {
        let (low, high) = corners.get_or_insert((*point, *point));
        *low = AzEl::new(low.azimuth.min(point.azimuth), low.elevation.min(point.elevation));
        *high = AzEl::new(high.azimuth.max(point.azimuth), high.elevation.max(point.elevation));
    }
    question.turnaround.seconds(corners.map(|(low, _)| low), corners.map(|(_, high)| high))
}
