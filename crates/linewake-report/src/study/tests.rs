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
    assert!(found.answer.starts_with("Mend former: web tracking first"), "{}", found.answer);
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
