//! Bytes, cells and mappings of any sort: an error or a sound result, never a panic.

use super::{COUNTS, HEADINGS, MAPPING, plant};
use crate::known_logs::results;
use linewake_kpi::convention::Conventions;
use linewake_log::stop_list::{self, Mapping};
use proptest::prelude::*;

/// What a row can hold, so that random rows get deep into the reader.
fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => (1_u32..29, 1_u32..13, 0_u32..24, 0_u32..60)
            .prop_map(|(day, month, hour, minute)| format!("{day:02}.{month:02}.2026 {hour:02}:{minute:02}")),
        2 => (1_u32..14, 1_u32..14, 2025_u32..2028).prop_map(|(a, b, year)| format!("{a:02}/{b:02}/{year} 02:30")),
        1 => Just("29.03.2026 02:30".to_owned()),
        1 => Just("25.10.2026 02:30".to_owned()),
        2 => prop::sample::select(vec!["SL 1", "WR 1", "Band", "Pause", "Störung", "", "-5", "12,5", "1.000", "1e999"])
            .prop_map(str::to_owned),
        1 => "[0-9.,:]{0,12}",
        1 => ".{0,12}",
    ]
}

/// Whatever is read must be sound: no doubt of the accounting, a ledger that closes.
fn sound(mapping: &Mapping, list: &[u8], counts: &[u8]) {
    if let Ok(list) = stop_list::read(mapping, list, Some(counts)) {
        results(&list, Conventions::default());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_bytes_as_list_or_counts_give_an_error_or_a_result(
        list in prop::collection::vec(any::<u8>(), 0..400),
        counts in prop::collection::vec(any::<u8>(), 0..200),
    ) {
        let mapping = Mapping::parse(MAPPING, None).expect("a mapping");
        sound(&mapping, &list, &counts);
        let list = [HEADINGS.as_bytes(), b"\n", &list].concat();
        let counts = [b"von;bis;Gesamt;Gut;Ausschuss\n", counts.as_slice()].concat();
        sound(&mapping, &list, &counts);
    }

    #[test]
    fn any_cells_give_a_sound_result(
        rows in prop::collection::vec(prop::collection::vec(cell(), 6), 0..30),
        counts in prop::collection::vec(prop::collection::vec(cell(), 5), 0..20),
        machines in prop::collection::vec(prop::sample::select(vec!["SL 1", "WR 1", "belt 2", "Band"]), 30),
        open in any::<bool>(),
    ) {
        let mapping = if open {
            MAPPING.replace("\"duration\": \"min\",", "\"without_end\": \"until_next_stop\", \"longest\": \"700 h\",")
        } else {
            MAPPING.to_owned()
        };
        let mapping = Mapping::parse(&mapping, None).expect("a mapping");
        let rows: Vec<String> = rows.into_iter().zip(machines).map(|(mut row, machine)| {
            row[0] = machine.to_owned();
            row.join(";")
        }).collect();
        let counts: Vec<String> = counts.into_iter().map(|row| row.join(";")).collect();
        let list = format!("{HEADINGS}\n{}", rows.join("\n"));
        sound(&mapping, list.as_bytes(), format!("von;bis;Gesamt;Gut;Ausschuss\n{}", counts.join("\n")).as_bytes());
    }

    #[test]
    fn any_text_as_mapping_gives_problems_or_a_mapping(text in ".{0,300}") {
        let _ = Mapping::parse(&text, None);
    }

    /// The mapping of the tests with a stretch of it replaced, cut out or doubled.
    #[test]
    fn any_damage_to_a_mapping_gives_problems_or_a_mapping(
        at in 0..MAPPING.len(), length in 0_usize..40, patch in "[ -~]{0,6}", doubled in any::<bool>(),
    ) {
        let text: Vec<char> = MAPPING.chars().collect();
        let at = at.min(text.len());
        let end = (at + length).min(text.len());
        let behind = if doubled { at } else { end };
        let damaged: String =
            text[..at].iter().copied().chain(patch.chars()).chain(text[behind..].iter().copied()).collect();
        if let Ok(mapping) = Mapping::parse(&damaged, None) {
            let plant = plant();
            let counts = mapping.has_file_of_counts().then_some(COUNTS.as_bytes());
            if let Ok(list) = stop_list::read(&mapping, plant.bytes.as_slice(), counts) {
                prop_assert!(!list.shifts.is_empty());
            }
        }
    }
}
