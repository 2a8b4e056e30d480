//! What a beam that is off the satellite loses.

/// The signal that a beam of `beam_width` degrees between its half-power points loses when it is off
/// by `error` degrees, dB: the usual approximation of a main lobe by a Gaussian, 12 (error / width)^2,
/// which is 3 dB at half the width (ITU-R F.1245 has this form for the main lobe, and so have the
/// antenna handbooks; both from memory). Side lobes are not counted: what is far outside the beam
/// loses less than this says, and is lost all the same.
pub fn loss_db(error: f64, beam_width: f64) -> f64 {
    12.0 * (error / beam_width).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The figures are the definition of the half-power width, and the Gaussian's own: exp(-4 ln 2 x^2)
    /// at x = 1 is a sixteenth, 12.04 dB.
    #[test]
    fn half_the_width_is_three_decibels_and_the_whole_width_is_twelve() {
        assert_eq!(loss_db(15.0, 30.0), 3.0);
        assert!((loss_db(30.0, 30.0) - 10.0 * 16.0_f64.log10()).abs() < 0.05);
        assert_eq!(loss_db(0.0, 30.0), 0.0);
    }
}
