//! What both dials show through a pass, for each link of a satellite.

use crate::link::{Link, Satellite, Trim, Tuning};
use crate::sky::{Pass, Track};
use crate::terms::{Channel, Direction, Plan as _, Time, Validity};

/// A link's dials at three instants of a pass, without the operator's trim.
pub(super) struct LinkDials {
    pub(super) link: String,
    pub(super) aos: Option<Channel>,
    pub(super) tca: Option<Channel>,
    pub(super) los: Option<Channel>,
}

/// One for each link of the track's satellite; none for one that is not in the file.
pub(super) fn dials(track: &Track, pass: &Pass, satellites: &[Satellite]) -> Vec<LinkDials> {
    let is_it = |satellite: &&Satellite| satellite.catalog_number == track.catalog_number();
    let links = satellites.iter().find(is_it).map_or(&[][..], |satellite| &satellite.links);
    links.iter().map(|link| of_link(track, pass, link)).collect()
}

fn of_link(track: &Track, pass: &Pass, link: &Link) -> LinkDials {
    let whole = Validity { from: pass.aos.unwrap_or(pass.tca), until: pass.los.unwrap_or(pass.tca) };
    let tuning = Tuning::new(track.clone(), link.clone(), Trim::default(), whole, 0);
    let at = |time: Time| tuning.at(time);
    LinkDials {
        link: link.name.clone(),
        aos: pass.aos.and_then(at),
        tca: at(pass.tca),
        los: pass.los.and_then(at),
    }
}

impl LinkDials {
    /// A heading with the link's name, and a line for each direction.
    pub(super) fn lines(&self) -> Vec<String> {
        let name: String = self.link.chars().take(12).collect();
        let mut lines = vec![format!("  {name:<12} {:<16}{:<16}{}", "rises", "closest", "sets")];
        let instants = [self.aos, self.tca, self.los];
        for (word, direction) in [("receive", Direction::Receive), ("transmit", Direction::Transmit)] {
            let dials = instants.map(|channel| channel.and_then(|channel| channel.dial(direction)));
            let Some(any) = dials.iter().flatten().next() else { continue };
            let shown = dials.map(|dial| dial.map_or("-".to_owned(), |dial| dial.hertz.to_string()));
            let tone = any.tone.map_or(String::new(), |tone| format!(", tone {tone}"));
            let [rises, closest, sets] = shown;
            lines.push(format!("    {word:<10} {rises:<16}{closest:<16}{sets:<16}{}{tone}", any.mode));
        }
        lines
    }
}
