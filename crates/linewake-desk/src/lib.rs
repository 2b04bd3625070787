//! The live page: a server on the loopback interface, the page that it serves, and the lessons.
//!
//! It computes nothing itself: models are checked and changed by `linewake-model`, shifts are run and put together by
//! `linewake-study`, figures are put into words and pictures by `linewake-report`. What it has of its own is the
//! conversation with the page: which requests are answered ([`Server`]), in which form, and how work is stopped.

mod answer;
mod api;
mod assets;
mod desk;
mod folder;
mod guard;
mod lessons;
mod server;
mod shifts;
mod stream;
mod training_page;

pub use server::{ServeError, Server};
