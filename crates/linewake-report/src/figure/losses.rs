//! The loss ledger as a cascade: each loss begins where the one above it ended.

use super::Figure;
use crate::bars::{Bars, Row, Segment};
use crate::losses::condensed;
use crate::number;
use crate::style::Fill;
use crate::wording::{self, upper_first};
use linewake_kpi::summary::Summary;

/// The cascade of a summary.
pub(crate) fn losses(summary: &Summary) -> Figure {
    let ledger = &summary.ledger;
    let design = ledger.design_packs.mean;
    let share = |packs: f64| {
        if design > 0.0 { number::percent_figure(packs / design) } else { number::NONE.to_owned() }
    };
    let mut rows = vec![Row {
        label: "Design".to_owned(),
        figures: vec![number::fixed(design, 0), share(design)],
        strong: true,
        ..Row::default()
    }];
    let mut lost = 0.0;
    let condensed = condensed(ledger);
    let mut group = None;
    let mut largest: Option<(String, f64)> = None;
    let mut used: Vec<Fill> = Vec::new();
    for loss in &condensed {
        let packs = loss.packs.mean;
        if packs.abs() < 1e-9 {
            continue;
        }
        if group != Some(loss.group) {
            group = Some(loss.group);
            let of_group = condensed.iter().filter(|other| other.group == loss.group);
            let all: f64 = of_group.clone().map(|other| other.packs.mean).sum();
            // A group of one row is that row.
            if of_group.filter(|other| other.packs.mean.abs() >= 1e-9).count() > 1 {
                rows.push(Row {
                    label: upper_first(loss.group.words()),
                    segments: vec![Segment { from: lost, to: lost + all, fill: Fill::Lost }],
                    figures: vec![number::change(-all), share(-all)],
                    strong: true,
                    ..Row::default()
                });
            }
        }
        if loss.key.0 != "others" && largest.as_ref().is_none_or(|(_, most)| packs > *most) {
            largest = Some((loss.label.clone(), packs));
        }
        if !used.contains(&loss.fill) {
            used.push(loss.fill);
        }
        rows.push(Row {
            label: loss.label.clone(),
            segments: vec![Segment { from: lost, to: lost + packs, fill: loss.fill }],
            joined: true,
            figures: vec![number::change(-packs), share(-packs)],
            ..Row::default()
        });
        lost += packs;
    }
    let good = summary.good_packs.mean;
    rows.push(Row {
        label: "All losses".to_owned(),
        segments: vec![Segment { from: 0.0, to: lost, fill: Fill::Lost }],
        figures: vec![number::change(-lost), share(-lost)],
        strong: true,
        ..Row::default()
    });
    rows.push(Row {
        label: "Good packs".to_owned(),
        figures: vec![number::fixed(good, 0), share(good)],
        strong: true,
        ..Row::default()
    });
    used.push(Fill::Lost);
    let largest = largest.map_or_else(String::new, |(label, packs)| {
        format!(" The largest single loss is {label} with {}.", number::count(packs))
    });
    let bars = Bars {
        id: format!("losses-{}", wording::start_in_names(summary.start)),
        title: format!("Losses from design to good, a shift {}", wording::start(summary.start)),
        description: format!(
            "From {} packs at design, {} are lost and {} are good; {}.{largest}",
            number::fixed(design, 0),
            number::fixed(lost, 0),
            number::fixed(good, 0),
            wording::mean_of(summary)
        ),
        scale: "packs below design, a shift".to_owned(),
        headings: vec!["packs".to_owned(), "% of design".to_owned()],
        legend: used.into_iter().map(|fill| (fill, words(fill).to_owned())).collect(),
        ring: String::new(),
        rows,
    };
    let caption = format!(
        "Each loss begins where the one above it ended, so the lengths add up; a hatched bar is the whole group below \
         it. Every second in which the constraint \
         ({}) did not run is charged to one cause. Small causes are drawn as one row; the table has them all.",
        summary.constraint
    );
    Figure::of_bars(&bars, caption)
}

fn words(fill: Fill) -> &'static str {
    match fill {
        Fill::Stop => "own stop",
        Fill::Planned => "planned stop",
        Fill::Recovery => "recovery",
        Fill::NoStop => "supply, rate, start-up",
        Fill::Slow => "slow cycles, empty pockets",
        Fill::Reject => "rejects and scrap",
        Fill::Consequence => "rejects, consequence of a stop",
        Fill::Lost => "a group together",
        _ => "others, still in the line",
    }
}
