//! A mapping with a model alongside, which says what the line is.

use crate::known_logs::{near, results};
use linewake_kpi::convention::Conventions;
use linewake_log::header::LineFacts;
use linewake_log::stop_list::{self, Mapping};
use linewake_tests::model_text;

/// Three machines with a table between each two; the middle one is the constraint, at 30 packs a minute.
fn model() -> LineFacts {
    LineFacts::of(&linewake_model::parse(&model_text("merrow-three-machines")).expect("a model").line)
}

fn mapping(more: &str) -> String {
    format!(
        r#"{{
          "mapping_version": 1, "name": "Merrow", "time_zone": "UTC", {more}
          "shifts": {{ "daily": [{{ "name": "day", "start": "06:00", "end": "14:00" }}] }},
          "stations": [
            {{ "id": "machine 1", "names": ["M1"] }}, {{ "id": "machine 2", "names": ["M2"] }},
            {{ "id": "machine 3", "names": ["M3"] }}
          ],
          "reasons": [{{ "reason": "breakdown", "names": ["BD"] }}, {{ "reason": "full", "is": "blocked" }}],
          "stops": {{
            "form": {{ "times": ["%Y-%m-%d %H:%M"], "headings": false }},
            "columns": {{ "machine": 1, "start": 2, "end": 3, "reason": 4 }}
          }},
          "counts": {{
            "form": {{ "times": ["%Y-%m-%d %H:%M"], "headings": false }},
            "columns": {{ "start": 1 }}, "period": "8 h", "are": "increments",
            "values": [{{ "column": 2, "counts": "total" }}, {{ "column": 3, "counts": "rejected" }}]
          }}
        }}"#
    )
}

#[test]
fn the_line_comes_from_the_model() {
    let mapping = Mapping::parse(&mapping(""), Some(&model())).expect("a mapping");
    let stops = "M3,2026-03-02 07:00,2026-03-02 08:00,BD\nM2,2026-03-02 07:10,2026-03-02 08:00,full\n";
    let counts = "2026-03-02 06:00,10000,100\n";
    let list = stop_list::read(&mapping, stops.as_bytes(), Some(counts.as_bytes())).expect("a list");
    assert_eq!(list.dirty_rows, vec![]);
    let [result] = results(&list, Conventions::default()).try_into().expect("one shift");
    assert_eq!((result.constraint.as_str(), result.stations.len()), ("machine 2", 5));
    near(result.design_rate_per_min, 30.0, 1e-12);
    near(result.oee.availability, 430.0 / 480.0, 1e-12);
    near(result.oee.oee, 9_900.0 / (480.0 * 30.0), 1e-12);
    // The table between has no row, and does not hide the machine behind it.
    let [cause] = result.ledger.causes.as_slice() else { panic!("{:?}", result.ledger.causes) };
    assert_eq!((cause.station.as_str(), cause.reason.as_str()), ("machine 3", "breakdown"));
    near(cause.time.seconds(), 3000.0, 1e-9);
    assert!(result.stations[3].states.is_none());
}

#[test]
fn what_the_mapping_states_besides_must_agree() {
    for (more, why) in [
        ("\"design_rate\": \"31/min\",", "design_rate: the model says 30/min"),
        ("\"constraint\": \"machine 3\",", "constraint: the model says machine 2"),
        ("\"short_stop_limit\": \"60 s\",", "short_stop_limit: the model says 300 s"),
    ] {
        let problems = Mapping::parse(&mapping(more), Some(&model())).expect_err(why);
        assert!(problems.iter().any(|it| it.to_string().contains(why)), "{problems:?}");
    }
    let agrees =
        "\"design_rate\": \"1800/h\", \"short_stop_limit\": \"5 min\", \"constraint\": \"machine 2\",";
    assert!(Mapping::parse(&mapping(agrees), Some(&model())).is_ok());
    let unknown = mapping("").replace("\"machine 3\"", "\"machine 4\"");
    let problems = Mapping::parse(&unknown, Some(&model())).expect_err("no machine 4");
    assert!(problems[0].what.contains("the model has no station \"machine 4\""), "{problems:?}");
}
