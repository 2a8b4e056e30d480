//! When something holds that can only be asked of single instants.

use super::{Time, Validity, later, seconds_between};

/// The spans within a time in which something holds that never changes twice within `step_s`
/// seconds; where it changes, to `precision_s`. The first error ends the search.
///
/// # Errors
/// That of the question.
pub fn spans_where<E>(
    within: Validity,
    step_s: f64,
    precision_s: f64,
    holds: impl Fn(Time) -> Result<bool, E>,
) -> Result<Vec<Validity>, E> {
    let mut found = Vec::new();
    let (mut at, mut held) = (within.from, holds(within.from)?);
    let mut since = within.from;
    while at < within.until {
        let next = later(at, step_s).min(within.until);
        if holds(next)? != held {
            let (mut before, mut change) = (at, next);
            while seconds_between(before, change) > precision_s {
                let middle = later(before, seconds_between(before, change) / 2.0);
                if holds(middle)? == held { before = middle } else { change = middle }
            }
            if held {
                found.push(Validity { from: since, until: change });
            }
            (since, held) = (change, !held);
        }
        at = next;
    }
    if held && since < within.until {
        found.push(Validity { from: since, until: within.until });
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(seconds: f64) -> Time {
        later(Time::default(), seconds)
    }

    #[test]
    fn every_change_is_found_to_the_precision_and_the_ends_are_the_times_own() {
        let within = Validity { from: at(0.0), until: at(95.0) };
        let holds = |time: Time| Ok::<_, ()>(time < at(12.3) || (at(40.7)..at(51.1)).contains(&time));
        let found = spans_where(within, 10.0, 0.01, holds).unwrap();
        let edges: Vec<f64> = found
            .iter()
            .flat_map(|span| [span.from, span.until])
            .map(|edge| seconds_between(at(0.0), edge))
            .collect();
        assert_eq!(edges.len(), 4);
        for (edge, wanted) in edges.iter().zip([0.0, 12.3, 40.7, 51.1]) {
            assert!((edge - wanted).abs() <= 0.01, "{edges:?}");
        }
        assert_eq!(spans_where(within, 10.0, 0.01, |_| Ok::<_, ()>(true)).unwrap(), [within]);
        assert_eq!(spans_where(within, 10.0, 0.01, |_| Err::<bool, _>("gone")), Err("gone"));
    }
}
