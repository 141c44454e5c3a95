//! Signals end a run in order, whenever they come; a terminal that is gone does not end it at all.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

fn bise() -> Command {
    Command::new(env!("CARGO_BIN_EXE_bise"))
}

fn demo(out: &Path, length: &str) -> Child {
    bise()
        .args(["demo", "--pace", "fast", "--metrics", "127.0.0.1:0", "--for", length, "--out"])
        .arg(out)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

fn send(signal: &str, child: &Child) {
    let command = format!("kill -{signal} {}", child.id());
    assert!(Command::new("sh").args(["-c", &command]).status().unwrap().success());
}

fn wait_for<T>(mut it: impl FnMut() -> Option<T>) -> T {
    let until = Instant::now() + Duration::from_secs(60);
    loop {
        if let Some(t) = it() {
            return t;
        }
        assert!(Instant::now() < until, "waited in vain");
        std::thread::sleep(Duration::from_millis(1));
    }
}

fn recording_in(out: &Path) -> Option<PathBuf> {
    let entry = std::fs::read_dir(out).ok()?.next()?;
    Some(entry.unwrap().path())
}

/// 3 where the signal came before every source had said something: that is told, and no failure of the end.
fn in_order(code: Option<i32>) -> bool {
    matches!(code, Some(0 | 3))
}

fn check_complete(recording: &Path) {
    let manifest = std::fs::read_to_string(recording.join("manifest.toml")).unwrap();
    assert!(manifest.contains("\"complete\""), "{manifest}");
    let replay = bise().arg("replay").arg(recording).arg("--compare").output().unwrap();
    let text = String::from_utf8_lossy(&replay.stdout);
    assert!(replay.status.success() && text.contains("recomputed = stored"), "{text}");
}

#[test]
fn a_signal_ends_a_run_in_order() {
    let dir = tempfile::tempdir().unwrap();
    for signal in ["TERM", "INT", "HUP"] {
        let out = dir.path().join(signal);
        let mut child = demo(&out, "600s");
        let recording = wait_for(|| recording_in(&out));
        wait_for(|| std::fs::metadata(recording.join("log/000001.seg")).ok().filter(|m| m.len() > 1000));
        send(signal, &child);
        let mut text = String::new();
        child.stdout.take().unwrap().read_to_string(&mut text).unwrap();
        let status = child.wait().unwrap();
        assert!(in_order(status.code()), "{signal}: {status} {text}");
        assert!(text.contains("stopped by a signal, in order"), "{signal}: {text}");
        check_complete(&recording);
    }
}

#[test]
fn a_signal_while_it_starts_ends_it_in_order_too() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("early");
    let mut child = demo(&out, "600s");
    let recording = wait_for(|| recording_in(&out));
    send("TERM", &child);
    let code = child.wait().unwrap().code();
    assert!(in_order(code), "{code:?}");
    check_complete(&recording);
}

#[test]
fn a_reader_that_goes_away_ends_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let mut child = demo(dir.path(), "5s");
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
    // The pipe is closed now; the summary at the end has nowhere to go.
    let code = child.wait().unwrap().code();
    assert!(in_order(code), "{code:?}");
    check_complete(&recording_in(dir.path()).unwrap());
}
