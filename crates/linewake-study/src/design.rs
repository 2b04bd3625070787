//! A design: a line, how it is run, and what differs from the model.

use crate::record::{Keep, RunRecord};
use linewake_engine::plan::RunPlan;
use linewake_kpi::accumulator::Accumulator;
use linewake_kpi::convention::Conventions;
use linewake_log::event::{Counter, Detail, Event, EventKind, EventSink};
use linewake_log::header::LogHeader;
use linewake_model::change::{ChangeError, ModelTree};
use linewake_model::line::Line;
use linewake_model::time::{Moment, Span};
use linewake_stats::stream::Streams;

/// One design of a study.
#[derive(Clone, Debug)]
pub struct Design {
    /// Its name in the results.
    pub label: String,
    /// The values that were set, as typed.
    pub values: Vec<String>,
    /// The line.
    pub line: Line,
    /// How it is run.
    pub plan: RunPlan,
    /// Plans that the replications take in turn in place of that one; empty where there is one for all.
    pub in_turn: Vec<RunPlan>,
    /// What is kept of a run.
    pub keep: Keep,
    /// The model from which inputs are drawn in each run; `None` takes the line as it is.
    pub drawn: Option<ModelTree>,
    /// Good packs of an order: the run tells when they are made.
    pub order_packs: Option<u64>,
    /// Good packs are counted in bins of this length from the start of the run.
    pub bin: Option<Span>,
}

impl Design {
    /// A line run by that plan; only plain figures are kept.
    #[must_use]
    pub fn new(label: impl Into<String>, line: Line, plan: RunPlan) -> Self {
        Self {
            label: label.into(),
            values: Vec::new(),
            line,
            plan,
            in_turn: Vec::new(),
            keep: Keep::default(),
            drawn: None,
            order_packs: None,
            bin: None,
        }
    }

    /// Runs it once.
    ///
    /// # Errors
    /// With drawn inputs: values that make no line.
    pub fn run(
        &self,
        job: u64,
        number: u32,
        seed: u64,
        replication: u64,
        conventions: Conventions,
    ) -> Result<RunRecord, ChangeError> {
        let drawn = match &self.drawn {
            Some(tree) => Some(draw(tree, &self.line, seed, replication)?),
            None => None,
        };
        let line = drawn.as_ref().unwrap_or(&self.line);
        let mut plan = self.first_plan(line, replication);
        let watch = loop {
            let header = linewake_engine::header(line, &plan, seed, replication);
            let mut watch = Watch::new(&header, self, conventions);
            linewake_engine::run(line, &plan, seed, replication, &mut watch);
            if watch.order_packs.is_none() || watch.finished_s.is_some() || plan.horizon >= self.plan.horizon
            {
                break watch;
            }
            // A longer run of the same luck begins in the same way.
            plan.horizon = Moment(plan.horizon.0.saturating_mul(2)).min(self.plan.horizon);
        };
        let result = watch.accumulator.finish();
        let mut record = RunRecord::of(job, number, replication, &result, self.keep);
        record.finished_s = watch.finished_s;
        record.good_by_bin = watch.bins;
        Ok(record)
    }
}

impl Design {
    /// The plan that is tried first: for an order not the whole time allowed, but twice what the design rate needs.
    fn first_plan(&self, line: &Line, replication: u64) -> RunPlan {
        let turn =
            replication.checked_rem(self.in_turn.len() as u64).and_then(|turn| usize::try_from(turn).ok());
        let mut plan = turn.and_then(|turn| self.in_turn.get(turn)).unwrap_or(&self.plan).clone();
        if let Some(packs) = self.order_packs {
            let at_best_s = packs as f64 * line.ideal_time_per_pack_s();
            let guess = Moment::ZERO + Span::from_seconds(2.0 * at_best_s + 1800.0);
            plan.horizon = guess.min(plan.horizon);
        }
        plan
    }
}

/// The line with its uncertain inputs drawn: each uniform over its range, from a stream of its own.
fn draw(tree: &ModelTree, line: &Line, seed: u64, replication: u64) -> Result<Line, ChangeError> {
    let streams = Streams::new(seed, replication);
    let factors: Vec<(&str, f64)> = line
        .uncertainty
        .iter()
        .map(|uncertain| {
            let place = streams.get(&format!("uncertainty of {}", uncertain.path)).open01();
            (uncertain.path.as_str(), 1.0 + (2.0 * place - 1.0) * uncertain.relative)
        })
        .collect();
    let mut moved = tree.clone();
    for (path, factor) in &factors {
        moved.scale(path, *factor)?;
    }
    if let Ok(checked) = moved.check() {
        return Ok(checked.line);
    }
    // A count that is no whole number, or a share beyond 1: one by one, each to the nearest that may be.
    let mut moved = tree.clone();
    for (path, factor) in factors {
        moved = moved.scaled_to_nearest(path, factor)?.0;
    }
    Ok(moved.check()?.line)
}

/// Hands events on to the accounting and watches the good packs.
struct Watch {
    accumulator: Accumulator,
    good_after: usize,
    good: u64,
    order_packs: Option<u64>,
    finished_s: Option<f64>,
    bin: Option<Span>,
    bins: Vec<u64>,
}

impl Watch {
    fn new(header: &LogHeader, design: &Design, conventions: Conventions) -> Self {
        Self {
            accumulator: Accumulator::new(header).under(conventions),
            good_after: usize::from(header.facts.good_after),
            good: 0,
            order_packs: design.order_packs,
            finished_s: None,
            bin: design.bin,
            bins: Vec::new(),
        }
    }
}

impl EventSink for Watch {
    fn detail(&self) -> Detail {
        self.accumulator.detail()
    }

    #[inline]
    fn record(&mut self, event: &Event) {
        if let EventKind::Count { counter: Counter::HandedOver, value, .. } = event.kind
            && usize::from(event.station) == self.good_after
        {
            let new = value.saturating_sub(self.good);
            self.good = value;
            if self.finished_s.is_none() && self.order_packs.is_some_and(|packs| value >= packs) {
                self.finished_s = Some(event.at.seconds());
            }
            if let Some(bin) = self.bin
                && new > 0
                && event.at.0 > 0
            {
                // What a row at the end of a bin tells was made in it.
                let place = usize::try_from((event.at.0 - 1) / bin.0.max(1)).unwrap_or(0);
                if self.bins.len() <= place {
                    self.bins.resize(place + 1, 0);
                }
                self.bins[place] += new;
            }
        }
        self.accumulator.record(event);
    }
}
