//! The newest set of each satellite.

use std::collections::BTreeMap;
use std::collections::btree_map::{Entry, IntoValues};

use serde::{Deserialize, Serialize};

use crate::sky::{ElementSet, Miss};
use crate::terms::{Time, seconds_between};

/// Sets are published for days ahead at most; one for a later time than this would, as the newest,
/// stand in the way of all good ones.
const AHEAD_DAYS: f64 = 30.0;

/// A set, where it came from and when.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Held {
    /// The set.
    pub set: ElementSet,
    /// The source's name, or that of a file.
    pub source: String,
    /// When it was taken in.
    pub came: Time,
    /// How far the sets before it missed, the latest last: eight at most.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub misses: Vec<Miss>,
}

/// How many misses of one satellite are kept: those of some days, and few enough that the file of
/// all satellites stays small.
const REMEMBERED: usize = 8;

/// The newest set of each satellite, by catalog number.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sets(BTreeMap<u32, Held>);

/// What became of the sets that were offered.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// Of satellites that were not there.
    pub new: usize,
    /// In place of older ones.
    pub newer: usize,
    /// No newer than what was there.
    pub known: usize,
    /// Left out, because they are for a time too far ahead.
    pub ahead: usize,
    /// Left out, because they describe no orbit that can be followed.
    pub lost: usize,
}

impl Tally {
    /// Whether anything is other than before.
    pub fn is_change(&self) -> bool {
        self.new + self.newer > 0
    }
}

impl Sets {
    /// All of them, in the order of their catalog numbers.
    pub fn iter(&self) -> impl Iterator<Item = &Held> {
        self.0.values()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Takes in what `source` offers at `now`, as far as it is newer. At the same epoch a source
    /// may correct itself; two sources do not push each other out.
    pub fn take(&mut self, offered: Vec<ElementSet>, source: &str, now: Time) -> Tally {
        let mut tally = Tally::default();
        for set in offered {
            if seconds_between(now, set.epoch) > AHEAD_DAYS * 86_400.0 {
                tally.ahead += 1;
                continue;
            }
            if set.fault_at_epoch().is_some() {
                tally.lost += 1;
                continue;
            }
            let held = Held { set, source: source.to_owned(), came: now, misses: Vec::new() };
            match self.0.entry(held.set.catalog_number) {
                Entry::Vacant(place) => {
                    place.insert(held);
                    tally.new += 1;
                }
                Entry::Occupied(mut place) if replaces(&held, place.get()) => {
                    let misses = misses(place.get(), &held.set);
                    place.insert(Held { misses, ..held });
                    tally.newer += 1;
                }
                Entry::Occupied(_) => tally.known += 1,
            }
        }
        tally
    }
}

/// One that describes no orbit, from a shelf that was filled before that was looked at, stands in no
/// good one's way.
fn replaces(new: &Held, old: &Held) -> bool {
    let corrects = new.set.epoch == old.set.epoch && new.source == old.source && new.set != old.set;
    new.set.epoch > old.set.epoch || corrects || old.set.fault_at_epoch().is_some()
}

/// What is remembered when `new` takes the place of `old`. A correction of the same epoch misses
/// nothing; nor does a set that says nothing of the new one's epoch.
fn misses(old: &Held, new: &ElementSet) -> Vec<Miss> {
    let mut misses = old.misses.clone();
    if new.epoch > old.set.epoch {
        misses.extend(Miss::between(&old.set, new));
    }
    misses.drain(..misses.len().saturating_sub(REMEMBERED));
    misses
}

impl IntoIterator for Sets {
    type Item = Held;
    type IntoIter = IntoValues<u32, Held>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.into_values()
    }
}

impl FromIterator<Held> for Sets {
    fn from_iter<I: IntoIterator<Item = Held>>(held: I) -> Self {
        Self(held.into_iter().map(|held| (held.set.catalog_number, held)).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sky::read_elements;
    use crate::terms::{later, parse_time};

    const DEMO: &str = include_str!("../../config/demo/elements.txt");

    fn demo() -> Vec<ElementSet> {
        read_elements(DEMO).sets
    }

    fn now() -> Time {
        parse_time("2026-11-25T12:00:00Z").unwrap()
    }

    fn moved(days: f64) -> Vec<ElementSet> {
        let moved = |set: ElementSet| ElementSet { epoch: later(set.epoch, days * 86_400.0), ..set };
        demo().into_iter().map(moved).collect()
    }

    #[test]
    fn the_newest_of_each_satellite_is_kept_in_whatever_order_they_come() {
        let mut sets = Sets::default();
        assert_eq!(sets.take(demo(), "a", now()), Tally { new: 5, ..Tally::default() });
        assert_eq!(sets.take(moved(-1.0), "b", now()), Tally { known: 5, ..Tally::default() });
        assert_eq!(sets.take(moved(1.0), "b", now()), Tally { newer: 5, ..Tally::default() });
        assert!(sets.iter().all(|held| held.source == "b"));
        let epochs: Vec<Time> = sets.iter().map(|held| held.set.epoch).collect();
        let mut wanted = moved(1.0);
        wanted.sort_by_key(|set| set.catalog_number);
        assert_eq!(epochs, wanted.iter().map(|set| set.epoch).collect::<Vec<_>>());
    }

    #[test]
    fn a_source_corrects_itself_and_no_other_one() {
        let mut sets = Sets::default();
        sets.take(demo(), "a", now());
        assert!(!sets.take(demo(), "a", now()).is_change());
        let corrected: Vec<ElementSet> =
            demo().into_iter().map(|set| ElementSet { drag_term: 2e-5, ..set }).collect();
        assert_eq!(sets.take(corrected.clone(), "b", now()).known, 5);
        assert_eq!(sets.take(corrected, "a", now()).newer, 5);
    }

    #[test]
    fn how_far_each_set_missed_is_remembered_and_the_oldest_forgotten() {
        let mut sets = Sets::default();
        let ages = |sets: &Sets| -> Vec<Vec<f64>> {
            sets.iter().map(|held| held.misses.iter().map(|miss| miss.age_days).collect()).collect()
        };
        sets.take(demo(), "a", now());
        assert!(ages(&sets).iter().all(Vec::is_empty));
        sets.take(moved(0.5), "b", now());
        sets.take(moved(-3.0), "b", now());
        let corrected: Vec<ElementSet> =
            moved(0.5).into_iter().map(|set| ElementSet { drag_term: 2e-5, ..set }).collect();
        sets.take(corrected, "b", now());
        sets.take(moved(1.5), "a", now());
        assert!(ages(&sets).iter().all(|ages| ages == &[0.5, 1.0]), "{:?}", ages(&sets));
        (2..=10).for_each(|day| assert_eq!(sets.take(moved(f64::from(day)), "a", now()).newer, 5));
        assert!(ages(&sets).iter().all(|ages| ages.len() == 8 && !ages.contains(&0.5)), "{:?}", ages(&sets));
    }

    /// From memory of the theory: a perigee inside the Earth is no orbit; at 20 revolutions a day the
    /// satellite would be some 5,700 km from the Earth's centre, below the surface.
    #[test]
    fn a_set_that_describes_no_orbit_takes_no_good_ones_place_and_keeps_none_out() {
        let sunk = |days: f64| -> Vec<ElementSet> {
            moved(days).into_iter().map(|set| ElementSet { mean_motion_rev_day: 20.0, ..set }).collect()
        };
        let mut sets = Sets::default();
        sets.take(demo(), "a", now());
        let before = sets.clone();
        assert_eq!(sets.take(sunk(1.0), "a", now()), Tally { lost: 5, ..Tally::default() });
        assert_eq!(sets, before);
        let held = |set: ElementSet| Held { set, source: "a".into(), came: now(), misses: Vec::new() };
        let mut old: Sets = sunk(1.0).into_iter().map(held).collect();
        assert_eq!(old.take(demo(), "b", now()), Tally { newer: 5, ..Tally::default() });
        assert!(old.iter().all(|held| held.set.mean_motion_rev_day < 20.0));
    }

    #[test]
    fn a_set_for_a_far_later_time_stands_in_nobodys_way() {
        let mut sets = Sets::default();
        assert_eq!(sets.take(moved(400.0), "a", now()).ahead, 5);
        assert!(sets.is_empty());
        assert_eq!(sets.take(moved(20.0), "a", now()).new, 5);
    }
}
