//! Where CAN frames go: to a local socket, or to an interface that has no wire.
//!
//! **Invariant:** a CAN socket is opened only with a [`VirtualInterface`], which cannot be had without the check.

use decode::can::OwnedFrame;
use socketcan::{CanFrame, CanSocket, EmbeddedFrame, ExtendedId, Socket, SocketOptions, StandardId};
use std::io;
use std::os::unix::net::UnixDatagram;
use std::path::PathBuf;
use std::time::Duration;

/// Where the rig's CAN frames go.
#[derive(Clone, Debug)]
pub enum CanOut {
    /// To the Unix datagram socket that the program has made at this path, one image of Linux' `struct can_frame` a
    /// datagram.
    Link(PathBuf),
    /// Onto an interface that has no wire.
    Virtual(VirtualInterface),
    /// Nowhere.
    None,
}

/// The name of a CAN interface that was found to be virtual.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VirtualInterface(String);

/// An interface that frames are never sent on.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0} is not a virtual CAN interface; the demonstration sends on virtual ones only, nothing was sent")]
pub struct NotVirtual(pub String);

impl VirtualInterface {
    /// The interface, if the check says that it is a virtual one (of kind vcan or vxcan). The check belongs to the
    /// plugin that knows interfaces; this one must not depend on it.
    ///
    /// # Errors
    /// Whatever the check does not say yes to.
    pub fn checked(name: &str, is_virtual: impl FnOnce(&str) -> bool) -> Result<VirtualInterface, NotVirtual> {
        if is_virtual(name) { Ok(VirtualInterface(name.to_owned())) } else { Err(NotVirtual(name.to_owned())) }
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.0
    }
}

/// How long one frame may wait for room.
const PATIENCE: Duration = Duration::from_millis(200);

/// An open way out.
pub(crate) enum Sender {
    Link(UnixDatagram, PathBuf),
    Virtual(CanSocket),
}

impl Sender {
    /// Opens it; `None` where frames go nowhere.
    pub(crate) fn open(out: &CanOut) -> io::Result<Option<Sender>> {
        match out {
            CanOut::None => Ok(None),
            CanOut::Link(path) => {
                let socket = UnixDatagram::unbound()?;
                socket.set_write_timeout(Some(PATIENCE))?;
                Ok(Some(Sender::Link(socket, path.clone())))
            }
            CanOut::Virtual(interface) => {
                let socket = CanSocket::open(interface.name())?;
                // It only sends: nothing is received, not even its own frames.
                socket.set_filter_drop_all()?;
                socket.set_write_timeout(PATIENCE)?;
                Ok(Some(Sender::Virtual(socket)))
            }
        }
    }

    /// Sends a frame, or returns false where nobody takes it.
    pub(crate) fn send(&self, frame: &OwnedFrame) -> io::Result<bool> {
        let sent = match self {
            Sender::Link(socket, path) => socket.send_to(&image(frame)?, path).map(|_| ()),
            Sender::Virtual(socket) => socket.write_frame(&for_socket(frame)?),
        };
        match sent {
            Ok(()) => Ok(true),
            Err(e) if nobody_takes_it(&e) => Ok(false),
            Err(e) => Err(e),
        }
    }
}

fn nobody_takes_it(e: &io::Error) -> bool {
    use io::ErrorKind::{ConnectionRefused, NetworkDown, NotFound, TimedOut, WouldBlock};
    // ENOBUFS: the interface's queue is full.
    matches!(e.kind(), NotFound | ConnectionRefused | WouldBlock | TimedOut | NetworkDown)
        || e.raw_os_error() == Some(rustix::io::Errno::NOBUFS.raw_os_error())
}

/// Data bytes of a classic frame.
const CLASSIC: usize = 8;

/// The 16 bytes of Linux' `struct can_frame`: identifier with its flags in the machine's own byte order, length, three
/// bytes unused, eight of data (Linux kernel, include/uapi/linux/can.h; from memory).
fn image(frame: &OwnedFrame) -> io::Result<[u8; 16]> {
    if frame.data.len() > CLASSIC {
        return Err(too_long(frame));
    }
    let mut image = [0; 16];
    image[..4].copy_from_slice(&frame.id.to_ne_bytes());
    image[4] = frame.data.len() as u8;
    image[8..8 + frame.data.len()].copy_from_slice(&frame.data);
    Ok(image)
}

fn for_socket(frame: &OwnedFrame) -> io::Result<CanFrame> {
    let whole = frame.frame();
    let made = if whole.is_extended() {
        ExtendedId::new(whole.number()).and_then(|id| CanFrame::new(id, &frame.data))
    } else {
        u16::try_from(whole.number()).ok().and_then(StandardId::new).and_then(|id| CanFrame::new(id, &frame.data))
    };
    made.ok_or_else(|| too_long(frame))
}

fn too_long(frame: &OwnedFrame) -> io::Error {
    let text = format!("identifier {:#x} with {} data bytes is no classic CAN frame", frame.id, frame.data.len());
    io::Error::new(io::ErrorKind::InvalidInput, text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_image_is_linux() {
        let frame = OwnedFrame { id: 0x9ABC_0042, flags: 0, data: vec![1, 2, 3] };
        let image = image(&frame).unwrap();
        assert_eq!(u32::from_ne_bytes([image[0], image[1], image[2], image[3]]), 0x9ABC_0042);
        assert_eq!(image[4..], [3, 0, 0, 0, 1, 2, 3, 0, 0, 0, 0, 0]);
        assert!(super::image(&OwnedFrame { id: 1, flags: 1, data: vec![0; 12] }).is_err());
    }

    #[test]
    fn a_real_interface_is_refused() {
        let e = VirtualInterface::checked("can0", |_| false).unwrap_err();
        assert!(e.to_string().contains("can0 is not a virtual CAN interface"), "{e}");
        assert_eq!(VirtualInterface::checked("vcan0", |n| n == "vcan0").unwrap().name(), "vcan0");
    }
}
