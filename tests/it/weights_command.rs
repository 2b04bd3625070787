//! `linewake weights` from the command line: what it leaves behind, tables of one's own, mistakes, and the line itself beside
//! its figures.

#![expect(clippy::print_stdout, reason = "the figures of the line beside those of the command")]

use linewake_cli::exit::Exit;
use linewake_engine::plan::RunPlan;
use linewake_log::event::{Detail, EventKind, Keep, PackStep};
use linewake_model::facts::{facts, pack_weight};
use linewake_stats::distribution::normal::normal_density;
use linewake_tests::command_line::{Answer, TestFolder, linewake};
use linewake_tests::{load_model, model_text, workspace_root};
use linewake_weights::feedback::hunting_gain;
use linewake_weights::packs::{Gate, Leaving, Packs};
use serde_json::Value;
use std::process::{Command, Stdio};

/// Path of a shipped model.
fn model(name: &str) -> String {
    workspace_root().join(format!("models/{name}.json")).display().to_string()
}

fn weights(model: &str, out: &str, more: &[&str]) -> Answer {
    let mut words = vec!["weights", model, "--out", out, "--tests", "200"];
    words.extend(more);
    linewake(&words)
}

fn results(answer: &Answer) -> Value {
    assert_eq!(answer.exit, Exit::Done, "{}", answer.err);
    serde_json::from_str(&answer.out).expect("the answer is JSON")
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

/// The first sentence of page and text names the target, the giveaway, and what a gram less of spread saves in a year; the
/// edition, what is from memory, and the caution are in page, text and JSON.
#[test]
fn the_page_answers_in_its_first_sentence() {
    let (folder, path) = (TestFolder::new(), model("alder-hill-mince"));
    let out = folder.of("results");
    let told = weights(&path, &out, &[]);
    assert_eq!(told.exit, Exit::Done, "{}", told.err);
    let again = weights(&path, &folder.of("again"), &["--json"]);
    let found = results(&again);
    let kept = std::fs::read_to_string(folder.path().join("results/results.json")).expect("results.json");
    assert!(kept == again.out, "the answer as JSON is results.json, and comes out the same again");
    assert_eq!(found["schema"], "linewake.weights/1");
    let smallest = &found["found"]["smallest"]["at"];
    let less = &found["found"]["less_spread"];
    let target = format!("The target weight is {:.1} g:", number(&smallest["target_g"]));
    let flat = told.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let first = flat.split("a year.").next().expect("a sentence");
    assert!(first.contains(&target), "{first}");
    assert!(first.contains(&format!("{:.2} g a pack", number(&smallest["giveaway_g"]))), "{first}");
    assert!(first.contains("one gram less of spread would save EUR"), "{first}");
    // Packs x grams x price, by hand from the other figures.
    let (trade, saves) = (&found["found"]["trade"], number(&less["saves_g"]));
    let packs = number(&trade["packs_per_shift"]) * number(&trade["shifts_per_year"]);
    let money = saves / 1000.0 * packs * number(&trade["product_per_kg"]);
    assert!((number(&less["saves_money_per_year"]) / money - 1.0).abs() < 1e-9 && money > 0.0);
    let page = std::fs::read_to_string(folder.path().join("results/report.html")).expect("a page");
    assert!(page.contains(&target.replace(" g:", "\u{a0}g:")), "the page has the sentence");
    for words in ["Directive 76/211/EEC", "from memory", "Local law governs"] {
        assert!(page.contains(words) && again.out.contains(words.split('/').next().unwrap()), "{words}");
        assert!(flat.contains(words), "{words} is in the text");
    }
    assert_eq!(found["rests_on_values_from_memory"], true);
    let files = folder.files();
    for file in [
        "tables/targets.csv",
        "tables/curve.csv",
        "tables/changes.csv",
        "tables/gains.csv",
        "charts/hunting.svg",
    ] {
        assert!(files.contains(&format!("results/{file}")), "{file} is due: {files:?}");
    }
}

/// A user's tables take the place of those that come with the program, and the results name their edition; a file that makes
/// no table is turned down with its place.
#[test]
fn a_users_tables_take_the_place_of_the_built_in_ones() {
    let (folder, path) = (TestFolder::new(), model("tern-quay-fish"));
    let printed = linewake(&["weights", "--print-regime", "eu-76-211"]);
    assert_eq!(printed.exit, Exit::Done);
    let own = printed
        .out
        .replace(
            "Directive 76/211/EEC as consolidated, with the reference test of UK SI 2006/659",
            "Own edition of 2031",
        )
        .replace("\"id\": \"eu-76-211\"", "\"id\": \"own\"")
        .replace("\"up_to_g\": 200, \"percent\": 4.5", "\"up_to_g\": 200, \"percent\": 5");
    let file = folder.of("own.json");
    std::fs::write(&file, &own).expect("a file");
    let lot = ["--json", "--lot", "4000", "--nominal", "180 g", "--regime"];
    let with = |regime: &str| {
        let words: Vec<&str> = lot.iter().copied().chain([regime]).collect();
        results(&weights(&path, &folder.of("out"), &words))
    };
    let (theirs, ours) = (with(&file), with("eu-76-211"));
    assert_eq!(theirs["found"]["regime"]["edition"], "Own edition of 2031");
    assert!((number(&theirs["found"]["limits"]["tolerable_g"]) - 9.0).abs() < 1e-9);
    assert!((number(&ours["found"]["limits"]["tolerable_g"]) - 8.1).abs() < 1e-9);

    std::fs::write(&file, own.replace("\"percent\": 5", "\"percent\": 500")).expect("a file");
    let answer =
        weights(&path, &folder.of("out"), &["--regime", &file, "--lot", "4000", "--nominal", "180 g"]);
    assert_eq!(answer.exit, Exit::Invalid);
    assert!(answer.err.contains("own.json: tables, tne, row 3"), "{}", answer.err);
}

/// Every regime with the reference line; meat and poultry of the handbook; a label in pounds is looked up in pounds.
#[test]
fn regimes_are_chosen_by_name() {
    let (folder, path) = (TestFolder::new(), model("alder-hill-mince"));
    let (out, tries) = (folder.of("out"), ["--json", "--try-sd", "3 g"]);
    let with = |more: &[&str]| {
        let words: Vec<&str> = tries.iter().chain(more).copied().collect();
        results(&weights(&path, &out, &words))["found"].clone()
    };
    let meat = with(&["--regime", "nist-hb133", "--table", "usda", "--plan", "category-b"]);
    // 1 oz from 7 oz to 3 lb (from memory).
    assert!((number(&meat["limits"]["tolerable_g"]) - 28.3).abs() < 1e-9);
    assert!(meat["limits"]["t2_g"].is_null() && meat["regime"]["edition"].as_str().unwrap().contains("2026"));
    // The mean of a sample must reach the label: nearly always only with a target above it.
    assert!(number(&meat["smallest"]["at"]["target_g"]) > 400.5);
    assert!(number(&meat["smallest"]["at"]["lot"]["probability"]) >= 0.99);
    let pound = with(&["--regime", "nist-hb133", "--nominal", "0.88 lb"]);
    assert!((number(&pound["limits"]["tolerable_g"]) - 18.1).abs() < 1e-9, "{}", pound["limits"]);
    let least = with(&["--regime", "minimum-weight", "--rejected", "3%"]);
    assert!(number(&least["smallest"]["at"]["below_t1"]) <= 1e-4 && least["smallest"]["at"]["lot"].is_null());
    assert!(number(&least["smallest"]["at"]["target_g"]) > 412.0);
    for regime in ["oiml-r87", "nz-aqs"] {
        assert_eq!(with(&["--regime", regime])["regime"]["id"], regime);
    }
}

/// What is not known is said, asked for, or left out; nothing is made up.
#[test]
fn what_the_model_does_not_tell_is_asked_for() {
    let (folder, fish) = (TestFolder::new(), model("tern-quay-fish"));
    let out = folder.of("out");
    let missing = weights(&fish, &out, &[]);
    assert_eq!(missing.exit, Exit::Usage);
    assert!(missing.err.contains("--nominal"), "{}", missing.err);
    assert!(weights(&fish, &out, &["--nominal", "180 g"]).err.contains("--lot"));
    let known = ["--nominal", "180 g", "--lot", "1 h"];
    let with = |more: &[&str]| weights(&fish, &out, &known.iter().chain(more).copied().collect::<Vec<_>>());
    let plain = with(&[]);
    assert_eq!(plain.exit, Exit::Done, "{}", plain.err);
    assert!(
        !plain.out.contains("giveaway a year") && plain.out.contains("no money is shown"),
        "{}",
        plain.out
    );
    assert!(with(&["--price-per-kg", "9"]).err.contains("--currency"));
    let priced =
        results(&with(&["--price-per-kg", "9", "--currency", "CHF", "--shifts-per-year", "200", "--json"]));
    assert_eq!(priced["found"]["trade"]["currency"], "CHF");
    assert!(number(&priced["found"]["smallest"]["at"]["giveaway_money_per_year"]).is_finite());

    let mince = model("alder-hill-mince");
    for (more, exit, words) in [
        (&["--regime", "eu-1907"][..], Exit::Usage, "is no regime"),
        (&["--table", "usda"], Exit::Invalid, "the tables are tne"),
        (&["--plan", "triple"], Exit::Invalid, "double, single, destructive"),
        (&["--moisture", "100%"], Exit::Invalid, "allowance"),
        (&["--rejected", "0%"], Exit::Invalid, "no target"),
        (&["--try-sd", "3"], Exit::Usage, "unit"),
        (&["--lot", "0"], Exit::Usage, "at least one pack"),
        (&["--regime", "minimum-weight", "--lot-passes", "90%"], Exit::Invalid, "no test of lots"),
    ] {
        let answer = weights(&mince, &out, more);
        assert_eq!(answer.exit, exit, "{more:?}: {}", answer.err);
        assert!(answer.err.contains(words), "{more:?}: {}", answer.err);
    }
    let answer = weights(&model("alder-hill-mince-feedback"), &out, &["--every", "20"]);
    assert!(answer.exit == Exit::Usage && answer.err.contains("every 50 packs"), "{}", answer.err);
    let generic = weights(&model("merrow-three-machines"), &out, &known);
    assert!(generic.exit == Exit::Invalid && generic.err.contains("no portioner"), "{}", generic.err);
}

/// The feedback of the model is studied as it is, for a pack: two portions with a gain of 0.15 each are a gain of 0.3. One that
/// hunts is said to hunt.
#[test]
fn the_feedback_of_a_model_is_that_of_its_packs() {
    let folder = TestFolder::new();
    let out = folder.of("out");
    let two = results(&weights(&model("low-sallow-burgers"), &out, &["--json", "--try-sd", "2 g"]));
    let study = &two["found"]["feedback"];
    assert!((number(&study["gain"]) - 0.3).abs() < 1e-12 && study["modelled"] == true);
    assert!((number(&two["found"]["spread"]["within_g"]) - 1.6 * 2.0_f64.sqrt()).abs() < 1e-9);
    let hunting = weights(&model("alder-hill-mince-feedback"), &out, &["--try-sd", "3 g"]);
    assert_eq!(hunting.exit, Exit::Done, "{}", hunting.err);
    assert!(hunting.out.contains("hunts"), "{}", hunting.out);
    let swinging = std::fs::read_to_string(folder.path().join("out/results.json")).expect("results.json");
    let swinging: Value = serde_json::from_str(&swinging).expect("JSON");
    let spread = &swinging["found"]["spread"];
    assert!(number(&spread["sd_g"]) > number(&spread["without_feedback_g"]) + 0.5, "{spread}");
}

/// The gain at which a loop hunts is worked out for `linewake check` from the corrections alone, and for `linewake weights`
/// pack by pack: both say the same for the loops of the shipped models and for others, within 2 % (dead times between two
/// whole corrections are rounded to packs in one of them).
#[test]
fn both_ways_to_the_hunting_gain_agree() {
    for name in ["alder-hill-mince-feedback", "low-sallow-burgers"] {
        for every in [17_u32, 25, 50, 80, 120, 400] {
            let text = model_text(name).replace("\"every_packs\": 50", "\"every_packs\": 80");
            let line = linewake_model::parse(
                &text.replace("\"every_packs\": 80", &format!("\"every_packs\": {every}")),
            )
            .expect("the model is right")
            .line;
            let checked = facts(&line).feedback.expect("has feedback");
            let dead =
                pack_weight(&line).and_then(|weight| weight.weigher).expect("has a weigher").dead_time_packs;
            assert!((dead - checked.dead_time_packs).abs() < 1e-9);
            let followed = hunting_gain(u64::from(every), dead.round() as u64).expect("a loop");
            let ratio = checked.largest_gain / followed;
            assert!((ratio - 1.0).abs() < 0.02, "{name}, every {every}: {} {followed}", checked.largest_gain);
        }
    }
}

/// Twelve shifts of the reference line, with its real checkweigher in the engine, beside the figures of the command: giveaway
/// of the packs that pass the weigher, and the share that it rejects.
///
/// Packs of a batch share its shift, so the error is that of the batches: for the mean sd_batch^2 / batches + sd^2 / packs, for
/// the share of rejects the variance of the batches' own shares (integrated over the shift) / batches + p / packs. Four
/// standard errors: an error probability of 6e-5 each; the seed is fixed.
#[test]
fn the_line_itself_gives_away_and_rejects_what_the_command_says() {
    let line = load_model("alder-hill-mince");
    let station = |id: &str| u16::try_from(line.station(id).expect("is there")).expect("few stations");
    let (weigher, next, former) = (station("checkweigher"), station("metal detector"), station("former"));
    let (mut packs, mut batches, mut sum_g, mut passed, mut low) = (0_u64, 0_u64, 0.0, 0_u64, 0_u64);
    for replication in 0..12 {
        let mut keep = Keep::new(Detail::Packs);
        linewake_engine::run(&line, &RunPlan::shift(&line), 1, replication, &mut keep);
        let mut weight_of = std::collections::BTreeMap::new();
        for event in &keep.events {
            let EventKind::Pack { step, item, weight_ug, reason, .. } = event.kind else { continue };
            match step {
                PackStep::Tipped => batches += 1,
                PackStep::Cut if event.station == former => {
                    weight_of.insert(item, weight_ug as f64 / 1e6);
                }
                PackStep::Entered if event.station == weigher => packs += 1,
                PackStep::Entered if event.station == next => {
                    passed += 1;
                    sum_g += weight_of[&item];
                }
                PackStep::Rejected if event.station == weigher => {
                    low += u64::from(line.reason(reason) == "underweight");
                }
                _ => {}
            }
        }
    }
    assert!(packs > 300_000 && batches > 300, "{packs} {batches}");
    let folder = TestFolder::new();
    let answer = weights(&model("alder-hill-mince"), &folder.of("out"), &["--json", "--try-sd", "3 g"]);
    let as_set = &results(&answer)["found"]["as_set"];

    let giveaway_g = sum_g / passed as f64 - 400.0;
    let error_g = (1.5 * 1.5 / batches as f64 + 16.0 / packs as f64).sqrt();
    let expected_g = number(&as_set["giveaway_g"]);
    assert!((giveaway_g - expected_g).abs() < 4.0 * error_g, "{giveaway_g} {expected_g} +/- {error_g}");

    let gate = Gate { sd_g: 0.8, bias_g: 0.0, low_g: Some(393.0), high_g: Some(425.0) };
    let of_batch = |z: f64| {
        let packs = Packs { mean_g: 405.0 + 1.5 * z, sd_within_g: 4.0, sd_between_g: 0.0 };
        Leaving::of(&packs, &gate).expect("packs leave").rejected_low
    };
    let mean_of = |value: &dyn Fn(f64) -> f64| {
        (-120..=120)
            .map(|step| f64::from(step) * 0.05)
            .map(|z| 0.05 * normal_density(z) * value(z))
            .sum::<f64>()
    };
    let share = mean_of(&of_batch);
    let variance = mean_of(&|z| of_batch(z) * of_batch(z)) - share * share;
    let expected = number(&as_set["rejected_low"]);
    assert!((share / expected - 1.0).abs() < 1e-6, "{share} {expected}");
    let error = (variance / batches as f64 + share / packs as f64).sqrt();
    let rejected = low as f64 / packs as f64;
    assert!((rejected - expected).abs() < 4.0 * error, "{rejected} {expected} +/- {error}");
    println!(
        "giveaway {giveaway_g:.3} g against {expected_g:.3} g, rejected {rejected:.5} against {expected:.5}"
    );
}

/// The examples that the help shows are typed as they stand, in a folder with the shipped models.
#[test]
fn examples_of_the_help_run() {
    let help = linewake(&["weights", "--help"]).out;
    let examples: Vec<&str> = help.lines().filter_map(|line| line.strip_prefix("  linewake ")).collect();
    assert!(examples.len() >= 4, "{help}");
    let folder = TestFolder::new();
    std::fs::create_dir(folder.path().join("models")).expect("a folder");
    for name in ["alder-hill-mince", "alder-hill-mince-drift"] {
        std::fs::copy(model(name), folder.path().join(format!("models/{name}.json")))
            .expect("a copy of the model");
    }
    for example in examples {
        let mut command = Command::new(env!("CARGO_BIN_EXE_linewake-under-test"));
        command.args(example.split_whitespace()).current_dir(folder.path()).stdin(Stdio::null());
        let ended = command.output().expect("the program starts");
        assert_eq!(ended.status.code(), Some(0), "{example}: {}", String::from_utf8_lossy(&ended.stderr));
    }
    assert!(folder.files().contains(&"linewake-out/alder-hill-mince-weights/report.html".to_owned()));
}
