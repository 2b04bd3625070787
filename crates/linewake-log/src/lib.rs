//! What happened on a line: events, the log file format, readers and writers. Simulated and measured alike.

pub mod event;
pub mod facts;
pub mod header;
