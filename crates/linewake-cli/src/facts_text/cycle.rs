//! The former's cycle, loader and robot against it, and the way from each detection to the exit.

use super::{heading, reason, seconds};
use crate::aligned::{Aligned, Side};
use linewake_model::facts::{CycleLimit, Facts};

pub(super) fn former(facts: &Facts, text: &mut String) {
    let Some(cycle) = &facts.cycle_budget else { return };
    heading("Former: cycle budget", text);
    let mut table = Aligned::new(&[
        ("function", Side::Left),
        ("works s", Side::Right),
        ("in hand in the dwell s", Side::Right),
        ("in hand in the cycle s", Side::Right),
        ("", Side::Left),
    ]);
    for it in &cycle.functions {
        let limiting = if it.function == cycle.limiting_function { "sets the dwell" } else { "" };
        table.row([
            it.function.as_str(),
            &seconds(it.dwell_s),
            &seconds(it.in_hand_in_dwell_s),
            &seconds(it.in_hand_in_cycle_s),
            limiting,
        ]);
    }
    text.push_str(&table.text());
    text.push_str(&format!(
        "  dwell {} s ({}) + advance {} s = {} s",
        seconds(cycle.dwell_s),
        cycle.limiting_function,
        seconds(cycle.advance_s),
        seconds(cycle.functions_and_advance_s)
    ));
    match (cycle.set_by, cycle.cap_s) {
        (CycleLimit::Cap, _) => text.push_str(&format!(
            "; the cap on the speed makes it {} s, {} s of them waiting",
            seconds(cycle.cycle_s),
            seconds(cycle.wait_for_cap_s)
        )),
        (CycleLimit::Functions, Some(cap_s)) => {
            text.push_str(&format!("; the cap of {} s does not bite", seconds(cap_s)));
        }
        (CycleLimit::Functions, None) => {}
    }
    text.push_str(&format!("\n  {} packs a cycle\n", cycle.packs_per_cycle));
}

pub(super) fn loader(facts: &Facts, text: &mut String) {
    let Some(loader) = &facts.loader else { return };
    heading("Loader: an array against the former", text);
    let mut row = |what: String, time_s: f64| text.push_str(&format!("  {what}: {} s\n", seconds(time_s)));
    row(
        format!(
            "fill {} + load {} + return {} for {:.0} portions",
            seconds(loader.fill_s),
            seconds(loader.load_s),
            seconds(loader.return_s),
            loader.portions_per_array
        ),
        loader.array_s,
    );
    row("belt A, takes and transfers".to_owned(), loader.takes_s);
    if let Some(arrive_s) = loader.portions_arrive_s {
        row("the portioner delivers an array in".to_owned(), arrive_s);
    }
    row("the former leaves for an array".to_owned(), loader.time_for_array_s);
    row("in hand".to_owned(), loader.in_hand_s);
    text.push_str(&format!(
        "  loading a zone takes {} s, {} s of them within the dwell; {}\n",
        seconds(loader.zone_load_s),
        seconds(loader.hidden_in_dwell_s),
        if loader.keeps_up {
            "the loader keeps up".to_owned()
        } else if loader.lengthens_dwell_s > 0.0 {
            format!("it lengthens a dwell in each zone by {} s", seconds(loader.lengthens_dwell_s))
        } else {
            "the former waits for arrays".to_owned()
        }
    ));
}

pub(super) fn robot(facts: &Facts, text: &mut String) {
    let Some(robot) = &facts.robot else { return };
    heading("Pick robot: a frame against the cycle", text);
    text.push_str(&format!(
        "  {} groups take {} s of a cycle of {} s; the pick zone is clear after {} s of {} s: {} s in hand\n",
        robot.groups,
        seconds(robot.frame_s),
        seconds(robot.cycle_s),
        seconds(robot.clear_after_s),
        seconds(robot.time_to_clear_s),
        seconds(robot.in_hand_s)
    ));
}

pub(super) fn detections(facts: &Facts, text: &mut String) {
    if facts.detections.is_empty() {
        return;
    }
    heading("From each detection to the exit (without stops)", text);
    let mut table = Aligned::new(&[
        ("station", Side::Left),
        ("detection", Side::Left),
        ("position", Side::Right),
        ("indexes", Side::Right),
        ("s to the pick zone", Side::Right),
        ("s to the exit", Side::Right),
        ("exit", Side::Left),
        ("remark", Side::Left),
    ]);
    for it in &facts.detections {
        table.row([
            it.station.clone(),
            reason(&it.detection),
            it.position.map_or("-".to_owned(), |position| position.to_string()),
            it.indexes_to_pick_zone.to_string(),
            seconds(it.to_pick_zone_s),
            seconds(it.to_exit_s),
            it.exit.clone(),
            it.remark.clone(),
        ]);
    }
    text.push_str(&table.text());
}
