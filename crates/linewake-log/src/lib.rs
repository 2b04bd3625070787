//! What happened on a line: events, the log file format, readers and writers. Simulated and measured alike.

pub mod columns;
pub mod event;
pub mod facts;
pub mod header;
mod header_rows;
pub mod reader;
mod row;
mod rows;
mod source;
pub mod stop_list;
pub mod stop_trace;
pub mod weigher_file;
mod words;
pub mod writer;
