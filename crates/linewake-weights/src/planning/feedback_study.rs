//! Gain of the weight feedback against stability, given the dead time, and what it does to leave rejects out.

use super::found::{Agreement, FeedbackStudy, GainRow, RejectsLeftOut, Swing};
use super::{Asked, PlanningError};
use crate::feedback::{
    Deviations, FeedbackError, FeedbackLoop, GainPoint, hunting_basis, hunting_gain, hunting_gain_formula,
    settled, swing_after_a_step,
};
use crate::packs::{Gate, Packs};
use linewake_stats::stream::Streams;

/// Gains looked at, as shares of the gain at which hunting starts.
const SHARES: [f64; 16] =
    [0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.98, 1.05, 1.2, 1.5];
/// Gains of the picture of hunting, the same way.
const SWINGS: [f64; 3] = [0.35, 0.8, 1.15];
/// Turns of the loop that the picture shows.
const TURNS: f64 = 3.0;
/// Dead times, in corrections, at which formula and loop are put side by side.
const DEAD_TIMES: [u32; 3] = [1, 2, 4];
/// Packs before those that count.
const WARM_UP_PACKS: u64 = 30_000;
/// Lower limits at which the bias is told, in standard deviations below the target.
const LIMITS: [f64; 4] = [3.0, 2.0, 1.5, 1.0];

pub(super) fn study(asked: &Asked<'_>, studied: &FeedbackLoop) -> Result<FeedbackStudy, PlanningError> {
    let dead = studied.dead_time_corrections();
    let limit = hunting_gain(studied.every_packs, studied.dead_time_packs)?;
    let gain = asked.feedback.map_or(0.0, |feedback| feedback.gain);
    let mut gains: Vec<f64> = SHARES.iter().map(|share| share * limit).collect();
    if gain > 0.0 {
        gains.push(gain);
    }
    gains.sort_by(f64::total_cmp);
    let deviations = Deviations { mean_g: asked.set_g, ..asked.deviations };
    let looped = FeedbackLoop { target_g: asked.set_g, ..*studied };
    let points = looped.gains(
        &gains,
        &deviations,
        &asked.gate,
        WARM_UP_PACKS,
        asked.follow_packs,
        &Streams::new(asked.seed, 0),
    )?;
    let gains: Vec<GainRow> = points.iter().map(row).collect();
    let best = gains.iter().min_by(|one, other| one.sd_g.total_cmp(&other.sd_g));
    let mut agreement = Vec::new();
    for dead_time in DEAD_TIMES {
        let found = hunting_gain(studied.every_packs, u64::from(dead_time) * studied.every_packs)?;
        let formula = hunting_gain_formula(f64::from(dead_time));
        agreement.push(Agreement {
            dead_time_corrections: dead_time,
            found,
            formula,
            difference: found / formula - 1.0,
        });
    }
    let turn = 2.0 * (2.0 * dead + 1.0);
    let corrections = libm::ceil(TURNS * turn).max(24.0) as u64;
    let swing = |share: f64| Swing {
        gain: share * limit,
        settles: share < 1.0,
        deviations_g: swing_after_a_step(
            studied.every_packs,
            studied.dead_time_packs,
            share * limit,
            corrections,
        ),
    };
    Ok(FeedbackStudy {
        modelled: asked.feedback.is_some(),
        every_packs: studied.every_packs,
        dead_time_packs: studied.dead_time_packs,
        dead_time_corrections: dead,
        gain,
        hunting_gain: limit,
        hunting_gain_formula: hunting_gain_formula(dead),
        basis: hunting_basis(),
        agreement,
        best_gain: best.map_or(0.0, |best| best.gain),
        gains,
        swings: SWINGS.map(swing).to_vec(),
        rejects_left_out: left_out(asked)?,
        packs: asked.follow_packs,
    })
}

fn row(point: &GainPoint) -> GainRow {
    GainRow {
        gain: point.gain,
        settles: point.settles,
        sd_g: point.run.sd_g,
        correction_sd_g: point.run.correction_sd_g,
        at_limit: point.run.at_limit,
        rejected: point.run.rejected_low + point.run.rejected_high,
    }
}

/// The bias of leaving rejects out, at the line's own lower limit and at some others; limits that let nothing settle are
/// left out. The packs have the spread of a line without feedback.
fn left_out(asked: &Asked<'_>) -> Result<Vec<RejectsLeftOut>, PlanningError> {
    let deviations = &asked.deviations;
    let drift_g = deviations.drift.map_or(0.0, |drift| drift.sd_g);
    let packs = Packs {
        mean_g: asked.set_g,
        sd_within_g: deviations.sd_pack_g,
        sd_between_g: libm::hypot(deviations.sd_batch_g, drift_g),
    };
    let others = LIMITS.map(|steps| (asked.set_g - steps * packs.sd_g(), false));
    let own = asked.gate.low_g.map(|low| (low, true));
    let mut rows = Vec::new();
    for (low_g, modelled) in own.into_iter().chain(others) {
        let gate = Gate { low_g: Some(low_g), ..asked.gate };
        match (settled(&packs, &gate, asked.set_g, false), settled(&packs, &gate, asked.set_g, true)) {
            (Ok(left), Ok(counted)) => rows.push(RejectsLeftOut {
                low_g,
                modelled,
                target_g: asked.set_g,
                bias_g: left.bias_g,
                rejected: left.rejected,
                rejected_when_counted: counted.rejected,
            }),
            (Err(FeedbackError::TargetOutsideLimits { .. } | FeedbackError::Packs(_)), _)
            | (_, Err(FeedbackError::TargetOutsideLimits { .. } | FeedbackError::Packs(_))) => {}
            (Err(error), _) | (_, Err(error)) => return Err(error.into()),
        }
    }
    rows.sort_by(|one, other| one.low_g.total_cmp(&other.low_g));
    Ok(rows)
}
