//! Whether the figures of a regime file make tables and plans.

use super::error::RegimeError;
use super::file::{DeficiencyRow, DeficiencyTable, FORM, LotPlanRow, Plan, Regime};

type Checked = Result<(), RegimeError>;

/// Samples beyond this are a slip, and the sums over them would take for ever.
const MOST_PACKS: u64 = 10_000;

impl Regime {
    pub(crate) fn check(&self) -> Checked {
        let wrong = |place: &str, problem: String| Err(RegimeError::new(place, problem));
        if self.form != FORM {
            return wrong("form", format!("is {:?}; this program reads {FORM:?}", self.form));
        }
        for (name, text) in [("id", &self.id), ("edition", &self.edition), ("caution", &self.caution)] {
            if text.trim().is_empty() {
                return wrong(name, "is empty; results must be able to name it".to_owned());
            }
        }
        if self.tables.is_empty() {
            return wrong(
                "tables",
                "is empty; at least one table of tolerable deficiencies is needed".to_owned(),
            );
        }
        unique("tables", self.tables.iter().map(|table| &table.id))?;
        unique("plans", self.plans.iter().map(|plan| &plan.id))?;
        unique("shares", self.shares.iter().map(|shares| &shares.id))?;
        for table in &self.tables {
            check_table(table)?;
        }
        for plan in &self.plans {
            check_plan(plan)?;
        }
        if let Some(limit) = &self.second_limit {
            at_least("second_limit, multiple", limit.multiple, 1.0)?;
            fields("second_limit", &limit.read, &["multiple"])?;
        }
        if let Some(instrument) = &self.instrument {
            at_least("instrument, divisor", instrument.divisor, 1.0)?;
            fields("instrument", &instrument.read, &["divisor"])?;
        }
        for shares in &self.shares {
            let place = format!("shares, {}", shares.id);
            percent(&place, shares.below_t1_percent)?;
            percent(&place, shares.below_t2_percent.unwrap_or(0.0))?;
            fields(&place, &shares.read, &["below_t1_percent", "below_t2_percent"])?;
        }
        for moisture in &self.moisture {
            let place = format!("moisture, {}", moisture.product);
            percent(&place, moisture.percent)?;
            fields(&place, &moisture.read, &["percent"])?;
        }
        Ok(())
    }
}

fn unique<'a>(place: &str, ids: impl Iterator<Item = &'a String>) -> Checked {
    let mut seen = Vec::new();
    for id in ids {
        if seen.contains(&id) {
            return Err(RegimeError::new(place, format!("the id {id:?} stands twice; ids must differ")));
        }
        seen.push(id);
    }
    Ok(())
}

fn check_table(table: &DeficiencyTable) -> Checked {
    let place = format!("tables, {}", table.id);
    let Some((last, rows)) = table.rows.split_last() else {
        return Err(RegimeError::new(place, "has no rows"));
    };
    if last.up_to_g.is_some() || last.up_to_lb.is_some() {
        return Err(RegimeError::new(
            place,
            "the last row must have no top, so that every quantity has a row",
        ));
    }
    let in_pounds = rows.iter().any(|row| row.up_to_lb.is_some());
    let (mut below_g, mut below_lb) = (0.0, 0.0);
    for (number, row) in table.rows.iter().enumerate() {
        let place = format!("{place}, row {}", number + 1);
        check_row(&place, row, number + 1 < table.rows.len(), in_pounds)?;
        for (top, below, name) in
            [(row.up_to_g, &mut below_g, "up_to_g"), (row.up_to_lb, &mut below_lb, "up_to_lb")]
        {
            let Some(top) = top else { continue };
            if top <= *below || !top.is_finite() {
                return Err(RegimeError::new(
                    place,
                    format!("{name} is {top}; it must be finite and above that of the row before, {below}"),
                ));
            }
            *below = top;
        }
    }
    if let Some(scope) = &table.scope {
        let place = format!("{place}, scope");
        at_least(&place, scope.from_g, 0.0)?;
        at_least(&place, scope.to_g, scope.from_g)?;
        fields(&place, &scope.read, &["from_g", "to_g"])?;
    }
    for rounding in &table.rounding {
        let place = format!("{place}, rounding");
        at_least(&place, rounding.step_g, 1e-6)?;
        fields(&place, &rounding.read, &["up_to_g", "step_g"])?;
    }
    Ok(())
}

fn check_row(place: &str, row: &DeficiencyRow, needs_top: bool, in_pounds: bool) -> Checked {
    let wrong = |problem: &str| Err(RegimeError::new(place, problem));
    if needs_top && (row.up_to_g.is_none() || row.up_to_lb.is_some() != in_pounds) {
        return wrong("needs up_to_g, and up_to_lb in all rows or in none; only the last row has no top");
    }
    match (row.percent, row.amount_g) {
        (Some(share), None) if row.amount_lb.is_none() && row.amount_oz.is_none() => percent(place, share)?,
        (None, Some(amount)) => {
            at_least(place, amount, 0.0)?;
            at_least(place, row.amount_lb.unwrap_or(0.0), 0.0)?;
            at_least(place, row.amount_oz.unwrap_or(0.0), 0.0)?;
            if in_pounds && row.amount_lb.is_none() {
                return wrong("needs amount_lb, since the table has labels in pounds");
            }
        }
        _ => return wrong("needs either percent or amount_g"),
    }
    fields(place, &row.read, &["up_to_g", "up_to_lb", "percent", "amount_g", "amount_lb", "amount_oz"])
}

fn check_plan(plan: &Plan) -> Checked {
    let place = format!("plans, {}", plan.id);
    let mut next = None;
    for (number, row) in plan.rows.iter().enumerate() {
        let place = format!("{place}, row {}", number + 1);
        let wrong = |problem: String| Err(RegimeError::new(&place, problem));
        if next.is_some_and(|next| row.lot_from != next) || row.lot_from == 0 {
            return wrong(format!(
                "lot_from is {}; it must be one above the lot_to before, at least 1",
                row.lot_from
            ));
        }
        if number + 1 < plan.rows.len() && row.lot_to.is_none() {
            return wrong("lot_to is missing; only the last row may be open".to_owned());
        }
        if row.lot_to.is_some_and(|to| to < row.lot_from) {
            return wrong("lot_to is below lot_from".to_owned());
        }
        check_lot_row(&place, row)?;
        next = row.lot_to.map(|to| to.saturating_add(1));
    }
    if let Some(beyond) = &plan.beyond_second_limit {
        fields(&place, &beyond.read, &["accept"])?;
    }
    if plan.rows.is_empty() { Err(RegimeError::new(place, "has no rows")) } else { Ok(()) }
}

fn check_lot_row(place: &str, row: &LotPlanRow) -> Checked {
    let wrong = |problem: &str| Err(RegimeError::new(place, problem));
    if let Some(whole) = row.whole_lot {
        if !row.draws.is_empty() || row.lot_to.is_none() {
            return wrong("a check of the whole lot needs lot_to and no draws");
        }
        if whole.accept.is_some() == whole.accept_percent.is_some() {
            return wrong("whole_lot needs either accept or accept_percent");
        }
        percent(place, whole.accept_percent.unwrap_or(0.0))?;
        if row.lot_to.is_some_and(|to| to > MOST_PACKS || whole.accept.is_some_and(|accept| accept >= to)) {
            return wrong("a check of the whole lot takes at most 10000 packs, and must be able to fail");
        }
        if row.mean.is_some_and(|mean| mean.sample.is_some()) {
            return wrong("the mean of a whole lot needs no sample");
        }
    } else {
        let Some((last, earlier)) = row.draws.split_last() else {
            return wrong("needs draws or whole_lot");
        };
        let mut before = 0;
        for draw in &row.draws {
            if draw.sample <= before || draw.reject <= draw.accept || draw.reject > draw.sample {
                return wrong("samples must rise, and accept < reject <= sample hold in every draw");
            }
            before = draw.sample;
        }
        if last.reject != last.accept + 1 {
            return wrong("the last draw must decide: reject is accept + 1");
        }
        if earlier.iter().any(|draw| draw.accept > last.accept) {
            return wrong("an earlier draw may not accept more than the last");
        }
        if last.sample > MOST_PACKS {
            return wrong("a sample has at most 10000 packs");
        }
        if last.sample > row.lot_from {
            return wrong("the sample is larger than the smallest lot of the row");
        }
        if row.mean.is_some_and(|mean| mean.sample.is_some_and(|n| n < 1 || n > row.draws[0].sample)) {
            return wrong(
                "the mean is taken of the first draw, so its sample is at least 1 and no larger than that",
            );
        }
    }
    if let Some(mean) = row.mean {
        at_least(place, mean.factor, 0.0)?;
    }
    fields(place, &row.read, &["lot_from", "lot_to", "draws", "whole_lot", "mean"])
}

fn at_least(place: &str, value: f64, least: f64) -> Checked {
    if value >= least && value.is_finite() {
        Ok(())
    } else {
        Err(RegimeError::new(place, format!("{value} stands where a finite figure of at least {least} must")))
    }
}

fn percent(place: &str, value: f64) -> Checked {
    if (0.0..=100.0).contains(&value) {
        Ok(())
    } else {
        Err(RegimeError::new(place, format!("{value} stands where a percentage from 0 to 100 must")))
    }
}

/// A misspelt name in `read` would silently be one that counts as from memory.
fn fields(place: &str, read: &[String], known: &[&str]) -> Checked {
    match read.iter().find(|name| !known.contains(&name.as_str())) {
        Some(name) => Err(RegimeError::new(place, format!("read names {name:?}; the fields are {known:?}"))),
        None => Ok(()),
    }
}
