//! Where configuration texts come from: a folder, the program itself, or a recording's manifest.

use crate::problem::{Problem, Problems};
use include_dir::{Dir, include_dir};
use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

/// The examples, in the program.
pub static EMBEDDED: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/../../configs");

/// A source of texts by path, which remembers what was read: a recording stores exactly that.
pub struct Files {
    from: From,
    /// Limit files in place of those that the run names, by their names.
    limits: Option<Vec<(String, Arc<str>)>>,
    read: Mutex<BTreeMap<String, Arc<str>>>,
}

enum From {
    Disk,
    Embedded(BTreeMap<String, Arc<str>>),
    Stored(BTreeMap<String, Arc<str>>),
}

impl Files {
    /// Files on disk, paths as they are.
    pub fn disk() -> Files {
        Files { from: From::Disk, limits: None, read: Mutex::default() }
    }

    /// The examples embedded in the program, paths relative to `configs/`.
    pub fn embedded() -> Files {
        Files::embedded_with([])
    }

    /// The examples embedded in the program, some of them replaced by other texts.
    pub fn embedded_with(files: impl IntoIterator<Item = (String, String)>) -> Files {
        let files = files.into_iter().map(|(p, t)| (p, Arc::from(t))).collect();
        Files { from: From::Embedded(files), limits: None, read: Mutex::default() }
    }

    /// What a recording stored.
    pub fn stored(files: impl IntoIterator<Item = (String, String)>) -> Files {
        let files = files.into_iter().map(|(p, t)| (p, Arc::from(t))).collect();
        Files { from: From::Stored(files), limits: None, read: Mutex::default() }
    }

    /// The same with limit files of a disk in place of those that the run names.
    ///
    /// # Errors
    /// Where one cannot be read.
    pub fn with_limits(self, paths: &[PathBuf]) -> Result<Files, Problems> {
        let read = |p: &PathBuf| Ok((key(p), from_disk(p, &key(p))?.into()));
        let limits =
            if paths.is_empty() { None } else { Some(paths.iter().map(read).collect::<Result<_, Problem>>()?) };
        Ok(Files { limits, ..self })
    }

    /// The limit files in place of those that the run names, where there are any.
    pub(crate) fn other_limits(&self) -> Option<&[(String, Arc<str>)]> {
        self.limits.as_deref()
    }

    /// The text at `path`.
    ///
    /// # Errors
    /// Not there, not readable, or not UTF-8.
    pub fn text(&self, path: &Path) -> Result<Arc<str>, Problem> {
        let key = key(path);
        let text: Arc<str> = match &self.from {
            From::Disk => from_disk(path, &key)?.into(),
            From::Embedded(replaced) => match replaced.get(&key) {
                Some(text) => Arc::clone(text),
                None => EMBEDDED
                    .get_file(&key)
                    .and_then(|f| f.contents_utf8())
                    .ok_or_else(|| Problem::bare(format!("{key} is not among the embedded examples"), ""))?
                    .into(),
            },
            From::Stored(files) => files
                .get(&key)
                .cloned()
                .ok_or_else(|| Problem::bare(format!("the recording does not store {key}"), ""))?,
        };
        self.read.lock().unwrap_or_else(PoisonError::into_inner).insert(key, Arc::clone(&text));
        Ok(text)
    }

    /// Everything read so far, by path.
    pub fn all_read(&self) -> BTreeMap<String, Arc<str>> {
        self.read.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Whether paths mean files on disk.
    pub fn on_disk(&self) -> bool {
        matches!(self.from, From::Disk)
    }
}

fn from_disk(path: &Path, key: &str) -> Result<String, Problem> {
    let bytes = std::fs::read(path)
        .map_err(|e| Problem::bare(format!("cannot read {key}: {e}"), "check the path and its permissions"))?;
    let is_database = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("dbc"));
    match String::from_utf8(bytes) {
        Ok(text) => Ok(text),
        Err(e) if is_database => Ok(decode::can::text_of(e.as_bytes())),
        Err(e) => {
            let line = e.as_bytes()[..e.utf8_error().valid_up_to()].iter().filter(|b| **b == b'\n').count() + 1;
            Err(Problem::bare(format!("{key}: line {line} is not UTF-8 text"), "save the file as UTF-8"))
        }
    }
}

/// A path as it is kept: `/` between parts, `a/../` removed where it can be.
pub fn key(path: &Path) -> String {
    let mut parts: Vec<String> = Vec::new();
    for c in path.components() {
        match c {
            Component::ParentDir if parts.last().is_some_and(|p| p != ".." && !p.is_empty()) => {
                parts.pop();
            }
            Component::ParentDir => parts.push("..".to_owned()),
            Component::CurDir => {}
            Component::RootDir => parts.push(String::new()),
            Component::Normal(p) => parts.push(p.to_string_lossy().into_owned()),
            Component::Prefix(p) => parts.push(p.as_os_str().to_string_lossy().into_owned()),
        }
    }
    if parts == [""] { "/".to_owned() } else { parts.join("/") }
}

/// `to` as written in the file `from`: relative to that file's folder.
pub fn beside(from: &Path, to: &str) -> PathBuf {
    match from.parent() {
        Some(folder) => PathBuf::from(key(&folder.join(to))),
        None => PathBuf::from(to),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_database_may_be_in_the_western_code_page_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, bytes: &[u8]| {
            let path = folder.path().join(name);
            std::fs::write(&path, bytes).unwrap();
            Files::disk().text(&path)
        };
        assert_eq!(&*write("a.dbc", b"\xb0C \x80 \x96\n").unwrap(), "°C € –\n");
        assert_eq!(&*write("b.dbc", "°C\n".as_bytes()).unwrap(), "°C\n");
        let e = write("run.toml", b"[run]\nname = \"\xb0\"\n").unwrap_err();
        assert!(e.message.ends_with("run.toml: line 2 is not UTF-8 text"), "{}", e.message);
    }

    #[test]
    fn paths_are_kept_short() {
        assert_eq!(key(Path::new("runs/../packs/./a.toml")), "packs/a.toml");
        assert_eq!(key(Path::new("../a.toml")), "../a.toml");
        assert_eq!(key(Path::new("/x/../y")), "/y");
        assert_eq!(beside(Path::new("runs/demo.toml"), "../packs/a.toml"), Path::new("packs/a.toml"));
    }
}
