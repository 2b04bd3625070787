//! Constants of ranking and selection.

use super::{Ours, Vector, number, numbers};
use linewake_stats::selection::{Procedure, kim_nelson};

pub(super) fn ours(vector: &Vector) -> Vec<Ours> {
    match vector.id.as_str() {
        "RS-1" => {
            let first = number(vector, "n0") as usize;
            let list = |path: &str, place: usize| {
                let probability = numbers(vector, "P")[place];
                let designs = numbers(vector, "k").into_iter();
                let constants =
                    designs.map(|k| Procedure::DudewiczDalal.constant(k as usize, first, probability));
                Ours::list(path, constants)
            };
            let mut ours = list("h1_090", 0);
            ours.extend(list("h1_095", 1));
            ours
        }
        "RS-2" => {
            let mut ours = Vec::new();
            for first in numbers(vector, "n0") {
                let designs = numbers(vector, "k").into_iter();
                let probability = number(vector, "P");
                let constants =
                    designs.map(|k| Procedure::Rinott.constant(k as usize, first as usize, probability));
                ours.extend(Ours::list(&format!("h_n{first}"), constants));
            }
            ours
        }
        "RS-4" => {
            let pairs = vector.input["k_n0"].as_array().expect("pairs").iter();
            let constants: Vec<Option<(f64, f64)>> = pairs
                .map(|pair| {
                    let of = |place: usize| pair[place].as_u64().expect("a count") as usize;
                    kim_nelson(of(0), of(1), number(vector, "alpha"))
                })
                .collect();
            let mut ours = Ours::list("eta", constants.iter().map(|both| both.map(|(eta, _)| eta)));
            ours.extend(Ours::list("h2", constants.iter().map(|both| both.map(|(_, square)| square))));
            ours
        }
        "RS-5" => {
            let (first, constant) = (number(vector, "n0") as usize, number(vector, "h1"));
            let numbers = numbers(vector, "s2").into_iter().map(|variance| {
                let needed =
                    Procedure::DudewiczDalal.replications(variance, first, constant, number(vector, "d"));
                needed.map(|n| n as f64)
            });
            Ours::list("N", numbers)
        }
        id => panic!("{id}: which constant?"),
    }
}
