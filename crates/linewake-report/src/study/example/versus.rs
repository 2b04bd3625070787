//! An invented comparison of a promise with a log.

use super::{head, mean, station};
use linewake_kpi::study::versus::{
    Compared, Figure, FigureRow, Gap, Known, ReasonRow, Verdict, VersusResult,
};
use linewake_kpi::study::{StudyHead, StudyKind};

fn compared(predicted: f64, place: usize) -> Compared {
    let verdicts =
        [Verdict::BeyondChance, Verdict::OutsideAlone, Verdict::Within, Verdict::NotTold, Verdict::Planned];
    let verdict = verdicts[place % 5];
    let (observed, p_value) = match verdict {
        Verdict::BeyondChance => (Some(2.0 * predicted), Some(0.0002)),
        Verdict::OutsideAlone => (Some(0.8 * predicted), Some(0.02)),
        Verdict::Within => (Some(predicted), Some(0.9)),
        Verdict::NotTold => (None, None),
        Verdict::Planned => (Some(predicted), None),
    };
    Compared {
        predicted,
        low: 0.9 * predicted,
        high: 1.1 * predicted,
        observed,
        p_value,
        p_corrected: p_value.map(|p| (p * 5.0_f64).min(1.0)),
        verdict,
    }
}

pub(in super::super) fn versus(rows: usize) -> VersusResult {
    let known = [Known::Both, Known::LogOnly, Known::ModelOnly, Known::StationNotTold];
    let row = |place: usize| ReasonRow {
        station_index: place % 7,
        station: station(place),
        reason: format!("invented_reason_{place}"),
        planned: false,
        known: known[place % 4],
        count: compared(40.0 / (place as f64 + 1.0), place),
        time_s: compared(9_000.0 / (place as f64 + 1.0), place + 1),
        explained_packs: (place % 5 < 4).then(|| mean(-900.0 / (place as f64 + 1.0), 60.0)),
        explained_share: (place % 5 < 4).then(|| 0.6 / (place as f64 + 1.0)),
    };
    let figures = Figure::ALL.iter().enumerate().map(|(place, figure)| FigureRow {
        figure: *figure,
        compared: compared(
            if *figure == Figure::PacksPerHour { 4_100.0 } else { 0.4 + 0.1 * place as f64 },
            place,
        ),
    });
    VersusResult {
        head: StudyHead { replications: None, ..head(StudyKind::Versus) },
        shifts: if rows == 1 { 1 } else { 8 },
        planned_production_time_s: 216_000.0,
        predicting_runs: 500,
        explaining_runs: if rows == 2 { 0 } else { 100 },
        is_simulated: false,
        figures: figures.collect(),
        reasons: (0..rows).map(row).collect(),
        gap: Gap {
            observed_packs: (rows != 3).then_some(270_000.0),
            predicted_packs: mean(271_500.0, 300.0),
            gap_packs: (rows != 3).then_some(-1_500.0),
            all_stops_packs: (rows != 2).then(|| mean(-1_200.0, 90.0)),
            rest_packs: (rows != 3).then_some(-300.0),
        },
        smallest_p_value: 0.0002,
        lacking: vec!["an invented gap in the log".to_owned()],
    }
}
