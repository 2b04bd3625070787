//! The pages on stop lists say what the reader does: keys of the mapping, kinds of dirt, and the example's numbers.

use crate::known_logs::{near, results};
use linewake_cli::exit::Exit;
use linewake_kpi::convention::Conventions;
use linewake_kpi::result::CauseKind;
use linewake_log::stop_list::{self, DirtKind, Mapping, StopList};
use linewake_tests::command_line::{TestFolder, linewake};
use linewake_tests::workspace_root;
use serde_json::Value;
use std::collections::BTreeMap;

fn page(name: &str) -> String {
    let path = workspace_root().join("docs").join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path:?}: {error}"))
}

/// Rows of the tables below the line that begins so, up to the next heading.
fn rows<'p>(page: &'p str, above: &str) -> Vec<Vec<&'p str>> {
    let lines = page.lines().skip_while(|line| !line.starts_with(above)).skip(1);
    let lines = lines.take_while(|line| !line.starts_with('#') && !line.starts_with("<!--"));
    let rows = lines.filter_map(|line| line.strip_prefix("| ")?.strip_suffix(" |"));
    // The first two are the headings and the rule below them.
    rows.map(|row| row.split(" | ").collect()).skip(2).collect()
}

#[test]
fn the_schema_of_mappings_is_up_to_date() {
    assert!(
        page("reference/stop-list-mapping.schema.json") == stop_list::schema(),
        "docs/reference/stop-list-mapping.schema.json is out of date: write there what stop_list::schema() gives"
    );
}

#[test]
fn the_page_lists_every_key_of_a_mapping() {
    let schema: Value = serde_json::from_str(&stop_list::schema()).expect("JSON");
    let mut objects: BTreeMap<&str, &Value> = BTreeMap::from([("MappingSpec", &schema)]);
    let definitions = schema["$defs"].as_object().expect("definitions");
    objects.extend(definitions.iter().map(|(name, object)| (name.as_str(), object)));
    let page = page("reference/stop-lists.md");
    let mut checked = 0;
    for (name, object) in objects {
        let Some(properties) = object["properties"].as_object() else { continue };
        let required = object["required"].as_array().cloned().unwrap_or_default();
        let due: BTreeMap<&str, bool> = properties
            .keys()
            .map(|key| (key.as_str(), required.contains(&Value::from(key.as_str()))))
            .collect();
        let listed = rows(&page, &format!("<!-- keys of {name} -->"));
        let listed: BTreeMap<&str, bool> =
            listed.iter().map(|row| (row[0].trim_matches('`'), row[2] == "**required**")).collect();
        assert_eq!(listed, due, "{name}");
        checked += due.len();
    }
    assert!(checked >= 70, "{checked} keys");
}

#[test]
fn the_page_lists_every_kind_of_dirt() {
    let page = page("reference/stop-lists.md");
    let listed: Vec<&str> = rows(&page, "<!-- kinds of dirt -->").into_iter().map(|row| row[0]).collect();
    let known: Vec<&str> = DirtKind::ALL.iter().map(|kind| kind.words()).collect();
    assert_eq!(listed, known);
}

fn example() -> StopList {
    let folder = workspace_root().join("docs/guides/stop-list-example");
    let text = std::fs::read_to_string(folder.join("mapping.json")).expect("a mapping");
    let mapping = Mapping::parse(&text, None).expect("a sound mapping");
    assert_eq!(mapping.warnings(), []);
    let open = |name: &str| std::fs::File::open(folder.join(name)).expect(name);
    stop_list::read(&mapping, open("stops.csv"), Some(open("counts.csv"))).expect("a list")
}

#[test]
fn the_example_comes_to_what_its_page_says() {
    let list = example();
    let page = page("guides/stop-list-example/README.md");
    let results = results(&list, Conventions::default());
    let shifts = rows(&page, "## What comes out");
    assert_eq!(shifts.len(), results.len());
    for ((row, shift), result) in shifts.iter().zip(&list.shifts).zip(&results) {
        let oee = &result.oee;
        let told = [
            shift.name.clone(),
            (oee.planned_production_time.seconds() / 60.0).to_string(),
            (oee.running.seconds() / 60.0).to_string(),
            oee.total_packs.to_string(),
            oee.good_packs.to_string(),
            format!("{:.1} %", oee.availability * 100.0),
            format!("{:.1} %", oee.oee * 100.0),
        ];
        assert_eq!(row.as_slice(), told);
    }
    let dirty: Vec<Vec<String>> = list
        .dirty_rows
        .iter()
        .map(|row| {
            let minutes = row.counted.seconds() / 60.0;
            vec![row.file.to_string(), row.line.to_string(), row.kind.to_string(), minutes.to_string()]
        })
        .collect();
    assert_eq!(rows(&page, "## Its dirty rows"), dirty);

    let charged = |shift: usize, kind, station: &str, reason: &str| -> f64 {
        let causes = results[shift].ledger.causes.iter();
        let causes = causes.filter(|row| row.kind == kind && row.station == station && row.reason == reason);
        causes.map(|row| row.time.seconds() / 60.0).sum()
    };
    // The checkweigher stands between the two, and has a row of its own elsewhere in the list.
    near(charged(0, CauseKind::Stop, "case packer", "cardboard jam"), 18.0, 1e-9);
    near(charged(0, CauseKind::StartUp, "", ""), 0.0, 1e-9);
    near(charged(3, CauseKind::Rate, "case packer", ""), 29.0, 1e-9);
}

/// The command of the page makes the report, and says nothing that the files do not tell: no cases, no balance of
/// portions, no model.
#[test]
fn the_command_of_the_example_makes_its_report() {
    let page = page("guides/stop-list-example/README.md");
    let command = page.lines().find_map(|line| line.strip_prefix("    linewake ")).expect("a command");
    let folder = TestFolder::new();
    let out = folder.of("report");
    let at_root = |word: &str| match word.strip_prefix("docs/") {
        Some(_) => workspace_root().join(word).display().to_string(),
        None => word.to_owned(),
    };
    let mut arguments: Vec<String> = command.split(' ').map(at_root).collect();
    arguments.extend(["--out".to_owned(), out]);
    let told = linewake(&arguments.iter().map(String::as_str).collect::<Vec<_>>());
    assert_eq!(told.exit, Exit::Done, "{}", told.err);
    assert!(
        told.out.contains("Fennel Wharf, line 2") && told.out.contains("An account of the logs"),
        "{}",
        told.out
    );
    for words in ["in a case", "not accounted for", "model ,", "An estimate"] {
        assert!(!told.out.contains(words), "{words}: {}", told.out);
    }
    let rows =
        std::fs::read_to_string(folder.path().join("report/tables/dirty-rows.csv")).expect("dirty rows");
    assert_eq!(rows.lines().count(), 1 + example().dirty_rows.len());
}
