//! The system calls: the one module of this crate with `unsafe`.
//!
//! * [`socket`]: a socket that frames are received from; it has no way to send
//! * [`netlink`]: the question to the kernel about an interface
//!
//! **Invariant:** the only bytes that ever leave this crate are the question in `netlink`, and they go to the
//! kernel. A test reads the source for it.

pub(crate) mod netlink;
pub(crate) mod socket;

use std::io;
use std::os::fd::{FromRawFd, OwnedFd};

/// `socket(2)`, closed on exec.
fn open(domain: i32, kind: i32, protocol: i32) -> io::Result<OwnedFd> {
    // SAFETY: takes numbers only; the result is checked before it is used.
    let fd = unsafe { libc::socket(domain, kind | libc::SOCK_CLOEXEC, protocol) };
    if fd < 0 {
        return Err(io::Error::last_os_error());
    }
    // SAFETY: `fd` was just opened and belongs to nobody else.
    Ok(unsafe { OwnedFd::from_raw_fd(fd) })
}
