use super::*;
use std::fs;
use std::os::unix::fs::symlink;

/// A root folder with two USB adapters (one by id), an on-board port and a phantom one.
fn machine() -> tempfile::TempDir {
    let root = tempfile::tempdir().unwrap();
    let write = |path: &str, text: &str| {
        let path = root.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    };
    for name in ["ttyUSB0", "ttyUSB1", "ttyS0", "ttyS1", "tty1", "ttyprintk"] {
        write(&format!("dev/{name}"), "");
    }
    let usb = "sys/devices/usb1/1-2";
    for (file, text) in
        [("idVendor", "1209\n"), ("idProduct", "0001\n"), ("product", "Two-wire adapter\n"), ("serial", "A17\n")]
    {
        write(&format!("{usb}/{file}"), text);
    }
    write(&format!("{usb}/1-2:1.0/ttyUSB0/latency_timer"), "16\n");
    write("sys/class/tty/ttyS0/type", "4\n");
    write("sys/class/tty/ttyS1/type", "0\n");
    let at = |p: &str| root.path().join(p);
    fs::create_dir_all(at("sys/class/tty/ttyUSB0")).unwrap();
    symlink(at(&format!("{usb}/1-2:1.0/ttyUSB0")), at("sys/class/tty/ttyUSB0/device")).unwrap();
    fs::create_dir_all(at("dev/serial/by-id")).unwrap();
    fs::create_dir_all(at("dev/serial/by-path")).unwrap();
    symlink("../../ttyUSB0", at("dev/serial/by-id/usb-adapter_A17")).unwrap();
    symlink("../../ttyUSB0", at("dev/serial/by-path/usb-2")).unwrap();
    symlink("../../ttyUSB1", at("dev/serial/by-path/usb-3")).unwrap();
    symlink("../../ttyUSB9", at("dev/serial/by-path/usb-gone")).unwrap();
    root
}

#[test]
fn each_port_once_under_its_most_stable_name() {
    let root = machine();
    // The folder of temporary files may itself be a link.
    let base = fs::canonicalize(root.path()).unwrap();
    let short = |s: &str| s.replace(&base.display().to_string(), "");
    let found: Vec<(String, String)> =
        found::under(&base).into_iter().map(|p| (short(&p.name), short(&p.detail))).collect();
    let expected = [
        (
            "/dev/serial/by-id/usb-adapter_A17",
            "/dev/ttyUSB0, Two-wire adapter (USB 1209:0001), serial number A17, hands bytes over every 16 ms \
             (latency_timer)",
        ),
        ("/dev/serial/by-path/usb-3", "/dev/ttyUSB1"),
        ("/dev/ttyS0", ""),
    ];
    let expected: Vec<(String, String)> = expected.iter().map(|(a, b)| (a.to_string(), b.to_string())).collect();
    assert_eq!(found, expected);
}

#[test]
fn machine_without_any_port() {
    let root = tempfile::tempdir().unwrap();
    assert_eq!(found::under(root.path()), []);
    // This machine's own, whatever they are.
    list();
}

#[test]
fn says_why_a_port_cannot_be_opened() {
    let root = tempfile::tempdir().unwrap();
    let file = root.path().join("file");
    fs::write(&file, "").unwrap();
    let why = |p: &Path| openable(&p.display().to_string()).unwrap_err();
    let text = why(&file);
    assert!(text.ends_with("/file is no serial device: it is a file; name a port"), "{text}");
    assert!(why(root.path()).contains("it is a folder"));
    let text = why(&root.path().join("none"));
    assert!(text.contains("/none is not there (unplugged, without supply, or another name?); "), "{text}");
    let dangling = root.path().join("link");
    symlink("nowhere", &dangling).unwrap();
    assert!(why(&dangling).contains("is not there"));
}
