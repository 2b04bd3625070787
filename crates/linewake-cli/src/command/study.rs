//! `linewake study`: a question of the job, answered by many runs.
//!
//! Options become a study, its runs go through a journal in the folder of the results, and what it finds becomes the
//! folder.

pub(crate) mod as_typed;
pub(crate) mod ask;
pub(crate) mod folder;
pub(crate) mod results;
mod versus;
pub(crate) mod work;

use crate::args::study::{Question, Study};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::model_file::ModelFile;
use crate::seed::Seed;
use linewake_report::problems;

/// A question and the models that it is asked of.
pub(crate) struct Asked {
    /// The question, with its seed settled.
    pub(crate) question: Question,
    /// The models, the first one of which leads.
    pub(crate) models: Vec<ModelFile>,
    /// The journal of the whole, put together from parts; `None` runs the study.
    pub(crate) merged: Option<Vec<u8>>,
}

pub(crate) fn study(options: &Study, console: &mut Console<'_>) -> Result<Exit, Failure> {
    ask_of_models(options.question.clone(), console)
}

/// Asks it of the models that it names.
pub(crate) fn ask_of_models(mut question: Question, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let common = question.common_mut();
    common.seed = Seed::Fixed(common.seed.settle());
    let mut models = Vec::new();
    for path in question.models() {
        models.push(ModelFile::read(path)?);
    }
    for file in &models {
        if let (Err(problems), true) = (&file.model, question.common().json) {
            let refusal =
                serde_json::json!({ "schema": results::SCHEMA, "problems": problems::json(problems) });
            console.print(&format!("{refusal:#}\n"))?;
            return Err(Failure::InvalidModel);
        }
        file.checked(console)?;
    }
    ask::answer(&Asked { question, models, merged: None }, console)
}
