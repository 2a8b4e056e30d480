//! The choice is the best there is: on small cases, against all that could be chosen.

use beamhand::agenda::{Candidate, Entry};
use beamhand::terms::seconds_between;
use proptest::prelude::*;

use crate::made::{agenda, pass};
use crate::oracle::{RANKS, Stretch, azimuth, fits, milliseconds, most_after, stretches, way, whole};

fn chosen(candidates: &[Candidate]) -> Vec<(usize, Entry)> {
    let index = |entry: &Entry| candidates.iter().position(|own| own.satellite == entry.satellite).unwrap();
    agenda(candidates).chosen().map(|entry| (index(entry), entry.clone())).collect()
}

prop_compose! {
    /// Passes of two and a half to fifteen minutes within an hour, in tenths of a second.
    fn some_passes()(
        drawn in prop::collection::vec((0_u32..36_000, 1500_u32..9000, 0..RANKS, 0_u32..450), 1..6)
    ) -> Vec<Candidate> {
        let minutes = |tenths: u32| f64::from(tenths) / 600.0;
        let made = drawn.iter().enumerate().map(|(number, (from, length, rank, azimuth))| {
            let name = format!("SKUA-{number}");
            pass(&name, *rank, minutes(*from), minutes(from + length), f64::from(*azimuth))
        });
        made.collect()
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn no_other_choice_is_worth_more(candidates in some_passes()) {
        let all: Vec<Stretch> = candidates.iter().map(whole).collect();
        let mut got = [0; RANKS];
        for (index, entry) in chosen(&candidates) {
            got[candidates[index].rank] += milliseconds(entry.useful_s);
        }
        prop_assert_eq!(got, most_after(None, &stretches(&all)));
    }

    #[test]
    fn the_mount_gets_from_each_to_the_next_in_time(candidates in some_passes()) {
        let chosen = chosen(&candidates);
        for pair in chosen.windows(2) {
            let [(one, before), (other, after)] = pair else { continue };
            let needed = way(azimuth(&candidates[*one]), azimuth(&candidates[*other]));
            let left = seconds_between(before.span.until, after.span.from);
            prop_assert!(left >= needed - 1e-6, "{left} s, and {needed} are needed");
            prop_assert!(after.prepare_at.unwrap() >= before.span.until);
        }
    }

    #[test]
    fn only_for_one_at_least_as_important_a_pass_is_cut_or_left_out(candidates in some_passes()) {
        let chosen = chosen(&candidates);
        for (index, candidate) in candidates.iter().enumerate() {
            let whole = whole(candidate);
            let is_whole =
                chosen.iter().any(|(own, entry)| *own == index && entry.span == whole.span);
            let others = chosen.iter().filter(|(own, _)| *own != index && candidates[*own].rank <= whole.rank);
            let in_the_way = others.clone().any(|(own, entry)| {
                let other = Stretch { rank: 0, azimuth: azimuth(&candidates[*own]), span: entry.span };
                !fits(&other, &whole) && !fits(&whole, &other)
            });
            prop_assert!(is_whole || in_the_way, "{}", candidate.satellite);
        }
    }

    #[test]
    fn every_pass_is_there_with_a_reason(candidates in some_passes()) {
        let agenda = agenda(&candidates);
        for candidate in &candidates {
            let own: Vec<&Entry> =
                agenda.entries.iter().filter(|entry| entry.satellite == candidate.satellite).collect();
            prop_assert!(!own.is_empty() && own.iter().all(|entry| !entry.why.is_empty()));
            prop_assert!(own.iter().all(|entry| entry.is_chosen()) || own.len() == 1);
            prop_assert!(own.iter().all(|entry| entry.why != "too little is left of it"), "{own:?}");
        }
    }
}
