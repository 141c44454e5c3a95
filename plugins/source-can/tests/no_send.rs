//! The program never sends on a CAN socket. Read from the source: the crate names no call that sends, but for the
//! one question to the kernel about an interface, on a netlink socket of its own.
#![allow(clippy::unwrap_used, reason = "tests may panic")]

use std::fs;
use std::path::{Path, PathBuf};

/// Names that send, on a descriptor or on a socket type, in libc, std, tokio and socketcan.
const SENDING: [&str; 18] = [
    "write(",
    "write_all",
    "writev",
    "write_vectored",
    "write_frame",
    "write_fmt",
    "write!",
    "send(",
    "sendto",
    "sendmsg",
    "sendmmsg",
    "sendfile",
    "send_to",
    "send_vectored",
    "try_send",
    "splice",
    "syscall",
    "io_uring",
];

#[test]
fn no_call_sends() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    let mut files = 0;
    for file in rust_files(&src) {
        files += 1;
        let name = file.strip_prefix(&src).unwrap().display().to_string();
        for line in code(&fs::read_to_string(&file).unwrap()) {
            if SENDING.iter().any(|s| line.contains(s)) {
                found.push(format!("{name}: {}", line.trim()));
            }
        }
    }
    assert!(files >= 10, "only {files} files were read");
    let question = "sys/netlink.rs: let sent = unsafe { libc::send(fd.as_raw_fd(), question.as_ptr().cast(), question.len(), 0) };";
    assert_eq!(found, [question]);
}

/// The one that sends knows no CAN socket.
#[test]
fn the_question_goes_to_the_kernel() {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/sys/netlink.rs")).unwrap();
    let code: String = code(&text).collect();
    assert_eq!(code.matches("open(").count(), 1);
    assert!(code.contains("let fd = open(libc::AF_NETLINK, libc::SOCK_RAW, libc::NETLINK_ROUTE)?;"));
    assert!(!code.contains("CAN") && !code.contains("Socket"));
}

/// No dependency that could send is there outside of tests.
#[test]
fn no_can_library_is_used() {
    let manifest = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml")).unwrap();
    let (_, dependencies) = manifest.split_once("[dependencies]").unwrap();
    let (dependencies, _) = dependencies.split_once("[dev-dependencies]").unwrap();
    assert!(dependencies.contains("libc") && !dependencies.contains("socketcan"));
}

/// Lines of code, comments left out.
fn code(text: &str) -> impl Iterator<Item = &str> {
    text.lines().map(|l| l.split("//").next().unwrap_or(""))
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}
