//! Full lines, from bulk supply to case packer.

use super::dice::{Dice, grams, per_min, seconds};
use super::tail::{Surroundings, is_conveyor, is_direct};
use super::upkeep::Upkeep;
use serde_json::{Map, Value, json};

/// The format of a full line, on which all its rates depend.
struct Format {
    lanes: u64,
    rows: u64,
    indexes: u64,
    loads: u64,
    cycle_s: f64,
    portions_per_min: f64,
    portion_g: f64,
    sd_g: f64,
}

impl Format {
    fn of(dice: &mut Dice) -> Self {
        let (lanes, rows, indexes) = (dice.int(1, 6), dice.int(1, 4), dice.int(1, 3));
        let loads = if dice.option("loader: two loads a zone", 0.3) { 2 } else { 1 };
        if indexes > 1 {
            dice.note("loader: array of several indexes");
        }
        let wanted = dice.real(60.0, 200.0);
        let cycle_s = ((lanes * rows * loads) as f64 * 60.0 / wanted).clamp(1.0, 10.0);
        Self {
            lanes,
            rows,
            indexes,
            loads,
            cycle_s,
            portions_per_min: (lanes * rows * loads) as f64 * 60.0 / cycle_s,
            portion_g: dice.real(100.0, 400.0),
            sd_g: dice.real(1.0, 5.0),
        }
    }

    fn pockets(&self) -> u64 {
        self.lanes * self.rows
    }
}

impl Dice {
    /// The stations of a full line, its design rate, and the gates and machines that may be its constraint.
    pub(super) fn full_line(&mut self, attended: bool, own_defects: Vec<&'static str>) -> (Vec<Value>, f64) {
        let format = Format::of(self);
        let pack_g = format.portion_g * format.loads as f64;
        let around = Surroundings {
            rate: format.portions_per_min / format.loads as f64,
            word: "packs",
            attended,
            own_defects,
            pack_g: Some((pack_g, format.sd_g * (format.loads as f64).sqrt())),
        };
        let portions = Surroundings {
            rate: format.portions_per_min,
            word: "portions",
            attended,
            own_defects: Vec::new(),
            pack_g: None,
        };
        let mut stations = vec![self.bulk_supply(&format, attended), self.portioner(&format, attended)];
        stations.push(self.infeed(&portions));
        stations.push(self.loader(&format, attended));
        stations.push(self.former(&format, attended));
        let gripper = self.divisor(format.pockets());
        stations.push(self.pick_robot(&format, gripper, attended));
        self.tail(&mut stations, gripper, &around);
        self.feedback(&mut stations);
        (stations, around.rate)
    }

    fn infeed(&mut self, portions: &Surroundings) -> Value {
        let station = self.accumulator("infeed", 2, true, portions);
        // The infeed belt is a belt by name.
        match station {
            Value::Object(mut it) if it.contains_key("accumulating_table") => {
                json!({ "accumulating_belt": it.remove("accumulating_table") })
            }
            belt => belt,
        }
    }

    fn bulk_supply(&mut self, format: &Format, attended: bool) -> Value {
        self.note("kind: bulk supply");
        let g_per_s = format.portions_per_min * format.portion_g / 60.0;
        let batch_s = self.real(15.0, 60.0);
        let batch_g = (g_per_s * batch_s).max(2.0 * format.portion_g);
        let hopper_g = batch_g * self.real(1.0, 2.5);
        let mut it = Map::new();
        it.insert("id".into(), json!("supply"));
        it.insert("batch".into(), json!(grams(batch_g)));
        it.insert("hopper".into(), json!(grams(hopper_g + 1.0)));
        let mean_s = batch_g / g_per_s * self.real(0.5, 1.1);
        it.insert("preparation".into(), self.times(mean_s));
        let upkeep =
            Upkeep { count: Some(("cycles", 60.0 / mean_s)), tags_packs: true, attended, likely: 0.35 };
        self.upkeep(&mut it, upkeep);
        json!({ "bulk_supply": it })
    }

    fn portioner(&mut self, format: &Format, attended: bool) -> Value {
        self.note("kind: portioner");
        let mut it = Map::new();
        it.insert("id".into(), json!("portioner"));
        let faster = self.real(0.9, 1.4);
        it.insert("rate".into(), json!(per_min(format.portions_per_min * faster)));
        let mut weight = Map::new();
        weight.insert("mean".into(), json!(grams(format.portion_g)));
        weight.insert("sd".into(), json!(grams(format.sd_g)));
        if self.option("weight: batch shift", 0.5) {
            weight.insert("sd_batch".into(), json!(grams(0.5 * format.sd_g)));
        }
        if self.option("weight: drift", 0.3) {
            let drift = json!({ "sd": grams(0.5 * format.sd_g), "correlation_time": "60 s" });
            weight.insert("drift".into(), drift);
        }
        it.insert("weight".into(), weight.into());
        let count = Some(("portions", format.portions_per_min));
        self.upkeep(&mut it, Upkeep { count, tags_packs: true, attended, likely: 0.5 });
        json!({ "portioner": it })
    }

    fn loader(&mut self, format: &Format, attended: bool) -> Value {
        self.note("kind: loader");
        let mut it = Map::new();
        it.insert("id".into(), json!("loader"));
        it.insert("lanes".into(), json!(format.lanes));
        it.insert("array_rows".into(), json!(format.rows * format.indexes));
        it.insert("indexes_per_array".into(), json!(format.indexes));
        if format.loads > 1 {
            it.insert("loads_per_zone".into(), json!(format.loads));
        }
        let array_s = format.indexes as f64 * format.cycle_s / format.loads as f64;
        let share = self.real(0.5, 1.0) * array_s;
        let lane_s = 0.5 * share / format.lanes as f64;
        if self.option("loader: take time", 0.4) {
            let take_s = 60.0 / format.portions_per_min * self.real(0.1, 0.8);
            it.insert("take".into(), json!(seconds(take_s)));
        }
        it.insert("file_transfer".into(), json!(seconds(0.6 * lane_s)));
        it.insert("traverse".into(), json!(seconds(0.4 * lane_s)));
        it.insert("load".into(), json!(seconds(0.3 * share)));
        it.insert("return".into(), json!(seconds(0.2 * share)));
        if self.option("loader: open time limit", 0.35) {
            let limit_s = format.cycle_s * format.indexes as f64 * self.real(2.0, 8.0);
            it.insert("open_time_limit".into(), json!(seconds(limit_s)));
        }
        let count = Some(("arrays", 60.0 / array_s));
        self.upkeep(&mut it, Upkeep { count, tags_packs: true, attended, likely: 0.4 });
        json!({ "loader": it })
    }

    fn former(&mut self, format: &Format, attended: bool) -> Value {
        self.note("kind: former");
        let mut it = Map::new();
        it.insert("id".into(), json!("former"));
        it.insert("lanes".into(), json!(format.lanes));
        it.insert("rows_per_index".into(), json!(format.rows));
        let names = ["form", "seal", "print traverse", "label", "cut"];
        let longest = self.int(0, 4) as usize;
        let functions: Vec<Value> = names
            .iter()
            .enumerate()
            .map(|(place, name)| {
                let share = if place == longest { 0.8 } else { self.real(0.1, 0.8) };
                json!({ "name": name, "dwell": seconds(share * format.cycle_s) })
            })
            .collect();
        it.insert("functions".into(), functions.into());
        it.insert("advance".into(), json!(seconds(0.2 * format.cycle_s)));
        if self.option("former: cycle cap", 0.6) {
            let cap = 60.0 / format.cycle_s * self.real(0.8, 1.1);
            it.insert("max_cycles".into(), json!(per_min(cap)));
        } else {
            self.note("former: no cycle cap");
        }
        let load_at = format.indexes + self.int(0, 1);
        let seal = load_at + self.int(1, 2);
        let inspection = seal + self.int(1, 2);
        let label = seal + self.int(1, 3);
        let cut = inspection.max(label) + self.int(0, 2);
        let mut positions = Map::new();
        for (key, position) in [("load_at", load_at), ("seal", seal), ("label", label), ("cut", cut)] {
            positions.insert(key.into(), json!(position));
        }
        if self.option("former: run_empty", 0.35) {
            it.insert("without_product".into(), json!("run_empty"));
        }
        if self.option("former: stop scrap", 0.5) {
            it.insert("stop_scrap".into(), self.stop_scrap(cut));
        }
        if self.option("former: printer", 0.6) {
            let printer = json!({
                "good_to_faulty": 0.06, "faulty_to_good": "40 %", "misprint_when_faulty": 0.6 });
            it.insert("printer".into(), printer);
        }
        if self.option("former: vision", 0.6) {
            positions.insert("print_inspection".into(), json!(inspection));
            let mut vision = Map::new();
            vision.insert("sensitivity".into(), json!("85 %"));
            if self.chance(0.7) {
                vision.insert("false_tag".into(), json!(0.01));
            }
            if attended && self.option("former: vision stop rule", 0.5) {
                let rule = json!({ "indexes": self.int(1, 3), "duration": self.times(6.0) });
                vision.insert("stop_rule".into(), rule);
            }
            it.insert("vision".into(), vision.into());
        }
        it.insert("positions".into(), positions.into());
        let defects = [
            ("leak_probability", "former: leaks"),
            ("label_missing_probability", "former: missing labels"),
            ("contaminated_probability", "former: contamination"),
        ];
        for (key, option) in defects {
            if self.option(option, 0.6) {
                it.insert(key.into(), json!(self.one_of(&[0.005, 0.03])));
            }
        }
        let count = Some(("cycles", 60.0 / format.cycle_s));
        self.upkeep(&mut it, Upkeep { count, tags_packs: true, attended, likely: 0.75 });
        json!({ "former": it })
    }

    fn stop_scrap(&mut self, cut: u64) -> Value {
        let mut positions: Vec<u64> = (0..=cut).filter(|_| self.chance(0.3)).collect();
        if positions.is_empty() {
            positions.push(cut);
        }
        let longer_than_s = self.real(2.0, 12.0);
        let mut scrap = Map::new();
        scrap.insert("longer_than".into(), json!(seconds(longer_than_s)));
        scrap.insert("positions".into(), json!(positions));
        if self.chance(0.3) {
            scrap.insert("reason".into(), json!("cooked film"));
        }
        if self.option("former: stop scrap of empty pockets", 0.5) {
            scrap.insert("empty_pockets".into(), json!(true));
        }
        scrap.into()
    }

    fn divisor(&mut self, pockets: u64) -> u64 {
        let all: Vec<u64> = (1..=pockets).filter(|divisor| pockets.is_multiple_of(*divisor)).collect();
        self.one_of(&all)
    }

    fn pick_robot(&mut self, format: &Format, gripper: u64, attended: bool) -> Value {
        self.note("kind: pick robot");
        if gripper > 1 {
            self.note("robot: gripper of several");
        }
        let mut it = Map::new();
        it.insert("id".into(), json!("robot"));
        it.insert("gripper".into(), json!(gripper));
        let group_s = format.cycle_s / (format.pockets() / gripper) as f64 * self.real(0.5, 1.0);
        it.insert("pick".into(), self.times(0.45 * group_s));
        it.insert("place".into(), self.times(0.55 * group_s));
        if self.option("robot: drops", 0.5) {
            it.insert("drop_probability".into(), json!("2 %"));
        }
        let count = Some(("picks", 60.0 / group_s));
        self.upkeep(&mut it, Upkeep { count, tags_packs: false, attended, likely: 0.4 });
        json!({ "pick_robot": it })
    }

    fn tail(&mut self, stations: &mut Vec<Value>, gripper: u64, around: &Surroundings) {
        stations.push(if self.chance(0.6) {
            self.rigid_belt("discharge", around)
        } else {
            self.accumulator("discharge", gripper, false, around)
        });
        for number in 0..self.int(0, 5) {
            let after_conveyor = stations.last().is_some_and(is_conveyor);
            let after_direct = stations.last().is_some_and(is_direct);
            let station = match self.int(0, 9) {
                0..=5 => self.gate(&format!("gate {number}"), around),
                6 => self.machine(&format!("machine {number}"), around),
                7 if !after_direct => self.rigid_belt(&format!("belt {number}"), around),
                _ if !after_direct => {
                    self.accumulator(&format!("table {number}"), 1, !after_conveyor, around)
                }
                _ => self.gate(&format!("gate {number}"), around),
            };
            stations.push(station);
        }
        stations.push(self.case_packer("packer", around));
    }

    /// Weight feedback from one of the checkweighers, if there is one.
    fn feedback(&mut self, stations: &mut [Value]) {
        let weighers: Vec<String> = stations
            .iter()
            .filter_map(|station| station.get("checkweigher")?["id"].as_str().map(str::to_owned))
            .collect();
        if weighers.is_empty() || !self.option("weight: feedback", 0.75) {
            return;
        }
        let mut feedback = json!({
            "from": weighers[0], "every_packs": self.int(3, 15), "gain": "50 %", "lowest": "-6 g", "highest": "6 g" });
        if self.option("weight: feedback without rejects", 0.6) {
            feedback["count_rejects"] = json!(false);
        }
        stations[1]["portioner"]["weight"]["feedback"] = feedback;
    }
}
