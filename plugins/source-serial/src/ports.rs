//! Which serial ports there are, and why one cannot be opened. Looks without opening: opening a port moves its
//! control lines, and some instruments restart on that.

mod found;
mod holder;
mod permission;

use crate::options;
use plugin_api::{ConfigError, Port, SourceSetup};
use std::fs;
use std::os::unix::fs::FileTypeExt;
use std::path::Path;

/// Every serial port of the machine, each under its most stable name.
pub(crate) fn list() -> Vec<Port> {
    found::under(Path::new("/")).into_iter().map(|f| Port { openable: openable(&f.name), ..f }).collect()
}

/// The port that the options name.
pub(crate) fn probe(setup: &SourceSetup) -> Result<Port, ConfigError> {
    let (line, _) = options::read(setup)?;
    let detail = found::detail(Path::new("/"), Path::new(&line.port));
    let openable = openable(&line.port);
    Ok(Port { name: line.port, detail, openable })
}

/// A path with what it leads to.
pub(crate) fn with_target(path: &str) -> String {
    match fs::canonicalize(path) {
        Ok(target) if target != Path::new(path) => format!("{path} ({})", target.display()),
        _ => path.to_owned(),
    }
}

/// Why opening the port failed, and what to do.
pub(crate) fn why_not_opened(path: &str, cause: &str) -> String {
    match openable(path) {
        Err(why) => why,
        Ok(()) => format!("{path} cannot be opened: {cause}"),
    }
}

fn openable(path: &str) -> Result<(), String> {
    let metadata = match fs::metadata(path) {
        Ok(m) => m,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Err(absent(path)),
        Err(e) => return Err(format!("{path} cannot be looked at: {e}; check the permissions of its folder")),
    };
    if !metadata.file_type().is_char_device() {
        return Err(format!("{path} is no serial device: it is {}; name a port", kind(&metadata)));
    }
    if let Err(group) = permission::check(path, &metadata) {
        return Err(format!(
            "{path} may not be read and written by this user; it belongs to group `{group}`: add the user to that \
             group (usermod -aG {group} <user>) and log in again"
        ));
    }
    match fs::canonicalize(path).ok().and_then(|target| holder::of(&target)) {
        Some(holder) => Err(format!("{path} is in use by {holder}; end that first, a serial line has one master")),
        None => Ok(()),
    }
}

fn kind(metadata: &fs::Metadata) -> &'static str {
    let t = metadata.file_type();
    if t.is_dir() {
        "a folder"
    } else if t.is_file() {
        "a file"
    } else if t.is_block_device() {
        "a disk"
    } else {
        "a socket or pipe"
    }
}

fn absent(path: &str) -> String {
    let there: Vec<String> = found::under(Path::new("/")).into_iter().map(|p| p.name).collect();
    let there = match there.as_slice() {
        [] => "no serial port is there at all".to_owned(),
        list => format!("there now: {}", list.join(", ")),
    };
    format!("{path} is not there (unplugged, without supply, or another name?); {there}")
}

#[cfg(test)]
mod tests;
