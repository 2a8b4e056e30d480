//! Directions in the sky.

use serde::{Deserialize, Serialize};

/// A direction, degrees. As seen from a station, azimuth counts from true north, clockwise;
/// elevation from the horizon up. In a mount's own coordinates azimuth may exceed 360 (cable
/// wrap) and elevation 90 (flip).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AzEl {
    /// Degrees.
    pub azimuth: f64,
    /// Degrees.
    pub elevation: f64,
}

impl AzEl {
    /// Both axes at zero; as a shift, none.
    pub const ZERO: Self = Self { azimuth: 0.0, elevation: 0.0 };

    /// From degrees.
    pub fn new(azimuth: f64, elevation: f64) -> Self {
        Self { azimuth, elevation }
    }

    /// Whether both angles are finite numbers.
    pub fn is_finite(self) -> bool {
        self.azimuth.is_finite() && self.elevation.is_finite()
    }

    /// The angle between two directions on the sky, degrees, 0 to 180; flips and wraps of a
    /// mount are seen through, because the same direction is the same direction.
    pub fn angle_to(self, other: AzEl) -> f64 {
        let (a, b) = (self.unit_vector(), other.unit_vector());
        let cross = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
        let sine = cross.iter().map(|c| c * c).sum::<f64>().sqrt();
        let cosine: f64 = a.iter().zip(b).map(|(x, y)| x * y).sum();
        sine.atan2(cosine).to_degrees()
    }

    /// North, east, up.
    fn unit_vector(self) -> [f64; 3] {
        let (sin_az, cos_az) = self.azimuth.to_radians().sin_cos();
        let (sin_el, cos_el) = self.elevation.to_radians().sin_cos();
        [cos_el * cos_az, cos_el * sin_az, sin_el]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_angle_sees_through_wrap_and_flip() {
        let angle = |a: (f64, f64), b: (f64, f64)| AzEl::new(a.0, a.1).angle_to(AzEl::new(b.0, b.1));
        assert!((angle((0.0, 0.0), (90.0, 0.0)) - 90.0).abs() < 1e-12);
        assert!(angle((10.0, 45.0), (370.0, 45.0)) < 1e-12);
        assert!(angle((10.0, 60.0), (190.0, 120.0)) < 1e-12);
        assert!((angle((0.0, 0.0), (0.001, 0.0)) - 0.001).abs() < 1e-12);
    }
}
