//! The weigher in its zone of indecision: good packs that it rejects, light ones that it passes.

use super::shown::{fine_grams, grams, mass_cell, share_cell, small_share};
use crate::study::Part;
use crate::study::plot::{Level, Plot, Point, Series};
use crate::style::MEAN;
use crate::table::{Cell, Table, TableRow, figures, words};
use linewake_weights::planning::{Found, WeigherFound};

/// A zone is drawn for three standard deviations.
const DRAWN: f64 = 0.01;

pub(super) fn weigher(found: &Found) -> Option<Part> {
    let weigher = found.weigher.as_ref()?;
    let wrong = &weigher.wrong;
    let words = vec![
        format!(
            "The weigher's own error has a standard deviation of {}. Near a limit it cannot tell: at a target of {} it rejects {} of \
             all packs although they are not below the lower limit or above the upper one, and lets {} pass although they are.",
            fine_grams(weigher.sd_g),
            grams(weigher.target_g),
            small_share(wrong.falsely_rejected_low + wrong.falsely_rejected_high),
            small_share(wrong.falsely_passed_low + wrong.falsely_passed_high)
        ),
        "The zone of indecision holds the true weights that get the wrong verdict with more than a stated probability; three \
         standard deviations on either side of the limit are the usual figure (from memory)."
            .to_owned(),
    ];
    let figures = if weigher.rejects_at.is_empty() || weigher.sd_g <= 0.0 {
        Vec::new()
    } else {
        vec![plot(weigher).figure()]
    };
    Some(Part {
        id: "weigher".into(),
        title: "What the weigher gets wrong".to_owned(),
        words,
        figures,
        tables: vec![verdicts(weigher), zones(weigher), curve(weigher)],
    })
}

fn plot(weigher: &WeigherFound) -> Plot {
    let points = weigher.rejects_at.iter().map(|(weight, share)| Point {
        x: *weight,
        y: 100.0 * share,
        interval: None,
    });
    let mut upright = Vec::new();
    for zone in weigher.zones.iter().filter(|zone| zone.is_lower && zone.wrong < DRAWN) {
        upright.push(Level { at: zone.from_g, label: format!("zone from {}", grams(zone.from_g)) });
        upright.push(Level { at: zone.limit_g, label: format!("limit {}", fine_grams(zone.limit_g)) });
        upright.push(Level { at: zone.to_g, label: format!("zone to {}", grams(zone.to_g)) });
    }
    Plot {
        id: "zone".to_owned(),
        title: "Which packs are rejected as too light".to_owned(),
        description: "The probability that a pack is rejected as too light, against its true weight near the lower limit.".to_owned(),
        caption: "Left of the limit, what is missing to 100 % passes although it is too light; right of it, what is above 0 is \
                  rejected although it is not."
            .to_owned(),
        x_words: "true weight of the pack, g".to_owned(),
        y_words: "rejected as too light, %".to_owned(),
        series: vec![Series { label: String::new(), points: points.collect(), dash: "", colour: MEAN }],
        upright,
        from_zero: true,
        ..Plot::default()
    }
}

fn verdicts(weigher: &WeigherFound) -> Table {
    let wrong = &weigher.wrong;
    let rows = [
        ("rejected as too light, but not below the lower limit", wrong.falsely_rejected_low),
        ("passed, but below the lower limit", wrong.falsely_passed_low),
        ("rejected as too heavy, but not above the upper limit", wrong.falsely_rejected_high),
        ("passed, but above the upper limit", wrong.falsely_passed_high),
    ];
    Table {
        name: "wrong-verdicts".to_owned(),
        caption: "Wrong verdicts at the smallest target".to_owned(),
        columns: vec![words("verdict", "verdict"), figures("share", "of all packs, %")],
        rows: rows
            .into_iter()
            .map(|(what, share)| TableRow::of(vec![Cell::words(what), share_cell(share)]))
            .collect(),
    }
}

fn zones(weigher: &WeigherFound) -> Table {
    let rows = weigher.zones.iter().map(|zone| {
        TableRow::of(vec![
            Cell::words(if zone.is_lower { "lower" } else { "upper" }),
            mass_cell(zone.limit_g, 1),
            share_cell(zone.wrong),
            mass_cell(zone.from_g, 2),
            mass_cell(zone.to_g, 2),
            share_cell(zone.share),
        ])
    });
    Table {
        name: "zones".to_owned(),
        caption: "Zones of indecision".to_owned(),
        columns: vec![
            words("limit", "limit"),
            figures("limit_g", "at, g"),
            figures("wrong", "wrong with more than, %"),
            figures("from_g", "from, g"),
            figures("to_g", "to, g"),
            figures("share", "of all packs, %"),
        ],
        rows: rows.collect(),
    }
}

fn curve(weigher: &WeigherFound) -> Table {
    let rows = weigher
        .rejects_at
        .iter()
        .map(|(weight, share)| TableRow::of(vec![mass_cell(*weight, 2), share_cell(*share)]));
    Table {
        name: "weigher-curve".to_owned(),
        caption: "Rejected as too light, against true weight".to_owned(),
        columns: vec![figures("true_weight_g", "true weight, g"), figures("rejected_low", "rejected, %")],
        rows: rows.collect(),
    }
}
