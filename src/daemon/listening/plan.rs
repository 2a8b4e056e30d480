//! What is listened to, and when: passes that nothing more important claims, and now and then nothing.

use crate::agenda::{Agenda, Candidate, Entry};
use crate::daemon::Planner;
use crate::daemon::agenda::{CHANGE_S, LOOK_BACK_H, LOOK_ON_H};
use crate::link::{Link, Satellite, Watch};
use crate::session::{Job, Listening};
use crate::sky::{Pass, Track, passes_until_lost};
use crate::terms::{Generation, Time, Validity, later, seconds_between};

/// Of a longer pass so much is listened to, about its highest point, seconds: no low satellite is up for
/// longer, and one that never sets would take all of the time.
const LONGEST_S: f64 = 1800.0;
/// A radio is read and prepared in so much time, seconds.
const LEAD_S: f64 = 10.0;
/// A spell for the noise alone, seconds; and how often there is one, where there is time.
const NOISE_S: f64 = 240.0;
/// See `NOISE_S`.
pub(in crate::daemon) const NOISE_EVERY_S: f64 = 1800.0;
/// Before and after a spell for the noise the satellite is down for so long, seconds.
const WELL_DOWN_S: f64 = 60.0;
/// Satellites with several links take turns by passes; a low one comes round in about so many seconds.
const ROUND_S: i64 = 5700;
const DAY_S: i64 = 86_400;

/// What could be listened to.
#[derive(Default)]
pub(in crate::daemon) struct Listened {
    pub(in crate::daemon) candidates: Vec<Candidate>,
    pub(in crate::daemon) complaints: Vec<String>,
    links: Vec<Known>,
}

/// A link, and all passes of its satellite.
struct Known {
    satellite: String,
    link: String,
    passes: Vec<(Pass, Validity)>,
}

impl Planner {
    /// The passes of the listening list, less important than anything of the agenda. `quiet`: when a beam
    /// may not follow.
    pub(in crate::daemon) fn listened_to(&self, within: Validity, quiet: &[Validity]) -> Listened {
        let mut all = Listened::default();
        let mut done: Vec<u32> = Vec::new();
        for listed in &self.listening.satellites {
            let found = self.found(&listed.satellite, listed.link.as_deref());
            let Ok((satellite, _)) = found.inspect_err(|why| all.complaints.push(why.clone())) else {
                continue;
            };
            if done.contains(&satellite.catalog_number) {
                continue;
            }
            done.push(satellite.catalog_number);
            if let Err(why) = self.listen_to(satellite, within, quiet, &mut all) {
                all.complaints.push(why);
            }
        }
        all
    }

    /// The links of a satellite that are to be listened to. What is worked anyway is not.
    fn links_to_hear<'a>(&self, satellite: &'a Satellite) -> Vec<&'a Link> {
        let listed = |list: &[crate::config::Listed]| -> Vec<String> {
            let of = list.iter().filter_map(|listed| {
                let (own, link) = self.found(&listed.satellite, listed.link.as_deref()).ok()?;
                (own.catalog_number == satellite.catalog_number).then(|| link.name.clone())
            });
            of.collect()
        };
        let (heard, worked) = (listed(&self.listening.satellites), listed(&self.agenda.satellites));
        let wanted = |link: &&Link| heard.contains(&link.name) && !worked.contains(&link.name);
        satellite.links.iter().filter(wanted).collect()
    }

    fn listen_to(
        &self,
        satellite: &Satellite,
        within: Validity,
        quiet: &[Validity],
        all: &mut Listened,
    ) -> Result<(), String> {
        let links = self.links_to_hear(satellite);
        if links.is_empty() {
            return Ok(());
        }
        let track = self.plain_track(satellite)?;
        let from = later(within.from, -LOOK_BACK_H * 3600.0);
        let until = later(within.until, LOOK_ON_H * 3600.0);
        let hours = seconds_between(from, until) / 3600.0;
        let (passes, lost) = passes_until_lost(&track, from, hours, 0.0);
        all.complaints.extend(lost.map(|error| error.to_string()));
        let up = |pass: &Pass| Validity { from: pass.aos.unwrap_or(from), until: pass.los.unwrap_or(until) };
        let passes: Vec<(Pass, Validity)> = passes.into_iter().map(|pass| (pass, up(&pass))).collect();
        for (pass, up) in &passes {
            let window = self.window(pass, *up);
            let is_low = pass.max_elevation_deg < self.listening.minimum_elevation;
            let is_outside = window.until <= within.from || window.from >= within.until;
            let is_quiet = quiet.iter().any(|quiet| quiet.from < window.until && window.from < quiet.until);
            if is_low || is_outside || (self.listening.beam && is_quiet) {
                continue;
            }
            let turn = pass.highest.timestamp().div_euclid(ROUND_S).rem_euclid(links.len() as i64);
            let Some(link) = links.get(turn as usize) else { continue };
            all.candidates.push(self.heard_candidate(satellite, link, (*pass, *up), window, &track));
        }
        all.links.extend(links.iter().map(|link| Known {
            satellite: satellite.name.clone(),
            link: link.name.clone(),
            passes: passes.clone(),
        }));
        Ok(())
    }

    /// The pass with what lies before and after it; of a long one, its middle.
    fn window(&self, pass: &Pass, up: Validity) -> Validity {
        let margin = self.listening.margin_s;
        let whole = Validity { from: later(up.from, -margin), until: later(up.until, margin) };
        if seconds_between(whole.from, whole.until) <= LONGEST_S + 2.0 * margin {
            return whole;
        }
        let middle = pass.highest.clamp(up.from, up.until);
        Validity {
            from: later(middle, -LONGEST_S / 2.0).max(whole.from),
            until: later(middle, LONGEST_S / 2.0).min(whole.until),
        }
    }

    fn heard_candidate(
        &self,
        satellite: &Satellite,
        link: &Link,
        (pass, up): (Pass, Validity),
        window: Validity,
        track: &Track,
    ) -> Candidate {
        let last = self.agenda.satellites.iter().map(|listed| listed.rank + 1).max();
        let rank = last.unwrap_or_default();
        let useful = vec![window];
        if self.listening.beam && self.mount.is_some() {
            let beam = self.candidate(satellite, link, rank, pass, vec![up], track);
            return Candidate { useful, listens: true, ..beam };
        }
        let (satellite, link) = (satellite.name.clone(), link.name.clone());
        Candidate { satellite, link, listens: true, rank, pass, useful, path: None }
    }

    /// A radio alone needs no minutes to be prepared for listening.
    pub(in crate::daemon) fn prepare_late(&self, agenda: &mut Agenda) {
        let late = agenda.entries.iter_mut().filter(|entry| entry.listens && !self.listening.beam);
        for entry in late {
            let at_last = later(entry.span.from, -LEAD_S);
            entry.prepare_at = entry.prepare_at.map(|at| at.max(at_last));
        }
    }

    /// The plan to listen to what was chosen.
    ///
    /// # Errors
    /// In words for the operator.
    pub(in crate::daemon) fn job_to_listen(&self, entry: &Entry, plan: Generation) -> Result<Job, String> {
        let (satellite, link) = self.found(&entry.satellite, Some(&entry.link))?;
        let track = self.plain_track(satellite)?;
        let whole = Validity {
            from: entry.pass.aos.unwrap_or(entry.window.from),
            until: entry.pass.los.unwrap_or(entry.window.until),
        };
        let is_up = whole.from < entry.span.until && entry.span.from < whole.until;
        let range_rate = |time: Time| {
            let look = track.topocentric(time).map_err(|error| error.to_string())?;
            Ok::<f64, String>(look.range_rate_km_s)
        };
        let watch = Watch {
            span: entry.span,
            up: is_up.then_some(whole),
            rising_km_s: range_rate(whole.from)?,
            setting_km_s: range_rate(whole.until)?,
        };
        let others = self.others(satellite, link, &track, watch);
        let beam = is_up && self.listening.beam;
        let reach =
            Validity { from: whole.from.max(entry.span.from), until: whole.until.min(entry.span.until) };
        let aim = beam.then(|| self.aim(&track, reach, plan)).flatten();
        let listening = Listening { watch, others };
        let job =
            Job::to_listen(satellite.name.clone(), link.clone(), (entry.pass, track), listening, aim, plan);
        Ok(Job { prepare_at: entry.prepare_at.unwrap_or(job.prepare_at), ..job })
    }
}

impl Listened {
    /// Adds the next spell for the noise alone, where nothing else is chosen.
    pub(in crate::daemon) fn add_noise(&self, agenda: &mut Agenda, within: Validity) {
        let mut begin = later(within.from, LEAD_S);
        for entry in agenda.chosen() {
            let taken = entry.prepare_at.unwrap_or(entry.span.from);
            if later(begin, NOISE_S + CHANGE_S) <= taken {
                break;
            }
            begin = begin.max(later(entry.span.until, CHANGE_S));
        }
        let span = Validity { from: begin, until: later(begin, NOISE_S) };
        if span.until > within.until {
            return;
        }
        // By days too, so that no link has always the same hour.
        let turn = begin.timestamp().div_euclid(NOISE_EVERY_S as i64) + begin.timestamp().div_euclid(DAY_S);
        let count = self.links.len().max(1);
        let first = turn.rem_euclid(count as i64) as usize;
        let in_turn = (0..count).filter_map(|step| self.links.get((first + step) % count));
        let Some(entry) = in_turn.filter_map(|known| known.noise(span)).next() else { return };
        agenda.entries.push(entry);
        agenda.entries.sort_by_key(|entry| (entry.span.from, entry.span.until));
    }
}

impl Known {
    /// To listen for the noise then, if the satellite is well down.
    fn noise(&self, span: Validity) -> Option<Entry> {
        let (from, until) = (later(span.from, -WELL_DOWN_S), later(span.until, WELL_DOWN_S));
        let is_up = self.passes.iter().any(|(_, up)| up.from < until && from < up.until);
        // It is followed along the shifts of its next pass, or of the one before.
        let next = self.passes.iter().find(|(_, up)| up.from > until).or(self.passes.last());
        let (pass, _) = next.filter(|_| !is_up)?;
        Some(Entry {
            satellite: self.satellite.clone(),
            link: self.link.clone(),
            listens: true,
            pass: *pass,
            window: span,
            span,
            useful_s: seconds_between(span.from, span.until),
            prepare_at: Some(later(span.from, -LEAD_S)),
            why: "for the noise here: it is not up".to_owned(),
        })
    }
}
