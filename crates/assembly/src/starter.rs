//! A commented starter run: the embedded examples, written out with everything they name and the schemas.

use crate::error::Error;
use crate::files::Files;
use crate::load::{CaptureFiles, load};
use crate::schema;
use std::path::{Path, PathBuf};

/// What a starter can be for, and the embedded run file it begins with.
pub const KINDS: [(&str, &str); 3] =
    [("bench", "runs/bench.toml"), ("ground-run", "runs/ground-run.toml"), ("replay", "runs/replay.toml")];

/// Writes a starter into `folder`, which must not hold any of its files; tells the files written, the run file first.
///
/// # Errors
/// A file that is there already, or that cannot be written.
pub fn write(kind: &str, folder: &Path) -> Result<Vec<PathBuf>, Error> {
    let Some((_, run)) = KINDS.iter().find(|(k, _)| *k == kind) else {
        let known = KINDS.map(|(k, _)| k).join(", ");
        return Err(Error::Refused(format!("there is no starter for {kind:?}; one of: {known}")));
    };
    let mut texts: Vec<(PathBuf, String)> = Vec::new();
    for (path, text) in examples(run)? {
        let schema = schema_of(&path).map_or_else(String::new, |s| format!("#:schema ../schemas/{s}\n"));
        texts.push((PathBuf::from(path), format!("{schema}{text}")));
    }
    for (name, value) in schema::all() {
        let text = serde_json::to_string_pretty(&value).unwrap_or_default() + "\n";
        texts.push((Path::new("schemas").join(name), text));
    }
    let there: Vec<String> =
        texts.iter().map(|(p, _)| folder.join(p)).filter(|p| p.exists()).map(|p| p.display().to_string()).collect();
    if !there.is_empty() {
        return Err(Error::Refused(format!("nothing was written: already there: {}", there.join(", "))));
    }
    let mut written = Vec::new();
    for (path, text) in texts {
        let path = folder.join(path);
        let doing = || format!("writing {}", path.display());
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent).map_err(Error::io(doing()))?;
        }
        std::fs::write(&path, text).map_err(Error::io(doing()))?;
        written.push(path);
    }
    Ok(written)
}

/// The run file and everything it names, captures of the example included.
fn examples(run: &str) -> Result<Vec<(String, String)>, Error> {
    let files = Files::embedded();
    // A capture is opened on disk, which the embedded ones are not: then only what was read before counts.
    let _ = load(&files, Path::new(run), &CaptureFiles::default());
    let mut all: Vec<(String, String)> = files.all_read().into_iter().map(|(p, t)| (p, t.to_string())).collect();
    if run == "runs/replay.toml" {
        for f in crate::files::EMBEDDED.get_dir("runs/captures").into_iter().flat_map(|d| d.files()) {
            let text = f.contents_utf8().unwrap_or_default().to_owned();
            all.push((f.path().to_string_lossy().into_owned(), text));
        }
    }
    all.sort_by_key(|(p, _)| p != run);
    Ok(all)
}

fn schema_of(path: &str) -> Option<&'static str> {
    let known = [
        ("runs/", "run.json"),
        ("channels/", "channels.json"),
        ("sensors/", "sensors.json"),
        ("limits/", "limits.json"),
        ("packs/", "pack.json"),
        ("instruments/", "instrument.json"),
    ];
    let toml = path.ends_with(".toml");
    known.iter().find(|(folder, _)| toml && path.starts_with(folder)).map(|(_, schema)| *schema)
}
