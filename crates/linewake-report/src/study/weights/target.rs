//! The target: what it costs, what is promised, and both against other targets.

use super::answer::promise_words;
use super::shown::{
    fine_grams, grams, mass_cell, money, own_cell, perhaps_money, perhaps_share, priced, probability,
    probability_cell, share_cell, small_percent, small_share,
};
use crate::figure::Figure;
use crate::number;
use crate::study::Part;
use crate::study::plot::{Level, Plot, Point, Series};
use crate::style::{LINE, MEAN};
use crate::table::{Cell, Column, Table, TableRow, figures, words};
use crate::wording::upper_first;
use linewake_weights::planning::{AtTarget, Found};
use linewake_weights::target::{Kept, Promise};

/// Giveaway, rejects and shares at the smallest target, as the line is set, and with less spread.
pub(super) fn at_the_target(found: &Found) -> Part {
    let limits = &found.limits;
    let second = limits.t2_g.map_or_else(String::new, |t2| format!(", T2 is {}", fine_grams(t2)));
    let mut lines = vec![
        format!(
            "The label says {}; {}, {}: the tolerable deficiency is {}, so T1 is {}{second}.",
            fine_grams(limits.nominal_g),
            found.regime.title,
            found.regime.table_title,
            fine_grams(limits.tolerable_g),
            fine_grams(limits.t1_g)
        ),
        spread(found),
    ];
    if limits.allowance_g > 0.0 {
        lines.push(format!(
            "An allowance of {} for loss of moisture lowers the limits.",
            fine_grams(limits.allowance_g)
        ));
    }
    lines.push(
        "Giveaway is the mean weight of the packs that leave, less the labelled weight. Rejected packs are told beside it; what \
         of them is used again is not known here."
            .to_owned(),
    );
    let table = costs(found);
    Part {
        id: "target".into(),
        title: "What the target costs".to_owned(),
        words: lines,
        figures: Vec::new(),
        tables: vec![table],
    }
}

/// What is promised, and whether it is kept at the smallest target.
pub(super) fn promised(found: &Found) -> Part {
    Part {
        id: "promises".into(),
        title: "What is promised".to_owned(),
        words: vec![
            "The smallest target is the lowest one, in steps of 0.1 g, that keeps all of this. The levels are yours to choose; those \
             that come from the regime are among the values that the figures rest on."
                .to_owned(),
        ],
        figures: Vec::new(),
        tables: vec![promises(&found.smallest.kept)],
    }
}

/// One row for each quantity, one column for each target: it fits a phone.
fn costs(found: &Found) -> Table {
    let less = found.less_spread.as_ref();
    let mut columns = vec![
        words("quantity", "quantity"),
        figures("smallest_target", "smallest target"),
        figures("as_set", "as the model is set"),
    ];
    if let Some(less) = less {
        columns.push(figures(
            "less_spread",
            &format!("smallest target, {} less of spread", fine_grams(less.less_g)),
        ));
    }
    let cases: Vec<&AtTarget> = [Some(&found.smallest.at), Some(&found.as_set), less.map(|less| &less.at)]
        .into_iter()
        .flatten()
        .collect();
    let mut rows = Vec::new();
    let mut row = |what: &str, value: fn(&AtTarget) -> Option<f64>, show: fn(f64) -> String| {
        if cases.iter().any(|at| value(at).is_some()) {
            let cells = cases.iter().map(|at| own_cell(value(at), show));
            rows.push(TableRow::of(std::iter::once(Cell::words(what)).chain(cells).collect()));
        }
    };
    let currency = &found.trade.currency;
    row("target, g", |at| Some(at.target_g), |it| number::fixed(it, 1));
    row("giveaway, g/pack", |at| Some(at.giveaway_g), |it| number::fixed(it, 2));
    row("giveaway, kg/shift", |at| at.given_away_kg_per_shift, |it| number::fixed(it, 1));
    row(&format!("giveaway, {currency}/shift"), |at| at.giveaway_money_per_shift, money);
    row(&format!("giveaway, {currency}/year"), |at| at.giveaway_money_per_year, money);
    row("rejected as too light, %", |at| Some(at.rejected_low), small_percent);
    row("rejected as too heavy, %", |at| Some(at.rejected_high), small_percent);
    row("rejected, packs/shift", |at| at.rejects_per_shift, |it| number::fixed(it, 0));
    row("rejected, kg/shift", |at| at.rejected_kg_per_shift, |it| number::fixed(it, 1));
    row(&format!("value of rejects, {currency}/year"), |at| at.rejects_money_per_year, money);
    row("leave below T1, %", |at| Some(at.below_t1), small_percent);
    row("leave below T2, %", |at| at.below_t2, small_percent);
    row("a lot passes, %", |at| at.lot.map(|lot| lot.probability), probability);
    Table {
        name: "targets".to_owned(),
        caption: "What targets cost, and what leaves".to_owned(),
        columns,
        rows,
    }
}

fn currency_note(found: &Found) -> String {
    if found.trade.currency.is_empty() {
        String::new()
    } else {
        format!(" (money in {})", found.trade.currency)
    }
}

fn spread(found: &Found) -> String {
    let spread = &found.spread;
    let mut text = format!(
        "Packs differ with a standard deviation of {} from pack to pack",
        fine_grams(spread.within_g)
    );
    if spread.between_g > 0.0 {
        text.push_str(&format!(
            ", and of {} in what neighbouring packs share (batches, drift, corrections): {} in all",
            fine_grams(spread.between_g),
            fine_grams(spread.sd_g)
        ));
    }
    if let Some(without) = spread.without_feedback_g {
        text.push_str(&format!("; without the feedback it would be {}", fine_grams(without)));
    }
    let lot = match spread.blocks_in_lot {
        Some(1) => " A lot is taken as one such block.".to_owned(),
        Some(blocks) => format!(" A lot holds {blocks} such blocks."),
        None => String::new(),
    };
    format!("{text}.{lot}")
}

fn columns(found: &Found) -> Vec<Column> {
    let mut columns = vec![
        figures("target_g", "target, g"),
        figures("giveaway_g_per_pack", "giveaway, g/pack"),
        figures("giveaway_kg_per_shift", "kg/shift"),
    ];
    if found.trade.product_per_kg.is_some() {
        columns.extend([
            figures("giveaway_money_per_shift", "money/shift"),
            figures("giveaway_money_per_year", "money/year"),
        ]);
    }
    columns.extend([
        figures("rejected_low", "too light, %"),
        figures("rejected_high", "too heavy, %"),
        figures("rejects_per_shift", "rejects/shift"),
    ]);
    if found.trade.pack_value.is_some() {
        columns.push(figures("rejects_money_per_year", "their value, money/year"));
    }
    columns.push(figures("below_t1", "below T1, %"));
    if found.limits.t2_g.is_some() {
        columns.push(figures("below_t2", "below T2, %"));
    }
    if found.regime.plan.is_some() {
        columns.push(figures("lot_passes", "lot passes, %"));
    }
    columns
}

/// Cells under [`columns`].
fn row(at: &AtTarget) -> Vec<Cell> {
    let mut cells = vec![
        mass_cell(at.target_g, 1),
        mass_cell(at.giveaway_g, 2),
        Cell::maybe(at.given_away_kg_per_shift, |kg| number::fixed(kg, 1)),
    ];
    if at.giveaway_money_per_shift.is_some() {
        cells.extend([perhaps_money(at.giveaway_money_per_shift), perhaps_money(at.giveaway_money_per_year)]);
    }
    cells.extend([
        share_cell(at.rejected_low),
        share_cell(at.rejected_high),
        Cell::maybe(at.rejects_per_shift, |packs| number::fixed(packs, 0)),
    ]);
    if at.rejects_money_per_shift.is_some() {
        cells.push(perhaps_money(at.rejects_money_per_year));
    }
    cells.push(share_cell(at.below_t1));
    if at.below_t2.is_some() {
        cells.push(perhaps_share(at.below_t2));
    }
    if let Some(lot) = at.lot {
        cells.push(probability_cell(lot.probability));
    }
    cells
}

fn promises(kept: &[Kept]) -> Table {
    let rows = kept.iter().map(|one| {
        let (level, value) = match one.promise {
            Promise::Mean => (format!("at least {}", fine_grams(one.level)), fine_grams(one.value)),
            Promise::LotPasses => (
                format!("at least {}", small_share(one.level)),
                format!("{} ± {}", small_share(one.value), small_share(one.half_width)),
            ),
            _ => (format!("at most {}", small_share(one.level)), small_share(one.value)),
        };
        TableRow::of(vec![
            Cell::words(promise_words(one.promise)),
            Cell::words(&level),
            Cell::Words { raw: one.value.to_string(), shown: value },
            Cell::words(if one.holds { "yes" } else { "no" }),
        ])
    });
    Table {
        name: "promises".to_owned(),
        caption: "What is promised, at the smallest target".to_owned(),
        columns: vec![
            words("promise", "promise"),
            words("level", "promised"),
            words("value", "is"),
            words("holds", "kept"),
        ],
        rows: rows.collect(),
    }
}

/// Giveaway, rejects and money against the target.
pub(super) fn against_target(found: &Found) -> Part {
    let ends = ends(found);
    let mut drawn = vec![
        curve(found, "giveaway", "Giveaway against target", "giveaway, g/pack", ends, |at| {
            Some(at.giveaway_g)
        }),
        curve(found, "rejects", "Rejects against target", "packs rejected, %", ends, |at| {
            Some(100.0 * at.rejected())
        }),
    ];
    let total = |at: &AtTarget| Some(at.giveaway_money_per_year? + at.rejects_money_per_year?);
    let mut lines = vec![
        "Up with the target goes what is given away, down go the rejects. The target is the mean weight of the packs before the \
         checkweigher."
            .to_owned(),
    ];
    let cheapest = found
        .curve
        .iter()
        .filter_map(|at| Some((at, total(at)?)))
        .min_by(|one, other| one.1.total_cmp(&other.1));
    if let Some((at, money)) = cheapest {
        let words = format!("money a year, {}", found.trade.currency);
        drawn.push(curve(found, "money", "Giveaway and lost packs against target", &words, ends, total));
        lines.push(format!(
            "If every rejected pack is lost at {} a pack, giveaway and rejects together cost least at {} among the targets \
             drawn: {} a year. That is a matter of money alone; what must be kept is above.",
            format_args!("{}\u{a0}{}", found.trade.currency, number::plain(found.trade.pack_value.unwrap_or(0.0))),
            grams(at.target_g),
            priced(&found.trade.currency, money)
        ));
    }
    let rows = found.curve.iter().map(|at| TableRow::of(row(at)));
    let table = Table {
        name: "curve".to_owned(),
        caption: format!("Giveaway and rejects against target{}", currency_note(found)),
        columns: columns(found),
        rows: rows.collect(),
    };
    Part {
        id: "curve".into(),
        title: "Giveaway and rejects against target".to_owned(),
        words: lines,
        figures: drawn,
        tables: vec![table],
    }
}

fn ends(found: &Found) -> (f64, f64) {
    let all = found.curve.iter().map(|at| at.target_g);
    all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), target| (low.min(target), high.max(target)))
}

fn upright(found: &Found) -> Vec<Level> {
    let smallest = found.smallest.at.target_g;
    let mut levels = vec![Level { at: smallest, label: format!("smallest target {}", grams(smallest)) }];
    let (low, high) = ends(found);
    if (found.set_mean_g - smallest).abs() > 0.05 && (low..=high).contains(&found.set_mean_g) {
        levels.push(Level { at: found.set_mean_g, label: format!("as set {}", grams(found.set_mean_g)) });
    }
    if (low..=high).contains(&found.limits.nominal_g) {
        let nominal = found.limits.nominal_g;
        levels.push(Level { at: nominal, label: format!("label {}", fine_grams(nominal)) });
    }
    levels
}

fn curve(
    found: &Found,
    id: &str,
    title: &str,
    y_words: &str,
    ends: (f64, f64),
    value: impl Fn(&AtTarget) -> Option<f64>,
) -> Figure {
    let points =
        found.curve.iter().filter_map(|at| Some(Point { x: at.target_g, y: value(at)?, interval: None }));
    Plot {
        id: id.to_owned(),
        title: title.to_owned(),
        description: format!("{title}: {y_words}, for targets from {} to {}.", grams(ends.0), grams(ends.1)),
        caption: "Computed from the spread of the packs and the error of the weigher; upright lines: the smallest target, the \
                  line as it is set, and the label."
            .to_owned(),
        x_words: "target, g".to_owned(),
        y_words: y_words.to_owned(),
        series: vec![Series { label: String::new(), points: points.collect(), dash: "", colour: MEAN }],
        upright: upright(found),
        from_zero: id != "giveaway",
        x_ends: Some(ends),
        ..Plot::default()
    }
    .figure()
}

/// The test of a lot; none for a regime without plans.
pub(super) fn lots(found: &Found) -> Option<Part> {
    let lot = found.smallest.at.lot?;
    let plan = upper_first(&found.regime.plan_title.clone().unwrap_or_default());
    let percent = |share: f64| format!("{}\u{a0}%", probability(share));
    let sample = match (found.regime.first_sample, found.regime.largest_sample) {
        (Some(first), Some(largest)) if first != largest => {
            format!("{first} packs, up to {largest} if these leave it open,")
        }
        (Some(first), _) => format!("{first} packs"),
        _ => "packs".to_owned(),
    };
    let mut lines = vec![
        format!(
            "{plan}: a lot of {} packs, of which {sample} are weighed. At each target {} lots were tested by the whole plan, \
             count and mean on the same packs.",
            number::fixed(found.regime.lot_packs as f64, 0),
            number::fixed(found.tests as f64, 0)
        ),
        format!(
            "At {} a lot passes with {} (95 % interval {} to {}); the count alone with {}, the mean alone with {}.",
            grams(found.smallest.at.target_g),
            percent(lot.probability),
            percent(lot.low),
            percent(lot.high),
            percent(lot.count),
            percent(lot.mean)
        ),
    ];
    if let Some(closed) = lot.closed_form {
        let of = if closed.of_a_mixed_lot {
            "A lot with several batches has no closed form. For a mixed lot with the same spread in all"
        } else {
            "In closed form"
        };
        lines.push(format!(
            "{of}: count {}, mean {}, so both with between {} and {}. The count is exact (binomial terms, draw by draw), the \
             mean is a non-central t, exact for normal packs and an approximation behind a checkweigher.",
            percent(closed.count),
            percent(closed.mean),
            percent(closed.at_least),
            percent(closed.at_most)
        ));
    }
    let points = found.curve.iter().filter_map(|at| {
        let lot = at.lot?;
        Some(Point {
            x: at.target_g,
            y: 100.0 * lot.probability,
            interval: Some((100.0 * lot.low, 100.0 * lot.high)),
        })
    });
    let closed = found.curve.iter().filter_map(|at| {
        let closed = at.lot?.closed_form?;
        Some(Point { x: at.target_g, y: 100.0 * closed.at_most, interval: None })
    });
    let mut series =
        vec![Series { label: "simulated".to_owned(), points: points.collect(), dash: "", colour: MEAN }];
    let closed: Vec<Point> = closed.collect();
    if !closed.is_empty() {
        series.push(Series {
            label: "closed form, at most".to_owned(),
            points: closed,
            dash: "5 3",
            colour: LINE,
        });
    }
    let figure = Plot {
        id: "lot-passes".to_owned(),
        title: "Probability that a lot passes its test".to_owned(),
        description: "Share of simulated lots that pass against the target, with 95 % intervals, and the bound in closed form."
            .to_owned(),
        caption: "Whiskers are 95 % intervals (Wilson). The dashed line is the smaller one of count and mean in closed form, of a \
                  mixed lot where the lot itself has none."
            .to_owned(),
        x_words: "target, g".to_owned(),
        y_words: "lots that pass, %".to_owned(),
        series,
        upright: upright(found),
        from_zero: true,
        x_ends: Some(ends(found)),
        ..Plot::default()
    };
    Some(Part {
        id: "lots".into(),
        title: "Whether a lot passes".to_owned(),
        words: lines,
        figures: vec![figure.figure()],
        tables: vec![lot_table(found)],
    })
}

fn lot_table(found: &Found) -> Table {
    let rows = found.curve.iter().filter_map(|at| {
        let lot = at.lot?;
        let closed = lot.closed_form;
        Some(TableRow::of(vec![
            mass_cell(at.target_g, 1),
            probability_cell(lot.probability),
            probability_cell(lot.low),
            probability_cell(lot.high),
            probability_cell(lot.count),
            probability_cell(lot.mean),
            Cell::maybe(closed.map(|it| it.count), probability),
            Cell::maybe(closed.map(|it| it.mean), probability),
            Cell::maybe(closed.map(|it| it.at_least), probability),
            Cell::maybe(closed.map(|it| it.at_most), probability),
        ]))
    });
    Table {
        name: "lots".to_owned(),
        caption: "Lots that pass, % (simulated, and in closed form)".to_owned(),
        columns: vec![
            figures("target_g", "target, g"),
            figures("passes", "pass"),
            figures("passes_low", "from"),
            figures("passes_high", "to"),
            figures("count_passes", "count"),
            figures("mean_passes", "mean"),
            figures("closed_count", "closed form: count"),
            figures("closed_mean", "mean"),
            figures("closed_at_least", "both, at least"),
            figures("closed_at_most", "at most"),
        ],
        rows: rows.collect(),
    }
}
