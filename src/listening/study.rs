//! All that was heard, link by link.

use std::collections::BTreeMap;

use super::digest::{BLOCK_S, Digest};
use super::evidence::{Pass, judge};
use super::noise::Noise;
use super::spell::Spell;
use super::verdict::{Verdict, verdict};
use crate::terms::Hertz;

/// Spells on their way to findings. One after the other goes in; their digests are kept, fifty times
/// smaller.
#[derive(Debug, Default)]
pub struct Study {
    links: BTreeMap<(String, String), (Hertz, Vec<Digest>)>,
}

/// What was found of one link.
#[derive(Debug, Clone, PartialEq)]
pub struct Findings {
    /// The satellite.
    pub satellite: String,
    /// Its link.
    pub link: String,
    /// The downlink at the satellite, as it was last.
    pub downlink: Hertz,
    /// Its passes, in order of time.
    pub passes: Vec<Pass>,
    /// Time for which noise was listened to, seconds.
    pub noise_s: f64,
    /// What follows from them.
    pub verdict: Verdict,
}

impl Study {
    /// Takes in a spell.
    pub fn add(&mut self, spell: &Spell) {
        let link = (spell.satellite.clone(), spell.link.clone());
        let (downlink, digests) = self.links.entry(link).or_insert_with(|| (spell.downlink, Vec::new()));
        *downlink = spell.downlink;
        for mut digest in Digest::of(spell) {
            match digests.last_mut() {
                Some(last) if last.goes_on_in(&digest) => last.blocks.append(&mut digest.blocks),
                _ => digests.push(digest),
            }
        }
    }

    /// Whether nothing was taken in.
    pub fn is_empty(&self) -> bool {
        self.links.is_empty()
    }

    /// What follows, in order of the names.
    pub fn findings(&self) -> Vec<Findings> {
        self.links
            .iter()
            .map(|((satellite, link), (downlink, digests))| {
                let passes = passes(digests);
                Findings {
                    satellite: satellite.clone(),
                    link: link.clone(),
                    downlink: *downlink,
                    noise_s: noise_s(digests),
                    verdict: verdict(&passes),
                    passes,
                }
            })
            .collect()
    }
}

fn passes(digests: &[Digest]) -> Vec<Pass> {
    let mut antennas: BTreeMap<&str, Vec<&Digest>> = BTreeMap::new();
    for digest in digests {
        antennas.entry(&digest.antenna).or_default().push(digest);
    }
    let mut passes = Vec::new();
    for digests in antennas.values() {
        let noise = Noise::of(digests);
        passes.extend(digests.iter().filter_map(|digest| judge(digest, &noise)));
    }
    passes.sort_by_key(|pass| pass.span.from);
    passes
}

fn noise_s(digests: &[Digest]) -> f64 {
    let blocks = digests.iter().flat_map(|digest| &digest.blocks);
    blocks.filter(|block| block.part != super::digest::Part::Up).count() as f64 * BLOCK_S
}
