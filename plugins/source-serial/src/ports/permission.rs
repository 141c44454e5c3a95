//! Whether this user may read and write a file. The audited module: one system call.
#![allow(unsafe_code)]

use std::ffi::CString;
use std::fs::{self, Metadata};
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::MetadataExt;
use std::path::Path;

/// `Ok` where the file may be read and written, else the group that it belongs to.
pub(super) fn check(path: &str, metadata: &Metadata) -> Result<(), String> {
    let Ok(name) = CString::new(Path::new(path).as_os_str().as_bytes()) else { return Err("?".to_owned()) };
    // SAFETY: `name` is a valid C string that lives until after the call; access(2) only reads it.
    let answer = unsafe { libc::access(name.as_ptr(), libc::R_OK | libc::W_OK) };
    if answer == 0 { Ok(()) } else { Err(group(metadata.gid())) }
}

fn group(id: u32) -> String {
    let groups = fs::read_to_string("/etc/group").unwrap_or_default();
    let line = groups.lines().find(|l| l.split(':').nth(2) == Some(id.to_string().as_str()));
    line.and_then(|l| l.split(':').next()).map_or_else(|| id.to_string(), str::to_owned)
}
