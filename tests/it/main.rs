//! Whole-program tests: one binary, a module for each subject.

mod bracket;
mod broken_models;
mod cli;
mod conventions;
mod desk;
mod fitting;
mod hand_facts;
mod known_logs;
mod options;
mod properties;
mod replay;
mod report_command;
mod schema;
mod series;
mod stop_list_pages;
mod stop_lists;
mod stops_from_logs;
mod study_commands;
mod tagged;
mod tidy;
mod wake_command;
mod weights_command;
