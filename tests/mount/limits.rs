//! Whatever plan, read-out and operator do, no command leads beyond the limits or by a no-go
//! sector. The judge's geometry is its own: directions of single places, along ways walked in small
//! steps.

use std::sync::Arc;

use beamhand::beam::{Lean, Mount, Run, Sample, Start, plan, quieten};
use beamhand::device::line::LineInput;
use beamhand::device::*;
use beamhand::sim::mount::MountSettings;
use beamhand::sim::{Fault, Violation};
use beamhand::terms::*;

use crate::bench::*;
use crate::chance::Chance;

/// So many mounts are played, for some 230 moments each.
const MOUNTS: u64 = 4_600;

fn from_environment(name: &str, default: u64) -> u64 {
    std::env::var(name).map_or(default, |text| text.parse().unwrap())
}

/// A pass in a straight line overhead, right or wrong for the mount: in any wrap, flipped, with gaps.
struct Pass {
    begins: f64,
    pace: f64,
    aside: f64,
    heading: f64,
    wrap: f64,
    flipped: bool,
    gap: Option<f64>,
}

impl Plan<AzEl> for Pass {
    fn at(&self, time: Time) -> Option<AzEl> {
        let t = seconds_between(at(self.begins), time).clamp(0.0, 60.0);
        if self.gap.is_some_and(|gap| (gap..gap + 5.0).contains(&t)) {
            return None;
        }
        let along = (t - 30.0) * self.pace;
        let azimuth = self.heading + self.aside.atan2(along).to_degrees() + self.wrap;
        let elevation = 1.0_f64.atan2(along.hypot(self.aside)).to_degrees();
        Some(if self.flipped {
            AzEl::new(azimuth + 180.0, 180.0 - elevation)
        } else {
            AzEl::new(azimuth, elevation)
        })
    }
    fn validity(&self) -> Validity {
        Validity { from: at(self.begins), until: at(self.begins + 60.0) }
    }
    fn generation(&self) -> u64 {
        1
    }
}

impl Pass {
    /// The path that the planner makes of it, from where the mount is; the satellite is where the pass
    /// would be, in the sky.
    fn planned(&self, setup: &RotatorSetup, from: AzEl, quietly: bool) -> Option<Led> {
        let sky: Vec<Sample> = (0..=30)
            .filter_map(|step| {
                let seconds = f64::from(step) * 2.0;
                let direction = self.at(at(self.begins + seconds))?;
                let azimuth = direction.azimuth.rem_euclid(360.0);
                let direction = AzEl::new(azimuth, direction.elevation.min(90.0));
                Some(Sample { seconds, direction, weight: 1.0 })
            })
            .collect();
        let start = Start { place: from, seconds: 30.0 };
        let mount = Mount {
            azimuth: setup.azimuth,
            elevation: setup.elevation,
            slew: setup.slew,
            acceleration: AzEl::new(5.0, 5.0),
            park: from,
            beam_width: 30.0,
            no_go: setup.no_go.clone(),
            lean: Lean::NONE,
            quiet: None,
            resolution: setup.resolution,
        };
        let course = plan(&mount, &sky, Some(start))?;
        if let Some(quiet) = quieten(&mount, &sky, Some(start), &course, 3.0).filter(|_| quietly) {
            return Some(Led { begins: self.begins, path: quiet.points, runs: Some(quiet.runs) });
        }
        let path = sky.iter().map(|sample| sample.seconds).zip(course.places).collect();
        Some(Led { begins: self.begins, path, runs: None })
    }
}

/// A planned path: straight from place to place.
struct Led {
    begins: f64,
    path: Vec<(f64, AzEl)>,
    runs: Option<[Vec<Run>; 2]>,
}

impl Plan<AzEl> for Led {
    fn at(&self, time: Time) -> Option<AzEl> {
        let t = seconds_between(at(self.begins), time);
        let next = self.path.partition_point(|(until, _)| *until < t).clamp(1, self.path.len() - 1);
        let ((since, from), (until, to)) = (self.path[next - 1], self.path[next]);
        let part = ((t - since) / (until - since)).clamp(0.0, 1.0);
        let between = |from: f64, to: f64| from + part * (to - from);
        Some(AzEl::new(between(from.azimuth, to.azimuth), between(from.elevation, to.elevation)))
    }
    fn rests_at(&self, time: Time) -> Option<(AzEl, Option<Time>)> {
        let t = seconds_between(at(self.begins), time);
        let [turns, tilts] = self.runs.as_ref()?;
        let now = |runs: &[Run]| {
            let begun = runs.partition_point(|run| run.seconds <= t).max(1);
            (runs[begun - 1].to, runs.get(begun).map(|run| run.seconds))
        };
        let ((azimuth, turns), (elevation, tilts)) = (now(turns), now(tilts));
        let next = [turns, tilts].into_iter().flatten().min_by(f64::total_cmp);
        Some((AzEl::new(azimuth, elevation), next.map(|next| at(self.begins + next))))
    }
    fn validity(&self) -> Validity {
        Validity { from: at(self.begins), until: at(self.begins + 60.0) }
    }
    fn generation(&self) -> u64 {
        1
    }
}

/// Whether the beam looks into the sector, `less` degrees within its edges.
fn looks_into(sector: &NoGo, place: AzEl, less: f64) -> bool {
    let (azimuth, elevation) = if place.elevation > 90.0 {
        (place.azimuth + 180.0, 180.0 - place.elevation)
    } else {
        (place.azimuth, place.elevation)
    };
    let width = (sector.azimuth.to - sector.azimuth.from).rem_euclid(360.0);
    let into = (azimuth - sector.azimuth.from).rem_euclid(360.0);
    let high = sector.elevation.from + less <= elevation && elevation <= sector.elevation.to - less;
    high && less <= into && into <= width - less
}

/// The first place of a sector on a way, whichever axis turns first, or both at once.
fn comes_by(sectors: &[NoGo], from: AzEl, to: AzEl) -> Option<AzEl> {
    let (turn, tilt) = (to.azimuth - from.azimuth, to.elevation - from.elevation);
    let steps = (turn.abs().max(tilt.abs()) / 0.5).ceil().max(1.0) as u32;
    let ways: [fn(f64) -> (f64, f64); 3] = [
        |s| ((2.0 * s).min(1.0), (2.0 * s - 1.0).max(0.0)),
        |s| ((2.0 * s - 1.0).max(0.0), (2.0 * s).min(1.0)),
        |s| (s, s),
    ];
    let places = ways.into_iter().flat_map(|way| {
        (0..=2 * steps).map(move |step| {
            let (turned, tilted) = way(f64::from(step) / f64::from(2 * steps));
            AzEl::new(from.azimuth + turned * turn, from.elevation + tilted * tilt)
        })
    });
    places.into_iter().find(|place| sectors.iter().any(|sector| looks_into(sector, *place, 0.001)))
}

fn some_setup(chance: &mut Chance) -> RotatorSetup {
    let (from, to) =
        chance.one_of(&[(0.0, 360.0), (0.0, 450.0), (-180.0, 180.0), (30.0, 300.0), (90.0, 630.0)]);
    let elevation = chance.one_of(&[Some((0.0, 90.0)), Some((0.0, 180.0)), Some((10.0, 80.0)), None]);
    let sector = |chance: &mut Chance| {
        let azimuth = chance.between(-180.0, 360.0).round();
        let low = chance.one_of(&[-90.0, -90.0, 20.0, 40.0]);
        let high = chance.between(low + 1.0, 90.0).round().max(low + 1.0);
        let to = azimuth + chance.between(3.0, 90.0).round();
        NoGo { azimuth: AngleRange::new(azimuth, to), elevation: AngleRange::new(low, high) }
    };
    let dead_band = chance.between(0.5, 5.0);
    let tilted = if elevation.is_some() { chance.between(-5.0, 5.0) } else { 0.0 };
    RotatorSetup {
        azimuth: AngleRange::new(from, to),
        elevation: elevation.map(|(from, to)| AngleRange::new(from, to)),
        no_go: (0..chance.below(4)).map(|_| sector(chance)).collect(),
        slew: AzEl::new(chance.between(1.0, 8.0), chance.between(1.0, 6.0)),
        offset: if chance.once_in(3) { AzEl::new(chance.between(-40.0, 40.0), tilted) } else { AzEl::ZERO },
        resolution: chance.one_of(&[0.1, 0.1, 1.0]),
        dead_band,
        worthwhile: dead_band,
        approach: chance
            .once_in(3)
            .then(|| Approach { clockwise: chance.once_in(2), play: chance.between(0.5, 6.0) }),
        by_hand: chance.one_of(&[ByHand::Follow, ByHand::HandOver]),
        ..setup()
    }
}

/// The simulated mount: not quite as fast as it is said to be, and standing where it may.
fn some_mount(setup: &RotatorSetup, chance: &mut Chance) -> Option<MountSettings> {
    let mut mount = mount_of(setup);
    for axis in [&mut mount.azimuth, &mut mount.elevation] {
        axis.limits.rate *= chance.between(0.5, 1.5);
        axis.limits.acceleration = chance.between(3.0, 20.0);
    }
    mount.noise = chance.one_of(&[0.0, 0.0, 0.2, 0.4]);
    mount.seed = u64::from(chance.below(1 << 20));
    for _ in 0..30 {
        let tilt = setup.elevation.map_or(0.0, |range| chance.between(range.from, range.to));
        let start = AzEl::new(chance.between(setup.azimuth.from, setup.azimuth.to), tilt);
        if !setup.no_go.iter().any(|sector| looks_into(sector, start, 0.0)) {
            mount.start = AzEl::new(start.azimuth - setup.offset.azimuth, tilt - setup.offset.elevation);
            return Some(mount);
        }
    }
    None
}

/// One mount through its random acts.
struct Play {
    bench: Bench,
    setup: RotatorSetup,
    noise: f64,
    chance: Chance,
    halted: bool,
    /// Until then the read-out told the truth and the motors turned as they were told.
    honest_until: f64,
    moments: u64,
    /// Aims that left.
    aims: u64,
    /// Paths that were planned.
    planned: u64,
}

impl Play {
    fn new(seed: u64) -> Option<Self> {
        let mut chance = Chance(seed);
        let setup = some_setup(&mut chance);
        let mount = some_mount(&setup, &mut chance)?;
        let noise = mount.noise;
        let bench = Bench::at_baud(setup.clone(), mount, chance.one_of(&[1200, 9600]), 0.05);
        Some(Self {
            bench,
            setup,
            noise,
            chance,
            halted: false,
            honest_until: f64::MAX,
            moments: 0,
            aims: 0,
            planned: 0,
        })
    }

    fn play(&mut self) {
        for _ in 0..24 {
            let until = self.bench.now + self.chance.between(0.1, 8.0);
            let (before, heard) = (self.bench.sent.len(), self.bench.heard);
            self.bench.run(until);
            let aims = self.bench.sent[before..].iter().filter(|(_, text)| aim_of(text).is_some());
            assert!(!self.halted || aims.count() == 0, "it moves in a halt");
            self.act();
            self.moments += 1 + self.bench.heard - heard;
            self.judge_what_left(before);
        }
        self.judge_what_happened();
    }

    fn act(&mut self) {
        match self.chance.below(12) {
            0..=2 => {
                let (from, to) = (self.setup.azimuth.from - 40.0, self.setup.azimuth.to + 40.0);
                let place = (self.chance.between(from, to), self.chance.between(-20.0, 200.0));
                self.bench.go(place.0, place.1);
            }
            3..=6 => {
                let pass = Pass {
                    begins: self.bench.now + self.chance.between(-20.0, 10.0),
                    pace: self.chance.between(0.02, 0.3),
                    aside: self.chance.between(-2.0, 2.0),
                    heading: self.chance.between(0.0, 360.0),
                    wrap: self.chance.one_of(&[-360.0, 0.0, 0.0, 360.0]),
                    flipped: self.chance.once_in(6),
                    gap: self.chance.once_in(4).then_some(20.0),
                };
                let place = self.bench.handles().record.position_at(at(self.bench.now));
                let place = place.map(|place| self.truly(place));
                let planned = self.chance.once_in(2).then_some(place).flatten();
                let quietly = self.chance.once_in(2);
                let order = match planned.map(|place| pass.planned(&self.setup, place, quietly)) {
                    Some(Some(led)) => {
                        self.planned += 1;
                        RotatorOrder::Follow(Arc::new(led))
                    }
                    // The mount stands where no plan begins.
                    Some(None) => RotatorOrder::Stop,
                    None => RotatorOrder::Follow(Arc::new(pass)),
                };
                self.bench.order(order);
            }
            7 => self.bench.order(RotatorOrder::Stop),
            8 => {
                let input = if self.halted { LineInput::Resume } else { LineInput::Halt };
                self.halted = !self.halted;
                self.bench.feed(input);
            }
            9 => self.suffer(),
            10 => self.bench.handles().faults.clear(),
            _ => {
                self.bench.feed(LineInput::Lost("unplugged"));
                self.bench.run(self.bench.now + 0.5);
                self.bench.feed(LineInput::Opened);
            }
        }
    }

    fn suffer(&mut self) {
        let deg_s = self.chance.between(-6.0, 6.0);
        let degrees = self.chance.between(-200.0, 200.0);
        let fault = self.chance.one_of(&[
            Fault::TurnedByHand { deg_s },
            Fault::ReadOutOff { degrees },
            Fault::ReadOutFrozen,
            Fault::MotorsReversed,
            Fault::MotorStalled,
            Fault::Mute,
            Fault::Garbage,
            Fault::HalfFrame,
        ]);
        // A number that is cut off half way is another number.
        let lies = !matches!(fault, Fault::MotorStalled | Fault::Mute | Fault::Garbage);
        if lies {
            self.honest_until = self.honest_until.min(self.bench.now);
        }
        self.bench.switch(fault);
    }

    /// What the controller calls so, in true degrees.
    fn truly(&self, place: AzEl) -> AzEl {
        let AzEl { azimuth, elevation } = self.setup.offset;
        AzEl::new(place.azimuth + azimuth, place.elevation + elevation)
    }

    /// Each aim by itself.
    fn judge_what_left(&mut self, before: usize) {
        for (time, text) in &self.bench.sent[before..] {
            let Some(aim) = aim_of(text).map(|aim| self.truly(aim)) else { continue };
            self.aims += 1;
            // Adding the offset rounds.
            let within = |range: AngleRange, at: f64| {
                range.contains(range.clamp(at)) && (range.clamp(at) - at).abs() < 1e-6
            };
            let tilts = self.setup.elevation.is_none_or(|range| within(range, aim.elevation));
            assert!(within(self.setup.azimuth, aim.azimuth) && tilts, "{text} at {time}: {:?}", self.setup);
            let into = self.setup.no_go.iter().find(|sector| looks_into(sector, aim, 0.001));
            assert!(into.is_none(), "{text} at {time}: {into:?}");
        }
    }

    /// What the mount itself went through, and each way from where it was.
    fn judge_what_happened(&mut self) {
        self.bench.antenna();
        let record = &self.bench.handles().record;
        let breach = record.violations().into_iter().find(|b| matches!(b.what, Violation::OutsideRange(_)));
        assert!(breach.is_none(), "{breach:?} {:?}", self.setup);
        let honest = self.honest_until;
        let margin = self.noise + 0.1;
        for position in record.positions() {
            if seconds_between(at(0.0), position.at) > honest {
                break;
            }
            let place = self.truly(position.direction);
            let into = self.setup.no_go.iter().find(|sector| looks_into(sector, place, margin));
            assert!(into.is_none(), "{position:?} in {into:?}\n{:#?}", self.bench.sent);
        }
        for (time, aim) in self.bench.aims(0.0).into_iter().take_while(|(time, _)| *time < honest) {
            let Some(from) = record.position_at(at(time)) else { continue };
            let (from, aim) = (self.truly(from), self.truly(aim));
            let sectors: Vec<NoGo> = self.setup.no_go.iter().map(|sector| smaller(sector, margin)).collect();
            let by = comes_by(&sectors, from, aim);
            assert!(
                by.is_none(),
                "from {from:?} to {aim:?} at {time} by {by:?}\n{:?}\n{:#?}",
                self.setup.no_go,
                self.bench.sent
            );
        }
    }
}

/// A sector whose edges lie within it by so much; none that can be met where nothing is left.
fn smaller(sector: &NoGo, by: f64) -> NoGo {
    let azimuth = AngleRange::new(sector.azimuth.from + by, sector.azimuth.to - by);
    let elevation = AngleRange::new(sector.elevation.from + by, sector.elevation.to - by);
    NoGo { azimuth, elevation }
}

fn play(share: u64) {
    let (mounts, seed) =
        (from_environment("BEAMHAND_MOUNTS", MOUNTS), from_environment("BEAMHAND_SEED", 0xA1));
    let (mut moments, mut aims, mut planned) = (0, 0, 0);
    for number in 0..mounts / 2 {
        let seed = seed.wrapping_add(number * 2 + share).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let Some(mut play) = Play::new(seed) else { continue };
        let played = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| play.play()));
        assert!(played.is_ok(), "mount {number} of share {share}, seed {seed:#x}");
        moments += play.moments;
        aims += play.aims;
        planned += play.planned;
    }
    println!("{moments} moments, {aims} aims, {planned} plans");
    assert!(moments > mounts / 2 * 220 && aims > mounts / 2 * 4, "{moments} moments, {aims} aims");
    assert!(planned > mounts / 2, "{planned} plans");
}

#[test]
fn no_command_leads_beyond_the_limits_or_by_a_sector_in_the_first_half_million_moments() {
    play(0);
}

#[test]
fn no_command_leads_beyond_the_limits_or_by_a_sector_in_the_second_half_million_moments() {
    play(1);
}
