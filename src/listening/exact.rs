//! The few exact distributions that the verdicts need, on the incomplete beta function of a library.

use statrs::function::beta::checked_beta_reg;
use statrs::function::factorial::ln_binomial;

/// Halvings of a search: finer than what a 64-bit number tells apart between 0 and 1.
const HALVINGS: usize = 60;

/// The limits between which a share lies with this confidence (0 to 1), after `hits` in `trials`: the
/// exact ("Clopper-Pearson") interval, which covers at least as often as it says. 0 and 1 without trials.
///
/// Source: Clopper and Pearson, Biometrika 26 (1934); in the form of beta quantiles, Brown, Cai and
/// DasGupta, Statistical Science 16 (2001).
pub fn share_interval(hits: u32, trials: u32, confidence: f64) -> (f64, f64) {
    let tail = (1.0 - confidence) / 2.0;
    let (k, n) = (f64::from(hits), f64::from(trials));
    let low = if hits == 0 { 0.0 } else { beta_quantile(k, n - k + 1.0, tail) };
    let high = if hits >= trials { 1.0 } else { beta_quantile(k + 1.0, n - k, 1.0 - tail) };
    (low, high)
}

/// How likely `hits` or more are in so many trials of this chance each.
pub fn at_least(hits: u32, trials: u32, chance: f64) -> f64 {
    match hits {
        0 => 1.0,
        _ if hits > trials => 0.0,
        _ => beta(f64::from(hits), f64::from(trials - hits) + 1.0, chance),
    }
}

/// How likely so large a part of all hits, or a larger one, falls to the first of two groups by chance
/// alone: Fisher's exact test, one-sided. Each group is (hits, trials).
///
/// Source: Fisher, Statistical Methods for Research Workers; the hypergeometric tail.
pub fn more_in_first(first: (u32, u32), second: (u32, u32)) -> f64 {
    let [(k1, n1), (k2, n2)] = [first, second].map(|(k, n)| (u64::from(k), u64::from(n)));
    let hits = k1 + k2;
    let all = ln_binomial(n1 + n2, hits);
    let chance = |k: u64| (ln_binomial(n1, k) + ln_binomial(n2, hits - k) - all).exp();
    let sum: f64 = (k1..=hits.min(n1)).filter(|k| hits - k <= n2).map(chance).sum();
    sum.min(1.0)
}

/// How many standard errors hold this confidence on both sides, with so many degrees of freedom
/// (Student's t).
pub fn student(confidence: f64, freedom: f64) -> f64 {
    // P(|T| > t) = I_x(freedom / 2, 1 / 2) at x = freedom / (freedom + t^2).
    let x = beta_quantile(freedom / 2.0, 0.5, 1.0 - confidence);
    (freedom * (1.0 - x) / x).sqrt()
}

/// The middle value, and two of the values between which the true middle lies with at least this
/// confidence, whatever the distribution (order statistics; the sign test turned round). The ends are
/// infinite where there are too few values; nothing of no value.
///
/// Source: Conover, Practical Nonparametric Statistics, confidence interval for a quantile.
pub fn middle(values: &mut [f64], confidence: f64) -> Option<(f64, f64, f64)> {
    values.sort_by(f64::total_cmp);
    let count = values.len();
    let median = (values.get(count.checked_sub(1)? / 2)? + values.get(count / 2)?) / 2.0;
    let trials = u32::try_from(count).ok()?;
    // The largest rank whose lower tail is small enough: P(X < rank) <= tail, X binomial at one half.
    let tail = (1.0 - confidence) / 2.0;
    let rank = (1..=trials).take_while(|rank| 1.0 - at_least(*rank, trials, 0.5) <= tail).count();
    let low = rank.checked_sub(1).and_then(|at| values.get(at)).copied();
    let high = count.checked_sub(rank).filter(|_| rank > 0).and_then(|at| values.get(at)).copied();
    Some((median, low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY)))
}

/// The regularised incomplete beta function, which is the beta distribution's. Zero for what makes none.
fn beta(a: f64, b: f64, x: f64) -> f64 {
    checked_beta_reg(a, b, x).unwrap_or(0.0)
}

fn beta_quantile(a: f64, b: f64, share: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let middle = (low + high) / 2.0;
        if beta(a, b, middle) < share { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_trial_tells_nothing_and_the_ends_are_the_ends() {
        assert_eq!(share_interval(0, 0, 0.95), (0.0, 1.0));
        assert_eq!(share_interval(0, 10, 0.95).0, 0.0);
        assert_eq!(share_interval(10, 10, 0.95).1, 1.0);
        assert_eq!((at_least(0, 5, 0.1), at_least(6, 5, 0.1)), (1.0, 0.0));
    }

    /// By hand: 0.05^3, and 1 in (6 over 3) for three hits of three against none of three.
    #[test]
    fn small_cases_are_as_by_hand() {
        assert!((at_least(3, 3, 0.05) - 1.25e-4).abs() < 1e-12);
        assert!((more_in_first((3, 3), (0, 3)) - 0.05).abs() < 1e-12);
        assert!((more_in_first((0, 3), (3, 3)) - 1.0).abs() < 1e-12);
    }

    /// By hand: of six values the ends cover 1 - 2 / 2^6 = 96.9 %, of five 93.75 %.
    #[test]
    fn six_values_hold_the_middle_between_their_ends_and_five_do_not() {
        let mut six = [3.0, 1.0, 2.0, 6.0, 5.0, 4.0];
        assert_eq!(middle(&mut six, 0.95), Some((3.5, 1.0, 6.0)));
        let mut five = [1.0, 2.0, 3.0, 4.0, 5.0];
        assert_eq!(middle(&mut five, 0.95), Some((3.0, f64::NEG_INFINITY, f64::INFINITY)));
        assert_eq!(middle(&mut [], 0.95), None);
    }
}
