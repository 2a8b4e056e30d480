//! Doppler, to first order. What is left out (second-order terms) stays below 0.25 Hz at 435 MHz
//! for any orbit around the Earth.

/// In vacuum, km/s; exact by definition of the metre.
pub const SPEED_OF_LIGHT_KM_S: f64 = 299_792.458;

/// The frequency in hertz at which a station receives what a satellite sends on `sent` hertz,
/// when its range grows by `range_rate` km/s (negative while it approaches).
pub fn received(sent: f64, range_rate: f64) -> f64 {
    sent + shift(sent, range_rate)
}

/// By how many hertz what is sent on `sent` hertz arrives higher, when the range grows by `range_rate`
/// km/s.
pub fn shift(sent: f64, range_rate: f64) -> f64 {
    -sent * range_rate / SPEED_OF_LIGHT_KM_S
}

/// The frequency in hertz on which a station must transmit to arrive at the satellite on
/// `wanted` hertz.
pub fn to_arrive_on(wanted: f64, range_rate: f64) -> f64 {
    wanted / (1.0 - range_rate / SPEED_OF_LIGHT_KM_S)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked by hand: 435.5 MHz x 7 km/s / 299 792.458 km/s = 10 168.70 Hz. Seven km/s is the
    /// largest range rate of a 500 km orbit rising on the horizon, whose orbital speed is
    /// 7.61 km/s: 7.61 x 6371 / 6871 = 7.06 km/s less the station's own motion (textbook geometry).
    #[test]
    fn a_70_cm_downlink_slides_by_ten_kilohertz() {
        assert!((received(435.5e6, -7.0) - 435.5e6 - 10_168.70).abs() < 0.01);
        assert!((received(435.5e6, 7.0) - 435.5e6 + 10_168.70).abs() < 0.01);
    }

    /// By hand: 145.95 MHz / (1 + 7 / 299 792.458) = 145.95 MHz - 3 407.78 Hz.
    #[test]
    fn the_uplink_is_lowered_while_the_satellite_approaches() {
        let transmit = to_arrive_on(145.95e6, -7.0);
        assert!((145.95e6 - transmit - 3_407.78).abs() < 0.01, "{}", 145.95e6 - transmit);
        assert!((received(transmit, -7.0) - 145.95e6).abs() < 1e-6, "it arrives where it should");
    }
}
