//! The promise against the log: what the model predicts for a log of that length, which differences are beyond chance, and
//! which reason explains the gap.

mod figures;
mod judged;

use crate::contrast::good;
use crate::design::Design;
use crate::logs::LoggedShift;
use crate::mean::mean_at;
use crate::plan::{Conditions, StudyError, StudyPlan};
use crate::record::Keep;
use crate::runner::{RunError, Runner};
use crate::study::{Study, shared_luck};
use crate::trace::{LoggedLine, StopKey, TraceOptions, TracedWaiting, Which};
use figures::{Columns, Row, Told};
use judged::Judge;
use linewake_engine::plan::RunPlan;
use linewake_kpi::study::versus::{Figure, FigureRow, Gap, Known, ReasonRow, Verdict, VersusResult};
use linewake_kpi::study::{Method, StudyKind};
use linewake_kpi::summary::{Mean, StartKind};
use linewake_model::line::Line;
use linewake_model::time::{Moment, Span};
use linewake_stats::estimate::{student_t_quantile, sum, variance};
use serde::Serialize;

/// How often a logged shift is traced for each reason at least, so that the luck of all else shows.
const FEWEST_EXPLAINING: u64 = 2;
/// Runs of the model are so many times the shifts of the log at least.
const FEWEST_TIMES: u64 = 4;

/// How many runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct VersusOptions {
    /// Runs of the model, each of a shift of the log; more if the log is long, and as many of each of its shifts.
    pub predicting_runs: u64,
    /// Runs for each reason with its logged stops; more if the log is long. 0 leaves out what each reason explains.
    pub explaining_runs: u64,
    /// Before a shift of a real line the model runs for so long.
    pub warm_up: Span,
}

impl Default for VersusOptions {
    fn default() -> Self {
        Self { predicting_runs: 500, explaining_runs: 100, warm_up: Span::from_seconds(3600.0) }
    }
}

/// What distinguishes one of these studies from another, for the journal.
#[derive(Serialize)]
struct Distinct {
    predicting_runs: u64,
    explaining_runs: u64,
    shifts: u64,
    log: String,
}

/// A model and a log that have been set against each other.
#[derive(Clone, Debug)]
pub struct VersusStudy {
    line: LoggedLine,
    /// Stops that are compared, those that are traced first.
    columns: Columns,
    /// Reasons that are traced: design 1 + place. The last design traces all of them.
    traced: Vec<StopKey>,
    /// The shifts of the log.
    observed: Vec<Row>,
    told: Told,
    /// Shifts of the same number can be exchanged for each other.
    strata: Vec<usize>,
    runs: (u64, u64),
    is_simulated: bool,
    notes: Vec<String>,
    plan: StudyPlan,
}

impl VersusStudy {
    /// Sets the model against the shifts of a log, which were accounted for under the conventions of `conditions`. Start,
    /// length and breaks of the runs are those of the log.
    ///
    /// # Errors
    /// A log without a shift, or with stations that the model does not have.
    pub fn prepare(
        line: &Line,
        shifts: &[LoggedShift],
        options: VersusOptions,
        conditions: &Conditions,
    ) -> Result<Self, StudyError> {
        let trace = TraceOptions { waiting: TracedWaiting::FromCrew, warm_up: options.warm_up };
        let logged = LoggedLine::of(line, shifts, trace)
            .map_err(|why| StudyError::option("the log", "of another line", &why))?;
        let Some(first) = shifts.first() else {
            return Err(StudyError::option("the log", "empty", "give at least one shift"));
        };
        let (conditions, mut notes) = conditions_of(first, shifts, conditions, options.warm_up);
        let in_turn = |which| (0..shifts.len()).map(|shift| logged.plan(shift, which)).collect::<Vec<_>>();
        let count = shifts.len() as u64;
        let whole = |runs: u64, times: u64| runs.max(times * count).div_ceil(count) * count;
        let predicting = whole(options.predicting_runs, FEWEST_TIMES);
        let explaining = match options.explaining_runs {
            0 => 0,
            runs => whole(runs, FEWEST_EXPLAINING).min(predicting),
        };
        let runs = (predicting, explaining);
        let design = |label: String, which: Which, keep: Keep| {
            let in_turn = in_turn(which);
            Design {
                keep,
                in_turn: in_turn.clone(),
                ..Design::new(label, logged.line.clone(), in_turn[0].clone())
            }
        };
        let ledger = Keep { ledger: true, ..Keep::default() };
        let mut designs = vec![design(crate::plan::AS_MODELLED.to_owned(), Which::None, ledger)];
        let traced = logged.reasons.clone();
        for &key in &traced {
            let (station, reason) = (&logged.line.stations[key.0].id, logged.word(key.1));
            let label = format!("{reason} of {station} as logged");
            designs.push(design(label, Which::One(key), Keep::default()));
        }
        designs.push(design("all stops as logged".to_owned(), Which::All, Keep::default()));
        let columns = Columns::of(&logged);
        let observed: Vec<Row> = shifts.iter().map(|shift| columns.of_log(shift)).collect();
        let told = Told::of(&logged, shifts);
        let strata = strata(&in_turn(Which::None));
        let distinct = Distinct {
            predicting_runs: runs.0,
            explaining_runs: runs.1,
            shifts: count,
            log: figures::checksum(shifts),
        };
        let plan = StudyPlan::new(StudyKind::Versus, line, designs, &conditions, distinct, false)?;
        let is_simulated = shifts.iter().all(|shift| shift.header.seed.is_some());
        notes.extend(figures::notes(&logged, shifts));
        Ok(Self { line: logged, columns, traced, observed, told, strata, runs, is_simulated, notes, plan })
    }

    /// The model's own runs: rows of the same figures as those of the log.
    fn predicted(&self, runner: &Runner<'_>) -> Vec<Row> {
        let records = (0..self.runs.0).map_while(|replication| runner.record(0, replication));
        records.map(|record| self.columns.of_run(record)).collect()
    }

    /// What the logged stops of a design change, summed over the shifts of the log.
    fn explained(&self, runner: &Runner<'_>, design: usize) -> Option<Mean> {
        if self.runs.1 == 0 {
            return None;
        }
        let packs = |design| runner.values(design, self.runs.1, good);
        let differences = crate::contrast::differences(&packs(0), &packs(design));
        Some(sum_over_shifts(&differences, self.observed.len(), self.plan.conditions.level))
    }

    /// `gap` is the difference in good packs, and whether it is more than chance gives one such log.
    fn rows(&self, runner: &Runner<'_>, judge: &Judge<'_>, gap: Option<(f64, bool)>) -> Vec<ReasonRow> {
        let columns = &self.columns.stops;
        let told: Vec<bool> = columns.iter().map(|stop| self.line.told.contains(&stop.station)).collect();
        let wanted = columns.iter().enumerate().flat_map(|(place, stop)| {
            let judged = told[place] && !(stop.planned && stop.modelled);
            [(Columns::count(place), judged), (Columns::time(place), judged)]
        });
        let compared = judge.sums(&wanted.collect::<Vec<_>>());
        let mut rows: Vec<ReasonRow> = columns
            .iter()
            .enumerate()
            .map(|(place, stop)| {
                let (mut count, mut time_s) = (compared[2 * place], compared[2 * place + 1]);
                if told[place] && stop.planned && stop.modelled {
                    for (compared, column) in
                        [(&mut count, Columns::count(place)), (&mut time_s, Columns::time(place))]
                    {
                        compared.observed = Some(self.observed.iter().map(|row| row[column]).sum());
                        compared.verdict = Verdict::Planned;
                    }
                }
                let design = self.traced.iter().position(|key| (stop.station, stop.key) == *key);
                let explained = design.and_then(|place| self.explained(runner, place + 1));
                let in_log = self
                    .observed
                    .iter()
                    .any(|row| row[Columns::count(place)] > 0.0 || row[Columns::time(place)] > 0.0);
                ReasonRow {
                    station_index: stop.station,
                    station: self.line.line.stations[stop.station].id.clone(),
                    reason: stop.word.clone(),
                    planned: stop.planned,
                    known: match (told[place], stop.modelled, in_log) {
                        (false, _, _) => Known::StationNotTold,
                        (true, false, _) => Known::LogOnly,
                        (true, true, false) => Known::ModelOnly,
                        (true, true, true) => Known::Both,
                    },
                    count,
                    time_s,
                    explained_packs: explained,
                    explained_share: explained.zip(gap.filter(|gap| gap.1)).map(|(it, gap)| it.mean / gap.0),
                }
            })
            .collect();
        // Beyond chance first; then what moves the packs most in the direction of the gap.
        let direction = gap.map_or(-1.0, |gap| gap.0.signum());
        let pull =
            |row: &ReasonRow| row.explained_packs.map_or(f64::NEG_INFINITY, |packs| packs.mean * direction);
        rows.sort_by(|one, other| {
            let chance = other.is_beyond_chance().cmp(&one.is_beyond_chance());
            chance.then(pull(other).total_cmp(&pull(one)))
        });
        rows
    }
}

impl Study for VersusStudy {
    type Found = VersusResult;

    fn plan(&self) -> &StudyPlan {
        &self.plan
    }

    fn runs_due(&self) -> Option<u64> {
        Some(self.runs.0 + self.runs.1 * (self.plan.designs.len() as u64 - 1))
    }

    fn conclude(&self, runner: &mut Runner<'_>) -> Result<VersusResult, RunError> {
        let traced: Vec<usize> = (1..self.plan.designs.len()).collect();
        runner.run_block(&[0], 0, self.runs.0)?;
        runner.run_block(&traced, 0, self.runs.1)?;
        let conditions = &self.plan.conditions;
        let (level, shifts) = (conditions.level, self.observed.len());
        let predicted = self.predicted(runner);
        let judge = Judge::new(&self.observed, &predicted, &self.strata, conditions.seed, level);
        let ideal_s = self.line.line.ideal_time_per_pack_s();
        let headline = Figure::ALL.map(|figure| (figure, self.told.figure(figure)));
        let compared = judge.figures(&headline, ideal_s);
        let is_outside = |figure: Figure| {
            let place = Figure::ALL.iter().position(|it| *it == figure);
            place.is_some_and(|at| {
                matches!(compared[at].verdict, Verdict::BeyondChance | Verdict::OutsideAlone)
            })
        };
        let output_is_outside = is_outside(Figure::PacksPerHour);
        let figures = Figure::ALL.iter().zip(compared);

        let good_of = |rows: &[Row]| rows.iter().map(|row| row[figures::GOOD]).collect::<Vec<f64>>();
        let observed_packs = self.told.good.then(|| sum(&good_of(&self.observed)));
        let predicted_packs = sum_over_shifts(&good_of(&predicted), shifts, level);
        let gap_packs = observed_packs.map(|packs| packs - predicted_packs.mean);
        let all_stops_packs = self.explained(runner, self.plan.designs.len() - 1);
        let reasons = self.rows(runner, &judge, gap_packs.map(|gap| (gap, output_is_outside)));
        let tests = 2 * reasons.iter().filter(|row| row.count.p_value.is_some()).count();
        let smallest = judge.smallest_p_value();
        let mut notes = self.notes.clone();
        notes.extend(judged::notes(smallest, tests, level, shifts));
        Ok(VersusResult {
            head: self.plan.head(
                StudyKind::Versus,
                &self.line.line,
                runner.records().len() as u64,
                methods(),
                notes,
            ),
            shifts: shifts as u64,
            planned_production_time_s: self.observed.iter().map(|row| row[figures::PLANNED]).sum(),
            predicting_runs: self.runs.0,
            explaining_runs: self.runs.1,
            is_simulated: self.is_simulated,
            figures: figures.map(|(figure, compared)| FigureRow { figure: *figure, compared }).collect(),
            gap: Gap {
                observed_packs,
                predicted_packs,
                gap_packs,
                rest_packs: gap_packs.zip(all_stops_packs).map(|(gap, explained)| gap - explained.mean),
                all_stops_packs,
            },
            reasons,
            smallest_p_value: smallest,
            lacking: self.told.lacking.clone(),
        })
    }
}

/// Values of the replications, which take the shifts in turn, as a sum over one of each shift, with the interval of its mean:
/// shifts differ from each other by the log, not by luck.
fn sum_over_shifts(values: &[f64], shifts: usize, level: f64) -> Mean {
    let of = |shift: usize| values.iter().copied().skip(shift).step_by(shifts).collect::<Vec<f64>>();
    let groups: Vec<Vec<f64>> = (0..shifts).map(of).collect();
    let mean = groups.iter().map(|group| mean_at(group, level).mean).sum();
    let freedom: usize = groups.iter().map(|group| group.len().saturating_sub(1)).sum();
    let error: f64 =
        groups.iter().filter_map(|group| Some(variance(group)? / group.len() as f64)).sum::<f64>().sqrt();
    let half_width = (groups.iter().all(|group| group.len() > 1))
        .then(|| student_t_quantile(0.5 + 0.5 * level, freedom as f64) * error);
    Mean { mean, half_width, n: values.len() }
}

/// Shifts of equal plans can be exchanged for each other; each shift's number.
fn strata(plans: &[RunPlan]) -> Vec<usize> {
    let mut firsts: Vec<usize> = Vec::new();
    let number = |(place, plan): (usize, &RunPlan)| {
        let known = firsts.iter().position(|first| plans[*first] == *plan);
        known.unwrap_or_else(|| {
            firsts.push(place);
            firsts.len() - 1
        })
    };
    plans.iter().enumerate().map(number).collect()
}

/// Start, warm-up and length of the log; and a seed that no shift of it has: its luck must not be that of the runs.
fn conditions_of(
    first: &LoggedShift,
    shifts: &[LoggedShift],
    conditions: &Conditions,
    warm_up: Span,
) -> (Conditions, Vec<String>) {
    let mut notes = Vec::new();
    let mut seed = conditions.seed;
    while shifts.iter().any(|shift| shift.header.seed == Some(seed)) {
        seed = seed.wrapping_add(1);
    }
    if seed != conditions.seed {
        notes.push(format!(
            "the log was simulated with seed {}; the runs take seed {seed}, so that their luck is not that of the log",
            conditions.seed
        ));
    }
    let header = &first.header;
    let (start, before) = match StartKind::of(header.start) {
        StartKind::NewRolls => (StartKind::NewRolls, Span::ZERO),
        StartKind::LongRun => (StartKind::LongRun, header.warm_up.since(Moment::ZERO)),
        StartKind::Logged => (StartKind::LongRun, warm_up),
    };
    let length = header.horizon.since(header.warm_up);
    (Conditions { seed, start, warm_up: before, length: Some(length), ..conditions.clone() }, notes)
}

fn methods() -> Vec<Method> {
    let method = |what: &str, source: &str| Method { what: what.to_owned(), source: source.to_owned() };
    vec![
        method(
            "whether a difference is beyond chance: permutation test, ten thousand ways of sharing the shifts of log and model \
             out; the range is where one log of that length falls, not the mean",
            "Pitman (1937), Supplement to the Journal of the Royal Statistical Society 4, 119-130 (from memory); Phipson and \
             Smyth (2010), Statistical Applications in Genetics and Molecular Biology 9, 39",
        ),
        method(
            "p-values of the headline figures together, and those of all stop reasons together, corrected so that the chance of \
             even one false call in each of the two sets is kept",
            "Holm (1979), Scandinavian Journal of Statistics 6, 65-70",
        ),
        shared_luck(),
    ]
}

#[cfg(test)]
mod tests;
