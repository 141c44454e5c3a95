//! Opening a link: an interface of the kernel, or a local socket.

use crate::interface::Interface;
use crate::options::{CanOptions, Place, filters};
use crate::sys::socket::{Settings, Socket, can_is_there};
use std::fs;
use std::io;
use std::os::unix::fs::FileTypeExt;
use std::os::unix::net::UnixDatagram;
use std::path::{Path, PathBuf};

/// A link that was just opened.
pub(crate) struct Link {
    pub(crate) socket: Socket,
    /// What it is, for a person.
    pub(crate) detail: String,
    pub(crate) watched: Watched,
}

/// What is looked at while the link is up.
pub(crate) enum Watched {
    /// The interface as it was seen last.
    Interface(Interface),
    /// The socket's file, removed in the end.
    File(SocketFile),
}

/// Opens what the options name, or says why not and what to do.
pub(crate) fn open(options: &CanOptions, place: &Place) -> Result<Link, String> {
    match place {
        Place::Interface(name) => open_interface(options, name),
        Place::Local(path) => open_local(options, path),
    }
}

fn open_interface(options: &CanOptions, name: &str) -> Result<Link, String> {
    kernel_has_can()?;
    let interface = Interface::find(name).map_err(|e| e.to_string())?;
    interface.admit(options.acknowledges)?;
    let filters = filters(options)?;
    let settings = Settings { fd: options.fd, receive_buffer: options.receive_buffer, filters: &filters };
    let socket = Socket::can(interface.index, settings).map_err(|e| format!("cannot open {name}: {e}"))?;
    let mut detail = format!("{name}: {}", interface.words());
    if options.acknowledges && !interface.is_virtual() && interface.listen_only != Some(true) {
        detail += ", may acknowledge frames (acknowledges = true)";
    }
    if interface.has_fd() && !options.fd {
        detail += ", FD frames not received (fd = false)";
    }
    if let Some(list) = &options.keep_only {
        detail += &format!(", keeps only frames of {} (keep_only), the others are not recorded", list.join(", "));
    }
    detail += &buffer_words(&socket, options.receive_buffer);
    Ok(Link { socket, detail, watched: Watched::Interface(interface) })
}

/// Whether this kernel has CAN, or what to do.
pub(crate) fn kernel_has_can() -> Result<(), String> {
    can_is_there().map_err(|e| match e.raw_os_error() {
        Some(libc::EAFNOSUPPORT | libc::EPROTONOSUPPORT) => {
            "this kernel has no CAN sockets: load the module can_raw (modprobe can_raw) or use a kernel that has it"
                .into()
        }
        _ => format!("cannot open a CAN socket: {e}"),
    })
}

fn open_local(options: &CanOptions, path: &Path) -> Result<Link, String> {
    clear_stale(path)?;
    let name = path.display();
    let socket = UnixDatagram::bind(path).map_err(|e| format!("cannot make the socket {name}: {e}"))?;
    let file = SocketFile(path.into());
    let socket = Socket::local(socket, options.receive_buffer).map_err(|e| format!("cannot set up {name}: {e}"))?;
    let detail = format!("unix:{name}: local link, no bus{}", buffer_words(&socket, options.receive_buffer));
    Ok(Link { socket, detail, watched: Watched::File(file) })
}

/// Removes a socket that nobody listens on any more, and nothing else.
fn clear_stale(path: &Path) -> Result<(), String> {
    let name = path.display();
    let found = match fs::symlink_metadata(path) {
        Ok(found) => found,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(e) => return Err(format!("cannot look at {name}: {e}")),
    };
    if !found.file_type().is_socket() {
        return Err(format!("{name} exists and is not a socket: choose another path or remove it"));
    }
    match UnixDatagram::unbound().and_then(|s| s.connect(path)) {
        Err(e) if e.kind() == io::ErrorKind::ConnectionRefused => {
            fs::remove_file(path).map_err(|e| format!("cannot remove the stale socket {name}: {e}"))
        }
        _ => Err(format!("{name} is in use by another program: choose another path or end that program")),
    }
}

/// Whether a local link could be made, or why not. Changes nothing.
pub(crate) fn probe_local(path: &Path) -> Result<(), String> {
    let name = path.display();
    match fs::symlink_metadata(path) {
        Ok(found) if !found.file_type().is_socket() => {
            return Err(format!("{name} exists and is not a socket: choose another path or remove it"));
        }
        _ => {}
    }
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if folder.is_dir() { Ok(()) } else { Err(format!("the folder of {name} does not exist: make it")) }
}

/// The kernel doubles what it is asked for, to pay for its own overhead (socket(7)).
fn buffer_words(socket: &Socket, asked: u32) -> String {
    match socket.receive_buffer() {
        Ok(got) if u64::from(got) >= 2 * u64::from(asked) => format!(", receive buffer {got} bytes"),
        Ok(got) => format!(
            ", receive buffer only {got} bytes where {} were asked for: raise net.core.rmem_max",
            2 * u64::from(asked)
        ),
        Err(e) => format!(", receive buffer unknown ({e})"),
    }
}

/// A socket's file; goes with it.
pub(crate) struct SocketFile(PathBuf);

impl SocketFile {
    pub(crate) fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for SocketFile {
    fn drop(&mut self) {
        // It may be gone already; nothing depends on it.
        let _ = fs::remove_file(&self.0);
    }
}
