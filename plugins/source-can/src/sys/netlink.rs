//! What the kernel says about an interface: one `RTM_GETLINK` question, one answer.

use super::open;
use std::io;
use std::os::fd::AsRawFd;

/// The kernel's answer about the interface with this name, one netlink message as it came.
///
/// # Errors
/// Of the system calls. An interface that does not exist is told in the answer.
pub(crate) fn ask_about(interface: &str) -> io::Result<Vec<u8>> {
    let fd = open(libc::AF_NETLINK, libc::SOCK_RAW, libc::NETLINK_ROUTE)?;
    let question = question(interface);
    // SAFETY: the pointer and the length are those of a live slice; an unconnected netlink socket sends to the
    // kernel, port 0.
    let sent = unsafe { libc::send(fd.as_raw_fd(), question.as_ptr().cast(), question.len(), 0) };
    if sent < 0 {
        return Err(io::Error::last_os_error());
    }
    // The kernel answers within the call above, so there is nothing to wait for.
    let mut answer = vec![0u8; 32 * 1024];
    // SAFETY: the pointer and the length are those of a live, writable slice.
    let got = unsafe { libc::recv(fd.as_raw_fd(), answer.as_mut_ptr().cast(), answer.len(), libc::MSG_DONTWAIT) };
    answer.truncate(usize::try_from(got).map_err(|_| io::Error::last_os_error())?);
    Ok(answer)
}

/// `nlmsghdr`, `ifinfomsg` with index 0 (any), and the name as the one attribute.
fn question(interface: &str) -> Vec<u8> {
    let attribute = 4 + interface.len() + 1;
    let length = 16 + 16 + attribute.next_multiple_of(4);
    let mut q = Vec::with_capacity(length);
    q.extend_from_slice(&(length as u32).to_ne_bytes());
    q.extend_from_slice(&libc::RTM_GETLINK.to_ne_bytes());
    q.extend_from_slice(&(libc::NLM_F_REQUEST as u16).to_ne_bytes());
    q.extend_from_slice(&[0; 8]); // sequence and port: one question on a socket of its own needs none
    q.extend_from_slice(&[0; 16]);
    q.extend_from_slice(&(attribute as u16).to_ne_bytes());
    q.extend_from_slice(&libc::IFLA_IFNAME.to_ne_bytes());
    q.extend_from_slice(interface.as_bytes());
    q.resize(length, 0);
    q
}
