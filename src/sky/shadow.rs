//! Whether the Sun shines on a satellite: the Earth's conical umbra and penumbra.

use super::vector::{Vector, dot, minus, norm};

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
    // On the day side nothing can hide the Sun; half of all questions end here.
    if dot(satellite_km, sun_km) > 0.0 {
        return Shadow::Sunlit;
    }
    match depths(satellite_km, sun_km) {
        (_, umbra) if umbra > 0.0 => Shadow::Umbra,
        (penumbra, _) if penumbra > 0.0 => Shadow::Penumbra,
        _ => Shadow::Sunlit,
    }
}

/// How deep a satellite is in the half-shadow and in the shadow: by how much the cosine of the angle
/// between Sun and Earth exceeds that at which the discs touch. Negative outside. It holds while the
/// Earth looks larger than the Sun: up to 1.3 million km.
pub(super) fn depths(satellite_km: Vector, sun_km: Vector) -> (f64, f64) {
    let to_sun = minus(sun_km, satellite_km);
    let (earth_distance, sun_distance) = (norm(satellite_km), norm(to_sun));
    let between = -dot(to_sun, satellite_km) / (earth_distance * sun_distance);
    let cosine = |sine: f64| (1.0 - sine * sine).sqrt();
    // Of half of each disc.
    let (earth, sun) = ((EARTH_KM / earth_distance).min(1.0), SUN_KM / sun_distance);
    let (both, product) = (cosine(earth) * cosine(sun), earth * sun);
    (between - (both - product), between - (both + product))
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
