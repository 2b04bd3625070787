//! The results are true: published values of theory, standards and tables beside ours, and the page that shows them.

mod acceptance_runs;
mod broken_rules;
mod buffer_splits;
mod checks;
mod compare;
mod coverage;
mod fit_coverage;
mod free_checks;
mod identities;
mod kpi;
mod legal_metrology;
mod measured;
mod model_of;
mod observer;
mod page;
mod quantities;
mod recursion;
mod replications;
mod row;
mod samplers;
mod shared_luck;
mod simulated;
mod statistics;
mod vectors;
mod versus;

use linewake_tests::workspace_root;
use page::{Family, headline, page};
use row::{Row, RunSet, Verdict};

/// All families of the page. A new one is added here.
fn families(set: RunSet) -> Vec<Family> {
    let family = |title, rows| Family { title, rows, without_rows: "" };
    let simulated = simulated::rows(set);
    vec![
        family("Lines and queues", simulated.rows.clone()),
        family(free_checks::TITLE, free_checks::rows(&simulated, set)),
        family("S. Statistics", statistics::rows(set)),
        family("Vectors of statistics and KPI arithmetic", vectors::rows(set)),
        family("KPI arithmetic", kpi::rows(set)),
        family("Coverage of the intervals", coverage::rows(set)),
        family("Samplers", samplers::rows(set)),
        family("Common random numbers", shared_luck::rows(set)),
        family("Legal metrology", legal_metrology::rows(set)),
    ]
}

/// Every value of every family agrees, and docs/validation.md is what the runs give.
#[test]
fn the_results_agree_and_the_page_shows_it() {
    let set = RunSet::asked_for();
    let families = families(set);
    let text = page(&families, set);
    let written = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("validation.md");
    std::fs::write(&written, &text).unwrap();
    let rows: Vec<&Row> = families.iter().flat_map(|family| &family.rows).collect();
    let differing: Vec<&&Row> = rows.iter().filter(|row| row.verdict == Verdict::Differs).collect();
    assert!(differing.is_empty(), "{}, see {}\n{differing:#?}", headline(&rows), written.display());
    if set == RunSet::Full {
        return;
    }
    let committed = workspace_root().join("docs/validation.md");
    if std::env::var("LINEWAKE_WRITE_PAGE").is_ok_and(|word| word == "1") {
        std::fs::write(&committed, &text).unwrap();
    }
    assert!(
        std::fs::read_to_string(&committed).is_ok_and(|page| page == text),
        "docs/validation.md is not what the runs give; {} is. LINEWAKE_WRITE_PAGE=1 writes it.",
        written.display()
    );
}
