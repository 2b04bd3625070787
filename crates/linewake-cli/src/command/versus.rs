//! `linewake versus`: the promise against the log, as a study.

use super::study::ask_of_models;
use crate::args::study::Question;
use crate::args::versus::Versus;
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;

pub(crate) fn versus(options: &Versus, console: &mut Console<'_>) -> Result<Exit, Failure> {
    ask_of_models(Question::Versus(Box::new(options.clone())), console)
}
