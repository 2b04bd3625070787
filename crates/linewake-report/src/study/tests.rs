//! The pages of the studies from invented results.

use super::example;
use crate::canvas::tests::assert_texts_are_clear;

#[test]
fn no_text_of_any_figure_overlaps_or_is_cut_off() {
    for rows in [0, 1, 2, 3, 12, 30, 60] {
        for report in example::all(rows).into_iter().chain([example::report(example::factorial(rows))]) {
            for figure in super::findings(&report).parts.iter().flat_map(|part| &part.figures) {
                assert_texts_are_clear(&format!("{} wide, {rows} rows", figure.name), &figure.wide);
                assert_texts_are_clear(&format!("{} narrow, {rows} rows", figure.name), &figure.narrow);
            }
        }
    }
}

#[test]
fn every_page_answers_first_and_needs_nothing_else() {
    for report in example::all(12) {
        let page = crate::study_html(&report);
        let kind = report.result.head().kind.word();
        let answer = super::findings(&report).answer;
        assert!(
            answer.ends_with('.') && answer.bytes().any(|byte| byte.is_ascii_digit()),
            "{kind}: {answer}"
        );
        for needed in ["Cautions", "seed 7", &report.command, "invented source", "A note of the study."] {
            assert!(page.contains(needed), "{kind}: {needed}");
        }
        for forbidden in ["<script", "http://", "https://", "NaN", "inf "] {
            assert!(
                !page.replace("http://www.w3.org/2000/svg", "").contains(forbidden),
                "{kind}: {forbidden}"
            );
        }
        assert!(page.contains("aria-labelledby") && page.contains("class=\"headline\""));
        let text = crate::study_text(&report);
        assert!(text.contains(&report.command) && !text.contains('\u{a0}'), "{kind}");
    }
}

#[test]
fn files_have_their_own_names_and_rows_as_wide_as_their_heading() {
    for report in example::all(12) {
        let (charts, tables) = (crate::study_charts(&report), crate::study_tables(&report));
        let mut names: Vec<&String> = charts.iter().chain(&tables).map(|(name, _)| name).collect();
        let all = names.len();
        names.sort_unstable();
        names.dedup();
        assert!(all > 0 && names.len() == all, "{names:?}");
        for part in &super::findings(&report).parts {
            for table in &part.tables {
                assert!(
                    table.rows.iter().all(|row| row.cells.len() == table.columns.len()),
                    "{}",
                    table.name
                );
            }
        }
    }
}

#[test]
fn hostile_names_are_escaped_and_stay_clear() {
    let mut losses = example::losses(3);
    for row in &mut losses.rows {
        row.station = "<script>alert(1)</script> a name that goes on and on \u{5bff}\u{53f8}".to_owned();
        row.reason = "w".repeat(90);
    }
    let report = example::report(losses);
    assert!(!crate::study_html(&report).contains("<script"));
    for figure in super::findings(&report).parts.iter().flat_map(|part| &part.figures) {
        assert_texts_are_clear(&figure.name, &figure.wide);
        assert_texts_are_clear(&figure.name, &figure.narrow);
    }
}

/// The two orders differ in the example, and the page says which cause the log puts first.
#[test]
fn the_answer_to_losses_names_both_orders() {
    let found = super::findings(&example::report(example::losses(12)));
    assert!(found.answer.starts_with("Most is lost to former: web tracking"), "{}", found.answer);
    assert!(
        found.answer.contains("The log puts case-packer-with-a-long-id: false rejects first"),
        "{}",
        found.answer
    );
    let mut none = example::losses(1);
    none.rows[0].gain_packs = example::mean(20.0, 60.0);
    let found = super::findings(&example::report(none));
    assert!(found.answer.starts_with("No single cause can be told from none"), "{}", found.answer);
}

/// What an acceptance page must say: both values, what is not to be promised, and who governs.
#[test]
fn acceptance_sets_drawn_beside_exact_and_has_a_protocol_to_sign() {
    let mut found = example::acceptance(12);
    found.rules.push("a rule <b>that</b> the parties agreed".to_owned());
    let page = crate::study_html(&example::report(found.clone()));
    for needed in [
        "with inputs taken as exact it would be",
        "which is not to be promised",
        "EN 415-11 govern",
        "For the buyer: name, signature",
        "A rule &lt;b&gt;that&lt;/b&gt; the parties agreed.",
    ] {
        assert!(page.contains(needed), "{needed}");
    }
    // Long rules go on an annex, so that the protocol stays on one page.
    found.rules = vec!["a rule of many words ".repeat(20); 9];
    assert!(crate::study_html(&example::report(found.clone())).contains("Further rules, 8 of them"));
    // Without stated uncertainty nothing was drawn, and the page says so.
    found.uncertain_inputs.clear();
    let findings = super::findings(&example::report(found));
    assert!(!findings.answer.contains("as exact") && findings.beside[0].contains("states no uncertainty"));
}

#[test]
fn a_comparison_without_a_clear_winner_names_none() {
    let mut found = example::comparison(3);
    found.best = None;
    let answer = super::findings(&example::report(found)).answer;
    assert!(answer.starts_with("None is better than every other"), "{answer}");
}

/// Allowances and guaranteed packs are said to make up the design, so the sum row must be there.
#[test]
fn scope_tables_end_in_their_sum() {
    let tables = crate::study_tables(&example::report(example::scope(4)));
    let (_, csv) = &tables[0];
    let last = csv.lines().last().unwrap_or_default();
    assert!(last.starts_with("all together,,"), "{last}");
    let field = |line: &str| line.split(',').rev().nth(5).and_then(|it| it.parse::<f64>().ok());
    let sum: f64 = example::scope(4).suppliers.iter().map(|row| row.allowance_packs).sum();
    assert!(field(last).is_some_and(|shown| (shown - sum).abs() < 1e-9), "{last}");
}

#[test]
fn an_undecided_split_does_not_claim_its_promise() {
    let mut found = example::split(6);
    found.is_decided = false;
    let found = super::findings(&example::report(found));
    assert!(found.answer.contains("did not suffice") && !found.answer.contains("promised probability"));
    assert!(found.beside[0].contains("does not hold"));
}
