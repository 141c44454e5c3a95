//! Serial ports by their stable names, with what sysfs says about them.

use plugin_api::Port;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Names of serial devices in /dev: USB adapters, USB modems, 8250-like and ARM UARTs.
const PREFIXES: [&str; 4] = ["ttyUSB", "ttyACM", "ttyAMA", "ttyS"];

/// All ports below a root folder (`/`, or a test's). Whether they can be opened is not looked at here.
pub(super) fn under(root: &Path) -> Vec<Port> {
    let mut seen = BTreeSet::new();
    let mut ports = Vec::new();
    for path in names(root, "dev/serial/by-id").chain(names(root, "dev/serial/by-path")).chain(plain(root)) {
        let Ok(target) = fs::canonicalize(&path) else { continue };
        if seen.insert(target) {
            let detail = detail(root, &path);
            ports.push(Port { name: path.display().to_string(), detail, openable: Ok(()) });
        }
    }
    ports
}

/// What a port is: where its name leads, maker, product, serial number, an adapter's latency timer.
pub(super) fn detail(root: &Path, path: &Path) -> String {
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let mut parts = Vec::new();
    if target != path {
        parts.push(target.display().to_string());
    }
    if let Some(name) = target.file_name() {
        let device = root.join("sys/class/tty").join(name).join("device");
        parts.extend(usb(&device));
        if let Some(ms) = word(&device.join("latency_timer")) {
            parts.push(format!("hands bytes over every {ms} ms (latency_timer)"));
        }
        if parts.len() < 2 && target.starts_with(root.join("dev/pts")) {
            parts.push("pseudo-terminal".to_owned());
        }
    }
    parts.join(", ")
}

/// Identity of the USB device that a tty belongs to: the nearest folder upwards that has a vendor number.
fn usb(device: &Path) -> Option<String> {
    let start = fs::canonicalize(device).ok()?;
    let usb = start.ancestors().take(8).find(|p| p.join("idVendor").exists())?;
    let said: Vec<String> = ["manufacturer", "product"].iter().filter_map(|f| word(&usb.join(f))).collect();
    let id = [word(&usb.join("idVendor")), word(&usb.join("idProduct"))].map(Option::unwrap_or_default).join(":");
    let serial = word(&usb.join("serial")).map_or("no serial number".to_owned(), |s| format!("serial number {s}"));
    Some(format!("{} (USB {id}), {serial}", if said.is_empty() { "unnamed".to_owned() } else { said.join(" ") }))
}

fn word(path: &Path) -> Option<String> {
    fs::read_to_string(path).ok().map(|s| s.trim().to_owned()).filter(|s| !s.is_empty())
}

fn names(root: &Path, folder: &str) -> impl Iterator<Item = PathBuf> + use<> {
    let entries = fs::read_dir(root.join(folder)).into_iter().flatten().flatten();
    entries.map(|e| e.path()).collect::<BTreeSet<_>>().into_iter()
}

fn plain(root: &Path) -> impl Iterator<Item = PathBuf> + use<> {
    let root = root.to_path_buf();
    names(&root, "dev").filter(move |path| {
        let Some(name) = path.file_name().and_then(|n| n.to_str()) else { return false };
        let numbered =
            |p: &&str| name.strip_prefix(p).is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()));
        // The kernel makes ttyS names for ports that are not built in: their type is 0.
        let phantom = word(&root.join("sys/class/tty").join(name).join("type")).is_some_and(|t| t == "0");
        PREFIXES.iter().any(numbered) && !phantom
    })
}
