//! The facts of a line as tables.

use linewake_model::facts::Facts;
use linewake_model::line::Line;

pub(crate) fn text(_file: &str, _line: &Line, facts: &Facts, _terminal: bool) -> String {
    format!("{facts:#?}\n")
}
