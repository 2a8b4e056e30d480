//! What both dials show through a pass, for each link of a satellite.

use crate::cli::hindrance::{Share, allowed, of_hours, of_uplink, on};
use crate::link::{Link, Satellite, Trim, Tuning};
use crate::sky::{Pass, Track};
use crate::terms::{Channel, Direction, Plan as _, Segments, Time, Validity};

/// A link's dials at three instants of a pass, without the operator's trim.
pub(super) struct LinkDials {
    pub(super) link: String,
    pub(super) aos: Option<Channel>,
    pub(super) tca: Option<Channel>,
    pub(super) los: Option<Channel>,
    /// For how much of the pass it is switched on.
    pub(super) on: Share,
    /// For how much of it the transmitter may follow; `None` without an uplink.
    pub(super) allowed: Option<Share>,
    /// What is in the way, in words.
    hindrances: Vec<&'static str>,
}

/// One for each link of the track's satellite; none for one that is not in the file.
pub(super) fn dials(
    track: &Track,
    pass: &Pass,
    window: (Time, Time),
    satellites: &[Satellite],
    segments: &Segments,
) -> Vec<LinkDials> {
    let is_it = |satellite: &&Satellite| satellite.catalog_number == track.catalog_number();
    let links = satellites.iter().find(is_it).map_or(&[][..], |satellite| &satellite.links);
    links.iter().map(|link| of_link(track, pass, window, link, segments)).collect()
}

fn of_link(track: &Track, pass: &Pass, window: (Time, Time), link: &Link, segments: &Segments) -> LinkDials {
    let whole = Validity { from: pass.aos.unwrap_or(window.0), until: pass.los.unwrap_or(window.1) };
    let tuning = Tuning::new(track.clone(), link.clone(), Trim::default(), whole, 0);
    let at = |time: Time| tuning.at(time);
    let (on, allowed) = (on(link, whole), allowed(track, link, whole, segments));
    let sunlight = link.sunlight_only.then_some("works in sunlight only");
    LinkDials {
        link: link.name.clone(),
        aos: pass.aos.and_then(at),
        tca: at(pass.tca),
        los: pass.los.and_then(at),
        on,
        allowed,
        hindrances: [of_hours(on), of_uplink(allowed, segments), sunlight].into_iter().flatten().collect(),
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
        lines.extend(self.hindrances.iter().map(|words| format!("    {words}")));
        lines
    }

    /// The same as sentences, for where there are no columns.
    pub(super) fn sentences(&self) -> Vec<String> {
        let instants = [("as it rises", self.aos), ("closest", self.tca), ("as it sets", self.los)];
        let of = |direction: Direction, word: &str| {
            let dial =
                |(when, channel): (&'static str, Option<Channel>)| Some((when, channel?.dial(direction)?));
            let dials: Vec<_> = instants.into_iter().filter_map(dial).collect();
            let (_, any) = dials.first()?;
            let tone = any.tone.map_or(String::new(), |tone| format!(", tone {tone}"));
            let each: Vec<String> =
                dials.iter().map(|(when, dial)| format!("{} {when}", dial.hertz)).collect();
            Some(format!("{}: {word} {}; {}{tone}", self.link, each.join(", "), any.mode))
        };
        let both = [of(Direction::Receive, "receive on"), of(Direction::Transmit, "transmit on")];
        let hindrances = self.hindrances.iter().map(|words| format!("{}: {words}", self.link));
        both.into_iter().flatten().chain(hindrances).collect()
    }
}
