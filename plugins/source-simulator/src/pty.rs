//! Pseudo-terminals under names that stay: what the program opens is a link, as `/dev/serial/by-id` gives one for a
//! real adapter; the terminal behind it may be another after an unplugging.

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::{Mode, OFlags, fcntl_setfl, open};
use rustix::io::Errno;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};
use std::ffi::OsStr;
use std::io;
use std::os::fd::OwnedFd;
use std::os::unix::ffi::OsStrExt;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The instrument's end of a pseudo-terminal. Dropping it hangs up on whoever has the other end open.
#[derive(Debug)]
pub struct Pty {
    master: OwnedFd,
    link: PathBuf,
    terminal: PathBuf,
}

/// What a wait came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wait {
    /// There are bytes to read.
    Readable,
    /// Nothing came.
    TimeOut,
    /// Nobody has the other end open.
    NobodyThere,
}

impl Pty {
    /// A new terminal in raw mode, and a link to it; a link that is there already is replaced.
    ///
    /// # Errors
    /// What the system says.
    pub fn open(link: &Path) -> io::Result<Pty> {
        let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC)?;
        grantpt(&master)?;
        unlockpt(&master)?;
        let name = ptsname(&master, Vec::new())?;
        // Opened and closed once: the settings stay with the terminal, and from then on it tells whether somebody
        // has it open.
        let other = open(&name, OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC, Mode::empty())?;
        let mut settings = tcgetattr(&other)?;
        settings.make_raw();
        tcsetattr(&other, OptionalActions::Now, &settings)?;
        drop(other);
        fcntl_setfl(&master, OFlags::NONBLOCK)?;
        let terminal = PathBuf::from(OsStr::from_bytes(name.as_bytes()));
        let fresh = link.with_extension("new");
        if let Err(e) = std::fs::remove_file(&fresh)
            && e.kind() != io::ErrorKind::NotFound
        {
            return Err(e);
        }
        std::os::unix::fs::symlink(&terminal, &fresh)?;
        std::fs::rename(&fresh, link)?;
        Ok(Pty { master, link: link.to_owned(), terminal })
    }

    /// The terminal's own path.
    pub fn terminal(&self) -> &Path {
        &self.terminal
    }

    /// Waits for bytes, at most so long.
    ///
    /// # Errors
    /// What the system says.
    pub fn wait(&self, longest: Duration) -> io::Result<Wait> {
        let flags = self.poll(PollFlags::IN, longest)?;
        Ok(if flags.contains(PollFlags::IN) {
            Wait::Readable
        } else if flags.contains(PollFlags::HUP) {
            Wait::NobodyThere
        } else {
            Wait::TimeOut
        })
    }

    /// Reads what is there, possibly nothing.
    ///
    /// # Errors
    /// What the system says.
    pub fn read(&self, bytes: &mut Vec<u8>) -> io::Result<()> {
        let mut buffer = [0; 512];
        match rustix::io::read(&self.master, &mut buffer) {
            Ok(n) => bytes.extend_from_slice(&buffer[..n]),
            Err(Errno::AGAIN | Errno::INTR) => {}
            // The other end was closed.
            Err(Errno::IO) => {}
            Err(e) => return Err(e.into()),
        }
        Ok(())
    }

    /// Sends bytes, or returns false where nobody listens or nobody reads.
    ///
    /// # Errors
    /// What the system says.
    pub fn write(&self, bytes: &[u8]) -> io::Result<bool> {
        if self.poll(PollFlags::OUT, Duration::ZERO)?.contains(PollFlags::HUP) {
            return Ok(false);
        }
        match rustix::io::write(&self.master, bytes) {
            Ok(n) => Ok(n == bytes.len()),
            Err(Errno::AGAIN | Errno::IO) => Ok(false),
            Err(e) => Err(e.into()),
        }
    }

    fn poll(&self, what: PollFlags, longest: Duration) -> io::Result<PollFlags> {
        let longest = Timespec { tv_sec: longest.as_secs() as i64, tv_nsec: i64::from(longest.subsec_nanos()) };
        let mut fds = [PollFd::new(&self.master, what)];
        match poll(&mut fds, Some(&longest)) {
            Ok(_) => Ok(fds[0].revents()),
            Err(Errno::INTR) => Ok(PollFlags::empty()),
            Err(e) => Err(e.into()),
        }
    }
}

impl Drop for Pty {
    fn drop(&mut self) {
        // A link that has come to point elsewhere is not ours to remove.
        if std::fs::read_link(&self.link).is_ok_and(|t| t == self.terminal) {
            let _ = std::fs::remove_file(&self.link);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::{Read, Write};

    #[test]
    fn carries_bytes_both_ways_and_hangs_up() {
        let folder = tempfile::tempdir().unwrap();
        let link = folder.path().join("port");
        let pty = Pty::open(&link).unwrap();
        assert_eq!(pty.wait(Duration::ZERO).unwrap(), Wait::NobodyThere);
        assert!(!pty.write(b"x").unwrap());
        let mut port = std::fs::File::options().read(true).write(true).open(&link).unwrap();
        assert!(pty.write(b"\x03\r\n\0").unwrap());
        let mut got = [0; 4];
        port.read_exact(&mut got).unwrap();
        assert_eq!(&got, b"\x03\r\n\0");
        port.write_all(b"\x11\x03\n\xff").unwrap();
        let mut bytes = Vec::new();
        while bytes.len() < 4 && pty.wait(Duration::from_secs(10)).unwrap() == Wait::Readable {
            pty.read(&mut bytes).unwrap();
        }
        assert_eq!(bytes, b"\x11\x03\n\xff");
        let first = pty.terminal().to_owned();
        drop(pty);
        assert!(!link.exists());
        assert!(matches!(port.read(&mut got), Ok(0) | Err(_)));
        let again = Pty::open(&link).unwrap();
        assert_eq!(std::fs::read_link(&link).unwrap(), again.terminal());
        assert_ne!(again.terminal(), first, "the old one is still held open by its client");
    }
}
