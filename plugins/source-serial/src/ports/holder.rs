//! Who has a port open, as far as /proc says so.

use std::fs;
use std::path::Path;

/// The first program that has this file open; `None` where none has, or where it may not be looked at.
pub(super) fn of(target: &Path) -> Option<String> {
    let processes = fs::read_dir("/proc").ok()?.flatten();
    for process in processes {
        let name = process.file_name();
        let Some(id) = name.to_str().and_then(|n| n.parse::<u32>().ok()) else { continue };
        let Ok(files) = fs::read_dir(process.path().join("fd")) else { continue };
        if files.flatten().any(|f| fs::read_link(f.path()).is_ok_and(|link| link == target)) {
            if id == std::process::id() {
                return Some("this program itself (does another source name the same port?)".to_owned());
            }
            let command = fs::read_to_string(process.path().join("comm")).unwrap_or_default();
            return Some(format!("`{}` (process {id})", command.trim()));
        }
    }
    None
}
