//! The probability that a lot passes, in closed form where there is one.
//!
//! The count of packs below the limits has an exact law: binomial when the packs come from a process, hypergeometric
//! when the lot holds known numbers of them. The test of the mean is exact for packs that are normal and independent
//! (a non-central t); for packs behind a checkweigher it is an approximation. Both parts together have no closed form:
//! their bounds are given here, the value itself by [`crate::simulation`].

use crate::lot_test::LotTest;
use linewake_stats::distribution::normal::normal_cdf;
use linewake_stats::sampling_law::noncentral_t_cdf;

/// Shares of packs below the limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SharesBelow {
    /// Below T1 (those below T2 included).
    pub t1: f64,
    /// Below T2; 0 where there is none.
    pub t2: f64,
}

impl LotTest {
    /// The probability that the count of packs passes when each pack is independently below the limits with these
    /// probabilities. NaN for shares that are no shares.
    ///
    /// Exact: the sum over all ways to pass, draw by draw, of binomial (with T2: trinomial) terms. It is right for the
    /// random lots of a process whatever their size; for a lot of known content see [`Self::count_passes_in_lot`].
    #[must_use]
    pub fn count_passes(&self, below: SharesBelow) -> f64 {
        let asks_t2 = self.accept_below_t2.is_some();
        let low = if asks_t2 { below.t2 } else { 0.0 };
        if !(0.0..=1.0).contains(&below.t1) || !(0.0..=below.t1).contains(&low) {
            return f64::NAN;
        }
        let between = below.t1 - low;
        self.sum_of_passes(|_, _, more, (mid, bad)| {
            let good = more - mid - bad;
            libm::exp(
                ln_multinomial(more, mid, bad)
                    + ln_power(between, mid)
                    + ln_power(low, bad)
                    + ln_power(1.0 - below.t1, good),
            )
        })
    }

    /// The probability that the count of packs passes when the lot holds exactly so many packs below T1 (those below T2
    /// included) and below T2. NaN for more packs than the lot has.
    ///
    /// Exact: hypergeometric terms.
    #[must_use]
    pub fn count_passes_in_lot(&self, below_t1: u64, below_t2: u64) -> f64 {
        let low = if self.accept_below_t2.is_some() { below_t2 } else { 0 };
        if below_t1 > self.lot || low > below_t1 {
            return f64::NAN;
        }
        let (between, good) = (below_t1 - low, self.lot - below_t1);
        self.sum_of_passes(|taken, (mid_seen, bad_seen), more, (mid, bad)| {
            let good_seen = taken - mid_seen - bad_seen;
            let rest = |all: u64, seen: u64| all.saturating_sub(seen);
            libm::exp(
                ln_choose(rest(between, mid_seen), mid)
                    + ln_choose(rest(low, bad_seen), bad)
                    + ln_choose(rest(good, good_seen), more - mid - bad)
                    - ln_choose(self.lot - taken, more),
            )
        })
    }

    /// Sums the probabilities of all ways to pass. `law` gives that of (between T1 and T2, below T2) among `more`
    /// further packs after `taken` packs with (between, below) such.
    fn sum_of_passes(&self, law: impl Fn(u64, (u64, u64), u64, (u64, u64)) -> f64) -> f64 {
        let most_bad = self.accept_below_t2.unwrap_or(0);
        let mut open = vec![((0, 0), 1.0)];
        let (mut taken, mut passes) = (0, 0.0);
        for draw in &self.draws {
            let more = draw.sample - taken;
            let mut next: Vec<((u64, u64), f64)> = Vec::new();
            for &((mid_seen, bad_seen), reached) in &open {
                // From `reject` on the packs fail, so that only counts below it go on.
                let left = (draw.reject - 1).saturating_sub(mid_seen + bad_seen).min(more);
                for bad in 0..=left.min(most_bad - bad_seen) {
                    for mid in 0..=left - bad {
                        let probability = reached * law(taken, (mid_seen, bad_seen), more, (mid, bad));
                        let seen = (mid_seen + mid, bad_seen + bad);
                        if seen.0 + seen.1 <= draw.accept {
                            passes += probability;
                        } else if let Some(place) = next.iter().position(|(other, _)| *other == seen) {
                            next[place].1 += probability;
                        } else {
                            next.push((seen, probability));
                        }
                    }
                }
            }
            (open, taken) = (next, draw.sample);
        }
        passes.min(1.0)
    }

    /// The probability that the mean passes when packs are independent and normal with this mean and standard
    /// deviation; 1 where the plan has no such part. NaN for a deviation that is negative or not finite.
    ///
    /// *Formula*: mean + k s >= reference is T >= -k sqrt(n) with T non-central t, n - 1 degrees of freedom, shift
    /// (mean - reference) sqrt(n) / sd. Exact for normal packs.
    #[must_use]
    pub fn mean_passes(&self, mean_g: f64, sd_g: f64) -> f64 {
        let Some(test) = self.mean else { return 1.0 };
        let error_g = mean_g - self.reference_g();
        if !(sd_g >= 0.0 && sd_g.is_finite() && error_g.is_finite()) {
            return f64::NAN;
        }
        if sd_g <= 0.0 {
            return if error_g >= -1e-9 { 1.0 } else { 0.0 };
        }
        let root = libm::sqrt(test.sample as f64);
        let shift = error_g * root / sd_g;
        if test.sample < 2 || test.factor <= 0.0 {
            return normal_cdf(shift);
        }
        // T >= -c with shift d has the probability of T <= c with shift -d.
        noncentral_t_cdf(test.factor * root, (test.sample - 1) as f64, -shift)
    }
}

/// Both parts of a test, and what that says of the whole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PassProbability {
    /// The count of packs below the limits passes.
    pub count: f64,
    /// The mean passes.
    pub mean: f64,
}

impl PassProbability {
    /// At least this probability that both pass, however they hang together (Bonferroni).
    #[must_use]
    pub fn at_least(&self) -> f64 {
        (self.count + self.mean - 1.0).max(0.0)
    }

    /// At most this probability that both pass.
    #[must_use]
    pub fn at_most(&self) -> f64 {
        self.count.min(self.mean)
    }
}

/// ln of n! / (mid! bad! (n - mid - bad)!).
fn ln_multinomial(n: u64, mid: u64, bad: u64) -> f64 {
    ln_choose(n, mid) + ln_choose(n - mid, bad)
}

/// ln of p^count, with 0^0 = 1.
fn ln_power(p: f64, count: u64) -> f64 {
    if count == 0 { 0.0 } else { count as f64 * libm::log(p) }
}

/// ln of the number of ways to choose k of n; minus infinity where there is none. A sum of the logarithms of the factors:
/// more exact than differences of the gamma function.
fn ln_choose(n: u64, k: u64) -> f64 {
    if k > n {
        return f64::NEG_INFINITY;
    }
    let k = k.min(n - k);
    (0..k).map(|i| libm::log((n - i) as f64 / (k - i) as f64)).sum()
}

#[cfg(test)]
mod tests;
