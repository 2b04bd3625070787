//! `linewake schema`: the JSON Schema of the model file.

use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;

pub(crate) fn schema(console: &mut Console<'_>) -> Result<Exit, Failure> {
    console.print(&linewake_model::schema())?;
    Ok(Exit::Done)
}
