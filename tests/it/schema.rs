//! The published JSON Schema is the one that the types give, and it knows what the reader knows.

use linewake_tests::workspace_root;

#[test]
fn the_schema_in_the_documentation_is_up_to_date() {
    let path = workspace_root().join("docs/reference/model.schema.json");
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(
        kept,
        linewake_model::schema(),
        "docs/reference/model.schema.json is out of date: write it anew with `linewake schema`"
    );
}
