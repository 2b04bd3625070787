//! The JSON Schema of the model file, made from the types that read it.

use crate::spec::line::LineSpec;
use schemars::generate::SchemaSettings;
use schemars::transform::{Transform, transform_subschemas};
use schemars::{JsonSchema, Schema};

/// The JSON Schema (draft 2020-12) of the model file, for editors that complete and check while one types.
#[must_use]
pub fn schema() -> String {
    schema_of::<LineSpec>()
}

/// The JSON Schema of any file of ours, in the same form.
#[must_use]
pub fn schema_of<T: JsonSchema>() -> String {
    let settings = SchemaSettings::draft2020_12().with_transform(ForEditors);
    let schema = settings.into_generator().into_root_schema_for::<T>();
    let mut text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text.push('\n');
    text
}

/// A key that may be left out is not written as null; formats that only name types of this program go.
#[derive(Clone, Debug)]
struct ForEditors;

impl Transform for ForEditors {
    fn transform(&mut self, schema: &mut Schema) {
        transform_subschemas(self, schema);
        let Some(object) = schema.as_object_mut() else { return };
        object.remove("format");
        if let Some(serde_json::Value::Array(types)) = object.get_mut("type") {
            types.retain(|name| name != "null");
            if let [only] = types.as_slice() {
                let only = only.clone();
                object.insert("type".to_owned(), only);
            }
        }
        if let Some(serde_json::Value::Array(choices)) = object.get_mut("anyOf") {
            choices.retain(|choice| choice.get("type").is_none_or(|name| name != "null"));
            if let [serde_json::Value::Object(only)] = choices.as_slice() {
                let only = only.clone();
                object.remove("anyOf");
                for (key, value) in only {
                    object.entry(key).or_insert(value);
                }
            }
        }
    }
}
