//! The live page: its server over the wire, and its figures beside those of the command line.

mod client;
mod command;
mod figures;
mod lessons;
mod safety;
