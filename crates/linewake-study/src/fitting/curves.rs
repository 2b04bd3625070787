//! The data of the figures of a sample.

use super::law::Fits;
use linewake_kpi::study::HistogramBin;
use linewake_kpi::study::fitting::{Candidate, CurvePoint, Curves, LawCurve};
use linewake_stats::distribution::Distribution;
use linewake_stats::estimate::quantile_of;
use linewake_stats::recorded::{Recorded, Recording, survival};

/// Points of a curve.
const MOST_POINTS: usize = 120;

pub(super) fn of(
    record: &Recorded,
    sorted: &[f64],
    law: &Distribution,
    candidates: &[Candidate],
    fits: &Fits,
) -> Curves {
    let (Some(least), Some(longest)) = (sorted.first().copied(), sorted.last().copied()) else {
        return Curves::default();
    };
    let grid = match record.recording {
        Recording::Rounded { grid } | Recording::BothEnds { grid } => Some(grid),
        Recording::RoundedUp => Some(1.0),
        Recording::Exact => None,
    };
    let edges = edges(sorted, grid);
    let mut bins = Vec::new();
    let mut expected = Vec::new();
    let n = sorted.len() as f64;
    for (place, pair) in edges.windows(2).enumerate() {
        let (from, to) = (pair[0], pair[1]);
        let is_last = place + 2 == edges.len();
        let inside = |value: &&f64| **value >= from && (**value < to || is_last);
        let count = sorted.iter().filter(inside).count() as u64;
        bins.push(HistogramBin { from, to, count });
        expected.push(n * (law.cdf(to) - law.cdf(from)));
    }
    let steps = survival(record);
    let every = steps.len().div_ceil(MOST_POINTS).max(1);
    let mut points: Vec<CurvePoint> = steps
        .iter()
        .step_by(every)
        .filter(|step| step.longer > 0.0)
        .map(|step| CurvePoint { x: step.time, y: step.longer })
        .collect();
    points.dedup_by(|one, other| one.x <= other.x);
    let low = least.max(longest * 1e-4).max(f64::MIN_POSITIVE);
    let place = |step: usize| low * (longest / low).powf(step as f64 / 60.0);
    let curve = |family: &'static str, law: &Distribution| LawCurve {
        family,
        points: (0..=60)
            .map(|step| CurvePoint { x: place(step), y: 1.0 - law.cdf(place(step)) })
            .filter(|point| point.y > 0.0)
            .collect(),
    };
    let of_family = |candidate: &Candidate| {
        let (family, fit) = fits.iter().find(|(family, _)| family.name() == candidate.family)?;
        fit.as_ref().ok().map(|fit| curve(family.name(), &fit.distribution))
    };
    // Quantiles by the survival curve, so that cut-off times are in them.
    let mut quantiles = Vec::new();
    let mut before = 1.0;
    for step in steps.iter() {
        let middle = 1.0 - 0.5 * (before + step.longer);
        before = step.longer;
        quantiles.push(CurvePoint { x: law.quantile(middle), y: step.time });
    }
    let thin = quantiles.len().div_ceil(MOST_POINTS).max(1);
    let last = quantiles.last().copied();
    let mut quantiles: Vec<CurvePoint> = quantiles.into_iter().step_by(thin).collect();
    quantiles.extend(last.filter(|_| thin > 1));
    quantiles.retain(|point| point.x.is_finite());
    Curves {
        bins,
        expected,
        survival: points,
        laws: candidates.iter().filter_map(of_family).collect(),
        quantiles,
    }
}

/// Edges of 8 to 30 bins of round width, on the grid where there is one; the longest hundredth is in the last.
fn edges(sorted: &[f64], grid: Option<f64>) -> Vec<f64> {
    let longest = sorted.last().copied().unwrap_or(1.0);
    let high = quantile_of(sorted, 0.99).unwrap_or(longest).max(longest * 0.05);
    let wanted = (1.5 * (sorted.len() as f64).sqrt()).clamp(6.0, 26.0);
    let rough = high / wanted;
    let power = 10_f64.powf(rough.log10().floor());
    let round =
        [1.0, 2.0, 2.5, 5.0, 10.0].iter().map(|factor| factor * power).find(|width| *width >= rough * 0.999);
    let mut width = round.unwrap_or(rough);
    if let Some(grid) = grid {
        width = (width / grid).round().max(1.0) * grid;
    }
    // Values on a grid stand in the middle of a bin.
    let first = if grid.is_some() { 0.5 * width.min(grid.unwrap_or(width)) } else { 0.0 };
    let mut edges = vec![if grid.is_some() { 0.0_f64.max(first) } else { 0.0 }];
    while edges.last().is_some_and(|last| *last < high) && edges.len() < 60 {
        let last = edges.last().copied().unwrap_or(0.0);
        edges.push(last + width);
    }
    edges
}
