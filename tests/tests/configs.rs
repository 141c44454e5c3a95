//! Every example in `configs/` loads, is used by a run, and is what the JSON schemas say.
#![allow(clippy::unwrap_used)]

use assembly::files::Files;
use assembly::load::{CaptureFiles, SourceSpec, load};
use assembly::schema;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;
use tests::{File, files, root};

fn examples(ending: &str) -> Vec<File> {
    files(&[ending]).into_iter().filter(|f| f.path.starts_with("configs/")).collect()
}

#[test]
fn every_run_file_loads_and_every_example_is_used_by_one() {
    let mut used = BTreeSet::new();
    let runs: Vec<File> = examples(".toml").into_iter().filter(|f| f.path.starts_with("configs/runs/")).collect();
    assert!(runs.len() >= 4, "only {} run files were found", runs.len());
    for run in &runs {
        let path = root().join(&run.path);
        let files = Files::disk();
        let loaded = load(&files, &path, &CaptureFiles::default());
        let assembled = loaded.unwrap_or_else(|p| panic!("{} does not load:\n{}", run.path, p.lines()));
        assert!(!assembled.plan.channels.is_empty(), "{} maps no channel", run.path);
        used.extend(files.all_read().into_keys());
    }
    for f in examples(".toml").into_iter().chain(examples(".dbc")) {
        let path = assembly::files::key(&root().join(&f.path));
        assert!(used.contains(&path), "{} is used by no run file", f.path);
    }
}

#[test]
fn no_example_of_a_run_leaves_a_derived_quantity_without_saying_why() {
    for run in ["demo", "bench", "ground-run", "replay"] {
        let path = root().join(format!("configs/runs/{run}.toml"));
        let assembled = load(&Files::disk(), &path, &CaptureFiles::default()).unwrap();
        for a in &assembled.plan.pack.absent {
            let said = assembled.notes.iter().any(|n| n.contains(&a.name) && n.contains(&a.missing[0]));
            assert!(said, "{run}: {} is missing {:?}, and no note says so", a.name, a.missing);
        }
    }
    let demo = load(&Files::disk(), &root().join("configs/runs/demo.toml"), &CaptureFiles::default()).unwrap();
    assert!(demo.plan.pack.derived.len() >= 6, "the demonstration shows what it can");
    // Its hygrometer is said to see vapour: the formula asks for air that is not saturated, and takes nothing for granted.
    let humidity = demo.plan.pack.derived.iter().find(|d| d.name == "ambient.humidity_ratio").unwrap();
    assert!(!humidity.provenance.contains("taken for granted"), "{}", humidity.provenance);
}

/// A queue holds ten seconds: of a full bus, or of what the run file plans.
#[test]
fn a_queue_holds_ten_seconds_of_a_full_bus_unless_the_run_file_plans_less() {
    let queues = |run: &str, replaced: (&str, &str)| -> Vec<usize> {
        let (from, to) = replaced;
        let text = std::fs::read_to_string(root().join("configs").join(run)).unwrap();
        assert!(text.contains(from), "{run}: {from}");
        let files = Files::embedded_with([(run.to_owned(), text.replacen(from, to, 1))]);
        let assembled = load(&files, Path::new(run), &CaptureFiles::default()).unwrap_or_else(|e| panic!("{e}"));
        let queue = |s: &SourceSpec| if let SourceSpec::Live { queue, .. } = s { *queue } else { 0 };
        assembled.sources.iter().map(queue).collect()
    };
    assert_eq!(queues("runs/ground-run.toml", ("rate = 5000\n", "")), [120_000]);
    assert_eq!(queues("runs/ground-run.toml", ("", "")), [50_000]);
    assert_eq!(queues("runs/ground-run.toml", ("rate = 5000", "rate = 1")), [1000]);
    assert_eq!(queues("runs/bench.toml", ("", "")), [20_000, 20_000]);
}

/// The schema for a file of `configs/`, by its folder.
fn schema_of(path: &str) -> Value {
    let folder = Path::new(path).parent().and_then(Path::file_name).and_then(|f| f.to_str());
    let name = match folder {
        Some("runs") => "run.json",
        Some("channels") => "channels.json",
        Some("sensors") => "sensors.json",
        Some("limits") => "limits.json",
        Some("packs") => "pack.json",
        Some("instruments") => "instrument.json",
        _ => panic!("{path}: no schema for its folder"),
    };
    schema::all().into_iter().find(|(n, _)| *n == name).map(|(_, s)| s).unwrap()
}

#[test]
fn every_example_is_what_its_schema_says() {
    for f in examples(".toml") {
        let value: Value = toml::from_str(&f.text).unwrap();
        let schema = schema_of(&f.path);
        let wrong = differences(&schema, &schema, &value, "");
        assert!(wrong.is_empty(), "{}:\n{}", f.path, wrong.join("\n"));
    }
}

#[test]
fn a_wrong_key_or_type_is_no_example() {
    let text = &examples(".toml").into_iter().find(|f| f.path.ends_with("runs/demo.toml")).unwrap().text;
    let schema = schema_of("configs/runs/demo.toml");
    let bad = [
        ("baud = 19200", "baud = \"fast\""),
        ("baud = 19200", "bauds = 19200"),
        ("grid = \"100ms\"", "gird = \"100ms\""),
        ("address = 1\n", "address = \"one\"\n"),
        ("kind = \"can\"", "kind = \"canned\""),
        ("name = \"demo\"\n", ""),
    ];
    for (from, to) in bad {
        assert!(text.contains(from), "{from}");
        let value: Value = toml::from_str(&text.replacen(from, to, 1)).unwrap();
        assert!(!differences(&schema, &schema, &value, "").is_empty(), "{to}");
    }
}

/// Where a value differs from a schema. Of JSON Schema what the schemas here use, and a word they use beside that is
/// a mistake of this function, so it says so.
fn differences(whole: &Value, schema: &Value, value: &Value, at: &str) -> Vec<String> {
    let Some(words) = schema.as_object() else { return Vec::new() };
    let mut wrong = Vec::new();
    for (word, is) in words {
        wrong.extend(match word.as_str() {
            "$ref" => {
                let pointer = is.as_str().and_then(|r| r.strip_prefix('#')).unwrap_or_default();
                let target = whole.pointer(pointer).unwrap_or_else(|| panic!("{pointer} leads nowhere"));
                differences(whole, target, value, at)
            }
            "anyOf" | "oneOf" => alternatives(whole, is, value, at, word == "oneOf"),
            "type" => wrong_type(is, value, at),
            "const" => {
                if is == value {
                    vec![]
                } else {
                    vec![format!("{at}: {value} is not {is}")]
                }
            }
            "enum" => {
                let known = is.as_array().is_some_and(|a| a.contains(value));
                if known { vec![] } else { vec![format!("{at}: {value} is none of {is}")] }
            }
            "required" => {
                let missing =
                    is.as_array().into_iter().flatten().filter(|k| value.get(k.as_str().unwrap_or("")).is_none());
                missing.map(|k| format!("{at}: {k} is missing")).collect()
            }
            "properties" | "additionalProperties" | "patternProperties" => Vec::new(),
            "items" => {
                let items = value.as_array().into_iter().flatten().enumerate();
                items.flat_map(|(i, v)| differences(whole, is, v, &format!("{at}[{i}]"))).collect()
            }
            "minimum" | "maximum" => {
                let (x, limit) = (value.as_f64().unwrap_or(0.0), is.as_f64().unwrap_or(0.0));
                let fits = if word == "minimum" { x >= limit } else { x <= limit };
                if fits { vec![] } else { vec![format!("{at}: {word} is {is}, not {value}")] }
            }
            "minItems" | "maxItems" | "minLength" | "maxLength" => Vec::new(),
            "$schema" | "$defs" | "title" | "description" | "default" | "format" => Vec::new(),
            other => panic!("{at}: the schema uses {other}, which this test does not know"),
        });
    }
    if let Some(o) = value.as_object() {
        wrong.extend(o.iter().flat_map(|(k, v)| property(whole, schema, k, v, at)));
    }
    wrong
}

fn property(whole: &Value, schema: &Value, key: &str, value: &Value, at: &str) -> Vec<String> {
    let at = format!("{at}.{key}");
    match (schema.get("properties").and_then(|p| p.get(key)), schema.get("additionalProperties")) {
        (Some(of), _) => differences(whole, of, value, &at),
        (None, Some(Value::Bool(false))) => vec![format!("{at} is not known")],
        (None, Some(of)) => differences(whole, of, value, &at),
        (None, None) => Vec::new(),
    }
}

/// An instrument's alternatives are whole schemas with definitions of their own.
fn alternatives(whole: &Value, all: &Value, value: &Value, at: &str, exactly_one: bool) -> Vec<String> {
    let tried: Vec<Vec<String>> = all
        .as_array()
        .into_iter()
        .flatten()
        .map(|s| differences(if s.get("$defs").is_some() { s } else { whole }, s, value, at))
        .collect();
    let fitting = tried.iter().filter(|w| w.is_empty()).count();
    match (fitting, exactly_one) {
        (0, _) => tried.into_iter().min_by_key(Vec::len).unwrap_or_default(),
        (1, _) | (_, false) => Vec::new(),
        (n, true) => vec![format!("{at}: fits {n} alternatives")],
    }
}

fn wrong_type(is: &Value, value: &Value, at: &str) -> Vec<String> {
    let names: Vec<&str> =
        is.as_str().into_iter().chain(is.as_array().into_iter().flatten().filter_map(Value::as_str)).collect();
    let fits = names.iter().any(|n| match *n {
        "string" => value.is_string(),
        "integer" => value.is_i64() || value.is_u64(),
        "number" => value.is_number(),
        "boolean" => value.is_boolean(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        "null" => value.is_null(),
        other => panic!("{at}: type {other}"),
    });
    if fits { Vec::new() } else { vec![format!("{at}: {value} is no {}", names.join(" or "))] }
}
