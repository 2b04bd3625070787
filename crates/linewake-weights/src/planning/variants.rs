//! The line with one thing changed, at its own smallest target.

use super::found::{AtTarget, LessSpread, Variant};
use super::spread::Spread;
use super::{PlanningError, Ready};
use crate::feedback::{Deviations, FeedbackLoop};
use crate::packs::Gate;
use crate::target::TargetError;

/// What one gram less is, where the spread itself is less than that: half of it.
const HALF: f64 = 0.5;

/// What is changed.
struct Change {
    what: String,
    deviations: Deviations,
    feedback: Option<FeedbackLoop>,
    gate: Gate,
}

pub(super) fn less_spread(ready: &Ready<'_>, base: &AtTarget) -> Result<Option<LessSpread>, PlanningError> {
    let asked = ready.asked;
    let sd_pack_g = asked.deviations.sd_pack_g;
    if sd_pack_g <= 0.0 {
        return Ok(None);
    }
    let less_g = if sd_pack_g > 1.0 { 1.0 } else { HALF * sd_pack_g };
    let deviations = Deviations { sd_pack_g: sd_pack_g - less_g, ..asked.deviations };
    let spread = Spread::of(&deviations, asked.feedback.as_ref(), &asked.gate, asked)?;
    let sought = ready.smallest(&spread, &asked.gate)?;
    let at = ready.at(&spread, &asked.gate, sought.target_g)?;
    let saves = |base: Option<f64>, with: Option<f64>| base.zip(with).map(|(base, with)| base - with);
    let per_shift = saves(base.given_away_kg_per_shift, at.given_away_kg_per_shift);
    Ok(Some(LessSpread {
        less_g,
        sd_pack_g: deviations.sd_pack_g,
        at,
        saves_g: base.giveaway_g - at.giveaway_g,
        saves_kg_per_year: per_shift.zip(asked.trade.shifts_per_year).map(|(kg, shifts)| kg * shifts),
        saves_money_per_year: saves(base.giveaway_money_per_year, at.giveaway_money_per_year),
    }))
}

pub(super) fn variants(ready: &Ready<'_>, base: &AtTarget) -> Result<Vec<Variant>, PlanningError> {
    let mut variants = Vec::new();
    for change in changes(ready) {
        let spread = Spread::of(&change.deviations, change.feedback.as_ref(), &change.gate, ready.asked)?;
        let sought = match ready.smallest(&spread, &change.gate) {
            Ok(sought) => Ok(ready.at(&spread, &change.gate, sought.target_g)?),
            Err(error @ TargetError::Unreachable { .. }) => Err(error.to_string()),
            Err(error) => return Err(error.into()),
        };
        let (at, why_none) = match sought {
            Ok(at) => (Some(at), None),
            Err(why) => (None, Some(why)),
        };
        let money = at.and_then(|at| at.giveaway_money_per_year);
        variants.push(Variant {
            what: change.what,
            sd_pack_g: change.deviations.sd_pack_g,
            gain: change.feedback.map_or(0.0, |feedback| feedback.gain),
            low_g: change.gate.low_g,
            high_g: change.gate.high_g,
            sd_g: spread.sd_g(),
            at,
            why_none,
            saves_money_per_year: base.giveaway_money_per_year.zip(money).map(|(base, with)| base - with),
        });
    }
    Ok(variants)
}

fn changes(ready: &Ready<'_>) -> Vec<Change> {
    let asked = ready.asked;
    let as_modelled = |what: String| Change {
        what,
        deviations: asked.deviations,
        feedback: asked.feedback,
        gate: asked.gate,
    };
    let mut changes = Vec::new();
    for &sd_pack_g in &asked.tried.sd_pack_g {
        let change = as_modelled(format!("spread from pack to pack {} g", shown(sd_pack_g)));
        changes.push(Change { deviations: Deviations { sd_pack_g, ..asked.deviations }, ..change });
    }
    for &gain in &asked.tried.gains {
        let Some(studied) = asked.studied else { continue };
        let change = if gain > 0.0 {
            let what = format!("feedback with a gain of {} every {} packs", shown(gain), studied.every_packs);
            Change { feedback: Some(FeedbackLoop { gain, ..studied }), ..as_modelled(what) }
        } else {
            Change { feedback: None, ..as_modelled("no feedback".to_owned()) }
        };
        changes.push(change);
    }
    let limit = |name: &str, limit: Option<f64>| match limit {
        Some(limit) => format!("{name} reject limit {} g", shown(limit)),
        None => format!("no {name} reject limit"),
    };
    for &low_g in &asked.tried.low_g {
        changes.push(Change { gate: Gate { low_g, ..asked.gate }, ..as_modelled(limit("lower", low_g)) });
    }
    for &high_g in &asked.tried.high_g {
        changes.push(Change { gate: Gate { high_g, ..asked.gate }, ..as_modelled(limit("upper", high_g)) });
    }
    changes
}

/// To three decimals, without zeros at the end.
fn shown(value: f64) -> String {
    format!("{}", libm::round(value * 1000.0) / 1000.0)
}
