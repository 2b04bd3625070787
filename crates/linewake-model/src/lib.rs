//! What a line is: units, the model file as typed, and the checked [`line::Line`].
//!
//! A model file is one JSON file (comments and trailing commas allowed on reading). [`parse`] reads its text,
//! reports every problem at once, each with its place in the file, and gives a `Line`, which is valid by
//! construction: the engine takes nothing else and cannot fail.

pub mod change;
pub mod defaults;
pub mod facts;
pub mod line;
pub mod problem;
pub mod quantity;
pub mod spec;
pub mod splice;
pub mod station;
pub mod stop;
pub mod stops_file;
pub mod time;
pub mod units;

mod check;
mod parse;
mod schema;

pub use parse::{Checked, check, digest, digest_of, parse, spec_of, to_json};
pub use schema::{schema, schema_of};
