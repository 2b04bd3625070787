//! The figures of the model check, for a report.

use crate::input::AnalyticFigure;
use linewake_model::facts::{FigureKind, OutputFigure, facts};
use linewake_model::line::Line;

/// The figures of the model check.
#[must_use]
pub fn figures_without_simulation(line: &Line) -> Vec<AnalyticFigure> {
    let output = facts(line).output;
    let figure = |name: &str, figure: &OutputFigure| AnalyticFigure {
        name: name.to_owned(),
        packs_per_h: figure.good_packs_per_h,
        text: format!("{}: {}", kind_words(figure.kind), figure.reasons.join("; ")),
    };
    vec![
        figure("no help from buffers", &output.no_help),
        figure("weakest block without a buffer", &output.weakest_block),
        figure("full help from buffers", &output.full_help),
    ]
}

/// What a figure is, in words.
#[must_use]
pub fn kind_words(kind: FigureKind) -> &'static str {
    match kind {
        FigureKind::LowerBound => "lower bound",
        FigureKind::UpperBound => "upper bound",
        FigureKind::Estimate => "estimate",
    }
}
