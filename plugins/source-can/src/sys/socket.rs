//! A socket that frames are received from. It has no way to send.

use super::open;
use crate::filter::Filter;
use std::io;
use std::mem::{size_of, zeroed};
use std::os::fd::{AsRawFd, OwnedFd, RawFd};
use std::os::unix::net::UnixDatagram;
use tokio::io::Interest;
use tokio::io::unix::AsyncFd;

/// How many frames one system call takes at most.
pub(crate) const BATCH: usize = 64;
/// Room for the largest frame and a little more, so that a datagram that is too long is seen as such.
const IMAGE: usize = libc::CANFD_MTU + 8;

/// What wakes a reader.
pub(crate) const AWAITED: Interest = Interest::READABLE.add(Interest::ERROR);

/// Where frames come from: a raw CAN socket or a Unix datagram socket.
pub(crate) struct Socket(OwnedFd);

/// What to set on a raw CAN socket before it is bound.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Settings<'a> {
    /// Receive CAN FD frames too.
    pub(crate) fd: bool,
    /// Bytes asked of the kernel for the receive buffer.
    pub(crate) receive_buffer: u32,
    /// Identifiers to let through; empty for all.
    pub(crate) filters: &'a [Filter],
}

/// What came with a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Received<'a> {
    /// The bytes: a `can_frame` or `canfd_frame` where all is well.
    pub(crate) image: &'a [u8],
    /// The kernel's receive stamp, ns since 1970 UTC on the wall clock.
    pub(crate) stamp_ns: Option<i64>,
    /// Frames dropped at this socket before this one was queued; it wraps. Not told while it is 0.
    pub(crate) drops: Option<u32>,
}

/// Opens a raw CAN socket and closes it again: whether this kernel has CAN at all.
pub(crate) fn can_is_there() -> io::Result<()> {
    open(libc::AF_CAN, libc::SOCK_RAW, libc::CAN_RAW).map(drop)
}

impl Socket {
    /// A raw CAN socket on the interface with this number: all frames (or those that
    /// the filters let through), all error frames, stamps, drop counter.
    pub(crate) fn can(index: u32, settings: Settings<'_>) -> io::Result<Socket> {
        let socket = Socket(open(libc::AF_CAN, libc::SOCK_RAW | libc::SOCK_NONBLOCK, libc::CAN_RAW)?);
        socket.set(libc::SOL_CAN_RAW, libc::CAN_RAW_ERR_FILTER, libc::CAN_ERR_MASK as i32)?;
        socket.set(libc::SOL_CAN_RAW, libc::CAN_RAW_FD_FRAMES, i32::from(settings.fd))?;
        socket.filter(settings.filters)?;
        socket.set(libc::SOL_SOCKET, libc::SO_TIMESTAMPNS, 1)?;
        socket.set(libc::SOL_SOCKET, libc::SO_RXQ_OVFL, 1)?;
        socket.ask_for_buffer(settings.receive_buffer)?;
        // SAFETY: all zeroes is a valid sockaddr_can.
        let mut address: libc::sockaddr_can = unsafe { zeroed() };
        address.can_family = libc::AF_CAN as libc::sa_family_t;
        address.can_ifindex = index as i32;
        let length = size_of::<libc::sockaddr_can>() as libc::socklen_t;
        // SAFETY: the pointer is to a live sockaddr_can of that length.
        let bound = unsafe { libc::bind(socket.as_raw_fd(), (&raw const address).cast(), length) };
        if bound < 0 { Err(io::Error::last_os_error()) } else { Ok(socket) }
    }

    /// A bound Unix datagram socket.
    pub(crate) fn local(socket: UnixDatagram, receive_buffer: u32) -> io::Result<Socket> {
        socket.set_nonblocking(true)?;
        let socket = Socket(socket.into());
        socket.ask_for_buffer(receive_buffer)?;
        Ok(socket)
    }

    /// The socket with tokio waiting for it. An interface going down wakes as an error alone, so both are waited for.
    pub(crate) fn awaited(self) -> io::Result<AsyncFd<Socket>> {
        // SAFETY: the descriptor is owned by `self`, which closes it only when it is dropped, after the AsyncFd
        // has let go of it.
        unsafe { AsyncFd::register_with_interest(self, AWAITED) }.map_err(io::Error::from)
    }

    /// The size of the receive buffer as the kernel counts it: twice what was asked, if that was allowed.
    pub(crate) fn receive_buffer(&self) -> io::Result<u32> {
        let mut size = [0u32; 1];
        self.get(libc::SO_RCVBUF, &mut size)?;
        Ok(size[0])
    }

    /// Frames dropped at this socket so far; it wraps. Unlike what comes with frames it is told at any time.
    pub(crate) fn drops(&self) -> io::Result<u32> {
        // SK_MEMINFO_DROPS is the last of nine numbers.
        let mut numbers = [0u32; libc::SK_MEMINFO_DROPS as usize + 1];
        self.get(libc::SO_MEMINFO, &mut numbers)?;
        Ok(numbers[libc::SK_MEMINFO_DROPS as usize])
    }

    /// Takes what is there, up to [`BATCH`] frames, without waiting.
    ///
    /// # Errors
    /// `WouldBlock` where nothing is there; ENETDOWN and ENODEV once, when the interface went down or away.
    pub(crate) fn receive(&self, batch: &mut Batch) -> io::Result<()> {
        batch.filled = 0;
        let Batch { slots, filled } = batch;
        // SAFETY: all zeroes is a valid mmsghdr and iovec: no address, no buffers.
        let mut heads: [libc::mmsghdr; BATCH] = unsafe { zeroed() };
        // SAFETY: as above.
        let mut parts: [libc::iovec; BATCH] = unsafe { zeroed() };
        for ((head, part), slot) in heads.iter_mut().zip(&mut parts).zip(slots.iter_mut()) {
            part.iov_base = slot.image.as_mut_ptr().cast();
            part.iov_len = IMAGE;
            head.msg_hdr.msg_iov = part;
            head.msg_hdr.msg_iovlen = 1;
            head.msg_hdr.msg_control = slot.control.0.as_mut_ptr().cast();
            head.msg_hdr.msg_controllen = CONTROL as _;
        }
        let flags = libc::MSG_DONTWAIT;
        // SAFETY: `heads` holds BATCH headers whose pointers are to parts and slots that outlive the call, each
        // with the length of its buffer; no time-out is given.
        let got = unsafe {
            libc::recvmmsg(self.as_raw_fd(), heads.as_mut_ptr(), BATCH as u32, flags as _, std::ptr::null_mut())
        };
        let got = usize::try_from(got).map_err(|_| io::Error::last_os_error())?;
        for (head, slot) in heads.iter().zip(slots.iter_mut()).take(got) {
            slot.length = (head.msg_len as usize).min(IMAGE);
            (slot.stamp_ns, slot.drops) = control(&head.msg_hdr);
        }
        *filled = got;
        Ok(())
    }

    fn ask_for_buffer(&self, bytes: u32) -> io::Result<()> {
        let bytes = i32::try_from(bytes).unwrap_or(i32::MAX);
        // FORCE needs CAP_NET_ADMIN; without it the kernel gives at most net.core.rmem_max.
        self.set(libc::SOL_SOCKET, libc::SO_RCVBUFFORCE, bytes)
            .or_else(|_| self.set(libc::SOL_SOCKET, libc::SO_RCVBUF, bytes))
    }

    /// Lets only these identifiers through; all, where there are none.
    fn filter(&self, filters: &[Filter]) -> io::Result<()> {
        if filters.is_empty() {
            return Ok(());
        }
        let filters: Vec<libc::can_filter> =
            filters.iter().map(|f| libc::can_filter { can_id: f.id, can_mask: f.mask }).collect();
        let (level, option) = (libc::SOL_CAN_RAW, libc::CAN_RAW_FILTER);
        let length = size_of_val(filters.as_slice()) as libc::socklen_t;
        // SAFETY: the pointer is to live can_filters of that total length.
        let r = unsafe { libc::setsockopt(self.as_raw_fd(), level, option, filters.as_ptr().cast(), length) };
        if r < 0 { Err(io::Error::last_os_error()) } else { Ok(()) }
    }

    fn set(&self, level: i32, option: i32, value: i32) -> io::Result<()> {
        let length = size_of::<i32>() as libc::socklen_t;
        // SAFETY: the pointer is to a live i32 of that length.
        let r = unsafe { libc::setsockopt(self.as_raw_fd(), level, option, (&raw const value).cast(), length) };
        if r < 0 { Err(io::Error::last_os_error()) } else { Ok(()) }
    }

    fn get(&self, option: i32, numbers: &mut [u32]) -> io::Result<()> {
        let mut length = size_of_val(numbers) as libc::socklen_t;
        let to = numbers.as_mut_ptr().cast();
        // SAFETY: the pointer is to live u32s of that total length, which the kernel does not exceed.
        let r = unsafe { libc::getsockopt(self.as_raw_fd(), libc::SOL_SOCKET, option, to, &raw mut length) };
        match r {
            0 if length as usize == size_of_val(numbers) => Ok(()),
            0 => Err(io::Error::from(io::ErrorKind::UnexpectedEof)),
            _ => Err(io::Error::last_os_error()),
        }
    }
}

impl AsRawFd for Socket {
    fn as_raw_fd(&self) -> RawFd {
        self.0.as_raw_fd()
    }
}

/// Room for two control messages (a timespec and a u32) and more.
const CONTROL: usize = 128;

/// Control messages must be aligned as their header is.
#[repr(C, align(8))]
struct Control([u8; CONTROL]);

struct Slot {
    image: [u8; IMAGE],
    control: Control,
    length: usize,
    stamp_ns: Option<i64>,
    drops: Option<u32>,
}

/// What one call received.
pub(crate) struct Batch {
    slots: Vec<Slot>,
    filled: usize,
}

impl Batch {
    pub(crate) fn new() -> Batch {
        let slot =
            || Slot { image: [0; IMAGE], control: Control([0; CONTROL]), length: 0, stamp_ns: None, drops: None };
        Batch { slots: std::iter::repeat_with(slot).take(BATCH).collect(), filled: 0 }
    }

    /// The frames in the order they were received.
    pub(crate) fn frames(&self) -> impl Iterator<Item = Received<'_>> {
        self.slots.iter().take(self.filled).map(|s| Received {
            image: &s.image[..s.length],
            stamp_ns: s.stamp_ns,
            drops: s.drops,
        })
    }
}

/// Stamp and drop counter out of a received header's control messages.
fn control(head: &libc::msghdr) -> (Option<i64>, Option<u32>) {
    let (mut stamp, mut drops) = (None, None);
    // SAFETY: the kernel filled the control buffer, which is live and aligned, and set its length in `head`.
    let mut at = unsafe { libc::CMSG_FIRSTHDR(head) };
    while !at.is_null() {
        // SAFETY: CMSG_FIRSTHDR and CMSG_NXTHDR give null or a whole header inside the control buffer.
        let (level, kind, length) = unsafe { ((*at).cmsg_level, (*at).cmsg_type, (*at).cmsg_len as usize) };
        // SAFETY: the data follow the header; they are read only where the header's length covers them.
        unsafe {
            let data = libc::CMSG_DATA(at);
            if level == libc::SOL_SOCKET && kind == libc::SCM_TIMESTAMPNS && length >= cmsg_len::<libc::timespec>() {
                let t = data.cast::<libc::timespec>().read_unaligned();
                stamp = t.tv_sec.checked_mul(1_000_000_000).and_then(|s| s.checked_add(t.tv_nsec));
            } else if level == libc::SOL_SOCKET && kind == libc::SO_RXQ_OVFL && length >= cmsg_len::<u32>() {
                drops = Some(data.cast::<u32>().read_unaligned());
            }
            at = libc::CMSG_NXTHDR(head, at);
        }
    }
    (stamp, drops)
}

fn cmsg_len<T>() -> usize {
    // SAFETY: computes a number from a number.
    unsafe { libc::CMSG_LEN(size_of::<T>() as u32) as usize }
}
