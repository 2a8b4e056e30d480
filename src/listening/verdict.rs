//! What follows from all passes of a link: is it active or quiet, and how sure is that.

use super::evidence::{FALSE_ALARMS, Finding, Pass};
use super::exact::{at_least, more_in_first, share_interval};
use crate::terms::Time;

/// A verdict is wrong at most so often, either way.
pub const ERROR: f64 = 0.01;

/// The chance that a pass of a quiet link counts as heard, as the verdict takes it: three times
/// [`FALSE_ALARMS`], because noise that lasts for an evening can spoil several passes at once.
const QUIET: f64 = 3.0 * FALSE_ALARMS;

/// An active link is heard in at least this share of its good passes.
const ACTIVE: f64 = 0.5;

/// A pass is good enough to say that a link is quiet if it gets so high, degrees: lower down, hills and
/// distance silence many satellites (common practice, no source).
pub const GOOD_DEG: f32 = 15.0;

/// What a link is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// It is heard far more often than noise would make it.
    Active,
    /// It is heard far less often than an active one would be.
    Quiet,
    /// Neither is settled.
    Undecided,
}

impl State {
    /// For people and programs.
    pub fn name(self) -> &'static str {
        match self {
            State::Active => "active",
            State::Quiet => "quiet",
            State::Undecided => "undecided",
        }
    }
}

/// How the Sun matters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sunlight {
    /// Heard, of judged passes, in sunlight.
    pub sunlit: (u32, u32),
    /// The same in the Earth's shadow.
    pub eclipsed: (u32, u32),
    /// How likely chance alone makes so large a difference, either way (Fisher's exact test, doubled).
    pub p: f64,
}

impl Sunlight {
    /// `Some(true)` where it is heard in sunlight more often, `Some(false)` in the shadow, at an error of
    /// 1 %.
    pub fn matters(&self) -> Option<bool> {
        let share = |(heard, of): (u32, u32)| f64::from(heard) / f64::from(of.max(1));
        (self.p <= ERROR).then(|| share(self.sunlit) > share(self.eclipsed))
    }
}

/// What is said of a link.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// What it is, by the newest passes that settled it.
    pub state: State,
    /// How sure that is, 0.5 to 1: 0.99 or more for what is settled; for what is not, how likely the
    /// likelier state is if both were equally likely before.
    pub confidence: f64,
    /// Good passes in which it was heard, and all good passes that were judged.
    pub heard: (u32, u32),
    /// Between which limits the share of heard passes lies, at 95 %.
    pub share: (f64, f64),
    /// How many more good passes settle it: if all of them are heard, and if none is. Zero where it is
    /// settled.
    pub more: (u32, u32),
    /// How the Sun matters; `None` unless passes of both kinds were judged.
    pub sunlight: Option<Sunlight>,
    /// When it was heard first and last; `None` where the passes that count as heard may well be noise.
    pub times: Option<(Time, Time)>,
}

/// The verdict on passes in order of time.
///
/// Each good pass is heard or not; a quiet link is heard with a chance of 3 % at most, an active one with
/// 50 % or more. Wald's sequential probability ratio test goes through them and settles at an error of 1 %
/// for both. Then it begins anew, so that a link that falls silent is noticed: the state is the one that
/// was settled last. Source: Wald, Annals of Mathematical Statistics 16 (1945). Where the Sun matters, only
/// passes of the kind in which it is heard count.
pub(super) fn verdict(passes: &[Pass]) -> Verdict {
    let good: Vec<&Pass> =
        passes.iter().filter(|pass| pass.is_judged() && pass.highest_deg >= GOOD_DEG).collect();
    let sunlight = sunlight(&good);
    let wanted = sunlight.and_then(|sunlight| sunlight.matters());
    let counted = || good.iter().filter(move |pass| wanted.is_none() || pass.is_sunlit == wanted);
    let steps = counted().map(|pass| pass.finding == Finding::Heard);
    let (state, ratio) = sequential(steps);
    let heard = counted().filter(|pass| pass.is_heard()).count() as u32;
    let judged = counted().count() as u32;
    let (up, down, limit) = (gain(true), -gain(false), limit());
    let more = match state {
        State::Undecided => {
            (((limit - ratio) / up).ceil().max(1.0) as u32, ((limit + ratio) / down).ceil().max(1.0) as u32)
        }
        _ => (0, 0),
    };
    let even = 1.0 / (1.0 + (-ratio.abs()).exp());
    Verdict {
        state,
        confidence: if state == State::Undecided { even } else { 1.0 - ERROR },
        heard: (heard, judged),
        share: share_interval(heard, judged, 0.95),
        more,
        sunlight,
        times: times(passes),
    }
}

fn gain(heard: bool) -> f64 {
    if heard { (ACTIVE / QUIET).ln() } else { ((1.0 - ACTIVE) / (1.0 - QUIET)).ln() }
}

fn limit() -> f64 {
    ((1.0 - ERROR) / ERROR).ln()
}

/// The state that was settled last, and the log likelihood ratio since: positive leans to active.
fn sequential(steps: impl Iterator<Item = bool>) -> (State, f64) {
    let (mut state, mut ratio) = (State::Undecided, 0.0);
    for heard in steps {
        ratio += gain(heard);
        if ratio.abs() >= limit() {
            state = if ratio > 0.0 { State::Active } else { State::Quiet };
            ratio = 0.0;
        }
    }
    (state, ratio)
}

fn sunlight(passes: &[&Pass]) -> Option<Sunlight> {
    let count = |is_sunlit: bool| {
        let of = passes.iter().filter(|pass| pass.is_sunlit == Some(is_sunlit));
        (of.clone().filter(|pass| pass.is_heard()).count() as u32, of.count() as u32)
    };
    let (sunlit, eclipsed) = (count(true), count(false));
    let one_sided = more_in_first(sunlit, eclipsed).min(more_in_first(eclipsed, sunlit));
    (sunlit.1 > 0 && eclipsed.1 > 0).then(|| Sunlight { sunlit, eclipsed, p: (2.0 * one_sided).min(1.0) })
}

/// First and last time, if so many passes are hardly all false alarms.
fn times(passes: &[Pass]) -> Option<(Time, Time)> {
    let judged = passes.iter().filter(|pass| pass.is_judged());
    let heard: Vec<&Pass> = judged.clone().filter(|pass| pass.is_heard()).collect();
    if at_least(heard.len() as u32, judged.count() as u32, FALSE_ALARMS) > ERROR {
        return None;
    }
    let spans = || heard.iter().filter_map(|pass| pass.heard());
    Some((spans().map(|span| span.0).min()?, spans().map(|span| span.1).max()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: ln(0.5 / 0.03) = 2.813, ln(0.5 / 0.97) = -0.663, ln 99 = 4.595: two heard settle it, or
    /// seven that are not.
    #[test]
    fn two_heard_passes_or_seven_silent_ones_settle_it() {
        let steps = |text: &str| sequential(text.chars().map(|letter| letter == 'h')).0;
        assert_eq!(steps("h"), State::Undecided);
        assert_eq!(steps("hh"), State::Active);
        assert_eq!(steps("h-h"), State::Active);
        assert_eq!(steps("------"), State::Undecided);
        assert_eq!(steps("-------"), State::Quiet);
        assert_eq!(steps("hh-------"), State::Quiet);
        assert_eq!(steps("hh------"), State::Active);
    }

    #[test]
    fn no_pass_settles_nothing_and_says_how_many_will() {
        let verdict = verdict(&[]);
        assert_eq!((verdict.state, verdict.more, verdict.confidence), (State::Undecided, (2, 7), 0.5));
        assert_eq!((verdict.heard, verdict.share, verdict.times), ((0, 0), (0.0, 1.0), None));
    }
}
