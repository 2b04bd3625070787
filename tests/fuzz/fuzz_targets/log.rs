//! Any bytes as a log give events or an error, never a panic.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if let Ok(reader) = linewake_log::reader::LogReader::new(bytes) {
        for event in reader {
            if event.is_err() {
                break;
            }
        }
    }
});
