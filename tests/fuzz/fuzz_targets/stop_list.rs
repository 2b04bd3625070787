//! Any bytes as a stop list and its mapping give a list or an error, never a panic. The first line feed that follows
//! two others parts the mapping from the list; without it, all is the list of a fixed mapping.
#![no_main]

use linewake_log::stop_list::{Mapping, read};

const MAPPING: &str = r#"{
  "mapping_version": 1, "name": "fuzz", "time_zone": "Europe/Berlin", "design_rate": "60/min",
  "shifts": { "daily": [{ "name": "early", "start": "06:00", "end": "14:00",
                          "breaks": [{ "start": "10:00", "end": "10:30" }] }] },
  "stations": [{ "id": "press" }],
  "stops": {
    "form": { "delimiter": ";", "times": ["%d.%m.%Y %H:%M", "%m/%d/%Y %H:%M"], "headings": false },
    "columns": { "machine": 1, "start": 2, "end": 3, "duration": 4, "reason": 5 },
    "without_end": "until_next_stop"
  }
}"#;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let parted = bytes.windows(3).position(|three| three == b"\n\n\n");
    let (mapping, list) = match parted {
        Some(at) => (String::from_utf8_lossy(&bytes[..at]).into_owned(), &bytes[at + 3..]),
        None => (MAPPING.to_owned(), bytes),
    };
    match Mapping::parse(&mapping, None) {
        Ok(mapping) => {
            let counts = mapping.has_file_of_counts().then_some(list);
            let _ = read(&mapping, list, counts);
        }
        Err(problems) => assert!(!problems.is_empty(), "a refusal says why"),
    }
});
