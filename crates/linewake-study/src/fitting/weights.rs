//! Portion weights from a weigher's file: mean, spread within and between batches, slow drift.
//!
//! *Formula*: weight = mean + batch shift + drift + own deviation, as in the model. The drift is first-order
//! autoregressive; half the mean square of differences of packs k apart in one batch is then s^2 + d^2 (1 - f^k), which is
//! fitted by least squares, each lag weighted by its pairs over k. Without drift the spread between batches is that of the
//! analysis of variance. Intervals by files drawn from the fitted model and fitted again.
//! *Source*: Searle, Casella and McCulloch (1992), Variance Components, chapter 3; Cressie (1993), Statistics for Spatial
//! Data, section 2.6 (weighted least squares of a variogram), both from memory; Efron and Tibshirani (1993), An
//! Introduction to the Bootstrap, chapter 6.

use super::law::FitSettings;
use super::typed::digits;
use linewake_kpi::study::HistogramBin;
use linewake_kpi::study::fitting::{Bounded, CurvePoint, DriftFit, WeightsFit};
use linewake_stats::distribution::normal::normal_cdf;
use linewake_stats::distribution::normal_quantile;
use linewake_stats::estimate::{mean, quantile_of, variance};
use linewake_stats::stream::{Stream, Streams};

/// Fewer weights than this are not fitted.
pub const LEAST_WEIGHTS: usize = 20;
/// Files drawn for the intervals.
const DRAWS: usize = 200;
/// Of larger files fewer are drawn.
const FEWER_DRAWS: (usize, usize) = (50_000, 50);
/// A drift is told when neighbours within a batch hang together so far beyond chance.
const DRIFT_BEYOND: f64 = 4.0;
/// Places between two packs that are compared.
const LAGS: [usize; 18] = [1, 2, 3, 4, 5, 7, 10, 14, 20, 30, 45, 70, 100, 150, 220, 330, 500, 800];

/// A weigher's file: weights in the order of weighing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Weighed {
    /// Weights, in grams.
    pub weights_g: Vec<f64>,
    /// Batch of each, as a number; empty if the file does not tell.
    pub batches: Vec<usize>,
    /// Seconds from one pack to the next in the middle, where the file tells times.
    pub pack_s: Option<f64>,
    /// Standard deviation of the weigher itself, which is taken off; 0 if it is not known.
    pub weigher_sd_g: f64,
}

/// Fits the weights.
///
/// # Errors
/// In words: too few weights, or all the same.
pub fn fit_weights(weighed: &Weighed, settings: FitSettings) -> Result<WeightsFit, String> {
    let n = weighed.weights_g.len();
    if n < LEAST_WEIGHTS {
        return Err(format!("the file has {n} weights; at least {LEAST_WEIGHTS} are needed"));
    }
    let runs = runs(weighed);
    let Some(found) = Found::of(&weighed.weights_g, &runs) else {
        return Err("all weights of the file are the same, so there is nothing to fit".to_owned());
    };
    let mut stream = Streams::new(settings.seed, 0).get("weights");
    let draws = if n > FEWER_DRAWS.0 { FEWER_DRAWS.1 } else { DRAWS };
    let drawn: Vec<Found> = (0..draws)
        .filter_map(|_| {
            let drawn = found.draw(&runs, n, &mut stream);
            Found::with(&drawn, &runs, found.drift.is_some())
        })
        .collect();
    let bounded = |value: f64, of: &dyn Fn(&Found) -> f64| {
        // The ends about the value, turned round: what was drawn lies about the fit as the fit about the truth.
        let mut off: Vec<f64> = drawn.iter().map(|it| of(it) - value).collect();
        off.sort_by(f64::total_cmp);
        let half = 0.5 - 0.5 * settings.level;
        let end = |p: f64| quantile_of(&off, p).map(|off| value - off);
        Bounded { value, low: end(1.0 - half).map(|it| it.max(0.0)), high: end(half) }
    };
    let own = |found: &Found| (found.own - weighed.weigher_sd_g * weighed.weigher_sd_g).max(0.0).sqrt();
    let sd = bounded(own(&found), &own);
    let many = runs.len();
    let batches = if weighed.batches.is_empty() { 0 } else { many };
    let sd_batch_g = (batches >= 2).then(|| bounded(found.batch.sqrt(), &|it| it.batch.sqrt()));
    let drift = found.drift.map(|drift| DriftFit {
        sd_g: bounded(drift.0.sqrt(), &|it| it.drift.map_or(0.0, |drift| drift.0.sqrt())),
        correlation_packs: bounded(drift.1, &|it| it.drift.map_or(0.0, |drift| drift.1)),
        correlation_s: weighed.pack_s.map(|pack_s| drift.1 * pack_s),
    });
    let mean_g = bounded(found.mean, &|it| it.mean);
    let mut notes = Vec::new();
    if weighed.weigher_sd_g > 0.0 {
        notes.push(format!(
            "the weigher's own standard deviation of {} g, as in the model, is taken off",
            digits(weighed.weigher_sd_g)
        ));
    } else {
        notes.push("the spread takes in the weigher's own error, which is not known here".to_owned());
    }
    if (2..6).contains(&batches) {
        notes.push(format!("{batches} batches tell little of the spread between batches"));
    }
    if weighed.batches.is_empty() {
        notes.push(
            "the file does not tell batches (a column \"batch\"): their spread is in the rest".to_owned(),
        );
    }
    if drift.is_some_and(|drift| drift.correlation_s.is_none()) {
        notes.push(
            "a drift is put into a model only if its time is known: the file has no column \"time_s\""
                .to_owned(),
        );
    }
    let grams = |bounded: &Bounded| format!("\"{} g\"", digits(bounded.value));
    let mut json = format!("{{ \"mean\": {}, \"sd\": {}", grams(&mean_g), grams(&sd));
    if let Some(batch) = &sd_batch_g {
        json.push_str(&format!(", \"sd_batch\": {}", grams(batch)));
    }
    if let Some(DriftFit { sd_g, correlation_s: Some(time), .. }) = &drift {
        json.push_str(&format!(
            ", \"drift\": {{ \"sd\": {}, \"correlation_time\": \"{} s\" }}",
            grams(sd_g),
            digits(*time)
        ));
    }
    json.push_str(" }");
    let (bins, expected) = histogram(&weighed.weights_g, &found);
    let fitted = |lag: f64| {
        let drift = found.drift.map_or(0.0, |(d, packs)| d * (1.0 - (-lag / packs).exp()));
        found.own + drift
    };
    Ok(WeightsFit {
        packs: n as u64,
        batches: batches as u64,
        mean_g,
        sd_g: sd,
        sd_batch_g,
        drift,
        variogram: found.variogram.iter().map(|&(lag, half, _)| CurvePoint { x: lag, y: half }).collect(),
        variogram_fitted: found
            .variogram
            .iter()
            .map(|&(lag, _, _)| CurvePoint { x: lag, y: fitted(lag) })
            .collect(),
        bins,
        expected,
        json,
        notes,
    })
}

/// First and last place of each batch; one of all weights where batches are not told.
fn runs(weighed: &Weighed) -> Vec<(usize, usize)> {
    let n = weighed.weights_g.len();
    if weighed.batches.is_empty() {
        return vec![(0, n)];
    }
    let mut runs = Vec::new();
    let mut from = 0;
    for place in 1..=n {
        if place == n || weighed.batches.get(place) != weighed.batches.get(from) {
            runs.push((from, place));
            from = place;
        }
    }
    runs
}

/// What a file says.
#[derive(Clone, Debug)]
struct Found {
    mean: f64,
    /// Variance from pack to pack.
    own: f64,
    /// Variance between batches.
    batch: f64,
    /// Variance of the drift, and packs until its correlation has fallen to 37 %.
    drift: Option<(f64, f64)>,
    /// Lag, half the mean square of differences, pairs.
    variogram: Vec<(f64, f64, f64)>,
}

impl Found {
    fn of(weights: &[f64], runs: &[(usize, usize)]) -> Option<Self> {
        Self::with(weights, runs, hang_together(weights, runs) > DRIFT_BEYOND)
    }

    fn with(weights: &[f64], runs: &[(usize, usize)], has_drift: bool) -> Option<Self> {
        let overall = mean(weights)?;
        let variogram = variogram(weights, runs);
        let means: Vec<f64> = runs.iter().filter_map(|&(from, to)| mean(&weights[from..to])).collect();
        let within: f64 = runs
            .iter()
            .zip(&means)
            .map(|(&(from, to), mean)| {
                weights[from..to].iter().map(|weight| (weight - mean) * (weight - mean)).sum::<f64>()
            })
            .sum();
        let degrees = weights.len() as f64 - runs.len() as f64;
        if degrees < 1.0 || within <= 0.0 {
            return None;
        }
        let fitted = if has_drift { of_variogram(&variogram) } else { None };
        let (own, drift) = match fitted {
            Some((own, drift, packs)) => (own, Some((drift, packs))),
            None => (within / degrees, None),
        };
        let batch = between(weights, runs, &means, own, drift, within / degrees);
        Some(Self { mean: overall, own, batch, drift, variogram })
    }

    /// A file of the same form from the model that was found.
    fn draw(&self, runs: &[(usize, usize)], n: usize, stream: &mut Stream) -> Vec<f64> {
        let mut normal = || normal_quantile(stream.open01());
        let mut weights = vec![0.0; n];
        let (keep, deviation) = self.drift.map_or((0.0, 0.0), |(d, packs)| ((-1.0 / packs).exp(), d.sqrt()));
        let mut drift = deviation * normal();
        for &(from, to) in runs {
            let shift = self.batch.sqrt() * normal();
            for weight in &mut weights[from..to] {
                drift = keep * drift + deviation * (1.0 - keep * keep).sqrt() * normal();
                *weight = self.mean + shift + drift + self.own.sqrt() * normal();
            }
        }
        weights
    }
}

/// The variance between batches that is left when what their means owe to single packs and to the drift is taken off.
fn between(
    weights: &[f64],
    runs: &[(usize, usize)],
    means: &[f64],
    own: f64,
    drift: Option<(f64, f64)>,
    within: f64,
) -> f64 {
    if runs.len() < 2 {
        return 0.0;
    }
    let Some((variance_of_drift, packs)) = drift else {
        let n = weights.len() as f64;
        let overall = weights.iter().sum::<f64>() / n;
        let sizes: Vec<f64> = runs.iter().map(|&(from, to)| (to - from) as f64).collect();
        let squares: f64 =
            sizes.iter().zip(means).map(|(size, mean)| size * (mean - overall) * (mean - overall)).sum();
        let groups = runs.len() as f64;
        let n0 = (n - sizes.iter().map(|size| size * size).sum::<f64>() / n) / (groups - 1.0);
        return ((squares / (groups - 1.0) - within) / n0).max(0.0);
    };
    let keep = (-1.0 / packs).exp();
    let owed: f64 = runs
        .iter()
        .map(|&(from, to)| {
            let m = (to - from) as f64;
            // Mean of f^|i - j| over the m x m pairs.
            let pairs = (m + 2.0
                * (keep * m / (1.0 - keep) - keep * (1.0 - keep.powf(m)) / ((1.0 - keep) * (1.0 - keep))))
                / (m * m);
            own / m + variance_of_drift * pairs.clamp(0.0, 1.0)
        })
        .sum::<f64>()
        / runs.len() as f64;
    (variance(means).unwrap_or(0.0) - owed).max(0.0)
}

/// Standard normal value of the lag-1 correlation within batches.
fn hang_together(weights: &[f64], runs: &[(usize, usize)]) -> f64 {
    let (mut products, mut squares, mut pairs) = (0.0, 0.0, 0.0);
    for &(from, to) in runs {
        let Some(mean) = mean(&weights[from..to]) else { continue };
        for place in from..to {
            squares += (weights[place] - mean) * (weights[place] - mean);
            if place + 1 < to {
                products += (weights[place] - mean) * (weights[place + 1] - mean);
                pairs += 1.0;
            }
        }
    }
    if squares > 0.0 { products / squares * f64::sqrt(pairs) } else { 0.0 }
}

fn variogram(weights: &[f64], runs: &[(usize, usize)]) -> Vec<(f64, f64, f64)> {
    let mut found = Vec::new();
    for lag in LAGS {
        let (mut squares, mut pairs) = (0.0, 0.0_f64);
        for &(from, to) in runs {
            for place in from..to.saturating_sub(lag).max(from) {
                let off = weights[place + lag] - weights[place];
                squares += off * off;
                pairs += 1.0;
            }
        }
        if pairs >= 10.0 {
            found.push((lag as f64, 0.5 * squares / pairs, pairs));
        }
    }
    found
}

/// Own variance, variance of the drift, and packs until its correlation has fallen to 37 %.
fn of_variogram(variogram: &[(f64, f64, f64)]) -> Option<(f64, f64, f64)> {
    let longest = variogram.last()?.0;
    let mut best: Option<(f64, (f64, f64, f64))> = None;
    for step in 0..=120 {
        let packs = 1.5 * (longest / 1.5).max(1.0).powf(f64::from(step) / 120.0);
        // Two unknowns by weighted least squares.
        let (mut w, mut x, mut xx, mut y, mut xy) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for &(lag, half, pairs) in variogram {
            let (weight, grown) = (pairs / lag, 1.0 - (-lag / packs).exp());
            w += weight;
            x += weight * grown;
            xx += weight * grown * grown;
            y += weight * half;
            xy += weight * grown * half;
        }
        let determinant = w * xx - x * x;
        if determinant <= 0.0 {
            continue;
        }
        let (own, drift) = ((xx * y - x * xy) / determinant, (w * xy - x * y) / determinant);
        if own <= 0.0 || drift <= 0.0 {
            continue;
        }
        let off: f64 = variogram
            .iter()
            .map(|&(lag, half, pairs)| {
                let miss = half - own - drift * (1.0 - (-lag / packs).exp());
                pairs / lag * miss * miss
            })
            .sum();
        if best.is_none_or(|(least, _)| off < least) {
            best = Some((off, (own, drift, packs)));
        }
    }
    best.map(|(_, found)| found)
}

fn histogram(weights: &[f64], found: &Found) -> (Vec<HistogramBin>, Vec<f64>) {
    let mut sorted = weights.to_vec();
    sorted.sort_by(f64::total_cmp);
    let (low, high) = (sorted.first().copied().unwrap_or(0.0), sorted.last().copied().unwrap_or(0.0));
    let rough = (high - low) / 24.0;
    let power = 10_f64.powf(rough.log10().floor());
    let width = [1.0, 2.0, 5.0, 10.0].iter().map(|it| it * power).find(|it| *it >= rough).unwrap_or(rough);
    let first = (low / width).floor() * width;
    let spread = (found.own + found.batch + found.drift.map_or(0.0, |drift| drift.0)).sqrt();
    let (mut bins, mut expected) = (Vec::new(), Vec::new());
    let mut from = first;
    while from <= high && bins.len() < 80 {
        let to = from + width;
        let count = sorted.partition_point(|it| *it < to) - sorted.partition_point(|it| *it < from);
        bins.push(HistogramBin { from, to, count: count as u64 });
        let share = normal_cdf((to - found.mean) / spread) - normal_cdf((from - found.mean) / spread);
        expected.push(weights.len() as f64 * share);
        from = to;
    }
    (bins, expected)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SETTINGS: FitSettings = FitSettings { level: 0.95, seed: 1, most_draws: 99 };

    fn weighed(
        batch_sd: f64,
        drift: Option<(f64, f64)>,
        batches: usize,
        each: usize,
        number: u64,
    ) -> Weighed {
        let model = Found {
            mean: 405.0,
            own: 16.0,
            batch: batch_sd * batch_sd,
            drift: drift.map(|(sd, packs)| (sd * sd, packs)),
            variogram: Vec::new(),
        };
        let runs: Vec<(usize, usize)> = (0..batches).map(|it| (it * each, (it + 1) * each)).collect();
        let mut stream = Streams::new(8, number).get("weighed");
        Weighed {
            weights_g: model.draw(&runs, batches * each, &mut stream),
            batches: (0..batches * each).map(|it| it / each).collect(),
            pack_s: Some(0.5),
            weigher_sd_g: 0.0,
        }
    }

    fn holds(bounded: &Bounded, truth: f64) -> usize {
        let low = bounded.low.is_some_and(|low| low <= truth);
        usize::from(low && bounded.high.is_some_and(|high| truth <= high))
    }

    /// 95 % intervals of mean, spread within and spread between 20 batches hold the truth in at least 80 of 100 files. If
    /// they cover with 0.9, which is what such intervals of a spread do from so few batches, the bound is missed with
    /// probability 0.001 (binomial).
    #[test]
    fn intervals_of_weights_cover() {
        let mut covered = [0; 3];
        let mut drifts = 0;
        for number in 0..100 {
            let found = fit_weights(&weighed(1.5, None, 20, 60, number), SETTINGS).expect("a fit");
            covered[0] += holds(&found.mean_g, 405.0);
            covered[1] += holds(&found.sd_g, 4.0);
            covered[2] += holds(found.sd_batch_g.as_ref().expect("batches"), 1.5);
            drifts += usize::from(found.drift.is_some());
        }
        assert!(covered.iter().all(|hits| *hits >= 80), "{covered:?}");
        assert_eq!(drifts, 0, "four standard errors");
    }

    /// A drift of 2 g over 60 packs is found in each of 20 files, and its figures lie about the truth: the middle file within a
    /// fifth for the standard deviations, within a half for the time.
    #[test]
    fn a_drift_is_found() {
        let mut figures: [Vec<f64>; 3] = Default::default();
        for number in 0..20 {
            let found =
                fit_weights(&weighed(1.0, Some((2.0, 60.0)), 15, 600, number), SETTINGS).expect("a fit");
            let drift = found.drift.expect("a drift");
            figures[0].push(drift.sd_g.value / 2.0);
            figures[1].push(found.sd_g.value / 4.0);
            figures[2].push(drift.correlation_packs.value / 60.0);
            assert!(found.json.contains("\"correlation_time\""));
        }
        let middle = figures.map(|mut all| {
            all.sort_by(f64::total_cmp);
            all[10]
        });
        assert!((middle[0] - 1.0).abs() < 0.2 && (middle[1] - 1.0).abs() < 0.05, "{middle:?}");
        assert!((middle[2] - 1.0).abs() < 0.5, "{middle:?}");
    }

    #[test]
    fn the_weigher_is_taken_off_and_odd_files_are_refused() {
        let mut file = weighed(0.0, None, 1, 2000, 0);
        file.weigher_sd_g = 3.0;
        let found = fit_weights(&file, SETTINGS).expect("a fit");
        assert!((found.sd_g.value - 7.0_f64.sqrt()).abs() < 0.4, "{:?}", found.sd_g);
        assert_eq!(found.sd_batch_g, None);
        file.weights_g.truncate(5);
        assert!(fit_weights(&file, SETTINGS).expect_err("few").contains("at least 20"));
        file.weights_g = vec![400.0; 50];
        file.batches = vec![0; 50];
        assert!(fit_weights(&file, SETTINGS).expect_err("equal").contains("the same"));
    }
}
