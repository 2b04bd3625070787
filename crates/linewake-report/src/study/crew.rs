//! Output against the number of operators and the time in which they come.

use super::grid::{Grid, GridCell};
use super::phrases::{self, gain_cells, output_cells, output_columns};
use super::plot::{Level, Plot, Point, Series};
use super::{Findings, Part};
use crate::number;
use crate::style::MEAN;
use crate::table::{Cell, Table, TableRow, figures};
use linewake_kpi::study::crew::{CrewCell, CrewResult};

/// Colours and dashes of the curves, in turn: told apart by both.
const LINES: [(&str, &str); 4] = [(MEAN, ""), ("#9c4500", "7 4"), ("#1b1b1b", "2 3"), ("#7d3f62", "9 3 2 3")];

pub(super) fn findings(found: &CrewResult) -> Findings {
    Findings {
        answer: answer(found),
        beside: Vec::new(),
        parts: vec![Part {
            id: "crews".into(),
            title: "Every crew that was tried".to_owned(),
            words: vec![format!(
                "The model has {} operators. Response is the time until an operator is at the machine; a factor of 1 is as \
                 modelled.",
                found.operators_as_modelled
            )],
            figures: vec![grid(found).figure(), curves(found).figure()],
            tables: vec![table(found)],
        }],
        protocol: None,
        cautions: vec![
            "the model counts only the work that it is told of: cleaning, changeovers, supervision and breaks of people need \
             operators too, and safe staffing is a matter for qualified people and local codes"
                .to_owned(),
        ],
    }
}

fn cell(found: &CrewResult, operators: u32, factor: f64) -> Option<&CrewCell> {
    found
        .cells
        .iter()
        .find(|cell| cell.operators == operators && (cell.response_factor - factor).abs() < 1e-9)
}

fn people(many: u32) -> String {
    if many == 1 { "1 operator".to_owned() } else { format!("{many} operators") }
}

fn answer(found: &CrewResult) -> String {
    let run = phrases::run(&found.head);
    let of = |operators: u32| cell(found, operators, 1.0);
    let made = |cell: &CrewCell| number::rounded(&cell.figures.good_packs).joined();
    let tail = found.operators.last().and_then(|most| Some((most, of(*most)?)));
    match (found.enough, tail) {
        (Some(enough), Some((most, at_most))) => {
            let here = of(enough).map_or_else(String::new, made);
            format!(
                "{} {} enough: they make {here} good packs in {run}, which cannot be told from the {} of {}; the model has {}.",
                people(enough),
                if enough == 1 { "is" } else { "are" },
                made(at_most),
                people(*most),
                found.operators_as_modelled
            )
        }
        (None, Some((most, at_most))) => format!(
            "Up to {} each further one still brings packs: {} make {} good packs in {run}; the model has {}.",
            people(*most),
            people(*most),
            made(at_most),
            found.operators_as_modelled
        ),
        (_, None) => format!(
            "No crew was run with response as modelled; the line as modelled makes {} good packs in {run} with {}.",
            number::rounded(&found.base.good_packs).joined(),
            people(found.operators_as_modelled)
        ),
    }
}

fn grid(found: &CrewResult) -> Grid {
    let packs = |operators: u32, factor: f64| {
        cell(found, operators, factor).map(|cell| GridCell {
            value: cell.figures.good_packs.mean,
            shown: number::rounded(&cell.figures.good_packs).mean,
            marked: operators == found.operators_as_modelled && (factor - 1.0).abs() < 1e-9,
        })
    };
    Grid {
        id: "crew".to_owned(),
        title: "Good packs by operators and response time".to_owned(),
        description: format!(
            "Good packs in {} for {} numbers of operators and {} response times.",
            phrases::run(&found.head),
            found.operators.len(),
            found.response_factors.len()
        ),
        caption: "Darker is more. The framed cell is the line as modelled; the intervals are in the table."
            .to_owned(),
        rows: found.operators.iter().map(|operators| people(*operators)).collect(),
        columns: found
            .response_factors
            .iter()
            .map(|factor| format!("\u{d7}{}", number::plain(*factor)))
            .collect(),
        column_words: "response time, times as modelled".to_owned(),
        cells: found
            .operators
            .iter()
            .map(|operators| found.response_factors.iter().map(|factor| packs(*operators, *factor)).collect())
            .collect(),
    }
}

fn curves(found: &CrewResult) -> Plot {
    let series = found.response_factors.iter().enumerate().map(|(place, factor)| {
        let (colour, dash) = LINES[place % LINES.len()];
        let points = found.operators.iter().filter_map(|operators| {
            let packs = cell(found, *operators, *factor)?.figures.good_packs;
            Some(Point { x: f64::from(*operators), y: packs.mean, interval: phrases::whisker(&packs) })
        });
        Series {
            label: format!("response \u{d7}{}", number::plain(*factor)),
            points: points.collect(),
            dash,
            colour,
        }
    });
    Plot {
        id: "crew-curves".to_owned(),
        title: "Good packs against operators".to_owned(),
        description: format!("One curve for each of {} response times.", found.response_factors.len()),
        caption: format!(
            "A ring is the mean over the runs of one crew, the line through it its {} interval. The scale at the left does \
             not begin at 0.",
            phrases::level(&found.head)
        ),
        x_words: "operators".to_owned(),
        y_words: format!("good packs in {}", phrases::run(&found.head)),
        series: series.collect(),
        upright: vec![Level {
            at: f64::from(found.operators_as_modelled),
            label: format!("as modelled: {}", found.operators_as_modelled),
        }],
        ..Plot::default()
    }
}

fn table(found: &CrewResult) -> Table {
    let rows = found.cells.iter().map(|cell| {
        let [packs, packs_half, oee, oee_half] = output_cells(&cell.figures.good_packs, &cell.figures.oee);
        let [more, more_half] = gain_cells(cell.packs_per_operator.as_ref());
        TableRow::of(vec![
            Cell::figure(f64::from(cell.operators), cell.operators.to_string()),
            Cell::figure(cell.response_factor, number::plain(cell.response_factor)),
            packs,
            packs_half,
            oee,
            oee_half,
            more,
            more_half,
            Cell::figure(cell.waiting_s.mean, number::minutes(cell.waiting_s.mean)),
        ])
    });
    let mut columns = vec![figures("operators", "operators"), figures("response_factor", "response, times")];
    columns.extend(output_columns());
    columns.extend([
        figures("packs_per_operator", "packs for a further operator"),
        figures("packs_per_operator_half_width", "±"),
        figures("waiting_s_per_run", "stops waited for operators, min"),
    ]);
    Table {
        name: "crew".to_owned(),
        caption: format!("Crews, {}", phrases::run(&found.head)),
        columns,
        rows: rows.collect(),
    }
}
