//! When a dial is worth a command, and what to set it to.

use crate::terms::Hertz;

/// A plan is not looked at further ahead than this, seconds: the Doppler rate changes.
const FARTHEST_LEAD_S: f64 = 10.0;

/// How finely a dial is kept on its plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DialLaw {
    /// The dial's step.
    pub step: Hertz,
    /// The change that is worth a command; never smaller than the step.
    pub worthwhile: Hertz,
}

/// What the law says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Verdict {
    /// Set the dial to this now.
    Set(Hertz),
    /// Nothing is worth a command for this many seconds of plan time.
    Rest(f64),
}

/// What the plan wants of a dial at the moment a command sent now would land.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Want {
    /// The frequency at that moment.
    pub hertz: Hertz,
    /// How fast it slides, Hz/s of plan time.
    pub rate: f64,
}

impl DialLaw {
    /// A law with these steps; a worthwhile change below the step is the step.
    pub fn new(step: Hertz, worthwhile: Hertz) -> Self {
        let step = step.max(Hertz(1));
        Self { step, worthwhile: worthwhile.max(step) }
    }

    /// Judges a dial that stands at `dial` (`None`: not known) against what is wanted. `cycle` is
    /// the time, seconds of plan time, until the line can serve this dial again when it is busy.
    ///
    /// The error is kept centred on zero: a command leaves when the dial lags by half of the
    /// worthwhile change and puts it as far ahead; when the line is too slow for that, it aims
    /// for the middle of the interval until the next one.
    pub fn judge(&self, dial: Option<Hertz>, want: Want, cycle: f64) -> Verdict {
        let half = self.worthwhile.as_f64() / 2.0;
        let speed = want.rate.abs();
        let lead = (half / speed.max(1e-9)).max(cycle / 2.0).min(FARTHEST_LEAD_S);
        let ahead_by =
            |seconds: f64| Hertz::rounded(want.hertz.as_f64() + want.rate * seconds).to_step(self.step);
        // The first command can't know where in the step the plan stands: it takes the nearest.
        let Some(dial) = dial else { return Verdict::Set(ahead_by(cycle / 2.0)) };
        let aim = ahead_by(lead);
        let error = (want.hertz - dial).as_f64();
        let lag = if want.rate < 0.0 { -error } else { error };
        let ahead_at_most = half.max(speed * cycle / 2.0) + self.step.as_f64();
        let must = lag >= half || -lag > ahead_at_most;
        if must && aim != dial {
            return Verdict::Set(aim);
        }
        Verdict::Rest(((half - lag) / speed.max(1e-9)).clamp(0.0, FARTHEST_LEAD_S))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Plays a slide of `rate` Hz/s for a minute; a command takes `cycle` seconds to land and
    /// blocks the line as long. Returns the largest error from the first landing on, and the
    /// number of commands.
    fn play(law: DialLaw, rate: f64, cycle: f64) -> (f64, usize) {
        let plan = |t: f64| 435_500_000.0 + rate * t;
        let (mut dial, mut pending, mut commands, mut worst) =
            (None::<Hertz>, None::<(f64, Hertz)>, 0, 0.0_f64);
        for tick in 0..60_000 {
            let now = f64::from(tick) * 1e-3;
            if let Some((_, hertz)) = pending.take_if(|(lands, _)| *lands <= now) {
                dial = Some(hertz);
            }
            if let Some(dial) = dial {
                worst = worst.max((plan(now) - dial.as_f64()).abs());
            }
            if pending.is_none() {
                let want = Want { hertz: Hertz::rounded(plan(now + cycle)), rate };
                if let Verdict::Set(hertz) = law.judge(dial, want, cycle) {
                    pending = Some((now + cycle, hertz));
                    commands += 1;
                }
            }
        }
        (worst, commands)
    }

    #[test]
    fn a_fast_line_keeps_half_a_step() {
        let (worst, commands) = play(DialLaw::new(Hertz(10), Hertz(10)), -150.0, 0.015);
        assert!(worst <= 5.0 + 150.0 * 0.015 / 2.0, "{worst}");
        assert!(commands <= 901, "{commands} for 9000 Hz in steps of 10");
    }

    #[test]
    fn a_slow_line_reaches_the_floor_by_aiming_for_the_middle() {
        let (worst, _) = play(DialLaw::new(Hertz(10), Hertz(10)), -200.0, 0.3);
        let floor = 5.0 + 200.0 * 0.3 / 2.0;
        assert!(worst <= 1.05 * floor, "{worst} against {floor}");
    }

    #[test]
    fn fm_jumps_rarely_and_stays_within_half_a_jump() {
        let (worst, commands) = play(DialLaw::new(Hertz(10), Hertz(500)), 150.0, 0.03);
        assert!(worst <= 262.0, "{worst}");
        assert!((17..=19).contains(&commands), "{commands} for 9000 Hz in jumps of 500");
    }

    #[test]
    fn a_dial_that_stands_still_rests_and_one_turned_by_hand_is_set_back() {
        let law = DialLaw::new(Hertz(10), Hertz(10));
        let still = Want { hertz: Hertz(145_950_003), rate: 0.0 };
        assert!(matches!(law.judge(Some(Hertz(145_950_000)), still, 0.03), Verdict::Rest(_)));
        assert_eq!(law.judge(Some(Hertz(145_955_000)), still, 0.03), Verdict::Set(Hertz(145_950_000)));
        assert_eq!(law.judge(None, still, 0.03), Verdict::Set(Hertz(145_950_000)));
    }
}
