//! JSON schemas of all files, for editors.

use crate::config::channels::ChannelsFile;
use crate::config::instrument::{BinaryFile, ModbusFile, TextFile};
use crate::config::limits::LimitsFile;
use crate::config::pack::PackFile;
use crate::config::run::RunFile;
use crate::config::sensors::SensorsFile;
use crate::registry::{CAPTURES, SOURCES};
use schemars::schema_for;
use serde_json::{Map, Value, json};

/// Every schema with its file name.
pub fn all() -> Vec<(&'static str, Value)> {
    let instrument = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "bise instrument file",
        "anyOf": [
            schema_for!(ModbusFile).to_value(),
            schema_for!(TextFile).to_value(),
            schema_for!(BinaryFile).to_value(),
        ],
    });
    vec![
        ("run.json", run()),
        ("channels.json", schema_for!(ChannelsFile).to_value()),
        ("sensors.json", schema_for!(SensorsFile).to_value()),
        ("limits.json", schema_for!(LimitsFile).to_value()),
        ("pack.json", schema_for!(PackFile).to_value()),
        ("instrument.json", instrument),
    ]
}

/// The run file's schema with the options of every kind of source beside the common keys.
fn run() -> Value {
    let mut run = schema_for!(RunFile).to_value();
    let kinds = SOURCES.iter().map(|p| (p.kind, p.summary, (p.schema)()));
    let kinds: Vec<_> = kinds.chain(CAPTURES.iter().map(|p| (p.kind, p.summary, (p.schema)()))).collect();
    let common = run["$defs"]["SourceCommon"].clone();
    let mut alternatives = Vec::new();
    for (kind, summary, options) in kinds {
        let mut properties: Map<String, Value> = common["properties"].as_object().cloned().unwrap_or_default();
        properties.insert("kind".to_owned(), json!({ "const": kind, "description": summary }));
        properties.extend(options["properties"].as_object().cloned().unwrap_or_default());
        let mut required = vec![json!("name"), json!("kind")];
        required.extend(options["required"].as_array().cloned().unwrap_or_default());
        if let (Some(all), Some(more)) = (run["$defs"].as_object_mut(), options["$defs"].as_object()) {
            all.extend(more.clone());
        }
        alternatives.push(json!({
            "type": "object",
            "title": kind,
            "description": summary,
            "properties": properties,
            "required": required,
            "additionalProperties": false,
        }));
    }
    run["$defs"]["SourceCommon"] = json!({ "oneOf": alternatives });
    run
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_reference_inside_a_schema_leads_somewhere() {
        for (name, schema) in all() {
            let text = schema.to_string();
            for part in text.split("\"$ref\":\"").skip(1) {
                let target = part.split('"').next().unwrap_or_default();
                let pointer = target.strip_prefix('#').unwrap_or_else(|| panic!("{name}: {target} leads outside"));
                // Inside anyOf the definitions stay with their own schema.
                let found = schema.pointer(pointer).is_some()
                    || schema["anyOf"].as_array().into_iter().flatten().any(|s| s.pointer(pointer).is_some());
                assert!(found, "{name}: {target}");
            }
        }
    }
}
