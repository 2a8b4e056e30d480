//! How long a device takes to answer, and how patient Beamhand has to be with it.

use std::time::Duration;

/// Answers take longer while the operator uses the radio, so twice the longest that was measured
/// must fit into the time-out (our choice).
const ROOM: u32 = 2;
/// A proposal leaves this much (our choice), in steps that people write.
const PROPOSED_ROOM: u32 = 3;
const STEP_MS: u32 = 50;
/// The most that the configuration takes.
const LONGEST_MS: u32 = 5000;

/// Measured times between a question's last byte and its answer, without the answer's own bytes.
#[derive(Debug, Clone, Default)]
pub(super) struct AnswerTimes(Vec<Duration>);

impl AnswerTimes {
    pub(super) fn add(&mut self, waited: Duration) {
        self.0.push(waited);
        self.0.sort_unstable();
    }

    pub(super) fn count(&self) -> usize {
        self.0.len()
    }

    /// The shortest, the middle and the longest, milliseconds.
    pub(super) fn spread_ms(&self) -> Option<[f64; 3]> {
        let ms = |time: &Duration| (time.as_secs_f64() * 10_000.0).round() / 10.0;
        Some([self.0.first()?, self.0.get(self.0.len() / 2)?, self.0.last()?].map(ms))
    }

    /// `after 18 to 25 ms, half of them within 21 ms`.
    pub(super) fn describe(&self) -> String {
        self.spread_ms().map_or(String::new(), |[least, middle, most]| {
            format!("after {least:.0} to {most:.0} ms, half of them within {middle:.0} ms")
        })
    }

    /// What `answer_ms` should be, if `patience` is too tight for what was measured.
    pub(super) fn proposal_ms(&self, patience: Duration) -> Option<u32> {
        let longest = *self.0.last()?;
        let generous = u32::try_from((longest * PROPOSED_ROOM).as_millis()).unwrap_or(LONGEST_MS);
        let rounded = (generous / STEP_MS + 1) * STEP_MS;
        (longest * ROOM > patience).then(|| rounded.min(LONGEST_MS))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn times(ms: &[u64]) -> AnswerTimes {
        let mut times = AnswerTimes::default();
        ms.iter().for_each(|ms| times.add(Duration::from_millis(*ms)));
        times
    }

    #[test]
    fn the_spread_is_shortest_middle_and_longest() {
        assert_eq!(times(&[]).spread_ms(), None);
        assert_eq!(times(&[30]).spread_ms(), Some([30.0, 30.0, 30.0]));
        assert_eq!(times(&[25, 18, 21]).spread_ms(), Some([18.0, 21.0, 25.0]));
        assert_eq!(times(&[25, 18, 21]).describe(), "after 18 to 25 ms, half of them within 21 ms");
    }

    #[test]
    fn a_tight_time_out_comes_with_a_proposal() {
        let patience = Duration::from_millis(200);
        assert_eq!(times(&[20, 100]).proposal_ms(patience), None, "twice the longest fits");
        assert_eq!(times(&[20, 101]).proposal_ms(patience), Some(350), "303, in steps of 50");
        assert_eq!(times(&[4000]).proposal_ms(patience), Some(5000), "the configuration takes no more");
        assert_eq!(times(&[]).proposal_ms(patience), None);
    }
}
