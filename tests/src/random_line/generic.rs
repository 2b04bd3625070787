//! Lines of generic machines.

use super::dice::{Dice, seconds};
use super::tail::{Surroundings, is_conveyor, is_direct};
use serde_json::{Map, Value, json};

impl Dice {
    /// The stations of a line of generic machines, and its design rate.
    pub(super) fn generic_line(
        &mut self,
        attended: bool,
        own_defects: Vec<&'static str>,
    ) -> (Vec<Value>, f64) {
        let around =
            Surroundings { rate: self.real(15.0, 90.0), word: "pieces", attended, own_defects, pack_g: None };
        let mut stations = Vec::new();
        if self.option("kind: arrivals", 0.6) {
            stations.push(self.arrivals(&around));
            if self.chance(0.4) {
                stations.push(self.accumulator("queue", 1, false, &around));
            }
        } else {
            self.note("first machine never dry");
        }
        stations.push(self.machine("machine 0", &around));
        for number in 1..=self.int(0, 5) {
            let conveyor = stations.last().is_some_and(is_conveyor);
            let direct = stations.last().is_some_and(is_direct);
            let station = match self.int(0, 9) {
                0..=3 => self.machine(&format!("machine {number}"), &around),
                4 | 5 => self.gate(&format!("gate {number}"), &around),
                6 if !direct => self.rigid_belt(&format!("belt {number}"), &around),
                _ if !direct => self.accumulator(&format!("table {number}"), 1, !conveyor, &around),
                _ => self.machine(&format!("machine {number}"), &around),
            };
            stations.push(station);
        }
        if self.chance(0.3) {
            stations.push(self.case_packer("packer", &around));
        } else {
            self.note("line that ends without cases");
            if stations.last().is_some_and(is_conveyor) {
                stations.push(self.machine("last machine", &around));
            }
        }
        (stations, around.rate)
    }

    fn arrivals(&mut self, around: &Surroundings) -> Value {
        let mut it = Map::new();
        it.insert("id".into(), json!("arrivals"));
        let mean_s = 60.0 / around.rate * self.real(0.7, 1.3);
        let between = self.times(mean_s);
        it.insert("between".into(), if self.chance(0.1) { json!(seconds(mean_s)) } else { between });
        if self.option("arrivals: lost", 0.5) {
            it.insert("when_full".into(), json!("lost"));
        } else {
            self.note("arrivals: wait");
        }
        json!({ "arrivals": it })
    }
}
