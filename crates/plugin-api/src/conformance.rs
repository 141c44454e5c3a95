//! What every plugin must do, as functions for its own tests and for the test over the whole registry.

use crate::capture::CapturePlugin;
use crate::sink::SinkPlugin;
use crate::source::SourcePlugin;

/// What is wrong with how a source describes itself; empty when nothing is.
pub fn source_description(p: &SourcePlugin) -> Vec<String> {
    description(p.kind, p.summary, &(p.schema)())
}

/// What is wrong with how a capture describes itself; empty when nothing is.
pub fn capture_description(p: &CapturePlugin) -> Vec<String> {
    description(p.kind, p.summary, &(p.schema)())
}

/// What is wrong with how a sink describes itself; empty when nothing is.
pub fn sink_description(p: &SinkPlugin) -> Vec<String> {
    description(p.kind, p.summary, &(p.schema)())
}

fn description(kind: &str, summary: &str, schema: &serde_json::Value) -> Vec<String> {
    let mut wrong = Vec::new();
    if kind.is_empty() || !kind.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-') {
        wrong.push(format!("kind {kind:?} is not a lower-case word"));
    }
    if summary.is_empty() || summary.contains('\n') {
        wrong.push(format!("{kind}: summary must be one line"));
    }
    if schema["additionalProperties"] != serde_json::Value::Bool(false) {
        wrong.push(format!("{kind}: options must deny unknown fields"));
    }
    for (name, option) in schema["properties"].as_object().into_iter().flatten() {
        if option["description"].as_str().is_none_or(str::is_empty) {
            wrong.push(format!("{kind}: option {name} has no description"));
        }
    }
    wrong
}
