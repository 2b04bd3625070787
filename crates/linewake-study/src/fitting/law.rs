//! One sample: its laws, how well they fit, which is proposed and why, and what speaks against a renewal model.

use super::curves;
use super::samples::Window;
use super::typed::{Unit, typed};
use super::warnings;
use linewake_kpi::study::fitting::{
    Bounded, Candidate, Chosen, FitWarning, FitWarningKind, GoodnessOfFit, ParameterFit, TimesFit,
    WrittenDown,
};
use linewake_stats::distribution::Distribution;
use linewake_stats::estimate::{mean, quantile_of};
use linewake_stats::fit::{Family, FitError};
use linewake_stats::interval::Interval;
use linewake_stats::recorded::{
    Goodness, GoodnessMethod, Parameter, Recorded, RecordedFit, Recording, Redraw, goodness, heaping,
    interval, survival,
};
use linewake_stats::stream::Streams;

/// Fewer complete times than this are few.
pub const FEW: usize = 20;
/// With fewer the sample itself is no law: its gaps would be taken for the truth.
const LEAST_EMPIRICAL: usize = 30;
/// Values of a sample that is proposed as it is.
const MOST_VALUES: usize = 50;
/// A law is judged on at most so many times; a larger record by a sample of it.
pub const MOST_JUDGED: usize = 1000;
/// Counts with a median from here on are taken as half a cycle short of what was counted, which is near enough.
const LARGE_COUNT: f64 = 20.0;
/// A grid of which the median has so many steps is too fine to matter: it adds less than a thousandth to the variance.
const FINE_STEPS: f64 = 20.0;

/// How fits are made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FitSettings {
    /// Level of the intervals.
    pub level: f64,
    /// Seed of the drawn records.
    pub seed: u64,
    /// Most records drawn to judge a law.
    pub most_draws: usize,
}

/// A sample in order.
pub(super) struct Times {
    pub(super) what: String,
    pub(super) unit: Unit,
    /// Name of its random stream.
    pub(super) stream: String,
    /// Times seen to their end with their shift, in order.
    pub(super) complete: Vec<(f64, usize)>,
    pub(super) cut_off: Vec<f64>,
    /// The windows of times between stops; `None` of durations.
    pub(super) windows: Option<Vec<Window>>,
    /// Moments on the wall clock that show whether starts stand on the grid too.
    pub(super) begins: Vec<f64>,
}

/// A fitted sample with the law that is proposed.
pub(super) struct Fitted {
    pub(super) shown: TimesFit,
    pub(super) law: Distribution,
    /// Sigma of the logarithms, for the family of reasons.
    pub(super) sigma: Option<f64>,
    pub(super) total: f64,
}

/// Fits all laws to the sample. `None` of a sample without a complete time above 0: the message says why.
pub(super) fn fitted(times: &Times, settings: FitSettings) -> Result<Fitted, String> {
    let values: Vec<f64> = times.complete.iter().map(|(time, _)| *time).collect();
    let mut sorted = values.clone();
    sorted.sort_by(f64::total_cmp);
    let (recording, written_down) = recording(times, &values, &sorted);
    let shifted: Vec<f64>;
    let as_counted = match recording {
        // A large count is half a cycle more than the time that was rounded up to it.
        Recording::Exact if times.unit.is_count() => {
            shifted = values.iter().map(|count| (count - 0.5).max(0.5)).collect();
            &shifted
        }
        _ => &values,
    };
    let record = Recorded::new(as_counted, &times.cut_off, recording).map_err(|error| error.to_string())?;
    let fits = Family::ALL.map(|family| (family, RecordedFit::of(family, &record)));
    let judged =
        if is_constant(times, &sorted) { Vec::new() } else { judge(times, &record, &fits, settings) };
    let mut candidates: Vec<Candidate> = fits
        .iter()
        .map(|(family, fit)| candidate(*family, fit.as_ref(), &record, &judged, settings.level))
        .collect();
    candidates.sort_by(|one, other| {
        one.aic.unwrap_or(f64::INFINITY).total_cmp(&other.aic.unwrap_or(f64::INFINITY))
    });
    let (law, chosen) = choose(times, &record, &fits, &judged, &candidates, &sorted);
    let chosen_fit = fits.iter().find(|(family, _)| family.name() == chosen.family);
    let unseen = chosen_fit.and_then(|(_, fit)| fit.as_ref().ok()).map_or(0.0, |fit| fit.unseen);
    let mut warnings = warnings::of_sample(times, &values);
    if values.len() < FEW {
        let words = format!(
            "only {} complete {}: the intervals are wide, and the law can hardly be told",
            values.len(),
            if values.len() == 1 { "time" } else { "times" }
        );
        warnings.insert(0, FitWarning { kind: FitWarningKind::Few, words, p: None });
    }
    if chosen.family == "empirical" {
        let words = "no law fits; the observed times themselves are proposed".to_owned();
        warnings.push(FitWarning { kind: FitWarningKind::NoLaw, words, p: None });
    }
    if unseen > 0.01 {
        let words = format!(
            "about {:.0} % of such stops are too short for the clock of the record to see; the time between stops is \
             shortened for them",
            100.0 * unseen
        );
        warnings.push(FitWarning { kind: FitWarningKind::Unseen, words, p: None });
    }
    let curves = curves::of(&record, &sorted, &law, &candidates, &fits);
    let sigma = fits.iter().find_map(|(family, fit)| match (family, fit) {
        (Family::Lognormal, Ok(fit)) => match fit.distribution {
            Distribution::Lognormal { sigma, .. } => Some(sigma),
            _ => None,
        },
        _ => None,
    });
    let total = values.iter().sum::<f64>() + times.cut_off.iter().sum::<f64>();
    let shown = TimesFit {
        what: times.what.clone(),
        unit: times.unit.word(),
        complete: values.len() as u64,
        cut_off: record.cut_off().len() as u64,
        mean: mean(&values).unwrap_or(0.0),
        median: quantile_of(&sorted, 0.5).unwrap_or(0.0),
        longest: sorted.last().copied().unwrap_or(0.0),
        written_down,
        unseen,
        candidates,
        chosen,
        warnings,
        offer: None,
        curves,
    };
    Ok(Fitted { shown, law, sigma, total })
}

/// How the times were written down: whether they stand on a grid, and whether starts do too.
fn recording(times: &Times, values: &[f64], sorted: &[f64]) -> (Recording, WrittenDown) {
    if times.unit.is_count() {
        let large = quantile_of(sorted, 0.5).is_some_and(|median| median >= LARGE_COUNT);
        return (if large { Recording::Exact } else { Recording::RoundedUp }, WrittenDown::WholeNumbers);
    }
    let median = quantile_of(sorted, 0.5).unwrap_or(0.0);
    let Some(found) = heaping(values).filter(|found| median < FINE_STEPS * found.grid) else {
        return (Recording::Exact, WrittenDown::Exact);
    };
    let first = times.begins.first().copied().unwrap_or(0.0);
    let apart: Vec<f64> = times.begins.iter().map(|at| (at - first).abs()).filter(|it| *it > 0.0).collect();
    let near = (0.02 * found.grid).min(0.2);
    let on = |time: &&f64| (**time - (**time / found.grid).round() * found.grid).abs() <= near;
    let both = !apart.is_empty() && apart.iter().filter(on).count() * 100 >= apart.len() * 85;
    let (grid, share) = (found.grid, found.share);
    if both || times.windows.is_some() {
        (Recording::BothEnds { grid }, WrittenDown::BothEnds { grid_s: grid, share })
    } else {
        (Recording::Rounded { grid }, WrittenDown::Rounded { grid_s: grid, share })
    }
}

/// All complete times are the same to half a per cent (a count: to two), and none was cut off much later.
fn is_constant(times: &Times, sorted: &[f64]) -> bool {
    let (Some(least), Some(most)) = (sorted.first(), sorted.last()) else { return false };
    let middle = 0.5 * (least + most);
    let slack = if times.unit.is_count() { (0.005 * middle).max(2.0) } else { 1e-6 * middle };
    sorted.len() >= 2
        && most - least <= slack
        && times.cut_off.iter().all(|time| *time <= most + slack)
        && (!times.unit.is_count() || middle > 10.0 * slack.min(2.0))
}

/// What came of each family.
pub(super) type Fits = [(Family, Result<RecordedFit, FitError>); 4];

/// Judges the laws, the lowest AIC first, until one is not turned down; those for which there is a table are all judged.
fn judge(times: &Times, record: &Recorded, fits: &Fits, settings: FitSettings) -> Vec<(Family, Goodness)> {
    let mut stream = Streams::new(settings.seed, 0).get(&times.stream);
    let part = part_of(times, record);
    let (record, lengths) = match &part {
        Some((part, lengths)) => (part, lengths.clone()),
        None => (record, times.windows.as_ref().map(|windows| windows.iter().map(Window::length).collect())),
    };
    let redraw = match &lengths {
        Some(lengths) if !record.cut_off().is_empty() => Redraw::Windows(lengths),
        _ => Redraw::Complete,
    };
    let mut order: Vec<&RecordedFit> = fits.iter().filter_map(|(_, fit)| fit.as_ref().ok()).collect();
    order.sort_by(|one, other| one.aic().total_cmp(&other.aic()));
    let mut judged = Vec::new();
    let mut found = false;
    for fit in order {
        let refit = part.as_ref().map(|(part, _)| RecordedFit::of(fit.family, part));
        let fit = match &refit {
            Some(Ok(refit)) => refit,
            Some(Err(_)) => continue,
            None => fit,
        };
        let draws = if found { 0 } else { settings.most_draws };
        let Some(goodness) = goodness(fit, record, redraw, draws, &mut stream) else { continue };
        if matches!(goodness.method, GoodnessMethod::Draws { drawn: 0, .. }) {
            continue;
        }
        found |= !goodness.is_turned_down();
        judged.push((fit.family, goodness));
    }
    judged
}

/// A sample of a large record, with the lengths of its windows: a law that fits a thousand times is good enough for a
/// model, and a million would turn down any.
fn part_of(times: &Times, record: &Recorded) -> Option<(Recorded, Option<Vec<f64>>)> {
    let all = record.complete();
    if all.len() <= MOST_JUDGED {
        return None;
    }
    let every = all.len().div_ceil(MOST_JUDGED);
    let windows = times.windows.as_ref().filter(|windows| windows.len() >= 2 * every);
    if let Some(windows) = windows {
        let taken: Vec<&Window> = windows.iter().step_by(every).collect();
        let half = if times.unit.is_count() && record.recording == Recording::Exact { 0.5 } else { 0.0 };
        let complete: Vec<f64> = taken
            .iter()
            .flat_map(|window| window.complete.iter().map(|(time, _)| (time - half).max(half)))
            .collect();
        let cut_off: Vec<f64> = taken.iter().map(|window| window.cut_off).collect();
        let lengths = taken.iter().map(|window| window.length()).collect();
        return Some((Recorded::new(&complete, &cut_off, record.recording).ok()?, Some(lengths)));
    }
    let taken: Vec<f64> = all.iter().copied().step_by(every).collect();
    Some((Recorded::new(&taken, &[], record.recording).ok()?, None))
}

fn candidate(
    family: Family,
    fit: Result<&RecordedFit, &FitError>,
    record: &Recorded,
    judged: &[(Family, Goodness)],
    level: f64,
) -> Candidate {
    let empty = Candidate {
        family: family.name(),
        parameters: Vec::new(),
        mean: None,
        log_likelihood: None,
        aic: None,
        bic: None,
        goodness: None,
        why_not: None,
    };
    let fit = match fit {
        Ok(fit) => fit,
        Err(error) => return Candidate { why_not: Some(error.to_string()), ..empty },
    };
    let bounded =
        |value: f64, parameter: Parameter| bounded(value, interval(fit, record, parameter, level).as_ref());
    let mean = bounded(fit.distribution.mean(), Parameter::Mean);
    let parameter = |name, has_unit, bounded| ParameterFit { name, has_unit, bounded };
    let parameters = match fit.distribution {
        Distribution::Weibull { shape, scale } | Distribution::Gamma { shape, scale } => vec![
            parameter("shape", false, bounded(shape, Parameter::Shape)),
            parameter("scale", true, bounded(scale, Parameter::Scale)),
        ],
        Distribution::Lognormal { median, sigma } => vec![
            parameter("median", true, bounded(median, Parameter::Scale)),
            parameter("sigma", false, bounded(sigma, Parameter::Shape)),
        ],
        _ => vec![parameter("mean", true, mean)],
    };
    let goodness = judged.iter().find(|(judged, _)| *judged == family).map(|(_, goodness)| {
        let (p, drawn, turned_down_at) = match goodness.method {
            GoodnessMethod::Table { turned_down_at } => (None, None, turned_down_at),
            GoodnessMethod::Draws { drawn, p } => (Some(p), Some(drawn as u64), None),
        };
        GoodnessOfFit {
            anderson_darling: goodness.anderson_darling,
            p,
            drawn,
            turned_down_at,
            turned_down: goodness.is_turned_down(),
            times: goodness.times as u64,
        }
    });
    Candidate {
        parameters,
        mean: Some(mean),
        log_likelihood: Some(fit.log_likelihood),
        aic: Some(fit.aic()),
        bic: Some(fit.bic(record)),
        goodness,
        ..empty
    }
}

/// An end that the data do not set is left out.
pub(super) fn bounded(value: f64, interval: Option<&Interval>) -> Bounded {
    let end = |end: f64| Some(end).filter(|end| end.is_finite() && *end > 0.0);
    Bounded {
        value,
        low: interval.and_then(|interval| end(interval.low)),
        high: interval.and_then(|interval| end(interval.high)),
    }
}

/// The law that is proposed.
fn choose(
    times: &Times,
    record: &Recorded,
    fits: &Fits,
    judged: &[(Family, Goodness)],
    candidates: &[Candidate],
    sorted: &[f64],
) -> (Distribution, Chosen) {
    let chosen = |law: Distribution, family: &'static str, mean: Bounded, why: String| {
        let json = typed(&law, times.unit);
        (law, Chosen { family, json, mean, why })
    };
    let known = |value: f64| Bounded { value, low: None, high: None };
    if is_constant(times, sorted) {
        let value = quantile_of(sorted, 0.5).unwrap_or(0.0);
        let why = format!("all {} complete values are the same", sorted.len());
        return chosen(Distribution::Constant { value }, "constant", known(value), why);
    }
    let of = |family: Family| fits.iter().find(|(other, _)| *other == family)?.1.as_ref().ok();
    let mut order: Vec<&RecordedFit> = fits.iter().filter_map(|(_, fit)| fit.as_ref().ok()).collect();
    order.sort_by(|one, other| one.aic().total_cmp(&other.aic()));
    let Some(best) = order.first().copied() else {
        // No law at all: too few different times.
        let value = quantile_of(sorted, 0.5).unwrap_or(0.0);
        let why = "no law can be fitted to these times".to_owned();
        return chosen(Distribution::Constant { value }, "constant", known(value), why);
    };
    let shown = |family: Family| candidates.iter().find(|it| it.family == family.name());
    let mean = |fit: &RecordedFit| {
        shown(fit.family).and_then(|it| it.mean).unwrap_or(known(fit.distribution.mean()))
    };
    let goodness = |family: Family| judged.iter().find(|(other, _)| *other == family).map(|(_, it)| it);
    let holds = |fit: &&RecordedFit| goodness(fit.family).is_some_and(|it| !it.is_turned_down());
    let fitting = order.iter().copied().find(holds);
    // A second parameter must earn its keep: with few data the simplest law within reach of the best is taken.
    if sorted.len() < FEW
        && let Some(exponential) = of(Family::Exponential)
        && exponential.aic() <= best.aic() + 2.0
        && goodness(Family::Exponential).is_none_or(|it| !it.is_turned_down())
        && times.windows.is_some()
    {
        let why = "few data, and the simplest law describes them within 2 of the best AIC".to_owned();
        return chosen(exponential.distribution.clone(), Family::Exponential.name(), mean(exponential), why);
    }
    match fitting {
        Some(fit) => {
            let why = reason_for(fit, best, &order, goodness(fit.family));
            chosen(fit.distribution.clone(), fit.family.name(), mean(fit), why)
        }
        None if sorted.len() >= LEAST_EMPIRICAL && !judged.is_empty() => {
            let values = slices(record, times.unit);
            let law = Distribution::Empirical { values };
            let why = format!(
                "every law is turned down at the 5 % level, and {} complete times are enough to take them as they are",
                sorted.len()
            );
            let mean = known(law.mean());
            chosen(law, "empirical", mean, why)
        }
        None => {
            let verdict =
                if judged.is_empty() { "not judged" } else { "turned down at the 5 % level, as all are" };
            let why = format!("lowest AIC; {verdict}, and too few times to be taken as they are");
            chosen(best.distribution.clone(), best.family.name(), mean(best), why)
        }
    }
}

fn reason_for(
    fit: &RecordedFit,
    best: &RecordedFit,
    order: &[&RecordedFit],
    goodness: Option<&Goodness>,
) -> String {
    let verdict = match goodness.map(|it| it.method) {
        Some(GoodnessMethod::Draws { p, .. }) => format!("not turned down (p = {p:.2})"),
        _ => "not turned down at the 5 % level".to_owned(),
    };
    if fit.family != best.family {
        return format!(
            "{verdict}; the {} law has an AIC {:.1} lower but is turned down",
            best.family.name(),
            fit.aic() - best.aic()
        );
    }
    match order.get(1) {
        Some(next) => format!(
            "lowest AIC, {:.1} below the {} law, and {verdict}",
            next.aic() - fit.aic(),
            next.family.name()
        ),
        None => format!("the only law that can be fitted, and {verdict}"),
    }
}

/// The sample as at most a hundred equally likely values: means of slices of equal probability, so that the mean is kept.
/// What was cut off is shared out among the longer times (Efron 1967: the longest counts as complete).
fn slices(record: &Recorded, unit: Unit) -> Vec<f64> {
    let mut weighted: Vec<(f64, f64)> = Vec::new();
    let mut before = 1.0;
    for step in survival(record) {
        weighted.push((step.time, before - step.longer));
        before = step.longer;
    }
    if let Some(last) = weighted.last_mut() {
        last.1 += before;
    }
    let many = weighted.len().min(MOST_VALUES);
    let share = 1.0 / many as f64;
    let mut values = Vec::with_capacity(many);
    let (mut sum, mut room) = (0.0, share);
    for (time, mut weight) in weighted {
        while weight > 1e-12 {
            let taken = weight.min(room);
            sum += taken * time;
            weight -= taken;
            room -= taken;
            if room <= 1e-12 {
                values.push(sum / share);
                (sum, room) = (0.0, share);
            }
        }
    }
    if values.len() < many && share - room > 0.5 * share {
        values.push(sum / (share - room));
    }
    if unit.is_count() {
        values.iter_mut().for_each(|value| *value = value.ceil().max(1.0));
    }
    values
}
