//! What the live page shows of a line while its shifts are being run: rows of figures, and the picture of the losses.

use crate::figure;
use crate::number::{self, NONE};
use crate::wording;
use linewake_kpi::study::paired::PairedDifference;
use linewake_kpi::study::trial::TrialResult;
use linewake_kpi::summary::{Mean, Summary};

/// One figure of a line, beside that of the line that it is compared with.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct LiveRow {
    /// A key that does not change: `good_packs`, `oee`, `availability`, `performance`, `quality`.
    pub key: &'static str,
    /// What it is, with the convention that it depends on.
    pub label: String,
    /// The unit of what is shown.
    pub unit: &'static str,
    /// Of the line, in that unit, with its half width.
    pub shown: String,
    /// Of the line that it is compared with; `None` if there is none.
    pub pinned: Option<String>,
    /// Line less the other one, in that unit (of a share: in percentage points), from shifts with the same luck.
    pub difference: Option<String>,
    /// What the interval of the difference says, in a word or two; `None` without a comparison.
    pub verdict: Option<&'static str>,
    /// The mean in full: packs, or a share.
    pub mean: Option<f64>,
    /// Half width of its interval in full.
    pub half_width: Option<f64>,
    /// The difference in full.
    pub difference_mean: Option<f64>,
    /// Half width of its interval in full.
    pub difference_half_width: Option<f64>,
}

/// A picture with its words, for a wide page and for a narrow one.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct LivePicture {
    /// What it shows.
    pub title: String,
    /// How it is read.
    pub caption: String,
    /// SVG text.
    pub wide: String,
    /// SVG text for a phone.
    pub narrow: String,
}

/// Good packs, OEE and its factors, in that order; compared where a pinned line is given.
#[must_use]
pub fn rows(summary: &Summary, pinned: Option<(&Summary, &PairedDifference)>) -> Vec<LiveRow> {
    let limit = number::plain(summary.short_stop_limit_s);
    let split = summary.split();
    let [a, p] = wording::split_symbols(summary.conventions.minor_stops);
    let other = pinned.map(|(summary, _)| (summary.split(), summary));
    let apart = pinned.map(|(_, apart)| apart);
    let share = |key,
                 label: String,
                 mean: Option<Mean>,
                 pinned: Option<Option<Mean>>,
                 apart: Option<Option<Mean>>| {
        let shown =
            |mean: Option<Mean>| mean.map_or(NONE.to_owned(), |mean| number::rounded_percent(&mean).joined());
        let difference = |mean: Option<Mean>| {
            mean.map_or(NONE.to_owned(), |mean| signed(mean.mean, number::rounded_percent(&mean).joined()))
        };
        row(
            key,
            label,
            "%",
            [Some(shown(mean)), pinned.map(shown), apart.map(difference)],
            mean,
            apart.flatten(),
        )
    };
    vec![
        row(
            "good_packs",
            format!("Good packs a shift {}", wording::start(summary.start)),
            "packs",
            [
                Some(number::rounded(&summary.good_packs).joined()),
                other.as_ref().map(|(_, other)| number::rounded(&other.good_packs).joined()),
                apart.map(|it| signed(it.good_packs.mean, number::rounded(&it.good_packs).joined())),
            ],
            Some(summary.good_packs),
            apart.map(|it| it.good_packs),
        ),
        share(
            "oee",
            "OEE".to_owned(),
            Some(summary.oee),
            other.as_ref().map(|(_, other)| Some(other.oee)),
            apart.map(|it| Some(it.oee)),
        ),
        share(
            "availability",
            format!("{a}, availability (short stop limit {limit}\u{a0}s)"),
            Some(split.availability),
            other.as_ref().map(|(split, _)| Some(split.availability)),
            apart.map(|it| Some(it.availability)),
        ),
        share(
            "performance",
            format!("{p}, performance (the same limit)"),
            split.performance,
            other.as_ref().map(|(split, _)| split.performance),
            apart.map(|it| it.performance),
        ),
        share(
            "quality",
            "Q, quality".to_owned(),
            summary.quality,
            other.as_ref().map(|(_, other)| other.quality),
            apart.map(|it| it.quality),
        ),
    ]
}

fn row(
    key: &'static str,
    label: String,
    unit: &'static str,
    [shown, pinned, difference]: [Option<String>; 3],
    mean: Option<Mean>,
    apart: Option<Mean>,
) -> LiveRow {
    LiveRow {
        key,
        label,
        unit,
        shown: shown.unwrap_or_default(),
        pinned,
        verdict: difference.is_some().then(|| verdict(apart)),
        difference,
        mean: mean.map(|mean| mean.mean),
        half_width: mean.and_then(|mean| mean.half_width),
        difference_mean: apart.map(|mean| mean.mean),
        difference_half_width: apart.and_then(|mean| mean.half_width),
    }
}

/// A difference carries its sign.
fn signed(value: f64, shown: String) -> String {
    if value > 0.0 && !shown.starts_with('0') { format!("+{shown}") } else { shown }
}

/// What can be said of a difference at the level of its interval.
fn verdict(apart: Option<Mean>) -> &'static str {
    match apart {
        Some(Mean { mean, half_width: Some(half_width), .. }) => {
            if mean > half_width {
                "more"
            } else if mean < -half_width {
                "less"
            } else if mean.abs() + half_width < f64::MIN_POSITIVE {
                "the same in every shift"
            } else {
                "not told apart"
            }
        }
        _ => "too few shifts",
    }
}

/// What a trial found, in words with the unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrialWords {
    /// "214 ± 12 packs".
    pub mean: String,
    /// "120 to 310 packs".
    pub range: String,
}

/// Puts what a trial found into words.
#[must_use]
pub fn trial_words(found: &TrialResult, unit: &str) -> TrialWords {
    let shown = |value: f64| {
        let is_whole = (value - value.round()).abs() < 1e-9;
        if is_whole { number::fixed(value, 0) } else { number::count(value) }
    };
    let ends = (shown(found.range.p10), shown(found.range.p90));
    let range = if ends.0 == ends.1 { ends.0 } else { format!("{} to {}", ends.0, ends.1) };
    TrialWords {
        mean: match found.range.p90 - found.range.p10 {
            // Without chance there is no interval to tell.
            width if width < f64::MIN_POSITIVE => format!("{}\u{a0}{unit}", shown(found.mean.mean)),
            _ => format!("{}\u{a0}{unit}", number::rounded(&found.mean).joined()),
        },
        range: format!("{range}\u{a0}{unit}"),
    }
}

/// The ledger from design to good, as the report draws it.
#[must_use]
pub fn losses(summary: &Summary) -> LivePicture {
    let figure = figure::losses(summary);
    LivePicture {
        title: figure.title,
        caption: figure.caption,
        wide: figure.wide.svg,
        narrow: figure.narrow.svg,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use linewake_kpi::summary::ShiftRange;

    fn found(mean: f64, half_width: f64, p10: f64, p90: f64) -> TrialResult {
        let mean = Mean { mean, half_width: Some(half_width), n: 40 };
        TrialResult { mean, range: ShiftRange { p10, p90 }, values: Vec::new() }
    }

    #[test]
    fn a_trial_in_words() {
        let words = trial_words(&found(213.6, 12.3, 120.4, 310.0), "packs");
        assert_eq!(words.mean, "214\u{a0}±\u{a0}12\u{a0}packs");
        assert_eq!(words.range, "120 to 310\u{a0}packs");
        let certain = trial_words(&found(0.0, 0.0, 0.0, 0.0), "packs");
        assert_eq!((certain.mean.as_str(), certain.range.as_str()), ("0\u{a0}packs", "0\u{a0}packs"));
        assert_eq!(trial_words(&found(47.6, 0.0, 47.6, 47.6), "s").mean, "47.6\u{a0}s");
    }

    #[test]
    fn a_difference_says_what_its_interval_allows() {
        let mean = |mean: f64, half_width: Option<f64>| Some(Mean { mean, half_width, n: 5 });
        assert_eq!(verdict(mean(5.0, Some(4.0))), "more");
        assert_eq!(verdict(mean(-5.0, Some(4.0))), "less");
        assert_eq!(verdict(mean(3.0, Some(4.0))), "not told apart");
        assert_eq!(verdict(mean(0.0, Some(0.0))), "the same in every shift");
        assert_eq!(verdict(mean(5.0, None)), "too few shifts");
        assert_eq!(signed(12.0, "12 ± 3".to_owned()), "+12 ± 3");
        assert_eq!(signed(0.001, "0.00 ± 0.01".to_owned()), "0.00 ± 0.01");
    }

    #[test]
    fn rows_name_their_conventions() {
        let summary = crate::example::summary(linewake_kpi::summary::StartKind::LongRun, 3);
        let rows = rows(&summary, None);
        let keys: Vec<&str> = rows.iter().map(|row| row.key).collect();
        assert_eq!(keys, ["good_packs", "oee", "availability", "performance", "quality"]);
        assert!(rows[2].label.contains("short stop limit 300"), "{:?}", rows[2]);
        assert!(rows.iter().all(|row| row.pinned.is_none() && row.verdict.is_none()));
        assert!(losses(&summary).wide.starts_with("<svg"));
    }
}
