//! Belts, tables, gates and packers: what both sorts of line can have.

use super::dice::{Dice, grams, per_min, seconds};
use super::upkeep::Upkeep;
use serde_json::{Map, Value, json};

/// What the tail of a line must know of the line.
pub(super) struct Surroundings {
    /// Packs or pieces in a minute.
    pub(super) rate: f64,
    /// "packs" or "pieces".
    pub(super) word: &'static str,
    /// There is somebody to call.
    pub(super) attended: bool,
    pub(super) own_defects: Vec<&'static str>,
    /// Mean weight of a pack and its standard deviation; none in a line of generic machines.
    pub(super) pack_g: Option<(f64, f64)>,
}

/// Kinds of belts and tables in a row of stations, for the rule that a direct hand-over needs a station on both sides.
pub(super) fn is_conveyor(station: &Value) -> bool {
    ["accumulating_belt", "accumulating_table", "rigid_belt"].iter().any(|kind| station.get(kind).is_some())
}

pub(super) fn is_direct(station: &Value) -> bool {
    ["accumulating_belt", "accumulating_table"]
        .iter()
        .any(|kind| station.get(kind).is_some_and(|it| it["capacity"] == json!(0)))
}

impl Dice {
    fn pieces_upkeep(&mut self, around: &Surroundings, likely: f64) -> Upkeep {
        let count = Some((around.word, around.rate));
        Upkeep { count, tags_packs: false, attended: around.attended, likely }
    }

    /// An accumulating belt or table that holds at least so many, or nothing at all if that may be.
    pub(super) fn accumulator(
        &mut self,
        id: &str,
        least: u64,
        may_be_direct: bool,
        around: &Surroundings,
    ) -> Value {
        let mut it = Map::new();
        it.insert("id".into(), json!(id));
        let piece_s = 60.0 / around.rate;
        let mut capacity = None;
        match self.int(0, 9) {
            0 | 1 if may_be_direct => {
                self.note("table: direct hand-over");
                capacity = Some(0);
            }
            2 | 3 => self.note("table: unlimited"),
            4 | 5 => {
                self.note("table: big");
                capacity = Some(self.int(least.max(20), least.max(20) + 40));
            }
            _ => {
                self.note("table: small");
                capacity = Some(self.int(least.max(1), least.max(1) + 5));
            }
        }
        it.insert("capacity".into(), capacity.map_or(json!("unlimited"), |pieces| json!(pieces)));
        let transit_s = piece_s * self.real(0.3, 3.0);
        if self.option("table: length and speed", 0.3) {
            let speed = self.real(0.1, 0.5);
            it.insert("length".into(), json!(format!("{:.3} m", transit_s * speed + 0.001)));
            it.insert("speed".into(), json!(format!("{speed:.3} m/s")));
            if self.chance(0.6) {
                it.insert("pitch".into(), json!(format!("{:.3} m", piece_s * speed * 0.6 + 0.001)));
            }
        } else {
            it.insert(
                "transit".into(),
                json!(if self.chance(0.1) { "0 s".to_owned() } else { seconds(transit_s) }),
            );
            if self.option("table: release", 0.4) {
                let release_s = piece_s * self.real(0.2, 0.9);
                it.insert("release".into(), json!(seconds(release_s)));
            }
        }
        if self.option("table: last in first out", 0.3) {
            it.insert("order".into(), json!("last_in_first_out"));
        } else {
            self.note("table: first in first out");
        }
        if let Some(pieces) = capacity.filter(|pieces| *pieces > 1)
            && self.option("table: restart_at", 0.4)
        {
            it.insert("restart_at".into(), json!(self.int(0, pieces - 1)));
        }
        if capacity != Some(0) {
            let upkeep = self.pieces_upkeep(around, 0.25);
            self.upkeep(&mut it, upkeep);
            if it.contains_key("stops") {
                self.note("table: own stops");
            }
        }
        let kind = if self.chance(0.5) { "accumulating_belt" } else { "accumulating_table" };
        self.note(if kind == "accumulating_belt" {
            "kind: accumulating belt"
        } else {
            "kind: accumulating table"
        });
        json!({ (kind): it })
    }

    pub(super) fn rigid_belt(&mut self, id: &str, around: &Surroundings) -> Value {
        self.note("kind: rigid belt");
        let mut it = Map::new();
        it.insert("id".into(), json!(id));
        let pitch = self.real(0.15, 0.35);
        let speed = pitch * around.rate / 60.0 * self.real(1.1, 2.5);
        let length = pitch * self.real(1.2, 9.0);
        it.insert("length".into(), json!(format!("{length:.3} m")));
        it.insert("speed".into(), json!(format!("{speed:.4} m/s")));
        it.insert("pitch".into(), json!(format!("{pitch:.3} m")));
        let upkeep = self.pieces_upkeep(around, 0.25);
        self.upkeep(&mut it, upkeep);
        json!({ "rigid_belt": it })
    }

    /// A gate of any kind; a checkweigher only where pieces have a weight.
    pub(super) fn gate(&mut self, id: &str, around: &Surroundings) -> Value {
        let kinds = ["metal_detector", "x_ray", "leak_test", "checkweigher"];
        let notes = ["kind: metal detector", "kind: X-ray", "kind: leak test", "kind: checkweigher"];
        let which = self.int(0, if around.pack_g.is_some() { 3 } else { 2 }) as usize;
        self.note(notes[which]);
        let mut it = Map::new();
        it.insert("id".into(), json!(id));
        let faster = self.real(1.02, 2.0);
        it.insert("max_rate".into(), json!(per_min(around.rate * faster)));
        if let (3, Some((mean_g, sd_g))) = (which, around.pack_g) {
            it.insert("sd_weigh".into(), json!(grams(0.2 * sd_g)));
            if self.chance(0.8) {
                let low_g = mean_g - sd_g * self.real(1.0, 2.5);
                it.insert("low".into(), json!(grams(low_g)));
            }
            if self.chance(0.8) {
                let high_g = mean_g + sd_g * self.real(1.0, 2.5);
                it.insert("high".into(), json!(grams(high_g)));
            }
        } else {
            let sensitivity = self.real(0.5, 1.0);
            it.insert("sensitivity".into(), json!((sensitivity * 1000.0).round() / 1000.0));
        }
        let own = if which == 2 { "leak" } else { "contaminated" };
        let mut sought = vec!["misprint", "label_missing", "leak", "contaminated"];
        if around.pack_g.is_none() {
            sought.clear();
        }
        sought.extend(&around.own_defects);
        sought.retain(|defect| which == 3 || *defect != own);
        if !sought.is_empty() && self.option("gate: further finds", 0.5) {
            let number = self.int(1, sought.len() as u64) as usize;
            let from = self.int(0, (sought.len() - number) as u64) as usize;
            let finds: Vec<Value> = sought[from..from + number]
                .iter()
                .map(|defect| json!({ "defect": defect, "probability": self.one_of(&[0.5, 0.9, 1.0]) }))
                .collect();
            it.insert("finds".into(), finds.into());
        }
        if self.option("gate: false rejects", 0.6) {
            let share = self.one_of(&[1.0, 5.0, 20.0]);
            it.insert("false_reject".into(), json!(format!("{share} %")));
        }
        if around.attended && self.option("gate: rejects in a row", 0.5) {
            it.insert(
                "rejects_in_row".into(),
                json!({ "rejects": self.int(1, 3), "duration": self.times(5.0) }),
            );
        }
        if around.attended && self.option("gate: bin full", 0.5) {
            it.insert("bin_full".into(), json!({ "rejects": self.int(1, 8), "duration": self.times(5.0) }));
        }
        if self.option("gate: challenge", 0.5) {
            let interval_s = self.real(20.0, 100.0);
            it.insert(
                "challenge".into(),
                json!({ "interval": seconds(interval_s), "duration": self.times(5.0) }),
            );
        }
        let upkeep = self.pieces_upkeep(around, 0.3);
        self.upkeep(&mut it, upkeep);
        json!({ (kinds[which]): it })
    }

    pub(super) fn machine(&mut self, id: &str, around: &Surroundings) -> Value {
        self.note("kind: machine");
        let mut it = Map::new();
        it.insert("id".into(), json!(id));
        let mean_s = 60.0 / around.rate * self.real(0.6, 1.0);
        it.insert("process".into(), self.times(mean_s));
        let mut upkeep = self.pieces_upkeep(around, 0.5);
        upkeep.count = Some(("pieces", around.rate));
        self.upkeep(&mut it, upkeep);
        json!({ "machine": it })
    }

    pub(super) fn case_packer(&mut self, id: &str, around: &Surroundings) -> Value {
        self.note("kind: case packer");
        let mut it = Map::new();
        it.insert("id".into(), json!(id));
        let packs = self.int(1, 12);
        let cycle_s = packs as f64 * 60.0 / around.rate * self.real(0.5, 1.0);
        it.insert("packs_per_case".into(), json!(packs));
        it.insert("lane_packs".into(), json!(packs + self.int(0, packs + 3)));
        it.insert("cycle".into(), json!(seconds(cycle_s)));
        let upkeep = Upkeep {
            count: Some(("cases", around.rate / packs as f64)),
            tags_packs: false,
            attended: around.attended,
            likely: 0.6,
        };
        self.upkeep(&mut it, upkeep);
        json!({ "case_packer": it })
    }
}
