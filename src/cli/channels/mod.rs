//! `beamhand channels`: memory channels for a radio that no computer tunes.

mod picture;
mod table;
mod wire;

use clap::Args;

use crate::card::{Card, Change, Memory, Serves, changes};
use crate::session::Job;
use crate::terms::{Hertz, Mode, Tone};

use super::Failure;
use super::handheld::{Asked, CardError, link};
use super::text::{say, show};

/// The fewest memory channels for a handheld, and when to change them in a pass
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  beamhand channels GANNET-1 --demo
  beamhand channels GANNET-1 repeater --at \"2026-11-25 18:30\"
  beamhand channels GANNET-1 --step 6.25kHz --receive-within 3.5kHz
  beamhand channels GANNET-1 --apart            one radio receives, another transmits
  beamhand channels GANNET-1 --csv > memories.csv
  beamhand channels GANNET-1 --svg > card.svg

The memories are good for any pass of this orbit above your least elevation. What a receiver may be \
off depends on its filter: half a step for FM is usual. Transmit frequencies lie in `segments` of \
[transmit]; without any, the card is for receiving. The licence is yours: compare every frequency \
with it before you store it, and look at the display before you press the key. A satellite's own \
oscillator may be off, and no trim is in these figures.")]
pub(super) struct Channels {
    #[command(flatten)]
    asked: Asked,
    /// A card for a radio that receives, and one for another that transmits
    #[arg(long)]
    apart: bool,
    /// The memories as a table with commas, with a heading
    #[arg(long, conflicts_with_all = ["svg", "json"])]
    csv: bool,
    /// A page to print, as a picture
    #[arg(long, conflicts_with = "json")]
    svg: bool,
    /// JSON, one object per card, a line each
    #[arg(long)]
    json: bool,
}

/// A card, the pass, and when it changes there.
struct Page<'a> {
    job: &'a Job,
    asked: &'a Asked,
    serves: Serves,
    card: Card,
    changes: Vec<Change>,
}

/// One line of a card: a memory, or one with the arming tone.
struct Row<'a> {
    name: String,
    memory: &'a Memory,
    tone: Option<Tone>,
    /// The memories with which it is used, where it arms.
    arms: Option<String>,
}

impl Channels {
    pub(super) fn run(self) -> Result<(), Failure> {
        let ground = self.asked.open()?;
        let job = self.asked.job(&ground)?;
        let both = [Serves::Receive, Serves::Transmit];
        let wanted: &[Serves] = if self.apart { &both } else { &[Serves::Both] };
        let mut pages = Vec::new();
        for serves in wanted {
            let name = format!("{} {}", job.satellite, link(&job).name);
            let card = self.asked.card(&ground, &job, *serves).map_err(|error| match error {
                CardError::Elements(error) => Failure::Failed(error),
                CardError::None(why) => Failure::Failed(format!("{name}: {why}")),
            })?;
            let changes =
                changes(&card, &job.track, job.span).map_err(|error| Failure::Failed(error.to_string()))?;
            pages.push(Page { job: &job, asked: &self.asked, serves: *serves, card, changes });
        }
        if self.json {
            return pages.iter().try_for_each(|page| say(wire::json(page)));
        }
        if self.csv {
            return show(wire::csv(&pages)?);
        }
        if self.svg {
            return show(picture::svg(&pages));
        }
        pages.iter().try_for_each(table::show)
    }
}

impl Page<'_> {
    fn title(&self) -> String {
        let serves = match self.serves {
            Serves::Both => "memory channels",
            Serves::Receive => "memory channels of the receiving radio",
            Serves::Transmit => "memory channels of the transmitting radio",
        };
        format!("{} {}: {serves}", self.job.satellite, link(self.job).name)
    }

    /// The arming memories first, because they are used first.
    fn rows(&self) -> Vec<Row<'_>> {
        let Card { memories, arming, tone, arming_tone, .. } = &self.card;
        let mut rows = Vec::new();
        for (at, arms) in arming.iter().enumerate() {
            let name = if arming.len() == 1 { "A".to_owned() } else { format!("A{}", at + 1) };
            let (first, last) = (arms.with.0 + 1, arms.with.1 + 1);
            let with = if first == last { format!("{first}") } else { format!("{first} to {last}") };
            rows.extend(memories.get(arms.with.0).map(|memory| Row {
                name,
                memory,
                tone: *arming_tone,
                arms: Some(with),
            }));
        }
        rows.extend(memories.iter().enumerate().map(|(at, memory)| Row {
            name: (at + 1).to_string(),
            memory,
            tone: *tone,
            arms: None,
        }));
        rows
    }

    /// What one sentence says of all that the card is good for.
    fn promise(&self) -> String {
        let within = |hertz: Hertz| format!("{} kHz", hertz.as_f64() / 1000.0);
        let receive = (self.serves != Serves::Transmit)
            .then(|| format!("the receiver is off by at most {}", within(self.asked.receive_within)));
        let transmits = self.card.memories.iter().any(|memory| memory.transmit.is_some());
        let fixed = link(self.job).uplink.is_some_and(|uplink| uplink.fixed);
        let transmit = transmits.then(|| match fixed {
            true => "the transmitter stays where it is".to_owned(),
            false => format!("the transmitter is off by at most {}", within(self.asked.transmit_within)),
        });
        let both: Vec<String> = receive.into_iter().chain(transmit).collect();
        format!("In any pass here, with the right memory, {}.", both.join(" and "))
    }

    /// What the user has to know beside the figures.
    fn remarks(&self) -> Vec<String> {
        let link = link(self.job);
        let narrow = link.mode.is_narrow() && self.serves != Serves::Transmit;
        let narrow = narrow
            .then(|| format!("The downlink is {}: a radio for FM alone makes nothing of it.", link.mode));
        let silent = self.card.silent.as_ref().map(|why| sentence(&why.to_string()));
        let transmits = self.card.memories.iter().any(|memory| memory.transmit.is_some());
        let caution = transmits.then(|| {
            "CAUTION: the licence is yours. Compare every transmit frequency with it, and with your radio's \
             display before you press the key."
                .to_owned()
        });
        narrow.into_iter().chain(silent).chain(caution).collect()
    }

    fn modes(&self) -> (Mode, Option<Mode>) {
        let link = link(self.job);
        (link.mode, link.uplink.map(|uplink| uplink.mode))
    }
}

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

/// Megahertz as a handheld shows them: as many decimals as it takes, three at least.
fn megahertz(hertz: Hertz) -> String {
    let all = format!("{:.6}", hertz.as_f64() / 1e6);
    let mut shown = all.trim_end_matches('0').to_owned();
    while shown.len() < all.len() - 3 {
        shown.push('0');
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn megahertz_have_the_decimals_that_it_takes() {
        let shown = [435_500_000, 435_512_500, 145_927_000, 145_000_001].map(|hz| megahertz(Hertz(hz)));
        assert_eq!(shown, ["435.500", "435.5125", "145.927", "145.000001"]);
    }
}
