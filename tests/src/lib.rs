//! Helpers of the whole-program tests.

pub mod command_line;
pub mod pack_checker;
pub mod random_line;

use linewake_model::line::Line;
use std::path::PathBuf;

/// The folder that holds Cargo.toml, models/ and docs/.
#[must_use]
pub fn workspace_root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Text of a shipped model.
///
/// # Panics
/// If there is no such model.
#[must_use]
pub fn model_text(name: &str) -> String {
    let path = workspace_root().join("models").join(format!("{name}.json"));
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// A shipped model, checked.
///
/// # Panics
/// If it is not there or not right.
#[must_use]
pub fn load_model(name: &str) -> Line {
    linewake_model::parse(&model_text(name)).unwrap_or_else(|problems| panic!("{name}: {problems:?}")).line
}
