//! What every station can have: stops, response times, call priorities, speed steps; and the shift and its crew.

use super::dice::{Dice, seconds};
use serde_json::{Map, Value, json};

/// What a station is like for its stops.
#[derive(Clone, Copy, Debug)]
pub(super) struct Upkeep {
    /// How its cycles are called, and about how many it makes in a minute.
    pub(super) count: Option<(&'static str, f64)>,
    /// Packs on the web can be tagged after its stops.
    pub(super) tags_packs: bool,
    /// Its stops can be attended.
    pub(super) attended: bool,
    /// How likely it has stops at all.
    pub(super) likely: f64,
}

impl Dice {
    /// Stops, response and call priority of a station.
    pub(super) fn upkeep(&mut self, station: &mut Map<String, Value>, it: Upkeep) {
        if self.chance(it.likely) {
            let number = self.int(1, 3);
            let mut stops: Vec<Value> = (0..number).map(|place| self.stop(place, it)).collect();
            if number > 1 && self.option("stops in a group", 0.35) {
                // Due together: the same constant between.
                let after = stops[0]["after"].clone();
                for stop in stops.iter_mut().take(2) {
                    stop["group"] = json!("shared");
                    if self.chance(0.7) {
                        stop["after"] = after.clone();
                    }
                }
            }
            station.insert("stops".into(), stops.into());
        }
        if it.attended && self.option("response by station", 0.15) {
            station.insert("response".into(), self.times(4.0));
        }
        if self.chance(0.3) {
            station.insert("call_priority".into(), json!(self.int(0, 3)));
        }
    }

    fn stop(&mut self, place: u64, it: Upkeep) -> Value {
        let mut stop = Map::new();
        stop.insert("reason".into(), json!(format!("trouble {place}")));
        let mean_s = self.real(25.0, 150.0);
        let after = match it.count {
            Some((word, per_min)) if self.chance(0.5) => {
                let count = ((mean_s / 60.0 * per_min) as u64).max(2);
                match self.int(0, 3) {
                    0 => {
                        self.note("stop: roll");
                        json!({ "roll": { "length": format!("{} m", count * 2 + 1), "per_cycle": "2 m" } })
                    }
                    1 => {
                        self.note("stop: magazine");
                        json!({ "magazine": { "pieces": count * 3 + 2, "per_cycle": 3 } })
                    }
                    _ => {
                        self.note("stop: count");
                        json!({ (word): self.counts(count) })
                    }
                }
            }
            _ if self.option("stop: calendar time", 0.4) => json!({ "calendar_time": self.times(mean_s) }),
            _ => {
                self.note("stop: running time");
                json!({ "running_time": self.times(mean_s) })
            }
        };
        stop.insert("after".into(), after);
        let mean_s = self.real(2.0, 14.0);
        stop.insert("duration".into(), self.times(mean_s));
        let attended = it.attended && self.option("stop: attended", 0.6);
        if !attended {
            self.note("stop: unattended");
        }
        stop.insert("attended".into(), json!(attended));
        match self.int(0, 5) {
            0 => {
                self.note("stop: initial fraction");
                let used = (self.real(0.1, 0.95) * 100.0).round();
                stop.insert("initial".into(), json!(format!("{used} %")));
            }
            1 => {
                self.note("stop: initial uniform");
                stop.insert("initial".into(), json!("uniform"));
            }
            2 => {
                stop.insert("initial".into(), json!("new"));
            }
            _ => {}
        }
        if it.tags_packs && self.option("stop: scrap_after", 0.15) {
            stop.insert("scrap_after".into(), json!(self.int(1, 3)));
        }
        stop.into()
    }

    /// Speed steps by the content of one of those belts and tables; each with the largest content to ask for.
    pub(super) fn speed_control(&mut self, watched: &[(String, u64)]) -> Value {
        let (id, capacity) = watched[self.int(0, watched.len() as u64 - 1) as usize].clone();
        let top = capacity.clamp(2, 20);
        let enter = self.int(1, top - 1);
        let leave = self.int(0, enter - 1);
        let mut steps = vec![
            json!({ "speed": "115 %" }),
            json!({ "speed": self.one_of(&["100 %", "90 %"]), "enter_at": enter, "leave_at": leave }),
        ];
        if self.chance(0.5) {
            let higher = self.int(enter + 1, top);
            let lower = self.int(leave, higher - 1);
            steps.push(json!({ "speed": 0.7, "enter_at": higher, "leave_at": lower }));
        }
        json!({ "watch": id, "steps": steps })
    }

    /// The shift with its breaks.
    pub(super) fn shift(&mut self, length_s: f64) -> Value {
        let mut shift = Map::new();
        shift.insert("length".into(), json!(seconds(length_s)));
        let breaks = if self.option("breaks", 0.45) { self.int(1, 2) } else { 0 };
        if breaks > 0 {
            let all: Vec<Value> = (0..breaks)
                .map(|number| {
                    let from = length_s * (0.15 + 0.4 * number as f64);
                    let start = self.real(from, from + 0.2 * length_s);
                    let duration = self.real(8.0, 0.12 * length_s);
                    json!({ "start": seconds(start), "duration": seconds(duration) })
                })
                .collect();
            shift.insert("breaks".into(), all.into());
            let flags = [
                ("supply_in_breaks", "breaks: supply goes on"),
                ("repairs_in_breaks", "breaks: repairs go on"),
                ("breaks_in_planned_production_time", "breaks: in planned production time"),
            ];
            for (key, option) in flags {
                if self.option(option, 0.4) {
                    shift.insert(key.into(), json!(true));
                }
            }
        }
        shift.into()
    }

    /// Operators; none at all with that crew of zero.
    pub(super) fn crew(&mut self) -> (Option<Value>, bool) {
        let sizes = ["crew of 0", "crew of 1", "crew of 2", "crew of 3", "crew of 4"];
        let operators = self.one_of(&[0, 1, 1, 2, 2, 3, 4]);
        self.note(sizes[operators]);
        if operators == 0 && self.chance(0.5) {
            return (None, false);
        }
        let order = if self.chance(0.5) { "first_come" } else { "station_priority" };
        self.note(if order == "first_come" { "calls: first come" } else { "calls: station priority" });
        let crew = json!({ "operators": operators, "response": self.times(4.0), "order": order });
        (Some(crew), operators > 0)
    }

    /// Defects of the model's own: their names.
    pub(super) fn own_defects(&mut self, model: &mut Map<String, Value>) -> Vec<&'static str> {
        if !self.option("own defects", 0.4) {
            return Vec::new();
        }
        let all = ["dented tray", "odd colour"];
        let names = &all[..self.int(1, 2) as usize];
        let defects: Vec<Value> =
            names.iter().map(|name| json!({ "name": name, "probability": 0.03 })).collect();
        model.insert("defects".into(), defects.into());
        names.to_vec()
    }
}
