//! What each loss really costs: the same runs once more without that one thing.

use crate::causes::{Cause, causes_of};
use crate::contrast::{Reading, good, is_above_zero};
use crate::design::Design;
use crate::plan::{BaseModel, Conditions, StudyError, StudyPlan};
use crate::record::Keep;
use crate::runner::{RunError, Runner};
use crate::study::{Study, ratio_of_sums, shared_luck};
use linewake_engine::plan::RunPlan;
use linewake_kpi::study::StudyKind;
use linewake_kpi::study::losses::{LossKind, LossRow, LossVerdict, LossesResult};
use linewake_kpi::summary::Mean;
use serde::Serialize;

/// Which losses.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct LossesOptions {
    /// Only causes at these stations; empty: all.
    pub stations: Vec<String>,
    /// Leave the speed limits out.
    pub without_speed_limits: bool,
}

/// A loss ranking that has been set up.
#[derive(Clone, Debug)]
pub struct LossesStudy {
    base: BaseModel,
    causes: Vec<Cause>,
    has_stops: bool,
    plan: StudyPlan,
}

impl LossesStudy {
    /// Sets the study up: one design for each cause.
    ///
    /// # Errors
    /// A station that is not in the line, nothing that costs anything, figures out of range.
    pub fn prepare(
        base: BaseModel,
        options: LossesOptions,
        conditions: &Conditions,
    ) -> Result<Self, StudyError> {
        let line = &base.line;
        for id in &options.stations {
            if line.station(id).is_none() {
                let known: Vec<&str> = line.stations.iter().map(|station| station.id.as_str()).collect();
                let hint = format!("the line has {}", known.join(", "));
                return Err(StudyError::option("a station", id, &hint));
            }
        }
        let mut causes = causes_of(line);
        causes.retain(|cause| {
            let id = cause.station.map(|at| line.stations[at].id.as_str());
            let is_named = options.stations.is_empty()
                || id.is_some_and(|id| options.stations.iter().any(|named| named == id));
            is_named && !(options.without_speed_limits && cause.kind == LossKind::SpeedLimit)
        });
        if causes.is_empty() {
            return Err(StudyError::option("the model", &line.name, "nothing in it costs output"));
        }
        let keep = Keep { ledger: true, ..Keep::default() };
        let mut designs = vec![Design { keep, ..base.as_modelled(conditions) }];
        for cause in &causes {
            let place = cause.station.map_or("line", |at| &line.stations[at].id);
            let label = format!("without {place}: {}", cause.reason);
            let (line, plan) =
                cause.without(&base, conditions).map_err(|error| StudyError::Design(label.clone(), error))?;
            designs.push(Design::new(label, line, plan));
        }
        let has_stops = causes
            .iter()
            .any(|cause| matches!(cause.kind, LossKind::Stop | LossKind::Consumable | LossKind::FailSafe));
        if has_stops {
            let plan = RunPlan { own_stops: false, ..conditions.run_plan(line) };
            designs.push(Design::new("without any own stop", line.clone(), plan));
        }
        let plan = StudyPlan::new(StudyKind::Losses, line, designs, conditions, &options, true)?;
        Ok(Self { base, causes, has_stops, plan })
    }

    fn row(&self, reading: &Reading<'_, '_>, cause: &Cause, design: usize) -> LossRow {
        let ledger = |figure: &dyn Fn(&crate::record::LedgerRecord) -> f64| {
            reading.mean(0, |record| record.ledger.as_ref().map_or(0.0, figure))
        };
        let station = cause.station.map(|at| &self.base.line.stations[at]);
        let reason = cause.reason.as_str();
        let (mut stopped_s, mut count, mut charged) = (None, None, None);
        match (cause.kind, cause.station) {
            (
                LossKind::Stop | LossKind::Consumable | LossKind::FailSafe | LossKind::PlannedStop,
                Some(at),
            ) => {
                let planned = cause.kind == LossKind::PlannedStop;
                stopped_s = Some(ledger(&|it| it.stops_of(at, reason).1));
                count = Some(ledger(&|it| it.stops_of(at, reason).0));
                charged = Some(ledger(&|it| it.charged_to_stop(at, reason, planned)));
            }
            (LossKind::RejectCause, at) => {
                // A gate's own verdicts are in its own bin; other defects in whichever bin found them.
                let bin = at.filter(|_| reason == "false_reject");
                charged = Some(ledger(&|it| it.rejected(bin, reason)));
            }
            (LossKind::Crew, _) => {
                stopped_s = Some(reading.mean(0, |record| record.waiting_s));
            }
            _ => {}
        }
        let gain_packs = reading.difference(0, design, good);
        LossRow {
            kind: cause.kind,
            station_index: cause.station,
            station: station.map_or(String::new(), |station| station.id.clone()),
            supplier: station.and_then(|station| station.supplier.clone()),
            reason: cause.reason.clone(),
            switched_off: cause.switched_off.clone(),
            gain_oee: reading.difference(0, design, |record| record.oee),
            rank_by_gain: 0,
            stopped_s,
            count,
            charged_packs: charged,
            rank_by_charge: None,
            verdict: verdict(&gain_packs, charged.as_ref()),
            gain_packs,
        }
    }
}

/// How the gain stands to the charge.
fn verdict(gain: &Mean, charged: Option<&Mean>) -> LossVerdict {
    let Some(charged) = charged else { return LossVerdict::NotCharged };
    let half_width = gain.half_width.unwrap_or(0.0);
    let apart = gain.mean - charged.mean;
    if apart.abs() <= half_width || apart.abs() <= 0.1 * charged.mean.abs() {
        return LossVerdict::AsCharged;
    }
    if !is_above_zero(gain) && charged.mean > half_width {
        return LossVerdict::NoGainSeen;
    }
    if apart < 0.0 { LossVerdict::HiddenByOthers } else { LossVerdict::CostsMoreThanCharged }
}

impl Study for LossesStudy {
    type Found = LossesResult;

    fn plan(&self) -> &StudyPlan {
        &self.plan
    }

    fn conclude(&self, runner: &mut Runner<'_>) -> Result<LossesResult, RunError> {
        runner.run_all()?;
        let reading = Reading::of(runner);
        let mut rows: Vec<LossRow> = self
            .causes
            .iter()
            .enumerate()
            .map(|(place, cause)| self.row(&reading, cause, place + 1))
            .collect();
        let charge = |row: &LossRow| row.charged_packs.map_or(f64::NEG_INFINITY, |charged| charged.mean);
        rows.sort_by(|one, other| charge(other).total_cmp(&charge(one)));
        for (place, row) in rows.iter_mut().enumerate() {
            row.rank_by_charge = row.charged_packs.map(|_| place + 1);
        }
        rows.sort_by(|one, other| other.gain_packs.mean.total_cmp(&one.gain_packs.mean));
        for (place, row) in rows.iter_mut().enumerate() {
            row.rank_by_gain = place + 1;
        }
        let all_off = self.plan.designs.len() - 1;
        let notes = vec![
            "the gains do not add up to the loss: two stops that hide each other each cost little alone"
                .to_owned(),
            "each interval holds for its row alone; rows whose intervals overlap may change places"
                .to_owned(),
        ];
        let runs = runner.records().len() as u64;
        let methods = vec![shared_luck(), ratio_of_sums()];
        Ok(LossesResult {
            head: self.plan.head(StudyKind::Losses, &self.base.line, runs, methods, notes),
            base: reading.figures(0, 0),
            design_packs: reading.mean(0, |record| record.design_packs).mean,
            sum_of_gains_packs: rows.iter().map(|row| row.gain_packs.mean).sum(),
            all_stops_off: self.has_stops.then(|| reading.difference(0, all_off, good)),
            rows,
        })
    }
}

#[cfg(test)]
mod tests;
