//! How many shifts until the figure is sure enough, and how much of a long run is dropped.

use super::phrases;
use super::plot::{Level, Plot, Point, Series};
use super::{Findings, Part};
use crate::number;
use crate::style::MEAN;
use crate::table::{Cell, Table, TableRow, figures};
use linewake_kpi::study::precision::{PrecisionResult, WarmUp};

pub(super) fn findings(found: &PrecisionResult) -> Findings {
    let mut parts = vec![path(found)];
    parts.extend(found.warm_up.as_ref().map(warm_up));
    Findings {
        answer: answer(found),
        beside: Vec::new(),
        parts,
        protocol: None,
        cautions: vec![
            "a narrow interval says that the simulation was long enough, not that the inputs are right"
                .to_owned(),
        ],
    }
}

fn answer(found: &PrecisionResult) -> String {
    let (runs, run) = (number::fixed(found.runs as f64, 0), phrases::run(&found.head));
    let figures = format!(
        "{run} makes {} good packs at an OEE of {}",
        number::rounded(&found.good_packs).joined(),
        number::percent_with_interval(&found.oee)
    );
    let wanted = format!("±{} of {}", phrases::share(found.wanted_relative), found.measure.words());
    if found.reached {
        return format!("After {runs} runs the figure is as sure as was asked for ({wanted}): {figures}.");
    }
    let more = found.runs_needed.map_or_else(String::new, |needed| {
        format!("; from the spread seen, about {} runs would be needed", number::fixed(needed as f64, 0))
    });
    format!("The precision asked for ({wanted}) was not reached in {runs} runs{more}: {figures}.")
}

fn path(found: &PrecisionResult) -> Part {
    let relative = |half: f64, mean: f64| if mean.abs() > 0.0 { half / mean.abs() * 100.0 } else { f64::NAN };
    let points = found.path.iter().map(|step| Point {
        x: step.runs as f64,
        y: relative(step.half_width, step.mean),
        interval: None,
    });
    let plot = Plot {
        id: "precision".to_owned(),
        title: "How sure the mean was as runs were added".to_owned(),
        description: format!("Half width over mean from {} to {} runs.", found.first_runs, found.runs),
        caption:
            "Half the width of the interval over the mean; the rule ends where it reaches what was asked for."
                .to_owned(),
        x_words: "runs".to_owned(),
        y_words: format!("half width of the interval of {}, % of the mean", found.measure.words()),
        series: vec![Series {
            label: String::new(),
            points: points.filter(|point| point.y.is_finite()).collect(),
            dash: "",
            colour: MEAN,
        }],
        across: vec![Level {
            at: found.wanted_relative * 100.0,
            label: format!("asked for {}", phrases::share(found.wanted_relative)),
        }],
        from_zero: true,
        ..Plot::default()
    };
    let rows = found.path.iter().map(|step| {
        let share = relative(step.half_width, step.mean);
        TableRow::of(vec![
            Cell::figure(step.runs as f64, number::fixed(step.runs as f64, 0)),
            Cell::figure(step.mean, number::plain(step.mean)),
            Cell::figure(step.half_width, number::plain(step.half_width)),
            Cell::figure(share / 100.0, number::fixed(share, 3)),
        ])
    });
    Part {
        id: "precision".into(),
        title: "How sure the mean is".to_owned(),
        words: vec![format!(
            "The rule was asked for the first time after {} runs and would have ended at {}.",
            number::fixed(found.first_runs as f64, 0),
            number::fixed(found.most_runs as f64, 0)
        )],
        figures: vec![plot.figure()],
        tables: vec![
            Table {
                name: "precision-end".to_owned(),
                caption: "Where it ended".to_owned(),
                columns: columns(),
                rows: rows.clone().next_back().into_iter().collect(),
            },
            Table {
                name: "precision".to_owned(),
                caption: format!("The steps: {}", found.measure.words()),
                columns: columns(),
                rows: rows.collect(),
            },
        ],
    }
}

fn columns() -> Vec<crate::table::Column> {
    vec![
        figures("runs", "runs"),
        figures("mean", "mean"),
        figures("half_width", "±"),
        figures("relative_half_width", "± in % of the mean"),
    ]
}

fn warm_up(found: &WarmUp) -> Part {
    let at = |place: usize| (place as f64 + 0.5) * found.bin_s / 3600.0;
    let points = found.packs_by_bin.iter().enumerate().map(|(place, packs)| Point {
        x: at(place),
        y: *packs,
        interval: None,
    });
    let mut upright = vec![Level {
        at: found.used_s / 3600.0,
        label: format!("dropped up to {}", number::duration(found.used_s)),
    }];
    if (found.found_s - found.used_s).abs() > 1.0 {
        upright.push(Level {
            at: found.found_s / 3600.0,
            label: format!("the rule finds {}", number::duration(found.found_s)),
        });
    }
    let plot = Plot {
        id: "precision-warm-up".to_owned(),
        title: "Good packs from the start of the run".to_owned(),
        description: format!(
            "Mean good packs in bins of {} over {} runs.",
            number::duration(found.bin_s),
            found.runs
        ),
        caption: "What lies left of the dashed line is dropped before anything is counted.".to_owned(),
        x_words: "time from the start of the run, h".to_owned(),
        y_words: format!("good packs in {}", number::duration(found.bin_s)),
        series: vec![Series { label: String::new(), points: points.collect(), dash: "", colour: MEAN }],
        upright,
        from_zero: true,
        ..Plot::default()
    };
    let rows = found.packs_by_bin.iter().enumerate().map(|(place, packs)| {
        TableRow::of(vec![
            Cell::figure(place as f64 * found.bin_s, number::fixed(place as f64 * found.bin_s / 3600.0, 2)),
            Cell::count(*packs),
        ])
    });
    let settled = if found.settled {
        format!(
            "The rule finds that {} must be dropped, from the mean of {} runs.",
            number::duration(found.found_s),
            found.runs
        )
    } else {
        "The runs are too short to tell how much must be dropped: the rule gave no cut in their first half."
            .to_owned()
    };
    Part {
        id: "warm-up".into(),
        title: "The warm-up that is dropped".to_owned(),
        words: vec![settled],
        figures: vec![plot.figure()],
        tables: vec![Table {
            name: "precision-warm-up".to_owned(),
            caption: "Good packs by bin".to_owned(),
            columns: vec![figures("from_s", "from, h"), figures("packs", "good packs")],
            rows: rows.collect(),
        }],
    }
}
