//! The choice: weighted interval scheduling, with a way between every two intervals, by dynamic
//! programming. Exact, because whether a piece fits depends only on the one just before it.

use crate::terms::later;

use super::Question;
use super::pieces::{Piece, longest_turnaround};

/// What a choice is worth: milliseconds of use for each rank, the most important first. Compared
/// as a word in a dictionary: a rank counts only where all before it are equal.
type Worth = Vec<u64>;

/// The best chain of pieces that ends with a certain one.
struct Chain {
    worth: Worth,
    before: Option<usize>,
}

/// The best choice of `pieces`, which are in the order of their ends; in the order of time.
pub(super) fn choose(question: &Question, pieces: &[Piece]) -> Vec<Piece> {
    let ranks = pieces.iter().map(|piece| piece.rank + 1).max().unwrap_or_default();
    let reach_s = longest_turnaround(question);
    let mut chains: Vec<Chain> = Vec::with_capacity(pieces.len());
    // The best chain among the first so many.
    let mut best: Vec<usize> = Vec::with_capacity(pieces.len());
    for piece in pieces {
        let is_far = |other: &Piece| later(other.span.until, reach_s) <= piece.span.from;
        let far = pieces.partition_point(is_far);
        let near = pieces[far..].iter().take_while(|other| other.span.until < piece.span.from).count();
        let fitting = (far..far + near).filter(|other| pieces[*other].lets(piece, question));
        let before = far.checked_sub(1).map(|last| best[last]).into_iter().chain(fitting);
        // Of equal ones the first: what ends earlier.
        let before =
            before.reduce(|one, other| if chains[other].worth > chains[one].worth { other } else { one });
        let mut worth = before.map_or_else(|| vec![0; ranks], |before| chains[before].worth.clone());
        worth[piece.rank] += piece.worth;
        let new = chains.len();
        let so_far = best.last().copied().filter(|best| chains[*best].worth >= worth);
        best.push(so_far.unwrap_or(new));
        chains.push(Chain { worth, before });
    }
    let mut chosen = Vec::new();
    let mut at = best.last().copied();
    while let Some(index) = at {
        chosen.push(pieces[index].clone());
        at = chains[index].before;
    }
    chosen.reverse();
    chosen
}
