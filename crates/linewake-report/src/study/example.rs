//! Invented results of every study for the tests: no study made them.

use crate::input::{ModelIdentity, StudyReport};
use linewake_kpi::study::acceptance::{
    AcceptanceResult, CharacteristicPoint, Guarantee, LengthRow, OutcomeDistribution, Outcomes,
    UncertainInput,
};
use linewake_kpi::study::buffers::{
    BuffersResult, Curve, CurvePoint, Layout, Payback, SmallestCapacity, Varied,
};
use linewake_kpi::study::losses::{LossKind, LossRow, LossVerdict, LossesResult};
use linewake_kpi::study::precision::Measure;
use linewake_kpi::study::{
    DesignFigures, HistogramBin, Method, Proportion, StudyHead, StudyKind, StudyResult,
};
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

fn curve(places: usize) -> Curve {
    let point = |value: &str, number: Option<f64>, gain: f64| CurvePoint {
        value: value.to_owned(),
        number,
        good_packs: mean(34_000.0 + gain, 150.0),
        oee: mean((34_000.0 + gain) / 48_000.0, 0.003),
        against_base: mean(gain - 1_900.0, 80.0),
        packs_per_place: number.filter(|it| *it > 0.0).map(|it| mean(900.0 / (it + 20.0), 1.2)),
        share_of_gain: Some(gain / 2_800.0),
        payback: number.filter(|it| *it > 60.0).map(|it| Payback {
            cost: (it - 60.0) * 400.0,
            value_per_year: gain * 30.0,
            years: Some((it - 60.0) * 400.0 / (gain * 30.0)),
            years_at_low_end: None,
        }),
    };
    let points = (0..places).map(|place| {
        let at = 20.0 * place as f64;
        point(&format!("{at}"), Some(at), 2_800.0 * at / (at + 30.0))
    });
    Curve {
        varied: 0,
        points: points.collect(),
        none: Some(point("0", Some(0.0), 0.0)),
        unlimited: Some(point("unlimited", None, 2_800.0)),
        smallest: (places > 8).then(|| SmallestCapacity {
            value: "160".to_owned(),
            share: 0.84,
            is_smallest_tried: false,
        }),
        share_wanted: 0.8,
        price_per_place: Some(400.0),
        value_per_pack: Some(0.12),
        runs_per_year: Some(500.0),
    }
}

pub(super) fn buffers(places: usize) -> BuffersResult {
    let varied = Varied {
        path: "station.feed.capacity".to_owned(),
        station: Some("feed belt before the x-ray".to_owned()),
        as_modelled: "60".to_owned(),
        values: (0..places).map(|place| (place * 20).to_string()).collect(),
        is_capacity: true,
    };
    BuffersResult {
        head: head(StudyKind::Buffers),
        varied: vec![varied],
        layout: Layout::OneAtATime,
        base: design("as modelled", 36_000.0),
        designs: (0..places)
            .map(|place| {
                design(&format!("station.feed.capacity = {}", place * 20), 35_000.0 + place as f64 * 90.0)
            })
            .collect(),
        curves: vec![curve(places)],
    }
}

/// Every combination: no curves.
pub(super) fn factorial(designs: usize) -> BuffersResult {
    BuffersResult { layout: Layout::FullFactorial, curves: Vec::new(), ..buffers(designs) }
}

pub(super) fn counted(hits: u64) -> Proportion {
    let share = hits as f64 / 1_000.0;
    Proportion { hits, trials: 1_000, share, low: (share - 0.02).max(0.0), high: (share + 0.02).min(1.0) }
}

pub(super) fn bins(from: f64, width: f64, many: usize) -> Vec<HistogramBin> {
    let bin = |place: usize| HistogramBin {
        from: from + width * place as f64,
        to: from + width * (place + 1) as f64,
        count: (1_000.0 * (-((place as f64 - many as f64 * 0.6) / (many as f64 * 0.2)).powi(2)).exp()) as u64,
    };
    (0..many).map(bin).collect()
}

fn outcomes(low: f64, width: f64, many: usize) -> Outcomes {
    let of = |scale: f64| OutcomeDistribution {
        mean: mean((low + width * many as f64 * 0.6) * scale, 0.001 * scale),
        standard_deviation: 0.03 * scale,
        guarantees: [(0.8, 0.45), (0.9, 0.4), (0.95, 0.35)]
            .map(|(probability, place)| {
                let value = (low + width * many as f64 * place) * scale;
                Guarantee { probability, value, low: Some(value * 0.998), high: Some(value * 1.002) }
            })
            .to_vec(),
        histogram: bins(low * scale, width * scale, many),
    };
    Outcomes { runs: 10_000, oee: of(1.0), packs_per_h: of(6_000.0) }
}

pub(super) fn acceptance(rows: usize) -> AcceptanceResult {
    let factors = [0.7, 0.85, 1.0, 1.15, 1.3, 1.5, 2.0];
    let point = |(place, factor): (usize, &f64)| CharacteristicPoint {
        stop_factor: *factor,
        mean: mean(0.78 - 0.1 * factor, 0.001),
        pass: counted([1_000, 985, 900, 610, 300, 90, 4][place]),
    };
    let length = |place: usize| LengthRow {
        run_s: 3_600.0 * (place as f64 + 1.0) * 2.0,
        limit: 0.64 + 0.002 * place as f64,
        producer: counted(100),
        consumer: counted(700 / (place as u64 + 1)),
        holds_both: 700 / (place as u64 + 1) <= 100,
    };
    let lengths: Vec<LengthRow> = (0..rows).map(length).collect();
    AcceptanceResult {
        head: head(StudyKind::Acceptance),
        measure: Measure::Oee,
        run_s: 28_800.0,
        rules: [
            "stops for want of raw material are left out",
            "planned breaks are left out",
            "rework does not count as good",
        ]
        .map(str::to_owned)
        .to_vec(),
        drawn: outcomes(0.5, 0.3 / rows.max(1) as f64, rows),
        exact: outcomes(0.58, 0.2 / rows.max(1) as f64, rows),
        uncertain_inputs: (0..rows)
            .map(|place| UncertainInput {
                path: format!("station.{}.stops.mean_time_between", station(place)),
                as_modelled: "30 min".to_owned(),
                stated: "20 % of the value, lognormal".to_owned(),
            })
            .collect(),
        pass_limit: 0.62,
        is_limit_given: false,
        producer_risk: 0.1,
        consumer_risk: 0.1,
        degraded_factor: 1.3,
        operating_characteristic: factors.iter().enumerate().map(point).collect(),
        shortest: lengths.iter().position(|row| row.holds_both),
        lengths,
    }
}

/// One report of each study, with so many rows where the study has rows.
pub(super) fn all(rows: usize) -> Vec<StudyReport> {
    vec![report(losses(rows)), report(buffers(rows)), report(acceptance(rows))]
}
