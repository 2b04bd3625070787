//! Model texts that read well, and what is said of those that do not.

use super::*;

/// The reference line as it ships.
const MINCE: &str = include_str!("../../../../models/alder-hill-mince.json");

fn checked(text: &str) -> Checked {
    parse(text).unwrap_or_else(|problems| {
        panic!("{}", problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
    })
}

#[test]
fn the_reference_line_is_valid_and_says_nothing_odd() {
    let checked = checked(MINCE);
    assert!(checked.warnings.is_empty(), "{:?}", checked.warnings);
    assert_eq!(checked.line.stations.len(), 11);
    assert_eq!(checked.line.stations[checked.line.constraint].id, "former");
}

#[test]
fn what_is_written_reads_back_to_the_same_line() {
    let spec = spec_of(MINCE).expect("valid");
    let text = to_json(&spec);
    assert!(serde_json::from_str::<serde_json::Value>(&text).is_ok(), "strict JSON");
    assert_eq!(spec_of(&text).expect("valid"), spec);
    assert_eq!(checked(&text).line, checked(MINCE).line);
    assert_eq!(check(&spec).expect("valid").line.digest, checked(MINCE).line.digest);
}

#[test]
fn comments_blanks_and_the_schema_do_not_change_the_digest() {
    let kept = |line: &&str| !line.trim_start().starts_with("//") && !line.contains("$schema");
    let stripped = MINCE.lines().filter(kept).map(str::trim).collect::<Vec<_>>().join("\n");
    assert_eq!(checked(&stripped).line.digest, checked(MINCE).line.digest);
    let changed = MINCE.replace("\"0.9 s\"", "\"0.91 s\"");
    assert_ne!(checked(&changed).line.digest, checked(MINCE).line.digest);
}

#[test]
fn every_shipped_model_is_valid_says_nothing_odd_and_survives_writing() {
    let models = [
        MINCE,
        include_str!("../../../../models/alder-hill-mince-feedback.json"),
        include_str!("../../../../models/alder-hill-mince-drift.json"),
        include_str!("../../../../models/low-sallow-burgers.json"),
        include_str!("../../../../models/tern-quay-fish.json"),
        include_str!("../../../../models/merrow-three-machines.json"),
    ];
    for text in models {
        let checked = checked(text);
        assert!(checked.warnings.is_empty(), "{}: {:?}", checked.line.name, checked.warnings);
        let written = to_json(&spec_of(text).expect("valid"));
        assert_eq!(parse(&written).map(|checked| checked.line), Ok(checked.line));
    }
}
