//! How often silence is called a satellite, and a satellite is heard.

use beamhand::listening::{FALSE_ALARMS, Pass, State, Study, Verdict};

use crate::world::{Life, Noise, Radio, World};

/// A month of five passes a day.
const PASSES: usize = 150;

/// What came of some stations, each with a month of passes.
#[derive(Default)]
pub(crate) struct Tally {
    pub(crate) passes: usize,
    pub(crate) judged: usize,
    pub(crate) heard: usize,
    pub(crate) verdicts: Vec<Verdict>,
}

impl Tally {
    pub(crate) fn share(&self) -> f64 {
        self.heard as f64 / self.judged.max(1) as f64
    }

    pub(crate) fn states(&self, state: State) -> usize {
        self.verdicts.iter().filter(|verdict| verdict.state == state).count()
    }
}

pub(crate) fn months(world: &World, count: u64, seed: u64, wanted: impl Fn(&Pass) -> bool) -> Tally {
    let mut tally = Tally::default();
    for number in 0..count {
        let mut study = Study::default();
        world.listen(PASSES, seed + number, |spell| study.add(spell));
        for findings in study.findings() {
            let passes = || findings.passes.iter().filter(|pass| wanted(pass));
            tally.passes += passes().count();
            tally.judged += passes().filter(|pass| pass.is_judged()).count();
            tally.heard += passes().filter(|pass| pass.is_heard()).count();
            tally.verdicts.push(findings.verdict);
        }
    }
    tally
}

/// Worlds with a dead satellite, each bad in its own way.
pub(crate) fn dead() -> Vec<(&'static str, World)> {
    let dead = World::new(Life::Dead);
    let clicks = Noise { clicks: 20.0, ..Noise::default() };
    let with = |noise: Noise| World { noise, ..dead.clone() };
    vec![
        ("clicks", with(clicks)),
        ("others talk", with(Noise { overs: 3.0, ..clicks })),
        ("noisy evenings", with(Noise { evenings: 0.3, ..clicks })),
        ("a rare noisy evening", with(Noise { evenings: 0.04, ..clicks })),
        // Its receiver hears it nearly always: hardly a pass can be judged.
        ("local carrier on the frequency", with(Noise { carrier_hz: Some(1500.0), ..clicks })),
        ("local carrier", with(Noise { carrier_hz: Some(6500.0), ..clicks })),
        (
            "local carrier, narrow",
            World { filter_hz: 1200.0, ..with(Noise { carrier_hz: Some(-800.0), ..clicks }) },
        ),
        (
            "carrier, on and off for ten minutes",
            with(Noise { carrier_hz: Some(0.0), toggles_s: Some(600.0), ..clicks }),
        ),
        (
            "narrow carrier, on and off",
            World {
                filter_hz: 1200.0,
                ..with(Noise { carrier_hz: Some(500.0), toggles_s: Some(600.0), ..clicks })
            },
        ),
        (
            "meter of five steps",
            World { radio: Radio::Meter(5.0), ..with(Noise { evenings: 0.3, ..clicks }) },
        ),
        ("squelch alone", World { radio: Radio::Squelch, ..with(Noise { overs: 1.0, ..clicks }) }),
    ]
}

/// Eleven bad stations of 1,050 passes each. The allowance for chance is three standard
/// deviations, as if a noisy evening made three alarms at once.
#[test]
fn silence_is_called_heard_at_most_at_the_stated_rate_whatever_the_noise() {
    let (mut heard, mut judged) = (0, 0);
    for (name, world) in dead() {
        let tally = months(&world, 7, 100, |_| true);
        let expected = FALSE_ALARMS * tally.judged as f64;
        println!(
            "{name}: {} heard of {} judged, {} passes; {} active",
            tally.heard,
            tally.judged,
            tally.passes,
            tally.states(State::Active)
        );
        let is_covered = name.ends_with("on the frequency");
        assert!(is_covered || tally.judged * 3 > tally.passes, "{name}: judged {}", tally.judged);
        assert!(tally.heard as f64 <= expected + 3.0 * (3.0 * expected).sqrt(), "{name}: {}", tally.heard);
        heard += tally.heard;
        judged += tally.judged;
        assert_eq!(tally.states(State::Active), 0, "{name}");
    }
    println!("all: {heard} of {judged}");
    assert!(heard as f64 <= FALSE_ALARMS * judged as f64, "{heard} of {judged}");
}

/// Worlds with a living satellite, and the share of its good passes in which it has to be heard.
pub(crate) fn alive() -> Vec<(&'static str, World, f64)> {
    let alive = World::new(Life::Alive);
    let noisy = Noise { clicks: 20.0, evenings: 0.3, ..Noise::default() };
    let with = |noise: Noise| World { noise, ..alive.clone() };
    vec![
        ("clicks", alive.clone(), 0.95),
        ("noisy evenings", with(noisy), 0.9),
        ("local carrier", with(Noise { carrier_hz: Some(6500.0), ..noisy }), 0.9),
        ("meter of five steps", World { radio: Radio::Meter(5.0), ..alive.clone() }, 0.9),
        ("beacon", World::new(Life::Beacon(20.0)), 0.7),
        ("weak", World { strength_db: 12.0, ..alive }, 0.6),
    ]
}

#[test]
fn a_living_satellite_is_heard() {
    for (name, world, least) in alive() {
        let tally = months(&world, 2, 500, |pass| pass.highest_deg >= 15.0);
        println!("{name}: heard {:.3} of {} judged of {}", tally.share(), tally.judged, tally.passes);
        assert!(tally.share() >= least, "{name}: {:.3}", tally.share());
        assert_eq!(tally.states(State::Active), 2, "{name}");
    }
}

#[test]
fn a_dead_satellite_is_quiet_and_one_that_lives_in_sunlight_is_found_out() {
    let dead = months(&World::new(Life::Dead), 4, 900, |_| true);
    assert_eq!(dead.states(State::Quiet), 4);
    assert!(dead.verdicts.iter().all(|verdict| verdict.times.is_none()), "nothing was heard");
    let sunlit = months(&World::new(Life::InSunlight), 4, 950, |_| true);
    for verdict in &sunlit.verdicts {
        assert_eq!(verdict.state, State::Active);
        assert_eq!(verdict.sunlight.unwrap().matters(), Some(true), "{:?}", verdict.sunlight);
        assert!(verdict.heard.0 * 10 >= verdict.heard.1 * 9, "only passes in sunlight count: {verdict:?}");
    }
}
