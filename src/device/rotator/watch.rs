//! Whether a read-out fits what the mount was told: one that jumps, stays or goes the wrong way is
//! a reason to stop it. Times are seconds of plan time.

use serde::{Deserialize, Serialize};

use crate::terms::AzEl;

use super::axes::{NAMES, axes};
use super::{RotatorSetup, shown};

/// How long a mount may take to start: a brake has to let go.
const STARTS_WITHIN_S: f64 = 0.8;
/// A stall is not named sooner than this.
const STALLS_AFTER_S: f64 = 1.5;
/// Less than this is no progress: read-outs are restless.
const PROGRESS: f64 = 0.75;
/// How long a mount may take to turn round.
const TURNS_ROUND_WITHIN_S: f64 = 1.5;
/// A mount that went so far from where it should go does not only overshoot.
const AWAY: f64 = 3.0;
/// A change against the aim below this is unrest.
const UNREST: f64 = 0.2;
/// A stopped mount may run on for so long.
const COASTS_S: f64 = 3.0;
/// A mount may turn so many times as fast as it is said to: nobody may have measured it.
const FASTER: f64 = 3.0;
/// A reading may be off by so much and prove nothing.
const SLACK: f64 = 3.0;
/// No line takes longer for question and answer: what is older has waited here, because the
/// computer hung.
const ON_ITS_WAY_S: f64 = 1.0;

/// What a reading proves of the mount.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Seen {
    /// It fits.
    Well,
    /// It fits, and the mount got on.
    GetsOn,
    /// It is where it was sent.
    There,
    /// It is the first one, or farther from the last one than the mount can turn: ask again before it
    /// is believed.
    Doubtful,
    /// And so was the next one.
    Jumped(String),
    /// It was told to turn, and an axis stays.
    Stays(String),
    /// It goes away from where it was sent.
    Away(String),
    /// It was told nothing, and moved.
    Unasked(String),
}

/// What is known of one axis' way.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
struct Way {
    /// Since when it should get on, and from where.
    due: Option<(f64, f64)>,
    /// Since when it should go the way that it is to go, and which way.
    turned: Option<(f64, bool)>,
    /// How far it went the other way since it last went the right one.
    away: f64,
}

/// Watches one mount's readings.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub(super) struct Watch {
    /// The last reading, and when it was asked for: it is no older than that.
    last: Option<(f64, AzEl)>,
    /// When the question was asked that is not answered yet.
    asked: Option<f64>,
    /// A reading that came first, and is not believed yet.
    first: Option<(f64, AzEl)>,
    doubted: bool,
    aim: Option<AzEl>,
    ways: [Way; 2],
    /// Where it came to rest, once it must have.
    rested: Option<AzEl>,
    /// Until then it may run on.
    coasts_until: f64,
}

impl Watch {
    /// It was sent to `aim`.
    pub(super) fn sent(&mut self, aim: AzEl, setup: &RotatorSetup, t: f64) {
        self.aim = Some(aim);
        self.rested = None;
        self.coasts_until = t + COASTS_S;
        let Some((_, at)) = self.last else { return };
        for ((way, aim), at) in self.ways.iter_mut().zip(axes(aim)).zip(axes(at)) {
            let is_due = (aim - at).abs() > allowed(setup);
            way.due = if is_due { way.due.or(Some((t, at))) } else { None };
            let up = aim > at;
            if is_due && way.turned.is_none_or(|(_, before)| before != up) {
                way.turned = Some((t, up));
                way.away = 0.0;
            }
        }
    }

    /// It was told to stop, or it is not known what it was told.
    pub(super) fn over(&mut self, t: f64) {
        self.aim = None;
        self.ways = Default::default();
        self.rested = None;
        self.coasts_until = t + COASTS_S;
    }

    /// It was asked where it is.
    pub(super) fn asked(&mut self, t: f64) {
        self.asked = Some(t);
    }

    /// What a reading proves.
    pub(super) fn judge(&mut self, position: AzEl, setup: &RotatorSetup, t: f64) -> Seen {
        let asked = self.asked.take().unwrap_or(t);
        let Some((then, last)) = self.last else { return self.begin(position, setup, asked, t) };
        let leap = leap(setup, last, position, t - then);
        if leap && !self.doubted {
            self.doubted = true;
            return Seen::Doubtful;
        }
        let jumped = std::mem::take(&mut self.doubted) && leap;
        self.last = Some((asked, position));
        if jumped {
            return Seen::Jumped(format!(
                "its read-out jumped from {} to {}, farther than it can turn in {:.1} s, so it was stopped: \
                 check its read-out and the cable",
                shown(last),
                shown(position),
                t - then
            ));
        }
        let t = t.min(asked + ON_ITS_WAY_S);
        self.against(last, position, setup, t).unwrap_or(Seen::Well)
    }

    /// The first reading is believed when a second one bears it out: a half answer may be a number.
    fn begin(&mut self, position: AzEl, setup: &RotatorSetup, asked: f64, t: f64) -> Seen {
        let bears_out = |(then, first): (f64, AzEl)| !leap(setup, first, position, t - then);
        if self.first.replace((asked, position)).is_some_and(bears_out) {
            self.last = self.first.take();
            return Seen::Well;
        }
        Seen::Doubtful
    }

    fn against(&mut self, last: AzEl, position: AzEl, setup: &RotatorSetup, t: f64) -> Option<Seen> {
        let Some(aim) = self.aim else { return self.unasked(position, t) };
        let (mut stays, mut gets_on) = (None, false);
        for (axis, name) in NAMES.into_iter().enumerate() {
            let [aim, last, at] = [aim, last, position].map(|place| axes(place)[axis]);
            let way = &mut self.ways[axis];
            if let Some(by) = way.strays(aim, last, at, t) {
                let how = format!("its {name} went {by:.1} degrees away from where it was sent, {aim:.1}");
                return Some(Seen::Away(how));
            }
            match way.gets_on(aim, at, setup, t) {
                Progress::Made => gets_on = true,
                Progress::None(seconds) if seconds >= patience(axis, setup) => {
                    stays = stays.or(Some((axis, seconds)));
                }
                Progress::None(_) | Progress::NotDue => {}
            }
        }
        if let Some((axis, seconds)) = stays {
            return Some(Seen::Stays(self.how_it_stays(axis, position, aim, seconds)));
        }
        if self.ways.iter().all(|way| way.due.is_none()) {
            return Some(Seen::There);
        }
        gets_on.then_some(Seen::GetsOn)
    }

    fn how_it_stays(&self, axis: usize, at: AzEl, aim: AzEl, seconds: f64) -> String {
        let both = self.ways.iter().all(|way| way.due.is_some());
        let at = if both { shown(at) } else { format!("{} {:.1}", NAMES[axis], axes(at)[axis]) };
        format!(
            "it stays at {at} for {seconds:.1} s, though it was sent to {}, so it was stopped: check its \
             motor supply, its brake, its own limits and its read-out",
            shown(aim)
        )
    }

    fn unasked(&mut self, position: AzEl, t: f64) -> Option<Seen> {
        if t < self.coasts_until {
            return None;
        }
        let rested = *self.rested.get_or_insert(position);
        let by = axes(rested).into_iter().zip(axes(position)).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        if by <= AWAY {
            return None;
        }
        self.rested = Some(position);
        Some(Seen::Unasked(format!("it moved to {} without a command from here", shown(position))))
    }

    /// Whether it has a way to go.
    pub(super) fn is_under_way(&self) -> bool {
        self.ways.iter().any(|way| way.due.is_some())
    }
}

/// Whether an axis gets on.
enum Progress {
    /// It is where it was sent.
    NotDue,
    /// It got on.
    Made,
    /// It has not for so long, seconds.
    None(f64),
}

impl Way {
    /// How far the axis has gone away from its aim, if that is more than an overshoot.
    fn strays(&mut self, aim: f64, last: f64, at: f64, t: f64) -> Option<f64> {
        let grows = (aim - at).abs() - (aim - last).abs();
        if grows > UNREST {
            self.away += grows;
        } else if grows < -UNREST {
            self.away = 0.0;
        }
        let since = self.turned.map_or(f64::NEG_INFINITY, |(since, _)| since);
        (self.away > AWAY && t - since > TURNS_ROUND_WITHIN_S).then_some(self.away)
    }

    fn gets_on(&mut self, aim: f64, at: f64, setup: &RotatorSetup, t: f64) -> Progress {
        if (aim - at).abs() <= allowed(setup) {
            self.due = None;
            return Progress::NotDue;
        }
        let (since, from) = *self.due.get_or_insert((t, at));
        let enough = PROGRESS.max(0.6 * setup.resolution);
        if (at - from).abs() > enough {
            self.due = Some((t, at));
            let right_way = (at - from) * (aim - from) > 0.0;
            return if right_way { Progress::Made } else { Progress::None(0.0) };
        }
        Progress::None(t - since)
    }
}

/// How long an axis may show no progress. A slow motor needs long for a degree, and a read-out of
/// whole degrees shows no less.
fn patience(axis: usize, setup: &RotatorSetup) -> f64 {
    let visible = setup.resolution.max(1.0) * 1.25;
    STALLS_AFTER_S.max(STARTS_WITHIN_S + visible / axes(setup.slew)[axis].max(0.1))
}

/// How far a mount may stand from where it was sent: controllers have a dead band of their own.
fn allowed(setup: &RotatorSetup) -> f64 {
    let resolution = setup.resolution;
    setup.dead_band.max(2.0 * resolution).max(1.0 + resolution)
}

fn leap(setup: &RotatorSetup, from: AzEl, to: AzEl, seconds: f64) -> bool {
    let slack = SLACK + 2.0 * setup.resolution;
    let moved = axes(from).into_iter().zip(axes(to)).map(|(from, to)| (to - from).abs());
    moved.zip(axes(setup.slew)).any(|(moved, slew)| moved > FASTER * slew * seconds.max(0.0) + slack)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::rotator::setup::tests::setup;

    fn place(azimuth: f64) -> AzEl {
        AzEl::new(azimuth, 10.0)
    }

    /// A mount that was read at 100 and then sent to `aim` at 0 s.
    fn sent_to(aim: f64) -> Watch {
        let mut watch = Watch::default();
        assert_eq!(watch.judge(place(100.0), &setup(), -2.0), Seen::Doubtful);
        assert_eq!(watch.judge(place(100.0), &setup(), -1.0), Seen::Well);
        watch.sent(place(aim), &setup(), 0.0);
        watch
    }

    #[test]
    fn a_mount_that_does_not_start_is_named_within_two_seconds_and_one_that_starts_is_not() {
        let mut watch = sent_to(200.0);
        assert_eq!(watch.judge(place(100.0), &setup(), 1.4), Seen::Well);
        let Seen::Stays(how) = watch.judge(place(100.3), &setup(), 1.6) else { panic!() };
        assert!(
            how.starts_with("it stays at azimuth 100.3 for 1.6 s, though it was sent to azimuth 200.0"),
            "{how}"
        );
        let mut watch = sent_to(200.0);
        for half in 1..40 {
            let t = f64::from(half) / 2.0;
            let seen = watch.judge(place(100.0 + 5.0 * (t - 0.5)), &setup(), t);
            assert!(matches!(seen, Seen::Well | Seen::GetsOn), "{seen:?} at {t}");
        }
        assert!(matches!(watch.judge(place(195.0), &setup(), 21.5), Seen::Stays(_)), "it stalls on the way");
    }

    #[test]
    fn a_restless_read_out_does_not_hide_a_stall() {
        let mut watch = sent_to(200.0);
        let seen: Vec<Seen> = (1..8)
            .map(|half| {
                let unrest = if half % 2 == 0 { 0.3 } else { -0.3 };
                watch.judge(place(100.0 + unrest), &setup(), f64::from(half) / 2.0)
            })
            .collect();
        assert!(seen.iter().any(|seen| matches!(seen, Seen::Stays(_))), "{seen:?}");
    }

    #[test]
    fn a_first_reading_is_believed_when_a_second_one_bears_it_out() {
        let mut watch = Watch::default();
        for (t, azimuth, seen) in
            [(0.0, 27.0, Seen::Doubtful), (0.1, 273.4, Seen::Doubtful), (0.2, 273.4, Seen::Well)]
        {
            assert_eq!(watch.judge(place(azimuth), &setup(), t), seen);
        }
    }

    #[test]
    fn a_leap_is_asked_again_and_believed_when_it_is_confirmed() {
        let mut watch = sent_to(200.0);
        assert_eq!(watch.judge(place(280.0), &setup(), 0.5), Seen::Doubtful);
        assert_eq!(watch.judge(place(102.0), &setup(), 0.6), Seen::GetsOn, "one wrong digit");
        assert_eq!(watch.judge(place(280.0), &setup(), 1.1), Seen::Doubtful);
        assert!(matches!(watch.judge(place(281.0), &setup(), 1.2), Seen::Jumped(_)));
    }

    #[test]
    fn a_mount_that_goes_away_from_its_aim_is_named_and_one_that_turns_round_is_not() {
        let mut watch = sent_to(200.0);
        let seen: Vec<Seen> = (1..5)
            .map(|half| watch.judge(place(100.0 - 2.5 * f64::from(half)), &setup(), f64::from(half) / 2.0))
            .collect();
        assert!(matches!(seen[3], Seen::Away(_)), "{seen:?}");
        let mut watch = sent_to(200.0);
        (1..20).for_each(|half| {
            watch.judge(place(100.0 + 2.5 * f64::from(half)), &setup(), f64::from(half) / 2.0);
        });
        watch.sent(place(50.0), &setup(), 9.6);
        for (t, azimuth) in [(10.0, 149.0), (10.5, 150.5), (11.0, 149.5), (11.5, 147.0), (12.0, 144.5)] {
            let seen = watch.judge(place(azimuth), &setup(), t);
            assert!(matches!(seen, Seen::Well | Seen::GetsOn), "{seen:?} at {t}");
        }
    }

    #[test]
    fn a_resting_mount_that_is_turned_is_named_and_one_that_runs_on_is_not() {
        let mut watch = sent_to(200.0);
        watch.over(1.0);
        assert_eq!(watch.judge(place(108.0), &setup(), 2.0), Seen::Well);
        assert_eq!(watch.judge(place(109.0), &setup(), 5.0), Seen::Well);
        assert_eq!(watch.judge(place(111.0), &setup(), 6.0), Seen::Well);
        assert!(matches!(watch.judge(place(115.0), &setup(), 7.0), Seen::Unasked(_)));
    }
}
