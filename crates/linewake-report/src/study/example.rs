//! Invented results of every study for the tests: no study made them.

pub(super) mod versus;

use crate::input::{ModelIdentity, StudyReport};
use linewake_kpi::study::acceptance::{
    AcceptanceResult, CharacteristicPoint, Guarantee, LengthRow, OutcomeDistribution, Outcomes,
    UncertainInput,
};
use linewake_kpi::study::buffers::{
    BuffersResult, Curve, CurvePoint, Layout, Payback, SmallestCapacity, Varied,
};
use linewake_kpi::study::comparison::{ComparedModel, ComparisonResult, PairDifference};
use linewake_kpi::study::crew::{CrewCell, CrewResult};
use linewake_kpi::study::losses::{LossKind, LossRow, LossVerdict, LossesResult};
use linewake_kpi::study::order::{OrderResult, TimeQuantile};
use linewake_kpi::study::precision::{Measure, PrecisionResult, PrecisionStep, WarmUp};
use linewake_kpi::study::scope::{ScopeResult, SupplierRow};
use linewake_kpi::study::sensitivity::{
    MovedInput, NotMoved, RangeSource, SensitivityResult, SensitivityRow,
};
use linewake_kpi::study::split::{SplitResult, SplitRow};
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

/// So many models; of three the third is clearly best.
pub(super) fn comparison(models: usize) -> ComparisonResult {
    let packs = |place: usize| 36_000.0 + 700.0 * place as f64;
    let model = |place: usize| ComparedModel {
        label: if place == 0 {
            "line.toml".to_owned()
        } else {
            format!("line.toml with station.feed.capacity = {}", place * 40)
        },
        digest: format!("{place:02}1e2d3c4b5a69788796"),
        design_rate_per_min: 100.0,
        good_packs: mean(packs(place), 140.0),
        oee: mean(packs(place) / 48_000.0, 0.003),
    };
    let mut pairs = Vec::new();
    for first in 0..models {
        for second in first + 1..models {
            let is_clear = second - first > 1 || second + 1 == models;
            pairs.push(PairDifference {
                first,
                second,
                good_packs: mean(packs(second) - packs(first), 90.0),
                simultaneous_half_width: Some(if is_clear { 240.0 } else { 900.0 }),
                oee: mean((packs(second) - packs(first)) / 48_000.0, 0.002),
                p_value: Some(0.000_01),
                p_holm: Some(if is_clear { 0.003 } else { 0.2 }),
                is_clear,
                shared_luck_ratio: Some(0.18),
            });
        }
    }
    ComparisonResult {
        head: head(StudyKind::Comparison),
        models: (0..models).map(model).collect(),
        family: pairs.len(),
        pairs,
        best: models.checked_sub(1).filter(|_| models > 1),
    }
}

pub(super) fn sensitivity(rows: usize) -> SensitivityResult {
    let moved = |value: &str, factor: f64, packs: f64| MovedInput {
        value: value.to_owned(),
        factor,
        against_base: mean(packs, 60.0),
        oee: mean((36_000.0 + packs) / 48_000.0, 0.002),
    };
    let row = |place: usize| {
        let effect = 2_400.0 / (place as f64 + 1.0);
        let sign = if place % 3 == 1 { -1.0 } else { 1.0 };
        SensitivityRow {
            path: format!("station.{}.stops.{place}.mean_time_between", station(place)),
            station: Some(station(place)),
            what: format!("mean time between stops of kind {place}"),
            as_modelled: "30 min".to_owned(),
            range: if place.is_multiple_of(4) { RangeSource::Stated } else { RangeSource::Default },
            low: (place % 5 != 4).then(|| moved("24 min", 0.8, -sign * effect)),
            high: Some(moved("36 min", 1.2, if place % 7 == 6 { -0.5 } else { 0.8 } * sign * effect)),
            effect_packs: effect,
        }
    };
    SensitivityResult {
        head: head(StudyKind::Sensitivity),
        base: design("as modelled", 36_000.0),
        default_relative: 0.2,
        rows: (0..rows).map(row).collect(),
        not_moved: vec![NotMoved {
            path: "crew.operators".to_owned(),
            why: "a whole number that 20 % does not change".to_owned(),
        }],
    }
}

pub(super) fn crew(operators: usize) -> CrewResult {
    let factors = [0.5, 1.0, 1.5, 2.0];
    let cell = |operators: u32, factor: f64| CrewCell {
        operators,
        response_factor: factor,
        figures: design(
            &format!("{operators} operators, response times {factor}"),
            37_000.0 - 3_000.0 * factor / f64::from(operators),
        ),
        waiting_s: mean(5_000.0 * factor / f64::from(operators), 200.0),
        packs_per_operator: (operators > 1).then(|| mean(900.0 / f64::from(operators), 80.0)),
    };
    let operators: Vec<u32> = (1..).take(operators).collect();
    CrewResult {
        head: head(StudyKind::Crew),
        base: design("as modelled", 36_000.0),
        operators_as_modelled: 2,
        response_factors: factors.to_vec(),
        cells: operators.iter().flat_map(|many| factors.map(|factor| cell(*many, factor))).collect(),
        enough: operators.get(2).copied(),
        operators,
    }
}

pub(super) fn order(shifts: usize) -> OrderResult {
    let done = |place: usize| (place as f64 / shifts.saturating_sub(1).max(1) as f64).powi(2);
    let done: Vec<f64> = (0..shifts).map(done).collect();
    OrderResult {
        head: head(StudyKind::Order),
        packs: 150_000,
        time_s: mean(121_000.0, 900.0),
        quantiles: [(0.5, 120_000.0), (0.8, 127_000.0), (0.9, 130_500.0), (0.95, 134_000.0)]
            .map(|(probability, time_s)| TimeQuantile { probability, time_s })
            .to_vec(),
        histogram: bins(100_000.0, 4_000.0, 12),
        shift_s: 28_800.0,
        shifts_needed: shifts as u64,
        done_within_shifts: done,
        spare_capacity: 0.16,
        unfinished: 0,
        most_s: 864_000.0,
    }
}

pub(super) fn scope(rows: usize) -> ScopeResult {
    let row = |place: usize| SupplierRow {
        supplier: (place + 1 < rows).then(|| format!("Invented Machines {place}")),
        stations: vec![station(place), station(place + 1)],
        charged_packs: mean(9_000.0 / (place as f64 + 2.0), 150.0),
        gain_packs: (place + 1 < rows).then(|| mean(7_000.0 / (place as f64 + 2.0), 160.0)),
        allowance_packs: 10_000.0 / (place as f64 + 2.0),
        allowance_share: 10_000.0 / (place as f64 + 2.0) / 48_000.0,
        alone_packs: 11_000.0 / (place as f64 + 2.0),
        within_allowance: counted(870),
    };
    ScopeResult {
        head: head(StudyKind::Scope),
        base: design("as modelled", 36_000.0),
        design_packs: 48_000.0,
        probability: 0.9,
        guaranteed_good_packs: 34_500.0,
        suppliers: (0..rows).map(row).collect(),
    }
}

pub(super) fn split(rows: usize) -> SplitResult {
    let row = |place: usize| SplitRow {
        places: vec![40, 20 + place as u32, 60_u32.saturating_sub(place as u32)],
        good_packs: mean(37_000.0 - 55.0 * place as f64, 120.0),
        against_chosen: (place > 0).then(|| mean(-55.0 * place as f64, 40.0)),
        runs: 600 - 8 * place.min(70) as u64,
        is_dropped: place > 0,
    };
    SplitResult {
        head: StudyHead { replications: None, ..head(StudyKind::Split) },
        paths: ["feed", "middle", "out"].map(|id| format!("station.{id}.capacity")).to_vec(),
        stations: ["feed belt", "accumulation table", "belt before the case packer"]
            .map(str::to_owned)
            .to_vec(),
        total: 120,
        step: 10,
        probability: 0.95,
        indifference_packs: 50.0,
        first_runs: 20,
        splits: (0..rows).map(row).collect(),
        as_modelled: (rows > 4).then_some(4),
        is_decided: true,
    }
}

pub(super) fn precision(steps: usize) -> PrecisionResult {
    let step = |place: usize| PrecisionStep {
        runs: 20 + place as u64 * 5,
        mean: 0.75,
        half_width: 0.02 / ((place as f64 * 5.0 + 20.0) / 20.0).sqrt(),
    };
    PrecisionResult {
        head: head(StudyKind::Precision),
        measure: Measure::Oee,
        wanted_relative: 0.005,
        first_runs: 20,
        most_runs: 10_000,
        runs: 20 + steps as u64 * 5,
        reached: steps > 10,
        runs_needed: (steps <= 10).then_some(640),
        good_packs: mean(36_000.0, 140.0),
        oee: mean(0.75, 0.003),
        path: (0..steps).map(step).collect(),
        warm_up: Some(WarmUp {
            bin_s: 600.0,
            packs_by_bin: (0..steps * 6).map(|place| 760.0 * (1.0 - (-(place as f64) / 4.0).exp())).collect(),
            found_s: 6_600.0,
            filled_s: 900.0,
            settled: true,
            used_s: 7_200.0,
            runs: 40,
        }),
    }
}

/// One report of each study, with so many rows where the study has rows.
pub(super) fn all(rows: usize) -> Vec<StudyReport> {
    vec![
        report(losses(rows)),
        report(buffers(rows)),
        report(acceptance(rows)),
        report(comparison(rows.min(9))),
        report(sensitivity(rows)),
        report(crew(rows)),
        report(order(rows)),
        report(scope(rows)),
        report(split(rows)),
        report(precision(rows)),
        report(versus::versus(rows)),
    ]
}
