//! The third harmonic of the uplink, where it falls into the station's own receiver.

use crate::terms::Hertz;

use super::{Link, LinkKind, SPEED_OF_LIGHT_KM_S};

/// No satellite that is worked has a larger range rate, km/s: a circular orbit of 300 km moves
/// at 7.7 km/s, of which 7.4 are along the line of sight when it rises (textbook geometry).
const LARGEST_RANGE_RATE_KM_S: f64 = 7.5;
/// Half of what an FM transmission is wide at three times its deviation, and of what a receiver
/// hears beside its frequency, hertz (common practice).
const BESIDE: f64 = 25_000.0;

/// How near three times the uplink comes to the downlink at some time of some pass, where that is
/// near enough to be heard; `None` where it is not.
pub fn third_harmonic(link: &Link) -> Option<Hertz> {
    let up = link.uplink?.hertz.as_f64();
    let down = link.downlink.as_f64();
    // Within the passband the two move together (3 - 1 = 2) or apart (3 + 1 = 4).
    let choice = match link.kind {
        LinkKind::Linear { inverting, passband } => {
            passband.as_f64() / 2.0 * if inverting { 4.0 } else { 2.0 }
        }
        LinkKind::FmRepeater | LinkKind::Beacon => 0.0,
    };
    let doppler = (3.0 * up + down) * LARGEST_RANGE_RATE_KM_S / SPEED_OF_LIGHT_KM_S;
    let off = (3.0 * up - down).abs();
    (off <= doppler + BESIDE + choice).then(|| Hertz::rounded(off))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::Uplink;
    use crate::terms::Mode;

    fn link(kind: LinkKind, up: i64, down: i64) -> Link {
        let uplink =
            Uplink { hertz: Hertz(up), mode: Mode::Fm, access_tone: None, arming_tone: None, fixed: false };
        Link {
            name: "a".to_owned(),
            kind,
            downlink: Hertz(down),
            mode: Mode::Fm,
            uplink: Some(uplink),
            on: Vec::new(),
            sunlight_only: false,
            note: None,
        }
    }

    /// By hand: 3 x 145.6 MHz = 436.8 MHz; (436.8 + 436.8) MHz x 7.5 / 299 792 = 21.86 kHz of
    /// Doppler in the two directions, and 25 kHz beside: 46.86 kHz.
    #[test]
    fn a_2_m_uplink_is_heard_in_a_70_cm_downlink_within_doppler_and_25_kilohertz() {
        let off = |down| third_harmonic(&link(LinkKind::FmRepeater, 145_600_000, down));
        assert_eq!(off(436_800_000), Some(Hertz(0)));
        assert_eq!(off(436_846_000), Some(Hertz(46_000)));
        assert_eq!(off(436_754_000), Some(Hertz(46_000)));
        assert_eq!(off(436_847_500), None);
        assert_eq!(off(436_752_500), None);
    }

    #[test]
    fn a_70_cm_uplink_or_none_at_all_has_no_such_harmonic() {
        assert_eq!(third_harmonic(&link(LinkKind::FmRepeater, 435_000_000, 145_000_000)), None);
        let beacon = Link { uplink: None, ..link(LinkKind::Beacon, 1, 435_000_000) };
        assert_eq!(third_harmonic(&beacon), None);
    }

    /// By hand: at 20 kHz of passband the operator is up to 10 kHz beside its middle, which moves
    /// an inverting pair by 40 kHz and a straight one by 20 kHz more than the 46.86 kHz above.
    #[test]
    fn a_linear_transponders_passband_widens_the_danger() {
        let off = |inverting, down| {
            let kind = LinkKind::Linear { inverting, passband: Hertz(20_000) };
            third_harmonic(&link(kind, 145_600_000, down))
        };
        assert_eq!(off(true, 436_886_000), Some(Hertz(86_000)));
        assert_eq!(off(true, 436_888_000), None);
        assert_eq!(off(false, 436_866_000), Some(Hertz(66_000)));
        assert_eq!(off(false, 436_868_000), None);
    }
}
