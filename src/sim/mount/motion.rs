//! One motor's way to its target, as a function of time: speed up, run, slow down.

/// What a motor can do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Largest speed, degrees per second.
    pub rate: f64,
    /// Acceleration and braking, degrees per second squared.
    pub acceleration: f64,
}

/// A way from one position and speed to rest at another: up to three legs of constant
/// acceleration, the quickest that the limits allow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Motion {
    position: f64,
    speed: f64,
    legs: [Leg; 3],
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Leg {
    seconds: f64,
    acceleration: f64,
}

impl Motion {
    /// At rest.
    pub(super) fn rest(position: f64) -> Self {
        Self { position, speed: 0.0, legs: [Leg { seconds: 0.0, acceleration: 0.0 }; 3] }
    }

    /// From `position`, moving at `speed`, to rest at `target`.
    pub(super) fn to(target: f64, position: f64, speed: f64, limits: Limits) -> Self {
        let Limits { rate, acceleration } = limits;
        let distance = target - position;
        // Braking at once would end here; the target lies beyond it or behind it.
        let beyond = distance - speed * speed.abs() / (2.0 * acceleration);
        let ahead = if beyond != 0.0 { beyond.signum() } else { speed.signum() };
        let (distance, entry) = (distance * ahead, speed * ahead);
        let peak = (acceleration * distance + entry * entry / 2.0).max(0.0).sqrt().min(rate);
        let running = (distance - (2.0 * peak * peak - entry * entry) / (2.0 * acceleration)).max(0.0);
        let leg = |seconds: f64, sign: f64| Leg { seconds, acceleration: sign * ahead * acceleration };
        let legs = [
            leg(((peak - entry) / acceleration).max(0.0), 1.0),
            leg(if peak > 0.0 { running / peak } else { 0.0 }, 0.0),
            leg(peak / acceleration, -1.0),
        ];
        Self { position, speed, legs }
    }

    /// Braking to rest as soon as possible.
    pub(super) fn stop(position: f64, speed: f64, limits: Limits) -> Self {
        let way = speed * speed.abs() / (2.0 * limits.acceleration);
        Self::to(position + way, position, speed, limits)
    }

    /// Position and speed `seconds` after the start.
    pub(super) fn at(&self, seconds: f64) -> (f64, f64) {
        let (mut position, mut speed, mut left) = (self.position, self.speed, seconds.max(0.0));
        for leg in self.legs {
            let spent = leg.seconds.min(left);
            position += speed * spent + leg.acceleration * spent * spent / 2.0;
            speed += leg.acceleration * spent;
            left -= spent;
        }
        (position, if left > 0.0 { 0.0 } else { speed })
    }

    /// How long it takes, seconds.
    pub(super) fn seconds(&self) -> f64 {
        self.legs.iter().map(|leg| leg.seconds).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMITS: Limits = Limits { rate: 5.0, acceleration: 2.5 };

    fn ends_at(motion: &Motion) -> f64 {
        motion.at(motion.seconds() + 1.0).0
    }

    #[test]
    fn a_long_way_is_a_trapezoid() {
        // By hand: 2 s and 5 deg up to speed, 80 deg at 5 deg/s, 2 s and 5 deg down.
        let motion = Motion::to(100.0, 10.0, 0.0, LIMITS);
        assert!((motion.seconds() - (2.0 + 16.0 + 2.0)).abs() < 1e-9);
        assert!((motion.at(2.0).0 - 15.0).abs() < 1e-9 && (motion.at(2.0).1 - 5.0).abs() < 1e-9);
        assert!((motion.at(18.0).0 - 95.0).abs() < 1e-9);
        assert!((ends_at(&motion) - 100.0).abs() < 1e-9);
    }

    #[test]
    fn a_short_way_is_a_triangle() {
        // By hand: 2.5 deg are reached in 2 x sqrt(2.5 / 2.5) s, at 2.5 deg/s half way.
        let motion = Motion::to(-2.5, 0.0, 0.0, LIMITS);
        assert!((motion.seconds() - 2.0).abs() < 1e-9);
        assert!((motion.at(1.0).0 + 1.25).abs() < 1e-9 && (motion.at(1.0).1 + 2.5).abs() < 1e-9);
    }

    #[test]
    fn a_motor_never_jumps_and_never_breaks_its_limits_wherever_it_comes_from() {
        for tenths in -50..=50 {
            let entry = f64::from(tenths) / 10.0;
            for target in [-30.0, -5.0, -0.1, 0.0, 0.1, 5.0, 30.0] {
                let motion = Motion::to(target, 0.0, entry, LIMITS);
                let steps = (motion.seconds() * 100.0) as u32 + 2;
                for step in 1..=steps {
                    let (before, after) =
                        (motion.at(f64::from(step - 1) * 0.01), motion.at(f64::from(step) * 0.01));
                    assert!((after.1 - before.1).abs() <= 0.025 + 1e-9, "{entry} {target}");
                    assert!(after.1.abs() <= 5.0 + 1e-9, "{entry} {target}");
                    assert!((after.0 - before.0).abs() <= 0.05 + 1e-9, "{entry} {target}");
                }
                assert!((ends_at(&motion) - target).abs() < 1e-9, "{entry} {target}");
            }
        }
    }

    #[test]
    fn stopping_takes_the_braking_way_and_no_more() {
        let motion = Motion::stop(40.0, -5.0, LIMITS);
        assert!((ends_at(&motion) - 35.0).abs() < 1e-9);
        assert!((motion.seconds() - 2.0).abs() < 1e-9);
    }
}
