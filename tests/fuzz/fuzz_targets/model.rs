//! Any text as a model file gives a line or problems, never a panic.
#![no_main]

libfuzzer_sys::fuzz_target!(|text: &str| {
    if let Err(problems) = linewake_model::parse(text) {
        assert!(!problems.is_empty(), "a refusal says why");
    }
});
