//! The line with one thing changed.

use super::shown::{mass_cell, money, perhaps_money, probability, share_cell, small_percent};
use crate::bars::{Bars, Row, Segment};
use crate::figure::Figure;
use crate::number;
use crate::study::{Part, phrases};
use crate::style::Fill;
use crate::table::{Cell, Table, TableRow, figures, words};
use linewake_weights::planning::{Found, Variant};

pub(super) fn variants(found: &Found) -> Option<Part> {
    if found.variants.is_empty() {
        return None;
    }
    let mut drawn = Vec::new();
    if found.variants.iter().any(|variant| variant.saves_money_per_year.is_some()) {
        drawn.push(bars(found));
    }
    Some(Part {
        id: "changes".into(),
        title: "The same with one thing changed".to_owned(),
        words: vec![
            "Each line of the table is the line of the model with one change and its own smallest target that keeps all promises. \
             A saving is of product given away, over the same packs that leave; the value of rejected packs stands beside it."
                .to_owned(),
        ],
        figures: drawn,
        tables: vec![table(found)],
    })
}

fn table(found: &Found) -> Table {
    let base = &found.smallest.at;
    let mut rows = vec![TableRow::sum(vec![
        Cell::words("as modelled"),
        mass_cell(found.spread.sd_g, 2),
        mass_cell(base.target_g, 1),
        mass_cell(base.giveaway_g, 2),
        share_cell(base.rejected()),
        Cell::maybe(base.lot.map(|lot| lot.probability), probability),
        perhaps_money(base.giveaway_money_per_year),
        Cell::Empty,
        perhaps_money(base.rejects_money_per_year),
        Cell::Empty,
    ])];
    rows.extend(found.variants.iter().map(|variant| TableRow::of(cells(variant))));
    let money =
        if found.trade.currency.is_empty() { String::new() } else { format!(", {}", found.trade.currency) };
    let mut table = Table {
        name: "changes".to_owned(),
        caption: "Smallest target with one thing changed".to_owned(),
        columns: vec![
            words("change", "change"),
            figures("sd_g", "spread in all, g"),
            figures("target_g", "target, g"),
            figures("giveaway_g_per_pack", "giveaway, g/pack"),
            figures("rejected", "rejects, %"),
            figures("lot_passes", "lot passes, %"),
            figures("giveaway_money_per_year", &format!("giveaway a year{money}")),
            figures("saves_money_per_year", "saved"),
            figures("rejects_money_per_year", "value of rejects a year"),
            words("why_none", "why there is none"),
        ],
        rows,
    };
    // What no row has is left out: money without prices, reasons where every change has a target.
    for place in (0..table.columns.len()).rev() {
        let is_bare = |row: &TableRow| matches!(row.cells[place], Cell::Missing | Cell::Empty);
        if table.rows.iter().all(is_bare) {
            table.columns.remove(place);
            for row in &mut table.rows {
                row.cells.remove(place);
            }
        }
    }
    table
}

fn cells(variant: &Variant) -> Vec<Cell> {
    let at = variant.at.as_ref();
    vec![
        Cell::words(&variant.what),
        mass_cell(variant.sd_g, 2),
        Cell::maybe(at.map(|at| at.target_g), |target| number::fixed(target, 1)),
        Cell::maybe(at.map(|at| at.giveaway_g), |giveaway| number::fixed(giveaway, 2)),
        Cell::maybe(at.map(|at| at.rejected()), small_percent),
        Cell::maybe(at.and_then(|at| at.lot).map(|lot| lot.probability), probability),
        perhaps_money(at.and_then(|at| at.giveaway_money_per_year)),
        Cell::maybe(variant.saves_money_per_year, |saved| phrases::signed(saved, money(saved))),
        perhaps_money(at.and_then(|at| at.rejects_money_per_year)),
        variant.why_none.as_ref().map_or(Cell::Empty, |why| Cell::words(why)),
    ]
}

fn bars(found: &Found) -> Figure {
    let rows = found.variants.iter().filter_map(|variant| {
        let saved = variant.saves_money_per_year?;
        let at = variant.at?;
        Some(Row {
            label: variant.what.clone(),
            note: format!(
                "target {} g, giveaway {} g",
                number::fixed(at.target_g, 1),
                number::fixed(at.giveaway_g, 2)
            ),
            segments: vec![Segment {
                from: 0.0,
                to: saved,
                fill: if saved < 0.0 { Fill::Lost } else { Fill::Kept },
            }],
            figures: vec![phrases::signed(saved, money(saved))],
            ..Row::default()
        })
    });
    let bars = Bars {
        id: "savings".to_owned(),
        title: "What a change saves or costs in a year".to_owned(),
        description:
            "For each change the money saved by product not given away, at the change's own smallest target."
                .to_owned(),
        scale: format!("{} a year against the line as modelled", found.trade.currency),
        headings: vec!["saved".to_owned()],
        legend: vec![(Fill::Kept, "saved".to_owned()), (Fill::Lost, "given away in addition".to_owned())],
        rows: rows.collect(),
        ..Bars::default()
    };
    Figure::of_bars(
        &bars,
        "Product given away alone, each change at its own smallest target; the value of rejects is in the table.".to_owned(),
    )
}
