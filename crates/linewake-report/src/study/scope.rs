//! Losses by supplier, and guarantees that add up to the line's.

use super::phrases::{self, gain_cells, proportion_cells};
use super::{Findings, Part};
use crate::bars::{Bars, Row, Segment};
use crate::figure::Figure;
use crate::number;
use crate::style::Fill;
use crate::table::{Cell, Table, TableRow, csv_only, figures, words};
use crate::tables::mean_cells;
use linewake_kpi::study::scope::{ScopeResult, SupplierRow};

pub(super) fn findings(found: &ScopeResult) -> Findings {
    let sum: f64 = found.suppliers.iter().map(|row| row.allowance_packs).sum();
    Findings {
        answer: answer(found),
        beside: Vec::new(),
        parts: vec![Part {
            id: "suppliers".into(),
            title: "Losses and allowances by supplier".to_owned(),
            words: vec![
                format!(
                    "An allowance is what the stations of a supplier may lose in {}. The line's allowance, design less \
                     guaranteed, is shared out in proportion to the mean charge: {} packs of allowances and {} guaranteed \
                     good packs make the {} of the design.",
                    phrases::run(&found.head),
                    number::fixed(sum, 0),
                    number::fixed(found.guaranteed_good_packs, 0),
                    number::fixed(found.design_packs, 0)
                ),
                "What each stays below by itself with the same probability is in the table too; these values do not add \
                 up, since not all have a bad run at once."
                    .to_owned(),
            ],
            figures: vec![chart(found)],
            tables: vec![table(found)],
        }],
        protocol: None,
        cautions: vec![
            "the log charges a loss to the station that stopped, not to whose fault it was: film, product, handling and \
             maintenance are in it. The contracts say who answers for what"
                .to_owned(),
        ],
    }
}

fn name(row: &SupplierRow) -> String {
    row.supplier.clone().unwrap_or_else(|| "no supplier named".to_owned())
}

fn answer(found: &ScopeResult) -> String {
    let share = |packs: f64| if found.design_packs > 0.0 { packs / found.design_packs } else { 0.0 };
    let promise = format!(
        "With probability {} the line makes {} good packs or more in {}, an OEE of {}",
        phrases::share(found.probability),
        number::fixed(found.guaranteed_good_packs, 0),
        phrases::run(&found.head),
        number::percent(share(found.guaranteed_good_packs))
    );
    let mut order: Vec<&SupplierRow> = found.suppliers.iter().filter(|row| row.supplier.is_some()).collect();
    order.sort_by(|one, other| other.allowance_packs.total_cmp(&one.allowance_packs));
    if order.is_empty() {
        return format!("{promise}; no station names a supplier, so nothing is shared out.");
    }
    let shares: Vec<String> = order
        .iter()
        .take(3)
        .map(|row| {
            format!(
                "{} ({} packs, {} of the design)",
                name(row),
                number::fixed(row.allowance_packs, 0),
                number::percent(row.allowance_share)
            )
        })
        .collect();
    let word = if order.len() > 3 { "; the most may be lost by " } else { "; of the design may be lost by " };
    format!("{promise}{word}{}.", phrases::listed(&shares))
}

fn chart(found: &ScopeResult) -> Figure {
    let rows = found.suppliers.iter().take(30).map(|row| Row {
        label: name(row),
        note: row.stations.join(", "),
        segments: vec![Segment {
            from: 0.0,
            to: row.charged_packs.mean,
            fill: if row.supplier.is_some() { Fill::Stop } else { Fill::Rest },
        }],
        whiskers: phrases::whisker(&row.charged_packs).into_iter().collect(),
        ring: Some(row.allowance_packs),
        figures: vec![number::rounded(&row.charged_packs).joined(), number::fixed(row.allowance_packs, 0)],
        ..Row::default()
    });
    let bars = Bars {
        id: "scope".to_owned(),
        title: "Packs charged to the stations of each supplier, and its allowance".to_owned(),
        description: format!(
            "Mean charge with interval and allowance of {} suppliers.",
            found.suppliers.len()
        ),
        scale: format!("packs in {}", phrases::run(&found.head)),
        headings: vec!["charged".to_owned(), "allowance".to_owned()],
        legend: vec![
            (Fill::Stop, "charged to a supplier's stations".to_owned()),
            (Fill::Rest, "nobody's: rate, start-up, breaks, stations without supplier".to_owned()),
        ],
        ring: "allowance".to_owned(),
        rows: rows.collect(),
    };
    Figure::of_bars(
        &bars,
        format!(
            "A bar is the mean charge, the thin line its {} interval; the ring is what may be lost so that the line keeps its guarantee.",
            phrases::level(&found.head)
        ),
    )
}

fn table(found: &ScopeResult) -> Table {
    let mut rows: Vec<TableRow> = Vec::new();
    for row in &found.suppliers {
        let [gained, gained_half] = gain_cells(row.gain_packs.as_ref());
        let [within, within_low, within_high] = proportion_cells(&row.within_allowance);
        let [charged, charged_half] = mean_cells(&row.charged_packs);
        rows.push(TableRow::of(vec![
            Cell::words(&name(row)),
            Cell::words(&row.stations.join(", ")),
            charged,
            charged_half,
            gained,
            gained_half,
            Cell::figure(row.allowance_packs, number::fixed(row.allowance_packs, 0)),
            Cell::figure(row.allowance_share, number::fixed(row.allowance_share * 100.0, 2)),
            Cell::figure(row.alone_packs, number::fixed(row.alone_packs, 0)),
            within,
            within_low,
            within_high,
        ]));
    }
    let charged: f64 = found.suppliers.iter().map(|row| row.charged_packs.mean).sum();
    let allowed: f64 = found.suppliers.iter().map(|row| row.allowance_packs).sum();
    let share: f64 = found.suppliers.iter().map(|row| row.allowance_share).sum();
    let mut sum = vec![
        Cell::words("all together"),
        Cell::Empty,
        Cell::figure(charged, number::fixed(charged, 0)),
        Cell::Empty,
        Cell::Empty,
        Cell::Empty,
    ];
    sum.extend([
        Cell::figure(allowed, number::fixed(allowed, 0)),
        Cell::figure(share, number::fixed(share * 100.0, 2)),
    ]);
    sum.extend([Cell::Empty, Cell::Empty, Cell::Empty, Cell::Empty]);
    rows.push(TableRow::sum(sum));
    Table {
        name: "scope".to_owned(),
        caption: format!("Suppliers, packs in {}", phrases::run(&found.head)),
        columns: vec![
            words("supplier", "Supplier"),
            words("stations", "Stations"),
            figures("charged_packs", "charged"),
            figures("charged_half_width", "±"),
            figures("gain_packs", "gain without its stops"),
            figures("gain_half_width", "±"),
            figures("allowance_packs", "allowance"),
            figures("allowance_share", "of the design, %"),
            figures(
                "alone_packs",
                &format!("stays below by itself at {}", phrases::share(found.probability)),
            ),
            figures("within_allowance", "runs within its allowance, %"),
            csv_only("within_low"),
            csv_only("within_high"),
        ],
        rows,
    }
}
