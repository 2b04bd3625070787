//! The published JSON Schema and the reference pages say what the reader of model files knows.

use linewake_model::units::UNITS;
use linewake_tests::workspace_root;
use serde_json::Value;
use std::collections::BTreeMap;

/// Key, and whether it is required.
type Keys = BTreeMap<String, bool>;

fn reference(name: &str) -> String {
    let path = workspace_root().join("docs/reference").join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path:?}: {error}"))
}

fn schema() -> Value {
    serde_json::from_str(&linewake_model::schema()).expect("the schema is JSON")
}

/// Keys of each object of the schema.
fn keys_in_schema() -> BTreeMap<String, Keys> {
    let schema = schema();
    let keys = |object: &Value| -> Option<Keys> {
        let required = object["required"].as_array().cloned().unwrap_or_default();
        let properties = object["properties"].as_object()?;
        Some(
            properties
                .keys()
                .map(|key| (key.clone(), required.contains(&Value::from(key.as_str()))))
                .collect(),
        )
    };
    let mut objects: BTreeMap<String, Keys> = schema["$defs"]
        .as_object()
        .expect("definitions")
        .iter()
        .filter_map(|(name, object)| Some((name.clone(), keys(object)?)))
        .collect();
    objects.insert("LineSpec".to_owned(), keys(&schema).expect("keys of the line"));
    objects
}

/// Keys of each table of the page: those below `<!-- keys of NAME -->`.
fn keys_in_page() -> BTreeMap<String, Keys> {
    let mut tables: BTreeMap<String, Keys> = BTreeMap::new();
    let mut table: Option<String> = None;
    for line in reference("model-file.md").lines() {
        if let Some(name) = line.strip_prefix("<!-- keys of ").and_then(|rest| rest.strip_suffix(" -->")) {
            table = Some(name.to_owned());
            assert!(tables.insert(name.to_owned(), Keys::new()).is_none(), "two tables of {name}");
        } else if line.starts_with("| `")
            && let Some(name) = &table
        {
            let cells: Vec<&str> = line.split(" | ").collect();
            let key = cells[0].trim_start_matches("| ").trim_matches('`').to_owned();
            let is_required = cells[2] == "**required**";
            tables.get_mut(name).expect("the table of the marker").insert(key, is_required);
        } else if line.starts_with('#') {
            table = None;
        }
    }
    tables
}

#[test]
fn the_schema_in_the_documentation_is_up_to_date() {
    assert!(
        reference("model.schema.json") == linewake_model::schema(),
        "docs/reference/model.schema.json is out of date: write it anew with `linewake schema`"
    );
}

#[test]
fn the_page_on_the_model_file_lists_every_key() {
    let mut tables = keys_in_page();
    let every_station = tables.remove("every station").expect("the table of all stations");
    let every_gate = tables.remove("every gate").expect("the table of all gates");
    let gates = ["CheckweigherSpec", "MetalDetectorSpec", "XRaySpec", "LeakTestSpec"];
    let families =
        ["Exponential", "Uniform", "Triangular", "TruncatedNormal", "Lognormal", "Weibull", "Gamma"];
    let mut checked = 0;
    for (name, known) in keys_in_schema() {
        if name.starts_with("Geometric") || families.iter().any(|family| name.starts_with(family)) {
            continue; // the page on distributions has them
        }
        let mut listed = tables.remove(&name).unwrap_or_else(|| panic!("no table of {name}"));
        if known.contains_key("supplier") {
            listed.extend(every_station.clone());
        }
        if gates.contains(&name.as_str()) {
            listed.extend(every_gate.clone());
        }
        assert_eq!(listed, known, "{name}: key and whether it is required, in the page and in the schema");
        checked += known.len();
    }
    assert!(tables.is_empty(), "tables of objects that are not in the schema: {tables:?}");
    assert!(checked > 150, "{checked} keys");
}

#[test]
fn the_page_on_distributions_names_every_family_and_its_examples_are_valid() {
    let page = reference("distributions.md");
    let schema = schema();
    let families = schema["$defs"]["DistributionSpec"]["oneOf"].as_array().expect("families");
    let names: Vec<&String> =
        families.iter().filter_map(|family| family["properties"].as_object()?.keys().next()).collect();
    assert_eq!(names.len(), 10);
    for name in names {
        assert!(page.contains(&format!("| `{name}` |")), "{name}");
    }
    let examples: Vec<&str> =
        page.split("```json\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
    assert!(examples.len() >= 10);
    for example in examples {
        let model = format!(
            r#"{{ "model_version": 1, "name": "n", "design_rate": "1/min",
                 "stations": [{{ "machine": {{ "id": "m", "process": {example} }} }}] }}"#
        );
        let problems = linewake_model::parse(&model).err().unwrap_or_default();
        assert!(problems.iter().all(|problem| problem.path == "design_rate"), "{example}: {problems:?}");
    }
}

#[test]
fn the_page_on_units_lists_every_unit() {
    let page = reference("units.md");
    let listed: Vec<&str> =
        page.lines().filter_map(|line| line.strip_prefix("| `")?.split('`').next()).collect();
    let known: Vec<&str> = UNITS.iter().map(|unit| unit.symbol).collect();
    assert_eq!(listed, known);
}
