//! Invented satellites, always the same ones: low and round ones mostly, or of every kind.

use beamhand::sky::{ElementSet, Station};
use beamhand::terms::{Time, later, parse_time};

/// A source of numbers that look random (splitmix64, public domain).
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    /// Evenly between two numbers.
    pub(crate) fn between(&mut self, from: f64, to: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        from + (to - from) * ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}

pub(crate) fn start() -> Time {
    parse_time("2026-11-25T00:00:00Z").unwrap()
}

/// North, south and near a pole.
pub(crate) fn stations() -> [Station; 3] {
    [(54.0, -2.5, 100.0), (-34.9, 138.6, 50.0), (78.2, 15.6, 450.0)]
        .map(|(latitude, longitude, metres)| Station::new(latitude, longitude, metres).unwrap())
}

/// A satellite by its heights, km above a sphere of 6378 km.
pub(crate) fn satellite(
    number: u32,
    perigee_km: f64,
    apogee_km: f64,
    inclination_deg: f64,
    chance: &mut Chance,
) -> ElementSet {
    let (perigee, apogee) = (6378.135 + perigee_km, 6378.135 + apogee_km);
    let axis: f64 = (perigee + apogee) / 2.0;
    let mut angle = || chance.between(0.0, 360.0);
    ElementSet {
        name: format!("PETREL-{number}"),
        catalog_number: 99_000 + number,
        epoch: later(start(), -3600.0),
        inclination_deg,
        right_ascension_deg: angle(),
        eccentricity: (apogee - perigee) / (apogee + perigee),
        argument_of_perigee_deg: angle(),
        mean_anomaly_deg: angle(),
        // Kepler's third law with the gravity of WGS-72.
        mean_motion_rev_day: 86_400.0 / std::f64::consts::TAU * (398_600.8 / axis.powi(3)).sqrt(),
        drag_term: 1e-5,
    }
}

/// One as amateurs have them: 400 to 1400 km high, nearly round.
pub(crate) fn low(number: u32, chance: &mut Chance) -> ElementSet {
    let perigee = chance.between(400.0, 1400.0);
    let apogee = perigee + chance.between(0.0, 60.0);
    let inclination =
        if chance.between(0.0, 1.0) < 0.6 { chance.between(97.0, 101.0) } else { chance.between(30.0, 85.0) };
    satellite(number, perigee, apogee, inclination, chance)
}

/// One of every kind in turn: low, very low, low and eccentric, medium high, highly elliptical,
/// geosynchronous, far out.
pub(crate) fn any(number: u32, chance: &mut Chance) -> ElementSet {
    let inclination = chance.between(0.0, 180.0);
    match number % 11 {
        0 => {
            let perigee = chance.between(200.0, 300.0);
            satellite(number, perigee, perigee + chance.between(0.0, 30.0), inclination, chance)
        }
        1 => {
            let (perigee, apogee) = (chance.between(300.0, 800.0), chance.between(1000.0, 6000.0));
            satellite(number, perigee, apogee, inclination, chance)
        }
        2 => {
            let height = chance.between(6000.0, 25_000.0);
            satellite(number, height, height + chance.between(0.0, 500.0), inclination, chance)
        }
        3 | 4 => {
            let (perigee, eccentricity) = (chance.between(300.0, 2000.0), chance.between(0.4, 0.9));
            let apogee = (6378.135 + perigee) * (1.0 + eccentricity) / (1.0 - eccentricity) - 6378.135;
            satellite(number, perigee, apogee, inclination, chance)
        }
        5 => {
            let off = chance.between(0.0, 300.0);
            satellite(number, 35_786.0 - off, 35_786.0 + off, chance.between(0.0, 65.0), chance)
        }
        6 => {
            let height = chance.between(40_000.0, 120_000.0);
            satellite(number, height, height * chance.between(1.0, 1.3), inclination, chance)
        }
        _ => low(number, chance),
    }
}
