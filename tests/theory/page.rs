//! The page docs/validation.md, from the rows of all families.

use crate::row::{Row, RunSet, Verdict};
use std::fmt::Write;

/// The page.
pub(crate) fn page(families: &[Family], set: RunSet) -> String {
    let rows: Vec<&Row> = families.iter().flat_map(|family| &family.rows).collect();
    let mut text = String::from(HEAD);
    let length = match set {
        RunSet::Short => "This page shows the short set.",
        RunSet::Full => "This page shows the full set.",
    };
    let _ = writeln!(text, "{length}\n");
    let _ = writeln!(text, "**{}**\n", headline(&rows));
    summary(&mut text, families);
    inexpressible(&mut text, &rows);
    for family in families {
        tables(&mut text, family);
    }
    text
}

/// A part of the page. Its rows bear titles of their own, which are the headings.
#[derive(Clone, Debug)]
pub(crate) struct Family {
    /// What it is about, for a family without rows.
    pub title: &'static str,
    pub rows: Vec<Row>,
    /// Said where there is no row yet.
    pub without_rows: &'static str,
}

/// The verdict of the whole page.
pub(crate) fn headline(rows: &[&Row]) -> String {
    let count = |verdict: Verdict| rows.iter().filter(|row| row.verdict == verdict).count();
    let (agree, differ) = (count(Verdict::Agrees), count(Verdict::Differs));
    let apart = count(Verdict::NotExpressible);
    if differ == 0 {
        format!("GREEN: all {agree} values agree; {apart} are not expressible.")
    } else {
        format!("RED: {differ} values DIFFER, {agree} agree; {apart} are not expressible.")
    }
}

const HEAD: &str = "\
# Validation: published values beside ours

This page is written by the tests (`cargo test -p linewake-tests --test theory`), from the same runs that are compared;
CI fails when a value stops agreeing, and when the page is not what the runs give. The full set, with longer runs, is
run by

    LINEWAKE_THEORY=full cargo test -p linewake-tests --test theory -- --nocapture

and writes its page into the target folder; `LINEWAKE_WRITE_PAGE=1` with the short set writes this page.

How to read it:

- Lines are model files of generic machines, read by the program's own reader and run by its engine; no code of the
  engine is special to these tests.
- *ours* is a mean over independent replications with its 95 % interval (Student's t). *errors* is the difference over the
  combined standard error of ours and the reference. For throughput the standard error comes from the exact variance
  rate of the output where the table gives it.
- A simulated value agrees when it lies within the tolerance of the reference table and within four standard errors: for
  some 330 values an error probability of about 3 % for the whole family. A value past three is run once more with the
  next seed and four times the length; both are shown.
- Families I to N are not simulated lines: their tolerance is their own bound, and where chance has a part the note or the
  tolerance gives the probability of missing it by chance alone.
- Run lengths stand behind each model: replications x time units after a warm-up. Seeds are fixed.
- A source says whether a figure was read or is from memory. \"computed\" values are exact solutions of a finite Markov
  chain, closed forms, or Monte-Carlo references with their half-width.

";

fn summary(text: &mut String, families: &[Family]) {
    text.push_str(
        "| family | values | agree | differ | not expressible | largest difference in standard errors |\n",
    );
    text.push_str("| --- | --- | --- | --- | --- | --- |\n");
    for family in families {
        for (title, rows) in parts(family) {
            let count = |verdict: Verdict| rows.iter().filter(|row| row.verdict == verdict).count();
            let largest = largest(&rows).map_or_else(String::new, |row| {
                format!("{} ({} {})", errors(row.standardised), row.id, row.quantity)
            });
            let _ = writeln!(
                text,
                "| {title} | {} | {} | {} | {} | {largest} |",
                rows.len(),
                count(Verdict::Agrees),
                count(Verdict::Differs),
                count(Verdict::NotExpressible),
            );
        }
    }
    text.push('\n');
}

/// The rows of a family by their titles, in their order; the family itself where it has none.
fn parts(family: &Family) -> Vec<(&'static str, Vec<&Row>)> {
    let mut parts: Vec<(&'static str, Vec<&Row>)> = Vec::new();
    for row in &family.rows {
        match parts.iter_mut().find(|(title, _)| *title == row.family) {
            Some((_, rows)) => rows.push(row),
            None => parts.push((row.family, vec![row])),
        }
    }
    if parts.is_empty() {
        parts.push((family.title, Vec::new()));
    }
    parts
}

/// The row with the largest standardised difference.
pub(crate) fn largest<'r>(rows: &[&'r Row]) -> Option<&'r Row> {
    let size = |row: &&Row| row.standardised.map_or(0.0, f64::abs);
    rows.iter()
        .copied()
        .filter(|row| row.standardised.is_some())
        .max_by(|one, other| size(one).total_cmp(&size(other)))
}

fn inexpressible(text: &mut String, rows: &[&Row]) {
    let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
    for row in rows.iter().filter(|row| row.verdict == Verdict::NotExpressible) {
        let what = format!("{} {}", row.id, row.quantity);
        match reasons.iter_mut().find(|(why, _)| *why == row.note) {
            Some((_, values)) => values.push(what),
            None => reasons.push((&row.note, vec![what])),
        }
    }
    if reasons.is_empty() {
        return;
    }
    text.push_str("Not expressible, and not bent until it seems to be:\n\n");
    for (why, values) in reasons {
        let _ = writeln!(text, "- {}: {why}", values.join(", "));
    }
    text.push('\n');
}

fn tables(text: &mut String, family: &Family) {
    for (title, rows) in parts(family) {
        let _ = writeln!(text, "## {title}\n");
        if rows.is_empty() {
            let _ = writeln!(text, "{}\n", family.without_rows);
        }
        let mut last = None;
        for row in rows {
            let heading = Some((&row.id, &row.model));
            if heading != last {
                if last.is_some() {
                    text.push('\n');
                }
                let _ = writeln!(text, "**{}** {}\n", row.id, row.model);
                text.push_str(
                    "| quantity | published | ours | errors | tolerance | verdict | source | note |\n",
                );
                text.push_str("| --- | --- | --- | --- | --- | --- | --- | --- |\n");
                last = heading;
            }
            table_row(text, row);
        }
        if last.is_some() {
            text.push('\n');
        }
    }
}

fn table_row(text: &mut String, row: &Row) {
    let ours = if row.ours.is_nan() { String::new() } else { with_interval(row.ours, row.half_width) };
    let cells = [
        row.quantity.clone(),
        figure(row.published),
        ours,
        errors(row.standardised),
        row.tolerance.clone(),
        row.verdict.words().to_owned(),
        row.source.clone(),
        row.note.clone(),
    ];
    let cells: Vec<String> = cells.iter().map(|cell| cell.replace('|', "\\|")).collect();
    let _ = writeln!(text, "| {} |", cells.join(" | "));
}

/// A figure with seven digits, as the reference table has them.
pub(crate) fn figure(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let before_point = value.abs().log10().floor() as i32 + 1;
    if !(-4..=12).contains(&before_point) {
        return format!("{value:.6e}");
    }
    let decimals = usize::try_from(7 - before_point).unwrap_or(0);
    format!("{value:.decimals$}")
}

/// A mean and its interval, to the digits that mean something.
pub(crate) fn with_interval(mean: f64, half_width: Option<f64>) -> String {
    match half_width {
        Some(width) if width > 0.0 => {
            let decimals = usize::try_from(2 - (width.log10().floor() as i32 + 1)).unwrap_or(0).max(1);
            format!("{mean:.decimals$} ± {width:.decimals$}")
        }
        _ => figure(mean),
    }
}

/// A standardised difference.
pub(crate) fn errors(standardised: Option<f64>) -> String {
    standardised.map_or_else(String::new, |z| format!("{z:+.2}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(verdict: Verdict) -> Row {
        Row {
            id: "Z01".to_owned(),
            family: "Z. Made up",
            verdict,
            published: 1.0,
            ours: 1.25,
            ..Row::default()
        }
    }

    fn family(rows: Vec<Row>) -> Family {
        Family { title: "Z. Made up", rows, without_rows: "No rows yet." }
    }

    #[test]
    fn one_value_that_differs_turns_the_page_red() {
        let good = page(&[family(vec![row(Verdict::Agrees)])], RunSet::Short);
        assert!(good.contains("**GREEN: all 1 values agree") && !good.contains("DIFFERS"));
        let bad = page(&[family(vec![row(Verdict::Agrees), row(Verdict::Differs)])], RunSet::Short);
        assert!(bad.contains("**RED: 1 values DIFFER") && bad.contains("**DIFFERS**"));
    }

    #[test]
    fn a_family_without_rows_says_so() {
        assert!(page(&[family(Vec::new())], RunSet::Short).contains("## Z. Made up\n\nNo rows yet."));
    }

    #[test]
    fn figures_have_the_digits_that_mean_something() {
        assert_eq!(figure(0.666_666_7), "0.6666667");
        assert_eq!(figure(1123.533), "1123.533");
        assert_eq!(with_interval(0.666_512_3, Some(0.000_712)), "0.66651 ± 0.00071");
        assert_eq!(with_interval(46.2199, Some(0.0834)), "46.220 ± 0.083");
    }
}
