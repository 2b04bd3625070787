//! Invented results of every study for the tests: no study made them.

use crate::input::{ModelIdentity, StudyReport};
use linewake_kpi::study::losses::{LossKind, LossRow, LossVerdict, LossesResult};
use linewake_kpi::study::{DesignFigures, Method, StudyHead, StudyKind, StudyResult};
use linewake_kpi::summary::{Mean, StartKind};

pub(super) fn mean(mean: f64, half: f64) -> Mean {
    Mean { mean, half_width: Some(half), n: 200 }
}

pub(super) fn head(kind: StudyKind) -> StudyHead {
    StudyHead {
        kind,
        model_name: "Invented line".to_owned(),
        model_digest: "0f1e2d3c4b5a69788796a5b4c3d2e1f00f1e2d3c4b5a69788796a5b4c3d2e1f0".to_owned(),
        program_version: "0.1.0".to_owned(),
        seed: 7,
        replications: Some(200),
        runs: 4_200,
        start: StartKind::LongRun,
        run_s: 28_800.0,
        warm_up_s: 14_400.0,
        level: 0.95,
        design_rate_per_min: 100.0,
        currency: Some("EUR".to_owned()),
        methods: vec![Method {
            what: "paired differences with the same luck".to_owned(),
            source: "an invented source, for this test".to_owned(),
        }],
        notes: vec!["a note of the study".to_owned()],
    }
}

pub(super) fn design(label: &str, packs: f64) -> DesignFigures {
    DesignFigures {
        label: label.to_owned(),
        values: Vec::new(),
        good_packs: mean(packs, 140.0),
        oee: mean(packs / 48_000.0, 0.003),
        against_base: Some(mean(packs - 36_000.0, 90.0)),
    }
}

pub(super) fn report(result: impl Into<StudyResult>) -> StudyReport {
    let result = result.into();
    let word = result.head().kind.word();
    StudyReport {
        model: ModelIdentity {
            name: "Invented line".to_owned(),
            about: "An invented line for the tests of the pages.".to_owned(),
            digest: result.head().model_digest.clone(),
            file: "line.toml".to_owned(),
        },
        program_version: "0.1.0".to_owned(),
        seed: 7,
        command: format!("linewake study {word} line.toml --runs 200 --seed 7"),
        conditions: "shifts of the long run, with a warm-up of 4 h".to_owned(),
        result,
    }
}

/// A name that changes with its place, some of them long.
pub(super) fn station(place: usize) -> String {
    let names = ["former", "cutter", "x-ray", "check-weigher-2", "case-packer-with-a-long-id", "palletiser"];
    names[place % names.len()].to_owned()
}

pub(super) fn losses(rows: usize) -> LossesResult {
    let reasons = ["web_tracking", "film end", "jam", "head wash", "false rejects", "tray denester misfeed"];
    let kinds = [
        LossKind::Stop,
        LossKind::Consumable,
        LossKind::FailSafe,
        LossKind::PlannedStop,
        LossKind::RejectCause,
        LossKind::SpeedLimit,
        LossKind::Crew,
    ];
    let verdicts = [
        LossVerdict::CostsMoreThanCharged,
        LossVerdict::HiddenByOthers,
        LossVerdict::AsCharged,
        LossVerdict::NoGainSeen,
    ];
    let row = |place: usize| {
        let gain = 1_900.0 / (place as f64 + 1.0) - 60.0;
        let is_crew = kinds[place % 7] == LossKind::Crew;
        LossRow {
            kind: kinds[place % 7],
            station_index: Some(place),
            station: if is_crew { String::new() } else { station(place) },
            supplier: None,
            reason: if is_crew {
                "waiting for an operator".to_owned()
            } else {
                reasons[(place + place / 6) % 6].to_owned()
            },
            switched_off: "mean time between stops without end".to_owned(),
            gain_packs: mean(gain, 60.0),
            gain_oee: mean(gain / 48_000.0, 0.001),
            rank_by_gain: place + 1,
            stopped_s: Some(mean(gain.abs() * 2.0 + 300.0, 60.0)),
            count: Some(mean(3.0 + place as f64, 0.5)),
            charged_packs: (!is_crew).then(|| mean(2_000.0 / ((place * 5 + 3) % 11 + 1) as f64, 30.0)),
            rank_by_charge: None,
            verdict: if is_crew { LossVerdict::NotCharged } else { verdicts[place % 4] },
        }
    };
    let mut rows: Vec<LossRow> = (0..rows).map(row).collect();
    let charges: Vec<Option<f64>> = rows.iter().map(|row| row.charged_packs.map(|mean| mean.mean)).collect();
    for (place, row) in rows.iter_mut().enumerate() {
        let own = charges[place];
        let above =
            charges.iter().enumerate().filter(|(at, other)| **other > own || (**other == own && *at < place));
        row.rank_by_charge = own.map(|_| above.count() + 1);
    }
    LossesResult {
        head: head(StudyKind::Losses),
        base: design("as modelled", 36_000.0),
        design_packs: 48_000.0,
        sum_of_gains_packs: rows.iter().map(|row| row.gain_packs.mean).sum(),
        rows,
        all_stops_off: Some(mean(8_400.0, 210.0)),
    }
}

/// One report of each study, with so many rows where the study has rows.
pub(super) fn all(rows: usize) -> Vec<StudyReport> {
    vec![report(losses(rows))]
}
