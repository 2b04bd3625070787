//! One shift over time, and how long stops and the times between them are.

use super::{Section, figure, figure_with_title, folded};
use crate::figure;
use crate::input::RunReport;
use crate::tables;
use crate::wording;
use maud::{Markup, html};

/// The shift over time and the wake of its longest stop; `None` where no shift was drawn up.
pub(super) fn one_shift(report: &RunReport) -> Option<Section> {
    let summary = report.main();
    let bands = figure::bands(summary)?;
    let wake = figure::wake(summary).zip(tables::wake(summary));
    let body = html! {
        p {
            "One shift out of " (wording::shifts(summary)) ", to see how a stop runs through the line; the figures of "
            "this report are not drawn from it alone. All bands are in tables/" (bands.name) ".csv."
        }
        (figure_with_title(&bands))
        @if let Some((wake, numbers)) = wake { (figure(&wake, &numbers, false)) }
    };
    Some(Section { id: "over-time", title: "One shift over time", body })
}

/// How long stops last and how long stations run between them; `None` where nothing stopped.
pub(super) fn lengths(report: &RunReport) -> Option<Section> {
    let summary = report.main();
    let lengths = figure::stop_lengths(summary)?;
    let between = figure::between_stops(summary);
    let body = html! {
        p {
            "Means hide that most stops are short and few are long. The classes by station and reason are in "
            "tables/" (lengths.name) ".csv"
            @if let Some(between) = &between { " and tables/" (between.name) ".csv" }
            "."
        }
        (figure_with_title(&lengths))
        @if let Some(between) = &between { (figure_with_title(between)) }
        (folded(&tables::medians(summary), "Table of the medians", false))
    };
    Some(Section { id: "stop-lengths", title: "How long stops last, and the time between them", body })
}

/// The contents over time, where there are any.
pub(super) fn contents(report: &RunReport) -> Markup {
    html! { @if let Some(contents) = figure::contents(report.main()) { (figure_with_title(&contents)) } }
}
