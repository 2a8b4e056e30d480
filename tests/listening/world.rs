//! Simulated listening: a satellite, a station with its noise, and a radio. It shares nothing with the
//! statistics but the form of a spell.

use beamhand::listening::{Reading, Sight, Spell};
use beamhand::terms::{Hertz, Time, Validity, later, parse_time};

use crate::chance::Chance;
use crate::orbit::Orbit;

const DOWNLINK_HZ: f64 = 435.5e6;
const STEP_S: f64 = 0.2;
/// The dial goes through all shifts of a pass in so many seconds while the satellite is down, and back.
const SWEEP_S: f64 = 60.0;
/// How long nothing is listened to, seconds.
const NOTHING_S: f64 = 240.0;
/// The noise floor of the receiver: what the meter shows of it is zero, dB.
const FLOOR_DB: f64 = 0.0;

/// What the satellite does.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Life {
    Dead,
    Alive,
    InSunlight,
    /// A packet of a second every so many seconds.
    Beacon(f64),
}

/// What the radio says.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Radio {
    Squelch,
    /// Steps of the meter over sixty decibels, and the squelch.
    Both(f64),
    /// The meter alone.
    Meter(f64),
}

/// What disturbs. All of it may come together.
#[derive(Clone, Copy, Default)]
pub(crate) struct Noise {
    /// Clicks of up to two seconds, in an hour.
    pub(crate) clicks: f64,
    /// Somebody talks on the frequency for ten to ninety seconds, so often in an hour.
    pub(crate) overs: f64,
    /// On this share of evenings (16 to 22 o'clock) noise comes for about an hour, several times.
    pub(crate) evenings: f64,
    /// A local carrier so far from the downlink, Hz.
    pub(crate) carrier_hz: Option<f64>,
    /// It is switched on and off, each for so long on average, seconds.
    pub(crate) toggles_s: Option<f64>,
}

#[derive(Clone)]
pub(crate) struct World {
    pub(crate) life: Life,
    pub(crate) radio: Radio,
    pub(crate) noise: Noise,
    /// Half of what the receiver hears at once, Hz.
    pub(crate) filter_hz: f64,
    /// What arrives from 1000 km away over the floor, dB.
    pub(crate) strength_db: f64,
    /// A satellite tumbles: each pass is so much stronger or weaker, and fades within it, dB.
    pub(crate) moody_db: f64,
    /// Noise is listened to for so long before and after each pass, seconds.
    pub(crate) margin_s: f64,
    /// Times of nothing, a day.
    pub(crate) nothings: u32,
    pub(crate) altitude_km: f64,
    /// How high the horizon is by azimuth.
    pub(crate) horizon: fn(f64) -> f64,
    /// What an antenna gains over the others, dB, by the number of the pass; its label.
    pub(crate) antenna: fn(usize) -> (&'static str, f64),
}

impl World {
    pub(crate) fn new(life: Life) -> Self {
        Self {
            life,
            radio: Radio::Both(20.0),
            noise: Noise { clicks: 4.0, ..Noise::default() },
            filter_hz: 7500.0,
            strength_db: 22.0,
            moody_db: 3.0,
            margin_s: 120.0,
            nothings: 2,
            altitude_km: 550.0,
            horizon: |_| 4.0,
            antenna: |_| ("", 0.0),
        }
    }

    /// So many passes, five a day in two groups, as low orbits have them, and the times of nothing.
    pub(crate) fn listen(&self, passes: usize, seed: u64, mut take: impl FnMut(&Spell)) {
        let mut chance = Chance(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
        (0..3).for_each(|_| {
            chance.part();
        });
        let days = passes.div_ceil(5);
        let start = parse_time("2026-10-01T00:00:00Z").unwrap();
        let mut station = Station::new(self, days as f64 * 86_400.0, &mut chance);
        let mut number = 0;
        for day in 0..days {
            let drift = 0.05 * day as f64;
            for hour in [7.0, 8.6, 17.2, 18.8, 20.4] {
                if number == passes {
                    return;
                }
                let middle = (day as f64 * 24.0 + hour + drift % 1.5) * 3600.0 + chance.between(0.0, 600.0);
                take(&self.pass(&mut station, &mut chance, number, start, middle));
                number += 1;
            }
            for nothing in 0..self.nothings {
                let from = (day as f64 * 24.0 + if nothing % 2 == 0 { 19.8 } else { 9.5 }) * 3600.0;
                take(&self.nothing(&mut station, &mut chance, number - 1, start, from));
            }
        }
    }

    fn pass(
        &self,
        station: &mut Station,
        chance: &mut Chance,
        number: usize,
        start: Time,
        middle: f64,
    ) -> Spell {
        let edge = (6371.0 / (6371.0 + self.altitude_km)).acos();
        let orbit = Orbit {
            altitude_km: self.altitude_km,
            aside: chance.between(-0.85, 0.85) * edge,
            course_deg: chance.between(0.0, 360.0),
        };
        let half = orbit.half_s();
        // The Sun reaches a satellite in the morning, and in the evening for half of the passes.
        let is_sunlit = (middle / 3600.0) % 24.0 < 12.0 || chance.is(0.5);
        let (antenna, gain) = (self.antenna)(number);
        let mood = chance.bell(self.moody_db);
        let mut readings = Vec::new();
        let (mut fade, mut time) = (0.0, -half - self.margin_s);
        while time < half + self.margin_s {
            let sight = orbit.sight(time, is_sunlit);
            let is_up = time.abs() < half;
            let shift = if is_up {
                orbit.shift_hz(time, DOWNLINK_HZ)
            } else {
                sweep(time) * orbit.shift_hz(-half, DOWNLINK_HZ)
            };
            // A fade lasts about ten seconds.
            fade += 0.02 * (-fade) + chance.bell(0.2 * self.moody_db);
            let heard = is_up && self.sends(time, is_sunlit) && self.is_free(sight);
            let signal = heard.then(|| {
                self.strength_db + gain + mood + fade - 20.0 * (f64::from(sight.range_km) / 1000.0).log10()
            });
            let noise = station.noise(middle + time, shift, chance);
            readings.push(self.reading(later(start, middle + time), shift, sight, signal, noise, chance));
            time += STEP_S;
        }
        let pass = Validity { from: later(start, middle - half), until: later(start, middle + half) };
        self.spell(antenna, Some(pass), readings)
    }

    fn nothing(
        &self,
        station: &mut Station,
        chance: &mut Chance,
        number: usize,
        start: Time,
        from: f64,
    ) -> Spell {
        let sight = Sight { azimuth_deg: 90.0, elevation_deg: -40.0, range_km: 9000.0, is_sunlit: true };
        let mut readings = Vec::new();
        let mut time = 0.0;
        while time < NOTHING_S {
            let shift = sweep(time) * 9_500.0;
            let noise = station.noise(from + time, shift, chance);
            readings.push(self.reading(later(start, from + time), shift, sight, None, noise, chance));
            time += STEP_S;
        }
        self.spell((self.antenna)(number).0, None, readings)
    }

    fn spell(&self, antenna: &str, pass: Option<Validity>, readings: Vec<Reading>) -> Spell {
        Spell {
            satellite: "GANNET-1".to_owned(),
            link: "repeater".to_owned(),
            antenna: antenna.to_owned(),
            downlink: Hertz(DOWNLINK_HZ as i64),
            pass,
            others: Vec::new(),
            readings,
        }
    }

    fn sends(&self, time: f64, is_sunlit: bool) -> bool {
        match self.life {
            Life::Dead => false,
            Life::Alive => true,
            Life::InSunlight => is_sunlit,
            Life::Beacon(every) => time.rem_euclid(every) < 1.0,
        }
    }

    fn is_free(&self, sight: Sight) -> bool {
        f64::from(sight.elevation_deg) > (self.horizon)(f64::from(sight.azimuth_deg))
    }

    fn reading(
        &self,
        at: Time,
        shift: f64,
        sight: Sight,
        signal: Option<f64>,
        noise: f64,
        chance: &mut Chance,
    ) -> Reading {
        let level = signal.unwrap_or(FLOOR_DB).max(noise) + chance.bell(1.0);
        let meter = |steps: f64| Some((level.clamp(0.0, 59.9) / 60.0 * steps) as u16);
        let open = Some(level > 8.0);
        let (meter, is_open) = match self.radio {
            Radio::Squelch => (None, open),
            Radio::Both(steps) => (meter(steps), open),
            Radio::Meter(steps) => (meter(steps), None),
        };
        Reading { at, shift_hz: shift as f32, meter, is_open, sight }
    }
}

/// From 1 to -1 and back, so that every shift has its time.
fn sweep(time: f64) -> f64 {
    let part = (time / SWEEP_S).rem_euclid(2.0);
    if part < 1.0 { 1.0 - 2.0 * part } else { 2.0 * part - 3.0 }
}

/// The noise of a station through all days: what disturbs, from when until when, how strong, dB.
struct Station {
    world: Noise,
    filter_hz: f64,
    events: Vec<(f64, f64, f64, bool)>,
    /// When the carrier was switched, alternately on and off.
    switched: Vec<f64>,
}

impl Station {
    fn new(world: &World, length: f64, chance: &mut Chance) -> Self {
        let noise = world.noise;
        let mut events = Vec::new();
        let mut sow = |rate: f64, from: f64, to: f64, db: (f64, f64), chance: &mut Chance| {
            let mut at = 0.0;
            while rate > 0.0 && at < length {
                at += chance.wait(rate / 3600.0);
                let until = at + chance.between(from, to);
                events.push((at, until, chance.between(db.0, db.1), false));
            }
        };
        sow(noise.clicks, 0.1, 2.0, (10.0, 40.0), chance);
        sow(noise.overs, 10.0, 90.0, (15.0, 40.0), chance);
        for day in 0..(length / 86_400.0) as usize {
            if !chance.is(noise.evenings) {
                continue;
            }
            for _ in 0..3 {
                let from = (day as f64 * 24.0 + chance.between(16.0, 21.0)) * 3600.0;
                let until = from + chance.between(2000.0, 5000.0);
                events.push((from, until, chance.between(8.0, 30.0), true));
            }
        }
        events.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut switched = Vec::new();
        if let Some(mean) = noise.toggles_s {
            let mut at = 0.0;
            while at < length {
                at += chance.wait(1.0 / mean);
                switched.push(at);
            }
        }
        Self { world: noise, filter_hz: world.filter_hz, events, switched }
    }

    fn noise(&mut self, time: f64, shift: f64, chance: &mut Chance) -> f64 {
        let first = self.events.partition_point(|event| event.0 < time - 5000.0);
        let mut level = FLOOR_DB;
        for (_, until, db, flickers) in self.events[first..].iter().take_while(|event| event.0 <= time) {
            // A noisy evening comes and goes within seconds.
            if *until >= time && (!flickers || chance.is(0.6)) {
                level = level.max(*db);
            }
        }
        let Some(carrier) = self.world.carrier_hz else { return level };
        let is_on = self.switched.partition_point(|at| *at <= time).is_multiple_of(2);
        let is_heard = is_on && (shift - carrier).abs() < self.filter_hz;
        if is_heard { level.max(25.0) } else { level }
    }
}
