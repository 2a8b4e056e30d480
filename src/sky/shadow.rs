//! Whether the Sun shines on a satellite: the Earth's conical umbra and penumbra.

use super::vector::{angle_between, minus, norm};

/// Radius of the Earth that throws the shadow, km: the equatorial one, no air, no flattening.
const EARTH_KM: f64 = 6378.137;
/// Radius of the Sun, km (IAU 2015 nominal).
const SUN_KM: f64 = 695_700.0;

/// How much of the Sun the Earth hides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shadow {
    /// Nothing.
    Sunlit,
    /// A part.
    Penumbra,
    /// All of it.
    Umbra,
}

/// How the Earth's disc covers the Sun's, seen from a satellite; both positions from the Earth's
/// centre, in one frame, km.
pub fn shadow_at(satellite_km: [f64; 3], sun_km: [f64; 3]) -> Shadow {
    let to_sun = minus(sun_km, satellite_km);
    let to_earth = satellite_km.map(|axis| -axis);
    let between = angle_between(to_sun, to_earth);
    let earth = (EARTH_KM / norm(to_earth)).min(1.0).asin();
    let sun = (SUN_KM / norm(to_sun)).asin();
    if between + sun < earth {
        Shadow::Umbra
    } else if between < earth + sun {
        Shadow::Penumbra
    } else {
        Shadow::Sunlit
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SUN: [f64; 3] = [149_597_870.7, 0.0, 0.0];

    #[test]
    fn behind_the_earth_it_is_dark_and_in_front_light() {
        assert_eq!(shadow_at([-7000.0, 0.0, 0.0], SUN), Shadow::Umbra);
        assert_eq!(shadow_at([7000.0, 0.0, 0.0], SUN), Shadow::Sunlit);
        assert_eq!(shadow_at([0.0, 7000.0, 0.0], SUN), Shadow::Sunlit);
    }

    #[test]
    fn the_umbra_narrows_and_the_penumbra_widens_with_distance() {
        // Similar triangles: over 42,164 km the Sun's disc (0.533 degrees) makes the half-shadow
        // about 392 km wide, half of it on either side of the Earth's radius.
        let at = |height: f64| shadow_at([-42_164.0, height, 0.0], SUN);
        assert_eq!(at(EARTH_KM - 200.0), Shadow::Umbra);
        assert_eq!(at(EARTH_KM - 190.0), Shadow::Penumbra);
        assert_eq!(at(EARTH_KM + 190.0), Shadow::Penumbra);
        assert_eq!(at(EARTH_KM + 205.0), Shadow::Sunlit);
    }
}
