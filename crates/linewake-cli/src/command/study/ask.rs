//! Options to studies.

use super::work::{Found, work};
use super::{Asked, versus};
use crate::args::MinorStops;
use crate::args::study::{self as args, Question, Start};
use crate::args::value::{WarmUp, run_length};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::progress::Progress;
use crate::report_folder;
use crate::seed::Seed;
use linewake_kpi::study::buffers::Layout;
use linewake_kpi::study::precision::{Measure, WarmUp as FoundWarmUp};
use linewake_kpi::summary::StartKind;
use linewake_model::change::values_of;
use linewake_model::station::StationKind;
use linewake_model::time::Span;
use linewake_study::acceptance::{AcceptanceOptions, AcceptanceStudy};
use linewake_study::buffers::{BuffersOptions, BuffersStudy};
use linewake_study::comparison::ComparisonStudy;
use linewake_study::crew::{CrewOptions, CrewStudy};
use linewake_study::losses::{LossesOptions, LossesStudy};
use linewake_study::order::{OrderOptions, OrderStudy};
use linewake_study::plan::{BaseModel, Conditions, StudyError};
use linewake_study::precision::WarmUpStudy;
use linewake_study::replicate::Workers;
use linewake_study::runner::{RunError, Runner};
use linewake_study::scope::{ScopeOptions, ScopeStudy};
use linewake_study::sensitivity::{SensitivityOptions, SensitivityStudy};
use linewake_study::split::{SplitOptions, SplitStudy};
use linewake_study::study::Study;

/// Runs from which a warm-up is found.
const WARM_UP_RUNS: u64 = 20;

/// Answers the question.
pub(crate) fn answer(asked: &Asked, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let base = base(asked, 0)?;
    let mut conditions = conditions(&asked.question);
    let common = asked.question.common();
    let mut warm_up = None;
    if asked.question.shape().is_some_and(|it| it.warm_up == WarmUp::Auto && it.start == Start::LongRun) {
        let found = find_warm_up(&base, &conditions, common.threads, console)?;
        conditions.warm_up = Span::from_seconds(found.used_s);
        warm_up = Some(found);
    }
    let (on, found) = (&conditions, Found { asked, warm_up });
    match &asked.question {
        Question::Buffers(it) => {
            work(&prepared(BuffersStudy::prepare(base, buffers(it), on))?, &found, console)
        }
        Question::Split(it) => {
            let options = split(it, &base);
            work(&prepared(SplitStudy::prepare(base, options, on))?, &found, console)
        }
        Question::Losses(it) => {
            let options =
                LossesOptions { stations: it.station.clone(), without_speed_limits: it.without_speed_limits };
            work(&prepared(LossesStudy::prepare(base, options, on))?, &found, console)
        }
        Question::Compare(it) => {
            let models = compared(it, asked, &base)?;
            work(&prepared(ComparisonStudy::prepare(models, on))?, &found, console)
        }
        Question::Sensitivity(it) => {
            let options = SensitivityOptions {
                relative: it.relative,
                only: it.only.clone(),
                stated_only: it.stated_only,
            };
            work(&prepared(SensitivityStudy::prepare(base, options, on))?, &found, console)
        }
        Question::Acceptance(it) => {
            work(&prepared(AcceptanceStudy::prepare(base, acceptance(it), on))?, &found, console)
        }
        Question::Crew(it) => {
            let options =
                CrewOptions { operators: it.operators.clone(), response_factors: it.response.clone() };
            work(&prepared(CrewStudy::prepare(base, options, on))?, &found, console)
        }
        Question::Order(it) => {
            let options = OrderOptions { packs: it.packs, most_shifts: it.most_shifts };
            work(&prepared(OrderStudy::prepare(base, options, on))?, &found, console)
        }
        Question::Scope(it) => {
            let options = ScopeOptions { probability: it.probability };
            work(&prepared(ScopeStudy::prepare(base, options, on))?, &found, console)
        }
        Question::Versus(it) => {
            work(&prepared(versus::prepare(it, &base.line, on, console)?)?, &found, console)
        }
    }
}

/// What the user is told of a study that cannot be set up.
fn prepared<S>(study: Result<S, StudyError>) -> Result<S, Failure> {
    study.map_err(wrong)
}

/// What the user is told of options that make no study.
pub(crate) fn wrong(error: StudyError) -> Failure {
    match error {
        StudyError::Option { name, value, hint } => Failure::usage(format!("{name} is {value}"), hint),
        other => Failure::usage(other, "the study was not begun"),
    }
}

/// What the user is told of runs that did not come to their end and left nothing.
pub(crate) fn not_run(error: RunError) -> Failure {
    match error {
        RunError::Interrupted => Failure::Interrupted,
        RunError::NoThreads(_) => Failure::failed(error.to_string(), "ask for fewer with --threads"),
        RunError::Journal(_) => Failure::failed(error.to_string(), ""),
        RunError::Drawn(..) => Failure::Invalid {
            what: error.to_string(),
            hint: "state a smaller uncertainty of that input in the model".to_owned(),
        },
        RunError::NoParts | RunError::NoAnswer(_) => {
            Failure::failed(error.to_string(), "ask for longer runs, or for more")
        }
    }
}

fn base(asked: &Asked, place: usize) -> Result<BaseModel, Failure> {
    BaseModel::parse(&asked.models[place].text).map_err(wrong)
}

fn conditions(question: &Question) -> Conditions {
    let (common, shape) = (question.common(), question.shape());
    Conditions {
        seed: match common.seed {
            Seed::Fixed(seed) => seed,
            Seed::Random => common.seed.settle(),
        },
        runs: question.runs().map_or(WARM_UP_RUNS, |runs| runs.shifts),
        start: match shape.map(|shape| shape.start) {
            Some(Start::NewRolls) => StartKind::NewRolls,
            Some(Start::LongRun) | None => StartKind::LongRun,
        },
        warm_up: Span::from_seconds(shape.map_or(0.0, |shape| shape.warm_up.seconds())),
        length: run_length(shape.and_then(|shape| shape.hours)),
        conventions: report_folder::conventions(MinorStops::Performance, common.planned_stops),
        level: common.confidence,
    }
}

/// The warm-up as the data show it.
pub(crate) fn find_warm_up(
    base: &BaseModel,
    conditions: &Conditions,
    threads: Option<usize>,
    console: &mut Console<'_>,
) -> Result<FoundWarmUp, Failure> {
    let conditions = Conditions { runs: WARM_UP_RUNS, ..conditions.clone() };
    let study = prepared(WarmUpStudy::prepare(base.clone(), &conditions))?;
    let workers = Workers::new(threads, console.stop)?;
    let found = {
        let progress = Progress::begin("runs for the warm-up", study.plan().job_count(), console);
        let done = || progress.step();
        study.conclude(&mut Runner::new(study.plan(), &workers, &done)).map_err(not_run)?
    };
    if !found.settled {
        let text = format!(
            "warning: runs of {} h are too short to see the end of the warm-up; {} min are dropped\n",
            2.0 * conditions.length.unwrap_or(base.line.shift.length).seconds() / 3600.0,
            found.used_s / 60.0
        );
        console.tell(&text);
    }
    Ok(found)
}

fn buffers(it: &args::Buffers) -> BuffersOptions {
    BuffersOptions {
        vary: it.vary.iter().map(|one| (one.path.clone(), one.values.clone())).collect(),
        layout: if it.one_at_a_time { Layout::OneAtATime } else { Layout::FullFactorial },
        share: it.share,
        price_per_place: it.price_per_place,
        value_per_pack: it.value_per_pack,
        runs_per_year: it.runs_per_year,
        ..BuffersOptions::default()
    }
}

/// Without a choice of buffers: all belts and tables.
fn split(it: &args::Split, base: &BaseModel) -> SplitOptions {
    let mut paths = it.buffer.clone();
    if paths.is_empty() {
        let stations = base.line.stations.iter();
        let buffers = stations.filter(|station| matches!(station.kind, StationKind::Accumulator(_)));
        paths = buffers.map(|station| format!("stations[{}].capacity", station.id)).collect();
    }
    SplitOptions {
        paths,
        total: it.total,
        step: it.step,
        least: it.least,
        probability: it.probability,
        indifference_packs: it.indifference,
        first: it.first_shifts,
        most: it.most_shifts,
    }
}

fn acceptance(it: &args::Acceptance) -> AcceptanceOptions {
    AcceptanceOptions {
        measure: match it.measure {
            args::Measure::Oee => Measure::Oee,
            args::Measure::GoodPacks => Measure::GoodPacks,
            args::Measure::PacksPerHour => Measure::PacksPerHour,
        },
        limit: it.limit,
        producer_risk: it.producer_risk,
        consumer_risk: it.consumer_risk,
        degraded_factor: it.degraded,
        factors: it.factors.clone(),
        lengths_h: it.lengths.clone(),
        rules: it.rule.clone(),
    }
}

/// The models that are compared, with their names: file names where these differ, and what a variant changes.
fn compared(
    it: &args::Compare,
    asked: &Asked,
    base: &BaseModel,
) -> Result<Vec<(String, BaseModel)>, Failure> {
    let stem = |place: usize| it.models[place].file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let mut models = Vec::new();
    for (place, file) in asked.models.iter().enumerate() {
        let is_double = (0..asked.models.len()).any(|other| other != place && stem(other) == stem(place));
        let label = if is_double { file.name.clone() } else { stem(place) };
        models.push((label, self::base(asked, place)?));
    }
    for one in &it.vary {
        for value in values_of(&one.values).map_err(|error| wrong(error.into()))? {
            let label = format!("{} = {value}", one.path);
            let mut tree = base.tree.clone();
            tree.set(&one.path, &value).map_err(|error| wrong(error.into()))?;
            tree.check().map_err(|error| wrong(StudyError::Design(label.clone(), error)))?;
            models.push((label, BaseModel::parse(&tree.text()).map_err(wrong)?));
        }
    }
    Ok(models)
}
