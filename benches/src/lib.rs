//! Shared inputs of the benches: the model that is timed, and the classic hold model beside it.

use linewake_model::line::Line;
use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::path::PathBuf;

/// A shipped model, checked.
///
/// # Panics
/// If it is not there or not right.
#[must_use]
pub fn load_model(name: &str) -> Line {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../models").join(format!("{name}.json"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    linewake_model::parse(&text).unwrap_or_else(|problems| panic!("{name}: {problems:?}")).line
}

/// The hold model: pop the earliest of 32 entries (time, sequence, id) of the standard library's heap and push it back
/// later, `holds` times. Returns the last time, so that nothing is optimised away.
#[must_use]
pub fn hold_model(holds: u64) -> u64 {
    let mut heap = BinaryHeap::with_capacity(32);
    let mut random: u64 = 0x9E37_79B9_7F4A_7C15;
    for id in 0..32_u32 {
        heap.push(Reverse((u64::from(id) * 31_250, u64::from(id), id)));
    }
    let mut last = 0;
    for sequence in 32..32 + holds {
        let Some(Reverse((time, _, id))) = heap.pop() else {
            break;
        };
        last = time;
        // xorshift64 (Marsaglia 2003): cheap, so that the heap is what is measured.
        random ^= random << 13;
        random ^= random >> 7;
        random ^= random << 17;
        heap.push(Reverse((time + random % 1_000_000, sequence, id)));
    }
    last
}
