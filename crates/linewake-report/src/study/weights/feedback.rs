//! The weight feedback: gain against stability, a picture of hunting, and the bias of leaving rejects out.

use super::shown::{fine_grams, mass_cell, share_cell, small_share};
use crate::figure::Figure;
use crate::number;
use crate::study::Part;
use crate::study::plot::{Level, Plot, Point, Series};
use crate::style::{IDLE, LINE, MEAN};
use crate::table::{Cell, Table, TableRow, figures, words};
use linewake_weights::planning::{FeedbackStudy, Swing};

pub(super) fn gains(study: &FeedbackStudy) -> Part {
    Part {
        id: "feedback".into(),
        title: "Weight feedback: which gain helps, and which one hunts".to_owned(),
        words: in_words(study),
        figures: vec![spread(study), hunting(study)],
        tables: vec![agreement(study), gain_table(study), swing_table(study)],
    }
}

fn two(value: f64) -> String {
    number::plain((value * 1000.0).round() / 1000.0)
}

fn in_words(study: &FeedbackStudy) -> Vec<String> {
    let least = study.gains.iter().min_by(|one, other| one.sd_g.total_cmp(&other.sd_g));
    let none = study.gains.first();
    let subject = if study.modelled {
        format!(
            "The model corrects the portions after every {} weighed packs with a gain of {}",
            study.every_packs,
            two(study.gain)
        )
    } else {
        format!(
            "The line has no weight feedback; here is one that it could have, with a correction after every {} weighed packs",
            study.every_packs
        )
    };
    let mut lines = vec![
        format!(
            "{subject}. A correction shows at the weigher only when the packs between the cut and the weigher have passed, about {} \
             packs or {} corrections: that dead time sets the gain. A gain here is that of a pack: of a pack of several portions the \
             gain of a portion times their number.",
            number::fixed(study.dead_time_packs as f64, 0),
            number::plain((study.dead_time_corrections * 100.0).round() / 100.0)
        ),
        format!(
            "From a gain of {} on the loop hunts, found by following it pack by pack; the formula 2 sin(\u{3c0}/(2(2d+1))), d the dead \
             time in corrections, says {} (from memory, and exact for whole d only).",
            two(study.hunting_gain),
            two(study.hunting_gain_formula)
        ),
    ];
    if study.modelled {
        lines.push(if study.gain >= study.hunting_gain {
            format!(
                "The gain of the model, {}, is above that: the weights of this line swing and do not settle.",
                two(study.gain)
            )
        } else {
            format!(
                "The gain of the model, {}, is {} of that: the loop settles.",
                two(study.gain),
                number::percent(study.gain / study.hunting_gain)
            )
        });
    }
    if let (Some(least), Some(none)) = (least, none) {
        lines.push(if least.gain > 0.0 {
            format!(
                "Of the gains tried, {} leaves the least spread: {} against {} without feedback.",
                two(least.gain),
                fine_grams(least.sd_g),
                fine_grams(none.sd_g)
            )
        } else {
            format!(
                "None of the gains tried leaves less spread than no feedback, {}: what lasts is too little or too short for this dead \
                 time.",
                fine_grams(none.sd_g)
            )
        });
    }
    lines
}

fn spread(study: &FeedbackStudy) -> Figure {
    let points = |from: usize, to: usize| -> Vec<Point> {
        study.gains[from..to].iter().map(|row| Point { x: row.gain, y: row.sd_g, interval: None }).collect()
    };
    let mut upright =
        vec![Level { at: study.hunting_gain, label: format!("hunts from {}", two(study.hunting_gain)) }];
    if study.modelled {
        upright.push(Level { at: study.gain, label: format!("the model's gain {}", two(study.gain)) });
    }
    Plot {
        id: "gains".to_owned(),
        title: "Spread of the packs against the gain of the feedback".to_owned(),
        description: "Standard deviation of the pack weights for rising gains, and the gain from which on the loop hunts.".to_owned(),
        caption: format!(
            "{} packs followed for each gain, all with the same luck. Left: too slow to take off what lasts. Right: the loop swings \
             between the limits of its correction.",
            number::fixed(study.packs as f64, 0)
        ),
        x_words: "gain, of a pack".to_owned(),
        y_words: "standard deviation of the packs, g".to_owned(),
        series: vec![Series { label: String::new(), points: points(0, study.gains.len()), dash: "", colour: MEAN }],
        upright,
        ..Plot::default()
    }
    .figure()
}

fn hunting(study: &FeedbackStudy) -> Figure {
    let looks = [(MEAN, ""), (IDLE, "6 3"), (LINE, "2 3")];
    let series = study.swings.iter().zip(looks).map(|(swing, (colour, dash))| Series {
        label: format!("gain {}{}", two(swing.gain), if swing.settles { "" } else { ": hunts" }),
        points: points(study, swing),
        dash,
        colour,
    });
    Plot {
        id: "hunting".to_owned(),
        title: "A step of one gram, and what the feedback makes of it".to_owned(),
        description: "Deviation of the measured means after all packs became one gram too heavy, for a small gain, one near the limit, \
                      and one above it."
            .to_owned(),
        caption: "All packs become a gram too heavy at 0. Without chance and without limits of the correction: a small gain takes it \
                  off, one near the limit rings, one above it swings wider and wider."
            .to_owned(),
        x_words: "packs weighed since".to_owned(),
        y_words: "deviation of the measured mean, g".to_owned(),
        series: series.collect(),
        across: vec![Level { at: 0.0, label: String::new() }],
        ..Plot::default()
    }
    .figure()
}

fn points(study: &FeedbackStudy, swing: &Swing) -> Vec<Point> {
    let of = |(place, deviation): (usize, &f64)| {
        let x = (place as u64 + 1) as f64 * study.every_packs as f64;
        Point { x, y: *deviation, interval: None }
    };
    swing.deviations_g.iter().enumerate().map(of).collect()
}

fn agreement(study: &FeedbackStudy) -> Table {
    let rows = study.agreement.iter().map(|row| {
        TableRow::of(vec![
            Cell::figure(f64::from(row.dead_time_corrections), row.dead_time_corrections.to_string()),
            Cell::figure(row.found, number::fixed(row.found, 4)),
            Cell::figure(row.formula, number::fixed(row.formula, 4)),
            Cell::figure(row.difference, number::fixed(100.0 * row.difference, 2)),
        ])
    });
    Table {
        name: "hunting-gain".to_owned(),
        caption:
            "Gain at which hunting starts: the loop followed pack by pack, and the formula (from memory)"
                .to_owned(),
        columns: vec![
            figures("dead_time_corrections", "dead time, corrections"),
            figures("found", "found"),
            figures("formula", "formula"),
            figures("difference", "difference, %"),
        ],
        rows: rows.collect(),
    }
}

fn gain_table(study: &FeedbackStudy) -> Table {
    let rows = study.gains.iter().map(|row| {
        TableRow::of(vec![
            Cell::figure(row.gain, number::fixed(row.gain, 3)),
            Cell::words(if row.settles { "settles" } else { "hunts" }),
            mass_cell(row.sd_g, 2),
            mass_cell(row.correction_sd_g, 2),
            share_cell(row.at_limit),
            share_cell(row.rejected),
        ])
    });
    Table {
        name: "gains".to_owned(),
        caption: "What each gain does, at the target that the line is set to".to_owned(),
        columns: vec![
            figures("gain", "gain"),
            words("settles", "loop"),
            figures("sd_g", "spread, g"),
            figures("correction_sd_g", "of the correction, g"),
            figures("at_limit", "at a limit, %"),
            figures("rejected", "rejects, %"),
        ],
        rows: rows.collect(),
    }
}

fn swing_table(study: &FeedbackStudy) -> Table {
    let rows = study.swings.iter().flat_map(|swing| {
        points(study, swing).into_iter().map(|point| {
            TableRow::of(vec![
                Cell::figure(swing.gain, number::fixed(swing.gain, 3)),
                Cell::figure(point.x, number::fixed(point.x, 0)),
                mass_cell(point.y, 3),
            ])
        })
    });
    Table {
        name: "hunting".to_owned(),
        caption: "A step of one gram: deviation of the measured means".to_owned(),
        columns: vec![
            figures("gain", "gain"),
            figures("packs", "packs weighed"),
            figures("deviation_g", "deviation, g"),
        ],
        rows: rows.collect(),
    }
}

/// What it does to leave rejects out of the mean.
pub(super) fn left_out(study: &FeedbackStudy) -> Part {
    let own = study.rejects_left_out.iter().find(|row| row.modelled);
    let lead = own.map_or_else(String::new, |row| {
        format!(
            " At this line's lower limit of {} the packs settle {} {} the feedback's target of {}, and {} are rejected instead of {}.",
            fine_grams(row.low_g),
            fine_grams(row.bias_g.abs()),
            if row.bias_g < 0.0 { "below" } else { "above" },
            fine_grams(row.target_g),
            small_share(row.rejected),
            small_share(row.rejected_when_counted)
        )
    });
    let rows = study.rejects_left_out.iter().map(|row| {
        TableRow::of(vec![
            Cell::Words {
                raw: if row.modelled { "model" } else { "other" }.to_owned(),
                shown: if row.modelled { "of the model" } else { "other" }.to_owned(),
            },
            mass_cell(row.low_g, 1),
            mass_cell(row.target_g, 1),
            mass_cell(row.bias_g, 3),
            share_cell(row.rejected),
            share_cell(row.rejected_when_counted),
        ])
    });
    Part {
        id: "left-out".into(),
        title: "Rejects left out of the feedback's mean".to_owned(),
        words: vec![format!(
            "A feedback that averages only the packs that pass never sees the light ones that were rejected. It takes the mean for \
             too high, and lowers the packs.{lead} All weighed packs should count."
        )],
        figures: Vec::new(),
        tables: vec![Table {
            name: "rejects-left-out".to_owned(),
            caption: "Bias of the mean when rejects are left out, by lower reject limit".to_owned(),
            columns: vec![
                words("limit", "lower limit"),
                figures("low_g", "at, g"),
                figures("target_g", "feedback's target, g"),
                figures("bias_g", "bias of the mean, g"),
                figures("rejected", "rejects, %"),
                figures("rejected_when_counted", "with all counted, %"),
            ],
            rows: rows.collect(),
        }],
    }
}
