//! Tables as programs and people write them: every file of `captures/zoo` through the plugin, the merge and the decoder,
//! held against what `captures/zoo.toml` says of it.
#![allow(clippy::unwrap_used)]

use assembly::files::Files;
use assembly::load::{Assembled, CaptureFiles, load};
use assembly::merge::Merge;
use decode::{Decoder, Raw};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use stream::{EntryBody, RawRecord};

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Zoo {
    file: Vec<Animal>,
}

/// What must come of a file.
#[derive(Debug, Default, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields, default)]
struct Animal {
    name: String,
    options: String,
    refused: String,
    readings: String,
    rows: Vec<String>,
    errors: Vec<String>,
    unused: Vec<String>,
}

fn folder() -> PathBuf {
    tests::root().join("tests/captures")
}

fn loaded(scratch: &Path, file: &Path, options: &str) -> Result<Assembled, String> {
    let run = format!(
        "[run]\nname = \"zoo\"\nchannels = [\"map.toml\"]\n[[source]]\nname = \"z\"\nkind = \"table\"\npath = {:?}\n{options}\n",
        file.display().to_string()
    );
    fs::write(scratch.join("run.toml"), run).unwrap();
    fs::write(scratch.join("map.toml"), "[channel]\n").unwrap();
    load(&Files::disk(), &scratch.join("run.toml"), &CaptureFiles::default()).map_err(|p| p.lines())
}

/// What comes of a file.
fn met(scratch: &Path, zoo: &Path, name: &str, options: &str) -> Animal {
    let file = zoo.join(name);
    let place = |text: &str| {
        let text = text.replace(&format!("{}/", zoo.display()), "");
        text.strip_prefix(&format!("{name}:")).unwrap_or(&text).to_owned()
    };
    let mut animal = Animal { name: name.to_owned(), options: options.to_owned(), ..Animal::default() };
    let assembled = match loaded(scratch, &file, options) {
        Ok(a) => a,
        Err(e) => return Animal { refused: place(&e), ..animal },
    };
    let decoder = &assembled.plan.sources[0].decoder;
    let named = |r: &decode::ReadingInfo| match &r.unit {
        Some(unit) => format!("{} [{unit}]", r.name),
        None => r.name.clone(),
    };
    animal.readings = decoder.readings().iter().map(named).collect::<Vec<_>>().join(", ");
    let mut merge = Merge::open(&assembled.sources).unwrap();
    while let Some(entry) = merge.next_entry().unwrap() {
        let EntryBody::Record(record) = entry else { panic!("{entry:?}") };
        animal.rows.push(row(decoder, &record));
    }
    let unused = merge.unused();
    assert_eq!(unused.bad_lines as usize, unused.told.len());
    animal.errors = unused.told.iter().map(|e| place(e)).collect();
    animal.unused = unused.other.iter().map(|(w, n)| format!("{n} {}", w.strip_prefix("z: ").unwrap())).collect();
    animal
}

fn row(decoder: &Decoder, record: &RawRecord) -> String {
    let mut cells = vec![".".to_owned(); decoder.readings().len()];
    let mut each = |i: u16, raw: Raw| {
        cells[usize::from(i)] = match raw {
            Raw::Number(x) if x != 0.0 && x.abs() < 1e-9 => format!("{x:e}"),
            Raw::Number(x) => x.to_string(),
            Raw::Nothing(reason) => format!("!{}", reason.word()),
        }
    };
    decoder.decode(record, &mut each).unwrap();
    std::iter::once(record.event_time.to_string()).chain(cells).collect::<Vec<_>>().join(" ")
}

#[test]
fn every_file_of_the_zoo_is_what_is_said_of_it() {
    let scratch = tempfile::tempdir().unwrap();
    let zoo = folder().join("zoo");
    let expected: Zoo = toml::from_str(&fs::read_to_string(folder().join("zoo.toml")).unwrap()).unwrap();
    let there: BTreeSet<String> =
        fs::read_dir(&zoo).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    let known: BTreeSet<String> = expected.file.iter().map(|a| a.name.clone()).collect();
    assert_eq!(there, known, "every file is in zoo.toml, and every one there is a file");
    assert!(known.len() >= 40, "{}", known.len());
    let mut different = Vec::new();
    for animal in expected.file {
        let met = met(scratch.path(), &zoo, &animal.name, &animal.options);
        if met != animal {
            different.push(format!("said: {animal:#?}\nmet: {met:#?}"));
        }
    }
    assert!(different.is_empty(), "{} files differ:\n{}", different.len(), different.join("\n"));
}
