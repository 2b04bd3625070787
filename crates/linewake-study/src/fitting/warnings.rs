//! What speaks against a renewal model, in words: trend, difference between shifts, values that hang together.

use super::law::Times;
use linewake_kpi::study::fitting::{FitWarning, FitWarningKind};
use linewake_stats::renewal::{
    Verdict, frequency_by_group, hangs_together, trend_of_moments, trend_of_values, values_by_group,
};
use std::collections::BTreeMap;

/// A doubt is told when chance alone would show as much in one of a thousand logs: a line has dozens of reasons, and each
/// is asked several times.
pub const TOLD_BELOW: f64 = 0.001;

/// Doubts about the order of a sample.
pub(super) fn of_sample(times: &Times, values: &[f64]) -> Vec<FitWarning> {
    let mut found = Vec::new();
    let mut tell = |kind, verdict: Option<Verdict>, words: &dyn Fn(&Verdict) -> String| {
        if let Some(verdict) = verdict.filter(|verdict| verdict.p < TOLD_BELOW) {
            found.push(FitWarning { kind, words: words(&verdict), p: Some(verdict.p) });
        }
    };
    let trend = match &times.windows {
        Some(windows) => {
            let (mut clock, mut moments) = (0.0, Vec::new());
            for window in windows {
                let mut at = clock;
                for (time, _) in &window.complete {
                    at += time;
                    moments.push(at);
                }
                clock += window.length();
            }
            trend_of_moments(&moments, clock, values)
        }
        None => trend_of_values(values),
    };
    let is_between = times.windows.is_some();
    tell(FitWarningKind::Trend, trend, &|verdict| {
        let way = match (is_between, verdict.statistic > 0.0) {
            (true, true) => "stops become more frequent",
            (true, false) => "stops become rarer",
            (false, true) => "stops become longer",
            (false, false) => "stops become shorter",
        };
        format!(
            "{way} over the watch: a model of one law for all of it is wrong, so look at the later part alone"
        )
    });
    tell(FitWarningKind::HangTogether, hangs_together(values), &|verdict| {
        let kind = if verdict.statistic > 0.0 {
            "long follows long and short follows short"
        } else {
            "long and short alternate"
        };
        format!(
            "{kind} (rank correlation of neighbours {:.2}): the stops are not independent, and a renewal model spreads \
             them too evenly",
            verdict.statistic
        )
    });
    found
}

/// Whether named groups of shifts differ: how often the machine stops in each (`exposure` on the clock of the stops), or
/// how long.
pub(super) fn by_group(times: &Times, groups: &[String], exposure: &[f64]) -> Option<FitWarning> {
    let mut by_name: BTreeMap<&str, (Vec<f64>, f64)> = BTreeMap::new();
    for (group, exposure) in groups.iter().zip(exposure) {
        by_name.entry(group).or_default().1 += exposure;
    }
    for (time, shift) in &times.complete {
        if let Some(group) = groups.get(*shift) {
            by_name.entry(group).or_default().0.push(*time);
        }
    }
    if by_name.len() < 2 {
        return None;
    }
    let (is_between, unit) = (times.windows.is_some(), times.unit.word());
    let verdict = if is_between {
        let counts: Vec<usize> = by_name.values().map(|(times, _)| times.len()).collect();
        let exposure: Vec<f64> = by_name.values().map(|(_, exposure)| *exposure).collect();
        let values: Vec<f64> = times.complete.iter().map(|(time, _)| *time).collect();
        frequency_by_group(&counts, &exposure, &values)
    } else {
        let values: Vec<Vec<f64>> = by_name.values().map(|(times, _)| times.clone()).collect();
        values_by_group(&values)
    }?;
    if verdict.p >= TOLD_BELOW {
        return None;
    }
    let figures: Vec<String> = by_name
        .iter()
        .map(|(name, (times, exposure))| {
            let mean = if is_between {
                format!("one in {:.0} {unit}", exposure / times.len().max(1) as f64)
            } else {
                format!("mean {:.0} s", times.iter().sum::<f64>() / times.len().max(1) as f64)
            };
            format!("{name}: {mean}")
        })
        .collect();
    let what = if is_between { "how often it stops" } else { "how long it stops" };
    let words =
        format!("{what} depends on the shift ({}): one law for all shifts is a mixture", figures.join(", "));
    Some(FitWarning { kind: FitWarningKind::ByShift, words, p: Some(verdict.p) })
}
