//! The page, its figures and its tables from invented results.

use crate::canvas::tests::assert_texts_are_clear;
use crate::example;
use crate::figure;
use crate::input::RunReport;
use linewake_kpi::convention::{Conventions, MinorStops, PlannedStops};
use linewake_kpi::summary::{Mean, StartKind, Summary};

fn figures(report: &RunReport) -> Vec<figure::Figure> {
    let mut figures =
        vec![super::sketch(report), figure::shifts(&report.summaries), figure::oee(&report.summaries)];
    for summary in &report.summaries {
        figures.extend(figure::of_summary(summary));
        figures.extend(figure::stops_by_station(summary).into_iter().map(|(_, figure)| figure));
    }
    figures
}

fn assert_clear(report: &RunReport) {
    for figure in figures(report) {
        assert_texts_are_clear(&format!("{} wide", figure.name), &figure.wide);
        assert_texts_are_clear(&format!("{} narrow", figure.name), &figure.narrow);
    }
}

/// Nothing was made: no packs, no P, no Q, one shift.
fn nothing_made() -> RunReport {
    let mut report = example::report(3);
    for summary in &mut report.summaries {
        let none = Mean { mean: 0.0, half_width: None, n: 1 };
        summary.good_packs = none;
        summary.good_packs_range = None;
        summary.oee = none;
        summary.oee_range = None;
        summary.availability = none;
        summary.performance = None;
        summary.availability_iso = none;
        summary.performance_iso = None;
        summary.quality = None;
        summary.quality_without_in_line = None;
        summary.packs.total_packs = none;
        summary.ledger.good_packs = none;
        summary.ledger.rejects.clear();
        summary.packs.escaped.clear();
        summary.shifts.truncate(1);
        for shift in &mut summary.shifts {
            (shift.good_packs, shift.total_packs, shift.oee) = (0, 0, 0.0);
            (shift.performance, shift.performance_iso, shift.quality) = (None, None, None);
        }
        for hour in &mut summary.output {
            (hour.good_packs, hour.range) = (none, None);
        }
        summary.balance = None;
    }
    report
}

#[test]
fn no_text_of_any_figure_overlaps_or_is_cut_off() {
    for reasons in [0, 1, 3, 12, 30] {
        assert_clear(&example::report(reasons));
    }
    assert_clear(&nothing_made());
}

#[test]
fn no_text_overlaps_with_long_ids_and_long_runs() {
    let mut report = example::report(30);
    let long = "eine-sehr-lange-Bezeichnung <b>for one station</b> that goes on and on \u{5bff}\u{53f8}";
    for summary in &mut report.summaries {
        summary.constraint = long.to_owned();
        for station in &mut summary.stations {
            station.id = format!("{long} {}", station.id);
        }
        for cause in &mut summary.ledger.causes {
            cause.station = long.to_owned();
        }
        for reject in &mut summary.ledger.rejects {
            reject.station = long.to_owned();
            reject.reason = "w".repeat(90);
        }
        if let Some(timeline) = &mut summary.timeline {
            timeline.stations.iter_mut().for_each(|it| it.station = format!("{long} {}", it.station));
            timeline.contents.iter_mut().for_each(|it| it.station = "w".repeat(90));
            if let Some(wake) = &mut timeline.wake {
                (wake.station, wake.reason) = (long.to_owned(), "w".repeat(90));
            }
        }
        for row in &mut summary.pareto {
            row.station = long.to_owned();
            row.reason = "w".repeat(90);
        }
        let hour = summary.output[0];
        summary.output = (0..200)
            .map(|place| linewake_kpi::summary::HourSummary { start_s: 3600.0 * f64::from(place), ..hour })
            .collect();
        let shift = summary.shifts[3];
        summary.shifts = vec![shift; 2000];
    }
    assert_clear(&report);
}

#[test]
fn no_text_overlaps_when_the_line_beats_its_design() {
    let mut report = example::report(3);
    for summary in &mut report.summaries {
        summary.ledger.slow_cycles_packs.mean = -9000.0;
        summary.packs.total_packs.mean = 60_000.0;
        summary.good_packs.mean = 59_000.0;
        summary.performance = Some(Mean { mean: 1.2, half_width: Some(0.001), n: 30 });
        summary.quality = Some(Mean { mean: 1.001, half_width: Some(0.001), n: 30 });
    }
    assert_clear(&report);
    let page = crate::html(&report);
    assert!(page.contains("It is not clipped."));
    assert!(page.contains("more packs left the line than were cut"));
}

#[test]
fn page_stands_by_itself() {
    for reasons in [3, 30] {
        let page = crate::html(&example::report(reasons));
        assert!(page.starts_with("<!DOCTYPE html><html lang=\"en\">"));
        assert!(!page.contains("<script") && !page.contains("style=\"") && !page.contains("onload"));
        for attribute in ["src=", "@import", "url(http", "<link rel=\"stylesheet\""] {
            assert!(!page.contains(attribute), "{attribute}");
        }
        // The only addresses are the names of the SVG vocabulary, which are never fetched.
        assert!(!page.replace("http://www.w3.org/2000/svg", "").contains("://"));
    }
}

#[test]
fn ids_are_unique_and_links_lead_somewhere() {
    let page = crate::html(&example::report(30));
    let values = |attribute: &str| -> Vec<String> {
        let pieces = page.split(attribute).skip(1);
        pieces.filter_map(|rest| rest.split('"').next()).map(str::to_owned).collect()
    };
    let mut ids = values(" id=\"");
    for href in values("href=\"#") {
        assert!(ids.contains(&href), "#{href}");
    }
    for labels in values("aria-labelledby=\"") {
        for label in labels.split(' ') {
            assert!(ids.iter().any(|id| id == label), "{label}");
        }
    }
    for fill in page.split("fill=\"url(#").skip(1).filter_map(|rest| rest.split(')').next()) {
        assert!(ids.iter().any(|id| id == fill), "{fill}");
    }
    let all = ids.len();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), all);
}

#[test]
fn hostile_words_stay_words() {
    let mut report = example::report(3);
    let hostile = "</style></title><script>alert(1)</script>\"'&";
    report.model.name = hostile.to_owned();
    report.model.about = hostile.to_owned();
    report.model.file = hostile.to_owned();
    report.command = hostile.to_owned();
    report.assumptions[0].title = hostile.to_owned();
    report.assumptions[0].rows[0].value = hostile.to_owned();
    report.figures_without_simulation[0].name = hostile.to_owned();
    for summary in &mut report.summaries {
        summary.constraint = hostile.to_owned();
        summary.stations[0].id = hostile.to_owned();
        summary.pareto[0].reason = hostile.to_owned();
        summary.ledger.causes[0].station = hostile.to_owned();
        summary.ledger.rejects[0].reason = hostile.to_owned();
        summary.doubts.push(hostile.to_owned());
    }
    let page = crate::html(&report);
    assert!(!page.contains("<script") && page.matches("</style>").count() == 1);
    for (name, svg) in crate::charts(&report) {
        assert!(!svg.contains("<script") && svg.starts_with("<svg xmlns="), "{name}");
    }
}

#[test]
fn headline_tells_both_starts_and_keeps_mean_and_range_apart() {
    let report = example::report(12);
    let page = crate::html(&report);
    let sentence = super::sentence(&report.summaries);
    assert!(page.contains(&sentence), "{sentence}");
    assert!(sentence.contains("starts with new rolls") && sentence.contains("of the long run"));
    assert_eq!(sentence.matches("good packs at an OEE of").count(), 2);
    let range = super::range_sentence(&report.summaries);
    assert!(range.contains("interval of the mean") && range.contains("10th to 90th percentile"));
    assert!(page.contains("short stop limit of 300\u{a0}s"));
    for part in ["no claim", "qualified people and local codes", "governed by the contract"] {
        assert!(page.contains(part), "{part}");
    }
}

/// Each convention is named on the page and in the text, its split leads, and the other split stays.
#[test]
fn conventions_are_named_and_both_splits_stay_visible() {
    let chosen = |minor_stops, planned_stops| {
        let mut report = example::report(3);
        for summary in &mut report.summaries {
            summary.conventions = Conventions { minor_stops, planned_stops };
        }
        report
    };
    let cases = [
        (MinorStops::Performance, ["A,", "P,", "A_iso,", "P_iso,"], "Minor stops are a performance loss"),
        (MinorStops::Availability, ["A_iso,", "P_iso,", "A,", "P,"], "Minor stops are an availability loss"),
    ];
    for (minor_stops, order, words) in cases {
        let report = chosen(minor_stops, PlannedStops::AsModelled);
        let [page, text] = [crate::html(&report), crate::text(&report)];
        assert!(page.contains(words) && text.contains(words), "{text}");
        let starts = |line: &&str| order.iter().any(|symbol| line.starts_with(symbol));
        let lines: Vec<&str> = text.lines().filter(starts).collect();
        assert_eq!(lines.len(), 4, "{text}");
        assert!(lines.iter().zip(order).all(|(line, symbol)| line.starts_with(symbol)), "{lines:?}");
        let (_, chain) =
            crate::charts(&report).into_iter().find(|(name, _)| name == "chain-long-run.svg").unwrap();
        let symbol = order[0].trim_end_matches(',');
        let label = format!(">{symbol}");
        assert!(
            chain.split(&label).skip(1).any(|rest| rest.starts_with(char::is_whitespace)),
            "{symbol}: {chain}"
        );
    }
    for (planned_stops, words, name) in [
        (PlannedStops::AsModelled, "as the model says", "planned stops: as modelled"),
        (PlannedStops::In, "All planned stops are in planned production time", "planned stops: in"),
        (PlannedStops::Out, "are left out of planned", "planned stops: out"),
    ] {
        let report = chosen(MinorStops::Performance, planned_stops);
        assert!(crate::html(&report).contains(words) && crate::text(&report).contains(words), "{words}");
        let headline = crate::tables::headline(&report.summaries[1..]).csv();
        let named = |figure: &str| headline.lines().any(|it| it.contains(figure) && it.contains(name));
        assert!(named(",oee,") && named(",availability_iso,"), "{headline}");
    }
}

#[test]
fn nothing_made_is_told_and_never_a_number() {
    let report = nothing_made();
    let page = crate::html(&report);
    assert!(page.contains("P and Q are not defined there, and OEE is 0."));
    assert!(page.contains("No balance was drawn up"));
    let factors = crate::tables::factors(&report.summaries).text(99);
    let of_performance = factors.lines().find(|line| line.starts_with("P, performance")).unwrap();
    assert!(of_performance.trim_end().ends_with("none"), "{of_performance}");
    for text in [page, crate::text(&report)] {
        assert!(!text.contains("NaN") && !text.contains("inf ") && !text.contains(">inf<"));
    }
}

#[test]
fn a_missing_portion_is_not_hidden() {
    let mut report = example::report(3);
    if let Some(balance) = &mut report.summaries[1].balance {
        balance.came_in += 1;
    }
    assert!(crate::html(&report).contains("1 of them are not accounted for"));
    assert!(crate::text(&report).contains("1 not accounted for"));
    assert!(crate::html(&report).contains("This is a fault of the program"));
    report.summaries[1].start = StartKind::Logged;
    assert!(crate::html(&report).contains("The counts of the log do not agree with each other"));
}

#[test]
fn tail_is_one_row_of_the_figure_and_complete_in_the_table() {
    let report = example::report(30);
    let (_, stops) =
        crate::charts(&report).into_iter().find(|(name, _)| name == "stops-long-run.svg").unwrap();
    let others = report.summaries[1].pareto.len() - 14;
    assert!(stops.contains(&format!("{others} other reasons")));
    let (_, csv) = crate::tables(&report).into_iter().find(|(name, _)| name == "stops-long-run.csv").unwrap();
    assert_eq!(csv.lines().count(), 1 + report.summaries[1].pareto.len());
}

/// The rows between design and good of the CSV ledger add up to design less good.
#[test]
fn ledger_rows_add_up() {
    for (start, name) in [(StartKind::NewRolls, "new-rolls"), (StartKind::LongRun, "long-run")] {
        let report = example::report(30);
        let csv = crate::tables(&report);
        let (_, csv) = csv.iter().find(|(file, _)| *file == format!("ledger-{name}.csv")).unwrap();
        let packs = |line: &str| line.split(',').nth(4).unwrap().parse::<f64>().unwrap();
        let lines: Vec<&str> = csv.lines().skip(1).collect();
        let (first, last) = (lines[0], lines[lines.len() - 1]);
        let losses: f64 = lines[1..lines.len() - 1].iter().map(|line| packs(line)).sum();
        assert!(first.starts_with("design,") && last.starts_with("good,"), "{start:?}");
        assert!((packs(first) - losses - packs(last)).abs() < 1e-6);
    }
}

#[test]
fn files_have_plain_unique_names() {
    let report = example::report(12);
    let files = crate::charts(&report).into_iter().chain(crate::tables(&report));
    let mut names: Vec<String> = files.map(|(name, _)| name).collect();
    let plain = |byte: u8| byte.is_ascii_lowercase() || byte == b'-' || byte == b'.';
    assert!(names.iter().all(|name| name.bytes().all(plain)));
    let all = names.len();
    names.sort();
    names.dedup();
    assert_eq!(names.len(), all);
}

/// Nothing has to be measured off a figure.
#[test]
fn every_figure_has_its_numbers_as_csv() {
    let report = example::report(12);
    let tables: Vec<String> = crate::tables(&report).into_iter().map(|(name, _)| name).collect();
    let charts = crate::charts(&report);
    assert!(charts.len() > 20);
    for (name, _) in charts {
        let (stem, _) = name.rsplit_once('.').unwrap();
        let behind = match stem {
            "line" => continue, // the assumptions, drawn
            "oee" | "shifts" => vec!["shifts-new-rolls".to_owned(), "shifts-long-run".to_owned()],
            _ => match stem.split_once('-').unwrap() {
                ("chain", _) => vec!["headline".to_owned()],
                ("losses", start) => vec![format!("ledger-{start}")],
                ("contents", start) => ["contents", "contents-over-time", "content-times"]
                    .map(|it| format!("{it}-{start}"))
                    .to_vec(),
                _ => vec![stem.to_owned()],
            },
        };
        assert!(behind.iter().all(|table| tables.contains(&format!("{table}.csv"))), "{name}: {behind:?}");
    }
}

/// A figure has a name and says in words what it shows, to whoever does not see it; and no more marks than can be seen.
#[test]
fn figures_are_named_told_in_words_and_not_overdrawn() {
    for figure in [1, 3, 30].map(example::report).iter().flat_map(figures) {
        assert!(!figure.title.is_empty() && figure.caption.len() > 40, "{}", figure.name);
        for drawing in [&figure.wide, &figure.narrow] {
            assert!(drawing.svg.contains(" role=\"img\" aria-labelledby=\""), "{}", figure.name);
            let told = drawing.svg.split("<desc id=\"").nth(1).and_then(|rest| rest.split(['>', '<']).nth(1));
            assert!(told.is_some_and(|told| told.len() > 20), "{}: {told:?}", figure.name);
            assert!((1..=linewake_kpi::timeline::MOST_MARKS).contains(&drawing.marks), "{}", figure.name);
        }
    }
}

#[test]
fn the_page_of_figures_names_every_one() {
    let page = include_str!("../../../../docs/reference/figures.md");
    for (name, _) in crate::charts(&example::report(3)) {
        let stem = name.trim_end_matches(".svg").replace("new-rolls", "START").replace("long-run", "START");
        assert!(page.contains(&format!("\n| {stem} |")), "{stem}");
    }
}

/// The picture of a figure has two pixels for each of its own, in both directions.
#[test]
fn every_figure_becomes_a_png() {
    for (name, svg) in crate::charts(&example::report(3)) {
        let png = crate::png(&svg).unwrap();
        assert!(png.starts_with(b"\x89PNG\r\n\x1a\n"), "{name}");
        let pixels = |from: usize| f64::from(u32::from_be_bytes(png[from..from + 4].try_into().unwrap()));
        let length = |attribute: &str| {
            let rest = svg.split_once(&format!(" {attribute}=\"")).unwrap().1;
            rest.split('"').next().unwrap().parse::<f64>().unwrap()
        };
        assert!((pixels(16) - 2.0 * length("width")).abs() < 1.0, "{name}");
        assert!((pixels(20) - 2.0 * length("height")).abs() < 1.0, "{name}");
    }
}

/// One station of the Pareto is shown at a time; the first, all stations, is what a page shows at once and paper has.
#[test]
fn pareto_has_a_choice_by_station() {
    let page = crate::html(&example::report(30));
    let radios: Vec<&str> = page.split("<input type=\"radio\"").skip(1).collect();
    let stations = figure::stops_by_station(example::report(30).main()).len();
    assert_eq!(radios.len(), stations + 1);
    let checked: Vec<bool> =
        radios.iter().map(|it| it.split('>').next().unwrap().contains("checked")).collect();
    assert!(checked[0] && !checked[1..].contains(&true));
    assert!(radios[0].contains(">all stations</label><div class=\"chosen all\">"));
    // With one station there is nothing to choose.
    let mut one = example::report(12);
    one.summaries.iter_mut().for_each(|summary| summary.pareto.retain(|row| row.station == "former"));
    assert!(!crate::html(&one).contains("type=\"radio\""));
}

/// A line without a timeline, stops or contents has a report without those figures.
#[test]
fn figures_of_what_is_not_known_are_left_out() {
    let mut report = example::report(3);
    for summary in &mut report.summaries {
        summary.timeline = None;
    }
    // Distributions without the shift over time.
    assert_clear(&report);
    assert!(crate::charts(&report).iter().any(|(name, _)| name == "contents-long-run.svg"));
    for summary in &mut report.summaries {
        summary.stations.iter_mut().for_each(|station| station.machine = Default::default());
    }
    assert_clear(&report);
    let names: Vec<String> = crate::charts(&report).into_iter().map(|(name, _)| name).collect();
    for stem in ["bands", "wake", "contents", "stop-lengths", "between-stops"] {
        assert!(!names.iter().any(|name| name.starts_with(stem)), "{stem}");
    }
    assert!(!crate::html(&report).contains("One shift over time"));
}

#[test]
fn text_has_no_control_characters_and_fits() {
    let mut report = example::report(30);
    report.summaries[1].pareto[0].station = "\u{1b}[2Jformer".to_owned();
    let text = crate::text(&report);
    assert!(text.chars().all(|character| character == '\n' || !character.is_control()));
    assert!(text.is_ascii(), "{text}");
    assert!(text.contains("... and"));
}

#[test]
fn columns_of_every_row_match_the_headings() {
    let report = example::report(12);
    let summary: &Summary = report.main();
    let tables = [
        crate::tables::factors(&report.summaries),
        crate::tables::headline(&report.summaries[1..]),
        crate::tables::ledger(summary),
        crate::tables::stops(summary),
        crate::tables::rejects(summary),
        crate::tables::stations(summary),
        crate::tables::contents(summary),
        crate::tables::hours(summary),
        crate::tables::shifts(summary),
        crate::tables::balance(summary).unwrap(),
        crate::tables::machines(summary),
        crate::tables::waits(summary),
        crate::tables::stop_classes(summary),
        crate::tables::iso_line(summary),
        crate::tables::iso_machines(summary),
        crate::tables::isa_states(summary),
        crate::tables::bands(summary).unwrap(),
        crate::tables::wake(summary).unwrap(),
        crate::tables::contents_over_time(summary).unwrap(),
        crate::tables::content_times(summary).unwrap(),
        crate::tables::stop_lengths(summary).unwrap(),
        crate::tables::between_stops(summary).unwrap(),
        crate::tables::medians(summary),
    ];
    for table in tables {
        assert!(!table.rows.is_empty(), "{}", table.name);
        for row in &table.rows {
            assert_eq!(row.cells.len(), table.columns.len(), "{}", table.name);
        }
    }
}

/// States under other names are the same times: each row of ISA-TR88 names adds up to the shift.
#[test]
fn states_under_other_names_are_the_same_times() {
    let report = example::report(12);
    let table = crate::tables::isa_states(report.main());
    assert_eq!(table.rows.len(), 9, "{}", table.csv());
    for line in table.csv().lines().skip(1) {
        let sum: f64 = line.split(',').skip(1).map(|time| time.parse::<f64>().unwrap()).sum();
        assert!((sum - report.main().window_s).abs() < 1e-6, "{line}");
    }
}

#[test]
fn mean_times_carry_their_intervals() {
    let text = crate::tables::stop_classes(example::report(3).main()).text(99);
    assert!(text.contains("72.0 (57.6 to 83.3)") && text.contains("1.28 (at least 1.03)"), "{text}");
}

#[test]
fn dirty_rows_are_counted_listed_and_in_full_in_the_file() {
    let mut report = example::report(3);
    for (dirty, listed) in [(0, 0), (5, 5), (200, 60)] {
        report.logs = Some(example::logs(dirty));
        let page = crate::html(&report);
        assert_eq!(page.matches("begins where the other ends").count(), listed);
        assert_eq!(page.contains("None: every row was read as it stands."), dirty == 0);
        assert_eq!(page.contains("of 200 are listed"), dirty == 200);
        assert!(page.contains("breaks off in line 678") && page.contains("What needs logs at pack detail"));
        let files = crate::tables(&report);
        let (_, csv) = files.iter().find(|(name, _)| name == "dirty-rows.csv").unwrap();
        assert_eq!(csv.lines().count(), 1 + dirty);
    }
    assert!(!crate::html(&example::report(3)).contains("id=\"logs\""));
}

/// A report of a real line is an account of its log, not an estimate from a model.
#[test]
fn a_logged_report_does_not_call_itself_an_estimate() {
    let mut report = example::report(3);
    report.summaries.truncate(1);
    report.summaries[0].start = StartKind::Logged;
    report.logs = Some(example::logs(5));
    let page = crate::html(&report);
    assert!(page.contains("from its log") && page.contains("5 rows of the logs were repaired or left out"));
    for words in ["stimate", "the luck of the simulation", "what the model does not list", "random stream"] {
        assert!(!page.contains(words), "{words}");
    }
    assert!(crate::html(&example::report(3)).contains("An estimate, no claim and no warranty"));
}

/// More doubts than the sheet has room for are told under the cautions, all of them.
#[test]
fn no_doubt_is_dropped_from_the_page() {
    let mut report = example::report(3);
    report.summaries[1].doubts = (0..9).map(|place| format!("doubt number {place}")).collect();
    let page = crate::html(&report);
    assert!(page.contains("7 more under"));
    let cautions = page.split("id=\"cautions\"").nth(1).unwrap();
    assert!((0..9).all(|place| cautions.contains(&format!("doubt number {place}"))));
}
