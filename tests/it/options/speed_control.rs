//! Speed steps chosen by the content of a belt or table.

use super::{Model, every, machine, row, second, seconds, small_line};
use linewake_log::event::PackStep;
use serde_json::{Value, json};

/// Two steps: the set speed, and another from a content of 3 on, down to 1.
fn steps(watch: &str, share: &str) -> Value {
    json!({ "speed_control": {
        "watch": watch,
        "steps": [{ "speed": "100 %" }, { "speed": share, "enter_at": 3, "leave_at": 1 }],
    } })
}

/// The sealer (0.9 s) stands from 2.5 to 12.5 with the piece of 2.0 (done at 12.9). The filler's pieces of 3, 4, 5 fill the
/// table to 3: from its next cycle on it runs at half speed: 7, 9, 11, 13, 15, ... The sealer takes one at 12.9, 13.8, 14.7, ...
/// The content falls from 6 through 2 (18.3; no change yet: hysteresis) to 1 at 20.1; the cycle of 19 to 21 is finished at half
/// speed, and the next one takes 1 s again.
#[test]
fn a_change_takes_effect_at_the_next_cycle_with_hysteresis() {
    let table = json!({ "accumulating_table": { "id": "table", "capacity": 10, "transit": "0 s" } });
    let run = row(json!([machine("filler", "1 s"), table, machine("sealer", "0.9 s")]))
        .with("filler", steps("table", "50 %"))
        .run_stopped(&[("sealer", 2.5, 10.0)]);
    let made = run.first_times("table", PackStep::Entered, 16);
    let due = [every(1.0, 1.0, 5), every(7.0, 2.0, 8), every(22.0, 1.0, 3)].concat();
    assert_eq!(made, due);
}

/// A piece a second over a table of 5 s: the content is at 3 from the third second on, and what follows behind the table runs
/// at double speed when the first piece comes to it at 6.
fn behind_a_table(station: Value, id: &str, speed: &str) -> super::Run {
    let table = json!({ "accumulating_table": { "id": "table", "capacity": 10, "transit": "5 s" } });
    row(json!([machine("filler", "1 s"), table, station, machine("last", "0.01 s")]))
        .with(id, steps("table", speed))
        .line(json!({ "constraint": "filler" }))
        .run()
}

/// Each kind behind the table needs half of its time. Machine: 0.8 s, out at 6.4. Gate: 60 / 75 = 0.8 s, out at 6.4. Rigid belt:
/// 2 m at 1 m/s, out at 7 instead of 8. Accumulating belt: 2 s, out at 7.
#[test]
fn every_kind_of_station_and_belt_may_run_faster() {
    let gate = json!({ "metal_detector": { "id": "it", "max_rate": "75/min", "sensitivity": 1 } });
    let rigid = json!({ "rigid_belt": { "id": "it", "length": "2 m", "speed": "1 m/s", "pitch": "0.5 m" } });
    let accumulating = json!({ "accumulating_belt": { "id": "it", "capacity": 10, "transit": "2 s" } });
    for (station, at_set_speed, at_double) in
        [(machine("it", "0.8 s"), 6.8, 6.4), (gate, 6.8, 6.4), (rigid, 8.0, 7.0), (accumulating, 8.0, 7.0)]
    {
        for (speed, due) in [("100 %", at_set_speed), ("200 %", at_double)] {
            let run = behind_a_table(station.clone(), "it", speed);
            assert_eq!(run.times("last", PackStep::Entered)[0], second(due), "{station} at {speed}");
        }
    }
}

/// A case of four pieces from 6, 7, 8, 9; the cycle of 1 s takes 0.5 s: 9.5 instead of 10.
#[test]
fn a_case_packer_may_run_faster() {
    let packer =
        json!({ "case_packer": { "id": "packer", "packs_per_case": 4, "lane_packs": 8, "cycle": "1 s" } });
    let table = json!({ "accumulating_table": { "id": "table", "capacity": 10, "transit": "5 s" } });
    let line = row(json!([machine("filler", "1 s"), table, packer])).with("packer", steps("table", "200 %"));
    assert_eq!(line.run().times("packer", PackStep::Cased)[0], second(9.5));
}

/// The small line with 5 s on an infeed belt without limit, whose content is at 3 or more from 1.5 s on: all is 4 s later than
/// in the timetable.
fn watching_the_infeed(id: &str, speed: &str) -> Model {
    small_line()
        .with("infeed", json!({ "capacity": "unlimited", "transit": "5 s" }))
        .with(id, steps("infeed", speed))
}

/// Portions at 0.5, 1.0 and 1.5; from there on every 1.0 s instead of 0.5.
#[test]
fn a_portioner_may_run_slower() {
    let run = watching_the_infeed("portioner", "50 %").run();
    assert_eq!(
        run.first_times("portioner", PackStep::Portioned, 6),
        seconds(&[0.5, 1.0, 1.5, 2.5, 3.5, 4.5])
    );
}

/// The loader at double speed: portion 1 on belt A at 5.5, passed 5.6, traversed 5.65; portion 2 at 6.0, passed 6.1; load to
/// 6.25 (at set speed 6.2 and 6.5).
#[test]
fn a_loader_may_run_faster() {
    let loaded =
        |speed: &str| watching_the_infeed("loader", speed).run().times("loader", PackStep::Loaded)[0];
    assert_eq!((loaded("100 %"), loaded("200 %")), (second(6.5), second(6.25)));
}

/// A speed step of the former scales its cap, 30/min, 2 s: 4 s from dwell to dwell at half speed. Dwells: 0, then 7.0 (load to
/// 6.5, advance), 11.0, 15.0: the first frame is cut at 16.5, the next ones every 4 s.
#[test]
fn a_former_may_run_slower() {
    let run = watching_the_infeed("former", "50 %").with("former", json!({ "max_cycles": "30/min" })).run();
    let cut: Vec<_> = run.times("former", PackStep::Cut).into_iter().step_by(2).take(4).collect();
    assert_eq!(cut, every(16.5, 4.0, 4));
}

/// The robot at double speed: the frame of 13.0 is picked by 13.15 and placed by 13.35.
#[test]
fn a_robot_may_run_faster() {
    let run = watching_the_infeed("robot", "200 %").run();
    assert_eq!(run.times("robot", PackStep::Picked)[0], second(13.15));
    assert_eq!(run.times("belt", PackStep::Entered)[0], second(13.35));
}
