//! When the motors are worth starting, and where to.

use crate::terms::AzEl;

use super::RotatorSetup;

/// A plan is not looked at further ahead than this, seconds.
const FARTHEST_LEAD_S: f64 = 5.0;

/// What steering says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Steering {
    /// Turn there now.
    Turn(AzEl),
    /// The plan leads outside the limits.
    Refuse,
    /// Nothing is worth a command for this many seconds of plan time.
    Rest(f64),
}

/// Steers a mount that was last sent to `commanded` after `plan`, which answers for so many
/// seconds from now. The aim leads by half the dead band, so that the error is centred on zero.
pub(super) fn steer(
    setup: &RotatorSetup,
    commanded: Option<AzEl>,
    plan: impl Fn(f64) -> Option<AzEl>,
) -> Steering {
    let (Some(now), Some(soon)) = (plan(0.0), plan(1.0)) else { return Steering::Rest(1.0) };
    let half = setup.dead_band / 2.0;
    let speed = now.angle_to(soon);
    if let Some(aim) = commanded {
        let off = off_by(aim, now, setup.azimuth_only());
        let shortly = plan((half / speed.max(1e-6)).min(1.0) / 10.0).unwrap_or(now);
        let ahead = off_by(aim, shortly, setup.azimuth_only()) < off;
        let allowed = if ahead { 3.0 * half } else { half };
        if off < allowed {
            let until = if ahead { off + half } else { half - off };
            return Steering::Rest((until / speed.max(1e-6)).clamp(0.05, 1.0));
        }
    }
    let lead = (half / speed.max(1e-6)).min(FARTHEST_LEAD_S);
    match plan(lead).and_then(|aim| setup.admit(aim)) {
        Some(aim) if commanded == Some(aim) => Steering::Rest(0.1),
        Some(aim) => Steering::Turn(aim),
        None => Steering::Refuse,
    }
}

/// How far apart two aims are, degrees: on the sky, or along the compass where only the azimuth
/// turns.
pub(super) fn off_by(a: AzEl, b: AzEl, azimuth_only: bool) -> f64 {
    if azimuth_only { (a.azimuth - b.azimuth).abs() } else { a.angle_to(b) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::rotator::setup::tests::setup;

    /// Follows 60 s of a slide of `rate` deg/s along the horizon with a mount that is there at
    /// once; returns the largest error and the number of commands.
    fn follow(rate: f64) -> (f64, usize) {
        let (mut commanded, mut worst, mut commands) = (None::<AzEl>, 0.0_f64, 0);
        for tick in 0..6000 {
            let now = f64::from(tick) * 0.01;
            let place = |t: f64| AzEl::new(300.0 + rate * t, 0.0);
            if let Steering::Turn(aim) = steer(&setup(), commanded, |wait| Some(place(now + wait))) {
                commanded = Some(aim);
                commands += 1;
            }
            worst = worst.max(commanded.map_or(0.0, |aim| aim.angle_to(place(now))));
        }
        (worst, commands)
    }

    #[test]
    fn the_beam_stays_within_half_the_dead_band_at_one_command_a_dead_band() {
        for rate in [0.1, 1.0, -4.0] {
            let (worst, commands) = follow(rate);
            let needed = (60.0 * rate.abs() / 2.0).ceil() as usize + 1;
            assert!(worst <= 1.0 + 0.11, "{worst} deg at {rate} deg/s");
            assert!(commands <= needed + 1, "{commands} commands at {rate} deg/s, {needed} needed");
        }
    }

    #[test]
    fn an_aim_beyond_the_limits_is_refused() {
        let beyond = |_| Some(AzEl::new(500.0, 10.0));
        assert_eq!(steer(&setup(), None, beyond), Steering::Refuse);
        assert!(matches!(steer(&setup(), None, |_| None), Steering::Rest(_)));
    }
}
