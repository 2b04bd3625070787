//! A regime: one that comes with the program, or a user's file of the same form.

use crate::failure::Failure;
use linewake_weights::regime::{Regime, texts};
use std::fs;
use std::path::Path;

/// Largest file of tables that is read.
const LARGEST_BYTES: u64 = 4 << 20;

/// The regime of that id, else the one in the file of that name.
pub(super) fn regime(named: &str) -> Result<Regime, Failure> {
    if let Some(regime) = Regime::built_in(named) {
        return Ok(regime);
    }
    let path = Path::new(named);
    if !path.exists() {
        return Err(unknown(named));
    }
    let length = fs::metadata(path).map_err(|error| Failure::of_file("read", path, &error))?.len();
    if length > LARGEST_BYTES {
        return Err(Failure::Invalid {
            what: format!("{named} is larger than {} MB", LARGEST_BYTES >> 20),
            hint: "a regime file is a few kilobytes of JSON".to_owned(),
        });
    }
    let text = fs::read_to_string(path).map_err(|error| Failure::of_file("read", path, &error))?;
    Regime::parse(&text).map_err(|error| Failure::Invalid {
        what: format!("{named}: {error}"),
        hint: "docs/reference/regimes.md has the form; --print-regime prints one to start from".to_owned(),
    })
}

/// The text of a regime that comes with the program.
pub(super) fn text_of(id: &str) -> Result<&'static str, Failure> {
    let is_it = |text: &&&'static str| Regime::parse(text).is_ok_and(|regime| regime.id == id);
    texts().iter().find(is_it).copied().ok_or_else(|| unknown(id))
}

fn unknown(named: &str) -> Failure {
    let known: Vec<String> = Regime::all().into_iter().map(|regime| regime.id).collect();
    Failure::usage(
        format!("\"{named}\" is no regime of the program, and no file of that name is there"),
        format!("give one of {}, or a file of the same form", known.join(", ")),
    )
}
