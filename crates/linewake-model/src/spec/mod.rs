//! The model file as typed, before any rule is checked: [`line::LineSpec`] and its parts.
//!
//! The types are at once the reader, the writer and the source of the JSON Schema, so the three cannot differ.

pub mod distribution;
pub mod former;
pub mod gate;
pub mod line;
pub mod share;
pub mod station;
pub mod stop;
pub mod uncertainty;

pub mod document;
pub mod json;
pub mod suggest;
pub mod typed;
