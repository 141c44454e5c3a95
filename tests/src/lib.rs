//! What the whole-program tests share: the workspace's files as text.
//!
//! **Invariant:** nothing here is used by the program; every path is found from this crate's own folder.
#![forbid(unsafe_code)]

use std::path::{Path, PathBuf};

/// A file of the workspace.
#[derive(Clone, Debug)]
pub struct File {
    /// Its path from the workspace's root, parts joined by `/`.
    pub path: String,
    /// Its content.
    pub text: String,
}

impl File {
    /// A file for a test of a check.
    pub fn of(path: &str, text: &str) -> File {
        File { path: path.to_owned(), text: text.to_owned() }
    }

    /// What stands before the first `#[cfg(test)]` item and between such items: what gets into the program.
    /// Comments are left out. Lines keep their numbers.
    pub fn code(&self) -> Vec<(usize, String)> {
        let mut lines = self.text.lines().enumerate();
        let mut code = Vec::new();
        while let Some((i, line)) = lines.next() {
            if line.trim() == "#[cfg(test)]" {
                skip_item(&mut lines);
                continue;
            }
            let bare = line.find("//").filter(|at| !line[..*at].contains('"')).map_or(line, |at| &line[..at]);
            code.push((i + 1, bare.to_owned()));
        }
        code
    }

    /// Whether the file is a test as a whole.
    pub fn is_test(&self) -> bool {
        let name = self.path.rsplit('/').next().unwrap_or_default();
        let folder = |f: &str| self.path.contains(&format!("/{f}/"));
        name == "tests.rs" || name == "testing.rs" || folder("tests") || self.path.starts_with("tests/")
    }
}

/// Skips the item after an attribute: to its `;`, or to the brace that closes it at the same indentation (the code is
/// formatted).
fn skip_item<'a>(lines: &mut impl Iterator<Item = (usize, &'a str)>) {
    let Some((_, mut line)) = lines.next() else { return };
    while line.trim_start().starts_with("#[") {
        let Some((_, next)) = lines.next() else { return };
        line = next;
    }
    if line.ends_with(';') || line.ends_with('}') {
        return;
    }
    let close = format!("{}}}", &line[..line.len() - line.trim_start().len()]);
    for (_, line) in lines {
        if line == close || line == format!("{close};") {
            return;
        }
    }
}

/// The workspace's root.
pub fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_owned()
}

/// Folders that hold nothing of ours.
const NOT_OURS: [&str; 4] = ["target", ".git", "node_modules", "recordings"];

/// Every text file of the workspace whose name ends in one of `endings`, by path.
///
/// # Panics
/// Where a folder or file cannot be read: a check that sees no files would pass.
pub fn files(endings: &[&str]) -> Vec<File> {
    let mut all = Vec::new();
    collect(&root(), "", endings, &mut all);
    all.sort_by(|a, b| a.path.cmp(&b.path));
    assert!(!all.is_empty(), "no file ends in {endings:?}");
    all
}

fn collect(folder: &Path, path: &str, endings: &[&str], all: &mut Vec<File>) {
    let entries = std::fs::read_dir(folder).unwrap_or_else(|e| panic!("reading {}: {e}", folder.display()));
    for entry in entries {
        let entry = entry.unwrap_or_else(|e| panic!("reading {}: {e}", folder.display()));
        let name = entry.file_name().to_string_lossy().into_owned();
        let below = if path.is_empty() { name.clone() } else { format!("{path}/{name}") };
        if entry.path().is_dir() {
            if !NOT_OURS.contains(&name.as_str()) {
                collect(&entry.path(), &below, endings, all);
            }
        } else if endings.iter().any(|e| name.ends_with(e)) {
            let text = std::fs::read_to_string(entry.path()).unwrap_or_else(|e| panic!("reading {below}: {e}"));
            all.push(File { path: below, text });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn code_is_what_gets_into_the_program() {
        let text = "use a; // why\n#[cfg(test)]\nmod tests;\nfn f() {}\n#[cfg(test)]\nmod more {\n    fn g() {\n    }\n}\nlet u = \"http://x\";\n";
        let code: Vec<_> =
            File::of("crates/x/src/lib.rs", text).code().into_iter().map(|(n, l)| format!("{n}:{l}")).collect();
        assert_eq!(code, ["1:use a; ", "4:fn f() {}", "10:let u = \"http://x\";"]);
    }

    #[test]
    fn the_workspace_is_found() {
        assert!(files(&["Cargo.toml"]).iter().any(|f| f.path == "crates/units/Cargo.toml"));
    }
}
