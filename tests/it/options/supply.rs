//! Bulk supply: batches, a hopper that is full or empty.

use super::{Model, seconds, small_line, span};
use linewake_kpi::result::CauseKind;
use linewake_log::event::PackStep;
use serde_json::json;

/// Portions of 400 g every second, and an infeed belt that never fills.
fn kitchen(batch: &str, hopper: &str, preparation: &str) -> Model {
    small_line()
        .with("supply", json!({ "batch": batch, "hopper": hopper, "preparation": preparation }))
        .with("portioner", json!({ "rate": "60/min" }))
        .with("infeed", json!({ "capacity": "unlimited" }))
        .lasting("30 s")
}

/// 2 kg at 0, the second batch of 2 kg ready at 1. The hopper of 3 kg has room once 1 kg or less is left: 2 - 0.4 k <= 1
/// after cut 3, at 3 s (0.8 kg, then 2.8). The third batch is begun at 3 and ready at 4: 2.8 - 0.4 k <= 1 after five more
/// cuts, at 8; the same again at 13, 18, 23, 28.
#[test]
fn a_finished_batch_waits_for_room_in_the_hopper() {
    let run = kitchen("2 kg", "3 kg", "1 s").run();
    assert_eq!(run.times("supply", PackStep::Tipped), seconds(&[0.0, 3.0, 8.0, 13.0, 18.0, 23.0, 28.0]));
    assert_eq!(
        run.states_between("supply", 0.0, 8.0),
        "0 running, 1 blocked, 3 running, 4 blocked, 8 running"
    );
    assert_eq!(run.states("portioner"), "0 running");
}

/// 1 kg gives two portions (to 2 s); 200 g are less than a portion, and the portioner starves until the second batch at 10.
/// 1.2 kg give three (11, 12, 13), and nothing is left until 20.
#[test]
fn the_portioner_starves_under_the_nominal_weight() {
    let run = kitchen("1 kg", "1.2 kg", "10 s").lasting("22 s").run();
    assert_eq!(run.times("portioner", PackStep::Portioned), seconds(&[1.0, 2.0, 11.0, 12.0, 13.0, 21.0]));
    assert_eq!(run.states("portioner"), "0 running, 2 starved, 10 running, 13 starved, 20 running");
    assert_eq!(run.states("supply"), "0 running");
}

/// 4 kg give ten portions to 10 s, five arrays; the second batch would be ready at 40. Portion 10 lies on belt A at 11 and
/// completes the fifth array, loaded by 11.5 in the dwell of 10 to 11.5. The next dwell (12 to 13.5) gets no array: the
/// former waits from 13.5 to the end, 26.5 s, charged to the supply.
#[test]
fn an_empty_hopper_is_charged_to_the_supply() {
    let run = kitchen("4 kg", "4 kg", "40 s").lasting("40 s").run();
    assert_eq!(run.states("former"), "0 running, 1.5 starved, 3.5 running, 13.5 starved");
    let causes = &run.result.ledger.causes;
    let supply: Vec<_> = causes.iter().filter(|row| row.kind == CauseKind::Supply).collect();
    assert_eq!(supply.len(), 1, "{causes:?}");
    assert_eq!((supply[0].station.as_str(), supply[0].time), ("supply", span(26.5)));
}
