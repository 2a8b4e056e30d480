//! The planner against searches through everything, and against sums by hand.

use super::reach::{Rows, reach};
use super::*;

pub(in crate::beam) fn mount(azimuth: (f64, f64), elevation: (f64, f64)) -> Mount {
    Mount {
        azimuth: AngleRange::new(azimuth.0, azimuth.1),
        elevation: Some(AngleRange::new(elevation.0, elevation.1)),
        slew: AzEl::new(3.0, 3.0),
        acceleration: AzEl::new(f64::INFINITY, f64::INFINITY),
        park: AzEl::new(180.0, 0.0),
        beam_width: 30.0,
        no_go: Vec::new(),
        lean: crate::beam::Lean::NONE,
        quiet: None,
        resolution: 0.1,
    }
}

/// A straight flight: `aside` heights beside the zenith, `pace` heights a second, highest at 300 s.
pub(super) fn flight(heading: f64, aside: f64, pace: f64) -> Vec<Sample> {
    let samples = (0..=1200).map(|half| {
        let seconds = f64::from(half) / 2.0;
        let along = (seconds - 300.0) * pace;
        let azimuth = (heading + aside.atan2(along).to_degrees()).rem_euclid(360.0);
        let elevation = 1.0_f64.atan2(along.hypot(aside)).to_degrees();
        Sample { seconds, direction: AzEl::new(azimuth, elevation), weight: 1.0 }
    });
    samples.collect()
}

/// Limits and speeds hold between all samples, and no step comes by a sector.
#[track_caller]
fn assert_kept(mount: &Mount, sky: &[Sample], course: &Course) {
    assert_eq!(course.places.len(), sky.len());
    assert!(course.places.iter().all(|place| mount.reaches(*place)));
    for (places, samples) in course.places.windows(2).zip(sky.windows(2)) {
        let seconds = samples[1].seconds - samples[0].seconds;
        let (turn, tilt) = (places[1].azimuth - places[0].azimuth, places[1].elevation - places[0].elevation);
        assert!(turn.abs() <= mount.slew.azimuth * seconds + 1e-6, "{places:?}");
        assert!(tilt.abs() <= mount.slew.elevation * seconds + 1e-6, "{places:?}");
        let way = Sweep::at(places[0]).with(places[1]);
        assert!(!mount.no_go.iter().any(|sector| sector.is_met_by(way)), "{places:?}");
    }
}

struct Chance(u64);

impl Chance {
    fn below(&mut self, bound: u32) -> u32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % u64::from(bound)) as u32
    }

    fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * f64::from(self.below(1 << 20)) / f64::from(1 << 20)
    }
}

/// A mount that only stands at every tenth of a turn, and a satellite that jumps about.
struct Small {
    mount: Mount,
    step: f64,
    sky: Vec<Sample>,
    places: Vec<AzEl>,
}

impl Small {
    fn some(chance: &mut Chance) -> Self {
        let step = 30.0;
        let azimuth = [(0.0, 360.0), (0.0, 450.0), (-180.0, 180.0), (30.0, 300.0)][chance.below(4) as usize];
        let elevation = [(0.0, 90.0), (0.0, 180.0), (0.0, 60.0)][chance.below(3) as usize];
        let mut mount = mount(azimuth, elevation);
        mount.slew = AzEl::new(f64::from(20 + chance.below(50)), f64::from(20 + chance.below(50)));
        if chance.below(4) == 0 {
            mount.elevation = None;
        }
        for _ in 0..chance.below(3) {
            let from = chance.between(0.0, 360.0);
            let high = chance.between(0.0, 70.0);
            mount.no_go.push(crate::terms::NoGo {
                azimuth: AngleRange::new(from, from + chance.between(1.0, 80.0)),
                elevation: AngleRange::new(-90.0, high),
            });
        }
        let sky = (0..4).map(|index| Sample {
            seconds: f64::from(index),
            direction: AzEl::new(chance.between(0.0, 360.0), chance.between(0.0, 90.0)),
            weight: 1.0,
        });
        let sky = sky.collect();
        let tilt = mount.elevation.unwrap_or(AngleRange::new(0.0, 0.0));
        let count = |range: AngleRange| ((range.to - range.from) / step).round() as i32;
        let places = (0..=count(mount.azimuth)).flat_map(|turn| {
            (0..=count(tilt)).map(move |row| {
                AzEl::new(mount.azimuth.from + f64::from(turn) * step, tilt.from + f64::from(row) * step)
            })
        });
        let places = places.collect();
        Self { mount, step, sky, places }
    }

    /// Whether the way comes by a sector or its clearance, looked at in small steps and in the beam's
    /// own directions, whichever axis turns first.
    fn is_barred(&self, from: AzEl, to: AzEl) -> bool {
        let into = |place: AzEl| {
            let (azimuth, elevation) = if place.elevation > 90.0 {
                (place.azimuth + 180.0, 180.0 - place.elevation)
            } else {
                (place.azimuth, place.elevation)
            };
            self.mount.no_go.iter().any(|sector| {
                let width = sector.azimuth.to - sector.azimuth.from + 2.0;
                let inside = (azimuth - sector.azimuth.from + 1.0).rem_euclid(360.0);
                0.0 < inside && inside < width && elevation < sector.elevation.to + 1.0
            })
        };
        let (turn, tilt) = (to.azimuth - from.azimuth, to.elevation - from.elevation);
        (0..=60).any(|a| {
            (0..=60).any(|b| {
                let (a, b) = (f64::from(a) / 60.0, f64::from(b) / 60.0);
                into(AzEl::new(from.azimuth + a * turn, from.elevation + b * tilt))
            })
        })
    }

    fn error(&self, place: AzEl, index: usize) -> f64 {
        let satellite = self.sky[index].direction;
        if self.mount.elevation.is_some() {
            return place.angle_to(satellite);
        }
        AzEl::new(place.azimuth, 0.0).angle_to(AzEl::new(satellite.azimuth, 0.0))
    }

    /// The least largest error over every single path.
    fn search(&self, path: &mut Vec<AzEl>, worst: f64, least: &mut f64, barred: &mut Barred) {
        if path.len() == self.sky.len() {
            *least = worst;
            return;
        }
        for (number, place) in self.places.iter().enumerate() {
            let worst = worst.max(self.error(*place, path.len()));
            if worst >= *least {
                continue;
            }
            let last = path.last().copied().unwrap_or(*place);
            let (turn, tilt) = (place.azimuth - last.azimuth, place.elevation - last.elevation);
            if turn.abs() > self.mount.slew.azimuth || tilt.abs() > self.mount.slew.elevation {
                continue;
            }
            let from = self.places.iter().position(|other| *other == last).unwrap();
            if *barred.entry((from, number)).or_insert_with(|| self.is_barred(last, *place)) {
                continue;
            }
            path.push(*place);
            self.search(path, worst, least, barred);
            path.pop();
        }
    }
}

type Barred = std::collections::HashMap<(usize, usize), bool>;

#[test]
fn on_small_grids_no_path_at_all_has_a_smaller_largest_error() {
    let mut chance = Chance(5);
    let (mut ways, mut none, mut with_sectors) = (0, 0, 0);
    for case in 0..400 {
        let small = Small::some(&mut chance);
        let mut least = f64::INFINITY;
        small.search(&mut Vec::new(), 0.0, &mut least, &mut Barred::new());
        let mut field = Field::new(&small.mount, None);
        field.lattice = Some(small.step);
        let rows = Rows { tilt: field.tilt(), step: small.step };
        let can = |error: f64| reach(&field, rows, &small.sky, None, error);
        if least.is_infinite() {
            assert!(can(180.0).is_none(), "case {case}");
            none += 1;
            continue;
        }
        let layers = can(least + 1e-6);
        assert!(layers.is_some(), "case {case}: {least} of {:?} {:?}", small.mount, small.sky);
        assert!(can(least - 1e-6).is_none(), "case {case}: less than {least}");
        let layers = layers.unwrap();
        for end in ends(&field, &layers, &small.sky) {
            let path = reach::path_to(&field, &layers, &small.sky, end).unwrap();
            let errors = path.iter().enumerate().map(|(index, place)| small.error(*place, index));
            assert!(errors.fold(0.0, f64::max) <= least + 1e-5, "case {case}");
            assert!(path.windows(2).all(|pair| !small.is_barred(pair[0], pair[1])), "case {case}");
        }
        ways += 1;
        with_sectors += usize::from(!small.mount.no_go.is_empty());
    }
    assert!(ways > 250 && with_sectors > 100, "{ways} {none} {with_sectors}");
}

#[test]
fn a_mount_that_is_quick_enough_is_on_the_satellite_all_the_time() {
    let mount = mount((-360.0, 720.0), (0.0, 90.0));
    for heading in [0.0, 90.0, 200.0, 340.0] {
        let sky = flight(heading, 1.0, 0.02);
        let course = plan(&mount, &sky, None).unwrap();
        assert_kept(&mount, &sky, &course);
        let Course { worst_deg, mean_deg, .. } = course;
        assert!(worst_deg < 1e-6 && mean_deg < 1e-6, "{heading}: {worst_deg} {mean_deg}");
    }
}

/// With the elevation free, the azimuth that turns half a circle at its speed around the moment of
/// highest elevation is best, by symmetry: at the time t before it, it still has w t to go.
#[test]
fn overhead_the_azimuth_runs_ahead_and_behind_as_much_as_it_must() {
    let mount = mount((-360.0, 720.0), (0.0, 90.0));
    for aside in [0.02, 0.05, 0.1] {
        let sky = flight(100.0, aside, 0.02);
        let by_hand = sky.iter().map(|sample| {
            let t = sample.seconds - 300.0;
            let turned: f64 = (aside.atan2(t * 0.02).to_degrees() - 90.0 + 3.0 * t).to_radians();
            let within = if t.abs() <= 30.0 { turned.sin().abs() } else { 0.0 };
            (sample.direction.elevation.to_radians().cos() * within).asin().to_degrees()
        });
        let by_hand = by_hand.fold(0.0, f64::max);
        let course = plan(&mount, &sky, None).unwrap();
        assert_kept(&mount, &sky, &course);
        assert!(course.worst_deg <= by_hand * 1.01 + 0.05, "{aside}: {} {by_hand}", course.worst_deg);
    }
}

#[test]
fn a_mount_that_flips_goes_over_the_top() {
    let flips = mount((0.0, 360.0), (0.0, 180.0));
    let sky = flight(100.0, 0.01, 0.02);
    let course = plan(&flips, &sky, None).unwrap();
    assert_kept(&flips, &sky, &course);
    assert!(course.worst_deg < 1.0, "{}", course.worst_deg);
    let turned = course.places.iter().map(|place| place.azimuth);
    let (least, most) = turned.fold((f64::MAX, f64::MIN), |(a, b), az| (a.min(az), b.max(az)));
    assert!(most - least < 60.0, "{least} {most}");
    let plain = mount((0.0, 360.0), (0.0, 90.0));
    assert!(plan(&plain, &sky, None).unwrap().worst_deg > 5.0);
}

#[test]
fn a_pass_over_the_end_stop_is_led_from_the_side_that_has_the_cable() {
    let mount = mount((0.0, 450.0), (0.0, 90.0));
    // From 50 over the north to 250: it has to begin at 410.
    let sky = flight(240.0, 1.0, 0.02);
    let (first, last) = (sky[0].direction.azimuth, sky[sky.len() - 1].direction.azimuth);
    assert!(first < 90.0 && last > 180.0, "{first} {last}");
    let course = plan(&mount, &sky, None).unwrap();
    assert!(course.worst_deg < 1e-6, "{}", course.worst_deg);
    assert!((course.places[0].azimuth - first - 360.0).abs() < 1e-6);
}

#[test]
fn sectors_are_kept_clear_of_and_the_beam_looks_over_them() {
    let mut mount = mount((0.0, 450.0), (0.0, 180.0));
    let wall = |from, to, top| crate::terms::NoGo {
        azimuth: AngleRange::new(from, to),
        elevation: AngleRange::new(-90.0, top),
    };
    mount.no_go = vec![wall(80.0, 130.0, 25.0), wall(250.0, 300.0, 15.0)];
    for (heading, aside) in [(100.0, 0.3), (90.0, 1.5), (200.0, -2.0), (280.0, 0.01)] {
        let sky = flight(heading, aside, 0.02);
        let course = plan(&mount, &sky, None).unwrap();
        assert_kept(&mount, &sky, &course);
        assert!(course.worst_deg < 27.0, "{heading}: {}", course.worst_deg);
        assert!(course.mean_deg < 12.0, "{heading}: {}", course.mean_deg);
    }
}

#[test]
fn a_mount_that_stands_far_away_comes_as_soon_as_it_can() {
    let mount = mount((0.0, 450.0), (0.0, 90.0));
    let sky = flight(100.0, 1.0, 0.02);
    let rises = sky[0].direction;
    let start = Start { place: AzEl::new(rises.azimuth + 90.0, 0.0), seconds: 10.0 };
    let course = plan(&mount, &sky, Some(start)).unwrap();
    assert_kept(&mount, &sky, &course);
    assert!((course.places[0].azimuth - rises.azimuth - 60.0).abs() < 1e-6, "{:?}", course.places[0]);
    let there = course.places.iter().zip(&sky).position(|(place, at)| place.angle_to(at.direction) < 0.1);
    // By hand: 60 degrees at 3 degrees a second, and a little for the satellite's own way.
    assert!((40..=44).contains(&there.unwrap()), "{there:?} half seconds");
}

/// In mid-pass there is no time before: it goes at once, at full speed, and is on the satellite when it can.
#[test]
fn a_mount_that_is_sent_in_mid_pass_begins_where_it_stands() {
    let mount = mount((0.0, 450.0), (0.0, 90.0));
    let sky = flight(100.0, 1.0, 0.02);
    let satellite = sky[0].direction;
    let start = Start { place: AzEl::new(satellite.azimuth - 45.0, 33.3), seconds: 0.0 };
    let course = plan(&mount, &sky, Some(start)).unwrap();
    assert_kept(&mount, &sky, &course);
    assert!((course.places[0].azimuth - start.place.azimuth).abs() < 1e-6, "{:?}", course.places[0]);
    let there = course.places.iter().zip(&sky).position(|(place, at)| place.angle_to(at.direction) < 0.1);
    // By hand: 45 degrees at 3 degrees a second.
    assert!((29..=33).contains(&there.unwrap()), "{there:?} half seconds");
}

/// A motor that speeds up from rest has gone a t t / 2 after t seconds, and from v / a on v (t - v / 2 a): the
/// plan of a late start is nowhere ahead of that but for its rounding, and loses no more by it.
#[test]
fn a_late_start_is_planned_as_a_motor_speeds_up() {
    let (slew, acceleration) = (3.0, 0.75);
    let steady = mount((0.0, 450.0), (0.0, 90.0));
    let mount = Mount { acceleration: AzEl::new(acceleration, acceleration), ..steady.clone() };
    let sky = flight(100.0, 1.0, 0.02);
    let satellite = sky[0].direction;
    let gone = |t: f64| match t.max(0.0) {
        t if t < slew / acceleration => acceleration * t * t / 2.0,
        t => slew * (t - slew / acceleration / 2.0),
    };
    for before in [0.0, 1.0, 1.9] {
        // Elevations are planned from rows 1.5 degrees apart; it stands on one.
        let start = Start { place: AzEl::new(satellite.azimuth - 45.0, 33.0), seconds: before };
        let course = plan(&mount, &sky, Some(start)).unwrap();
        assert_kept(&mount, &sky, &course);
        let points = sky.iter().map(|sample| sample.seconds).zip(course.places.iter().copied()).collect();
        let path = crate::beam::path::Path::new(points, &mount);
        for tenth in 0..300 {
            let after = f64::from(tenth) / 10.0;
            let place = path.at(after).unwrap();
            // Windows come in sixteenths of the longest: a path may set off a quarter of a second too early.
            let most = gone(after + before) + 0.25;
            let (turned, tilted) =
                (place.azimuth - start.place.azimuth, place.elevation - start.place.elevation);
            assert!(
                turned.abs() <= most && tilted.abs() <= most,
                "{before}: {after} s, {start:?} {place:?}, {most}"
            );
        }
        let near = |place: AzEl, sample: &Sample| place.angle_to(sample.direction) < 0.1;
        let there = course.places.iter().zip(&sky).position(|(place, sample)| near(*place, sample));
        // By hand: 45 degrees at 3 degrees a second, and 2 s for speeding up: 17 s, less those before the pass.
        let late = f64::from(there.unwrap() as u32) / 2.0 - (17.0 - before);
        assert!((-0.6..=1.6).contains(&late), "{before}: {late}");
        let ideal = plan(&steady, &sky, Some(start)).unwrap();
        assert!(course.worst_deg >= ideal.worst_deg - 0.5, "{} {}", course.worst_deg, ideal.worst_deg);
    }
}

#[test]
fn a_mount_that_does_not_tilt_follows_along_the_compass() {
    let mut mount = mount((0.0, 450.0), (0.0, 90.0));
    mount.elevation = None;
    let sky = flight(100.0, 1.0, 0.02);
    let course = plan(&mount, &sky, None).unwrap();
    assert!(course.worst_deg < 1e-6 && course.places.iter().all(|place| place.elevation == 0.0));
}

/// A follower of one degree starts both motors about every degree; quietly each waits for several.
#[test]
fn quietly_the_motors_start_rarely_and_the_beam_is_hardly_farther_off() {
    for tilt in [90.0, 180.0] {
        let mount = mount((0.0, 450.0), (0.0, tilt));
        for (heading, aside) in [(100.0, 0.3), (90.0, 1.5), (200.0, -2.0), (280.0, 0.01), (20.0, 0.1)] {
            let sky = flight(heading, aside, 0.02);
            let course = plan(&mount, &sky, None).unwrap();
            let quiet = quieten(&mount, &sky, None, &course, 2.7).unwrap();
            let starts: usize = quiet.starts().iter().sum();
            assert!((3..45).contains(&starts), "{tilt} {heading} {aside}: {:?}", quiet.starts());
            for (index, sample) in sky.iter().enumerate() {
                let next = quiet.points.partition_point(|(at, _)| *at < sample.seconds).max(1);
                let ((since, from), (until, to)) = (quiet.points[next - 1], quiet.points[next]);
                let part = (sample.seconds - since) / (until - since);
                let between = |from: f64, to: f64| from + part * (to - from);
                let place =
                    AzEl::new(between(from.azimuth, to.azimuth), between(from.elevation, to.elevation));
                assert!(mount.reaches(mount.clamp(place)) && place.angle_to(mount.clamp(place)) < 1e-6);
                let (off, led) =
                    (place.angle_to(sample.direction), course.places[index].angle_to(sample.direction));
                assert!(off <= led + 2.7 + 1e-6, "{tilt} {heading} {aside}: {off} and {led}");
            }
        }
    }
}

impl Small {
    /// The least mean error over every single path that keeps `worst`.
    fn search_mean(&self, path: &mut Vec<AzEl>, sum: f64, worst: f64, least: &mut f64, barred: &mut Barred) {
        if path.len() == self.sky.len() {
            *least = least.min(sum);
            return;
        }
        for (number, place) in self.places.iter().enumerate() {
            let error = self.error(*place, path.len());
            let so_far = sum + error * share(&self.sky, path.len());
            if error > worst || so_far >= *least {
                continue;
            }
            let last = path.last().copied().unwrap_or(*place);
            let (turn, tilt) = (place.azimuth - last.azimuth, place.elevation - last.elevation);
            if turn.abs() > self.mount.slew.azimuth || tilt.abs() > self.mount.slew.elevation {
                continue;
            }
            let from = self.places.iter().position(|other| *other == last).unwrap();
            if *barred.entry((from, number)).or_insert_with(|| self.is_barred(last, *place)) {
                continue;
            }
            path.push(*place);
            self.search_mean(path, so_far, worst, least, barred);
            path.pop();
        }
    }
}

/// The planner may stand anywhere, and so has to be as good as the best path on the grid that keeps the same
/// largest error.
#[test]
fn on_small_grids_no_path_with_that_largest_error_has_a_smaller_mean() {
    let mut chance = Chance(17);
    let (mut ways, mut most) = (0, 0.0_f64);
    for _ in 0..400 {
        let small = Small::some(&mut chance);
        let mut worst = f64::INFINITY;
        small.search(&mut Vec::new(), 0.0, &mut worst, &mut Barred::new());
        if worst.is_infinite() {
            continue;
        }
        let worst = worst + 1e-6;
        let mut least = f64::INFINITY;
        small.search_mean(&mut Vec::new(), 0.0, worst, &mut least, &mut Barred::new());
        let field = Field::new(&small.mount, None);
        let rows = Rows { tilt: field.tilt(), step: small.step / 6.0 };
        let layers = reach(&field, rows, &small.sky, None, worst);
        let Some(layers) = layers else { continue };
        let found = among(&field, &small.sky, None, worst, &layers).unwrap();
        let seconds: f64 = (0..small.sky.len()).map(|index| share(&small.sky, index)).sum();
        most = most.max(found.mean_deg - least / seconds);
        ways += 1;
    }
    assert!(ways > 250 && most < 0.05, "{ways} ways, worse by {most} degrees at most");
}
