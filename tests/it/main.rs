//! Whole-program tests: one binary, a module for each subject.

mod broken_models;
mod cli;
mod hand_facts;
mod options;
mod schema;
mod tidy;
