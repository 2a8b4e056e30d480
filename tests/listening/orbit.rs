//! A pass of a circular orbit over a round Earth that stands still: textbook geometry, and nothing of the
//! program's.

use beamhand::listening::Sight;

const EARTH_KM: f64 = 6371.0;
/// The Earth's gravity, km^3/s^2 (WGS 84).
const GRAVITY: f64 = 398_600.44;
const LIGHT_KM_S: f64 = 299_792.458;

/// A pass; time counts from the moment of the highest elevation, seconds.
#[derive(Clone, Copy)]
pub(crate) struct Orbit {
    pub(crate) altitude_km: f64,
    /// How far its track passes the station by, seen from the Earth's middle, radians; the sign says on
    /// which side.
    pub(crate) aside: f64,
    /// Whither it flies, degrees.
    pub(crate) course_deg: f64,
}

impl Orbit {
    fn radius(&self) -> f64 {
        EARTH_KM + self.altitude_km
    }

    fn angle(&self, time: f64) -> f64 {
        (GRAVITY / self.radius().powi(3)).sqrt() * time
    }

    pub(crate) fn range_km(&self, time: f64) -> f64 {
        let cosine = self.angle(time).cos() * self.aside.cos();
        (EARTH_KM.powi(2) + self.radius().powi(2) - 2.0 * EARTH_KM * self.radius() * cosine).sqrt()
    }

    pub(crate) fn sight(&self, time: f64, is_sunlit: bool) -> Sight {
        let angle = self.angle(time);
        let range = self.range_km(time);
        let up = self.radius() * angle.cos() * self.aside.cos() - EARTH_KM;
        let ahead = self.radius() * angle.sin();
        let right = self.radius() * angle.cos() * self.aside.sin();
        let azimuth = (self.course_deg + right.atan2(ahead).to_degrees()).rem_euclid(360.0);
        Sight {
            // A thing just west of north must not round to 360.
            azimuth_deg: (azimuth as f32).min(359.99),
            elevation_deg: (up / range).asin().to_degrees() as f32,
            range_km: range as f32,
            is_sunlit,
        }
    }

    /// Seconds from the highest elevation to setting.
    pub(crate) fn half_s(&self) -> f64 {
        let edge = (EARTH_KM / self.radius()).acos();
        (edge.cos() / self.aside.cos()).acos() / self.angle(1.0)
    }

    pub(crate) fn shift_hz(&self, time: f64, downlink_hz: f64) -> f64 {
        let rate = self.range_km(time + 0.5) - self.range_km(time - 0.5);
        -downlink_hz * rate / LIGHT_KM_S
    }
}
