//! A source of another recording of this program: its stored entries, with the times and in the order they were logged.
//!
//! What concerns the source comes along: its records, its link, its gaps. A stretch that the whole recording misses is
//! a gap of the source here; after one that was not recorded the core starts afresh, as it did there.

use plugin_api::{Capture, CaptureError, CaptureSetup, Captures, ConfigError, OpenError};
use recording::{Disk, RealDisk, State, Stored, WholeLog};
use schemars::JsonSchema;
use serde::Deserialize;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{EntryBody, Gap, SourceId};

/// Options of a `recording` source.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct RecordedOptions {
    /// The source's name in that recording. Default: this source's own name.
    #[serde(default)]
    source: Option<String>,
    /// Whether what the operator typed there comes along; say it for one source of a recording. Default false.
    #[serde(default)]
    operator: bool,
}

pub(crate) fn schema() -> serde_json::Value {
    schemars::schema_for!(RecordedOptions).to_value()
}

/// The folder of a recording that is named by itself or, as manifests do, by its digests.
pub fn folder(path: &Path) -> PathBuf {
    match path.parent() {
        Some(parent) if path.file_name().is_some_and(|n| n == recording::digests::FILE) => parent.to_owned(),
        _ => path.to_owned(),
    }
}

/// The recording that a source reads, whole and unchanged, and which of its sources.
///
/// # Errors
/// Options; what is no recording, unfinished, changed, keeps no log, or has no such source.
pub fn stored(setup: &CaptureSetup) -> Result<(Stored, SourceId), OpenError> {
    let options: RecordedOptions = setup.options.read()?;
    let wrong = |what: String| CaptureError::File { file: setup.name.clone(), what };
    let [path] = setup.files.as_slice() else {
        return Err(wrong("a recording source reads exactly one recording: write path = \"DIR\"".to_owned()).into());
    };
    let folder = folder(path);
    let file = || folder.display().to_string();
    let failed = |what: String| CaptureError::File { file: file(), what };
    let stored = Stored::open(&RealDisk, &folder).map_err(|e| failed(e.to_string()))?;
    match stored.state {
        State::BeingWritten => return Err(failed("is still being written; wait until it ends".to_owned()).into()),
        State::Unfinished => {
            let what = format!("was left unfinished; run `bise salvage {}` first", file());
            return Err(failed(what).into());
        }
        State::Complete | State::Salvaged => {}
    }
    stored.check(&RealDisk).map_err(|e| failed(e.to_string()))?;
    if let Some(c) = stored.manifest.captures.first() {
        let what = format!("keeps no log of its own: it was made from {}; name that", c.path);
        return Err(failed(what).into());
    }
    let name = options.source.as_ref().unwrap_or(&setup.name);
    let names = stored.manifest.source_names();
    match names.iter().position(|n| n == name) {
        Some(i) => Ok((stored, SourceId(i as u16))),
        None => {
            let message = format!("{} has no source {name:?}", file());
            let help = format!("write source = \"...\"; it has: {}", names.join(", "));
            Err(ConfigError::new(message, help, setup.options.span_of("source")).into())
        }
    }
}

pub(crate) fn open(setup: &CaptureSetup) -> Result<Captures, OpenError> {
    let options: RecordedOptions = setup.options.read()?;
    let (stored, there) = stored(setup)?;
    let disk: Arc<dyn Disk> = Arc::new(RealDisk);
    let name = stored.folder.display().to_string();
    let log = WholeLog::as_told(&disk, &stored.folder, &stored.manifest)
        .map_err(|e| CaptureError::File { file: name.clone(), what: e.to_string() })?;
    let names = stored.manifest.source_names();
    let others = vec![0; names.len()];
    let said = stored.manifest.end.as_ref().map(|e| e.entries);
    let (id, operator) = (setup.id, options.operator);
    Ok(vec![Box::new(Recorded {
        id,
        there,
        log,
        name,
        names,
        operator,
        sequence: 0,
        others,
        typed: 0,
        anchors: 0,
        said,
    })])
}

struct Recorded {
    id: SourceId,
    /// Its id in the recording.
    there: SourceId,
    log: WholeLog,
    name: String,
    names: Vec<String>,
    operator: bool,
    sequence: u64,
    /// Records of each source that is not read here.
    others: Vec<u64>,
    typed: u64,
    anchors: u64,
    /// Entries that the manifest counts; `None` once they were compared.
    said: Option<u64>,
}

impl Capture for Recorded {
    fn next_entry(&mut self) -> Result<Option<EntryBody>, CaptureError> {
        loop {
            let failed = |what: String| CaptureError::File { file: self.name.clone(), what };
            let Some(entry) = self.log.next_entry().map_err(|e| failed(e.to_string()))? else {
                return match self.said.take() {
                    Some(n) if n != self.log.entries() => {
                        let found = self.log.entries();
                        Err(failed(format!(
                            "the manifest counts {n} entries and the log holds {found}; bring the log back from a copy"
                        )))
                    }
                    _ => Ok(None),
                };
            };
            if let Some(body) = self.ours(entry.body) {
                return Ok(Some(body));
            }
        }
    }

    fn progress(&self) -> f64 {
        self.log.progress()
    }

    fn unused(&self) -> Vec<(String, u64)> {
        let mut all: Vec<(String, u64)> = Vec::new();
        for (name, n) in self.names.iter().zip(&self.others).filter(|(_, n)| **n > 0) {
            all.push((format!("entries of {name} in {}", self.name), *n));
        }
        if self.typed > 0 {
            all.push(("things the operator typed (operator = true takes them along)".to_owned(), self.typed));
        }
        if self.anchors > 0 {
            all.push(("readings of the wall clock".to_owned(), self.anchors));
        }
        all
    }

    fn understood(&self) -> Vec<String> {
        let there = self.names.get(usize::from(self.there.0)).map_or("", String::as_str);
        vec![format!("source {there} of the recording {}", self.name)]
    }
}

impl Recorded {
    /// An entry as one of this source, or `None` where it is none.
    fn ours(&mut self, body: EntryBody) -> Option<EntryBody> {
        let other = match &body {
            EntryBody::Record(r) => Some(r.source),
            EntryBody::Link(l) => Some(l.source),
            EntryBody::Gap(g) => g.source,
            _ => None,
        };
        if let Some(other) = other.filter(|s| *s != self.there) {
            if let Some(n) = self.others.get_mut(usize::from(other.0)) {
                *n += 1;
            }
            return None;
        }
        match body {
            EntryBody::Record(mut r) => {
                (r.source, r.sequence) = (self.id, self.sequence);
                self.sequence += 1;
                Some(EntryBody::Record(r))
            }
            EntryBody::Link(mut l) => {
                l.source = self.id;
                Some(EntryBody::Link(l))
            }
            EntryBody::Gap(g) => {
                // How many of this source a gap of the whole recording cost is not known.
                let lost = if g.source.is_some() { g.lost } else { 0 };
                Some(EntryBody::Gap(Gap { source: Some(self.id), lost, ..g }))
            }
            EntryBody::Operator(a) if self.operator => Some(EntryBody::Operator(a)),
            EntryBody::Operator(_) => {
                self.typed += 1;
                None
            }
            EntryBody::Anchor(_) => {
                self.anchors += 1;
                None
            }
            // Time goes on by itself, and so does the end come.
            EntryBody::Tick | EntryBody::End => None,
        }
    }
}
