//! The instruments asked over their real terminals by a raw client. What comes is checked, never how fast: waits end
//! by themselves only when something is broken.

use super::*;
use crate::report::Counts;
use std::fs::File;
use std::io::{Read, Write};
use std::os::unix::net::UnixDatagram;
use std::path::Path;
use std::sync::mpsc;
use std::time::Duration;

const BROKEN: Duration = Duration::from_secs(20);

/// The other end of a terminal: bytes arrive over a channel, so that no read hangs a test.
struct Client {
    port: File,
    bytes: mpsc::Receiver<Vec<u8>>,
    seen: Vec<u8>,
}

impl Client {
    fn open(path: &Path) -> Client {
        let port = File::options().read(true).write(true).open(path).unwrap();
        let mut reading = port.try_clone().unwrap();
        let (to, bytes) = mpsc::channel();
        std::thread::spawn(move || {
            let mut buffer = [0; 256];
            while let Ok(n @ 1..) = reading.read(&mut buffer) {
                if to.send(buffer[..n].to_vec()).is_err() {
                    break;
                }
            }
        });
        Client { port, bytes, seen: Vec::new() }
    }

    /// The first `n` bytes not taken yet.
    fn take(&mut self, n: usize) -> Vec<u8> {
        while self.seen.len() < n {
            self.seen.extend(self.bytes.recv_timeout(BROKEN).expect("bytes from the rig"));
        }
        self.seen.drain(..n).collect()
    }

    fn line(&mut self) -> String {
        while !self.seen.ends_with(b"\n") {
            self.seen.extend(self.bytes.recv_timeout(BROKEN).expect("a line from the rig"));
        }
        String::from_utf8(std::mem::take(&mut self.seen)).unwrap()
    }

    /// Sends a request with its checksum, reads `n` bytes of answer.
    fn ask(&mut self, request: &[u8], n: usize) -> Vec<u8> {
        self.port.write_all(&sealed(request)).unwrap();
        self.take(n)
    }

    /// Waits until the other end hangs up.
    fn wait_for_hang_up(&mut self) {
        loop {
            match self.bytes.recv_timeout(BROKEN) {
                Ok(_) => {}
                Err(mpsc::RecvTimeoutError::Disconnected) => return,
                Err(mpsc::RecvTimeoutError::Timeout) => panic!("the line was not unplugged"),
            }
        }
    }
}

fn sealed(body: &[u8]) -> Vec<u8> {
    [body, &decode::crc::modbus(body).to_le_bytes()].concat()
}

fn options(folder: &Path, faults: Vec<(f64, RigFault)>) -> RigOptions {
    RigOptions { faults, ..RigOptions::demonstration(folder.to_owned(), CanOut::None) }
}

#[test]
fn modbus_answers_what_it_is_asked_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let rig = Rig::start(options(folder.path(), vec![])).unwrap();
    let mut c = Client::open(&folder.path().join("thermocouples"));
    let answer = c.ask(&[1, 4, 0, 0, 0, 8], 21);
    assert_eq!((&answer[..3], decode::crc::modbus_fits(&answer)), (&[1, 4, 16][..], true));
    let t1 = f64::from(i16::from_be_bytes([answer[3], answer[4]])) * 0.1;
    assert!((t1 - 30.0).abs() < 1.0, "at rest every temperature is ambient: {t1}");
    let answer = c.ask(&[2, 3, 0, 12, 0, 2], 9);
    let bleed = f32::from_be_bytes([answer[3], answer[4], answer[5], answer[6]]);
    assert!((bleed - 362.0).abs() < 5.0, "{bleed}");
    // Neither another module's address, nor broadcast, nor a wrong checksum is answered: the next answer is the next
    // request's.
    c.port.write_all(&sealed(&[9, 4, 0, 0, 0, 1])).unwrap();
    c.port.write_all(&sealed(&[0, 4, 0, 0, 0, 1])).unwrap();
    assert_eq!(c.ask(&[1, 4, 0, 7, 0, 1], 7)[..3], [1, 4, 2]);
    c.port.write_all(&[1, 4, 0, 0, 0, 1, 0xAA, 0xAA]).unwrap();
    while rig.report().bad_requests == 0 {
        std::thread::sleep(Duration::from_millis(5));
    }
    for (request, exception) in [
        (&[1u8, 4, 0, 7, 0, 2][..], [1, 0x84, 2]),     // past the last register
        (&[1, 3, 0, 0, 0, 1], [1, 0x83, 1]),           // the other module's function
        (&[1, 6, 0, 0, 0, 1], [1, 0x86, 1]),           // a write
        (&[1, 16, 0, 0, 0, 1, 2, 0, 0], [1, 0x90, 1]), // a write of another length
        (&[2, 3, 0, 0, 0, 0], [2, 0x83, 3]),           // nothing asked for
    ] {
        assert_eq!(c.ask(request, 5), sealed(&exception), "{request:?}");
    }
    let report = rig.stop();
    assert_eq!(report.thermocouples, Counts { asked: 6, good: 2, exceptions: 4, ..Counts::default() });
    assert_eq!(report.pressures, Counts { asked: 2, good: 1, exceptions: 1, ..Counts::default() });
    assert_eq!((report.bad_requests, report.trouble), (1, vec![]));
    assert!(!folder.path().join("thermocouples").exists());
}

#[test]
fn scripted_faults_happen_once_and_are_counted() {
    let d = RigDevice::Thermocouples;
    let faults = vec![
        (0.0, RigFault::Noise { device: d, bytes: vec![0xFF, 0x00, 0xFE] }),
        (0.0, RigFault::WrongCrc { device: d }),
        (0.0, RigFault::LateAnswer { device: RigDevice::Pressures, seconds: 0.01 }),
    ];
    let folder = tempfile::tempdir().unwrap();
    let rig = Rig::start(options(folder.path(), faults)).unwrap();
    let mut c = Client::open(&folder.path().join("thermocouples"));
    let spoilt = c.ask(&[1, 4, 0, 0, 0, 1], 3 + 7);
    assert_eq!(spoilt[..6], [0xFF, 0x00, 0xFE, 1, 4, 2]);
    assert!(!decode::crc::modbus_fits(&spoilt[3..]));
    assert!(decode::crc::modbus_fits(&c.ask(&[1, 4, 0, 0, 0, 1], 7)));
    assert!(decode::crc::modbus_fits(&c.ask(&[2, 3, 0, 0, 0, 2], 9)));
    let report = rig.stop();
    assert_eq!(report.thermocouples, Counts { asked: 2, good: 1, wrong_crc: 1, noise: 1, ..Counts::default() });
    assert_eq!(report.pressures, Counts { asked: 1, late: 1, ..Counts::default() });
}

#[test]
fn a_silent_device_leaves_the_other_its_voice() {
    let faults = vec![(0.0, RigFault::Silence { device: RigDevice::Thermocouples, seconds: 1e6 })];
    let folder = tempfile::tempdir().unwrap();
    let rig = Rig::start(options(folder.path(), faults)).unwrap();
    let mut c = Client::open(&folder.path().join("thermocouples"));
    c.port.write_all(&sealed(&[1, 4, 0, 0, 0, 1])).unwrap();
    assert_eq!(c.ask(&[2, 3, 0, 0, 0, 2], 9)[..3], [2, 3, 4]);
    let report = rig.stop();
    assert_eq!(report.thermocouples, Counts { asked: 1, silent: 1, ..Counts::default() });
    assert_eq!(report.pressures.good, 1);
}

#[test]
fn the_hygrometer_talks_is_unplugged_and_comes_back() {
    let faults = vec![(2.0, RigFault::Unplug { line: RigLine::Hygrometer, seconds: 1.0 })];
    let folder = tempfile::tempdir().unwrap();
    let rig = Rig::start(RigOptions { pace: 10.0, ..options(folder.path(), faults) }).unwrap();
    let link = folder.path().join("hygrometer");
    let mut c = Client::open(&link);
    let line = c.line();
    assert!(line.starts_with("RH=") && line.ends_with("hPa\r\n"), "{line:?}");
    c.wait_for_hang_up();
    let started = std::time::Instant::now();
    while !link.exists() {
        assert!(started.elapsed() < BROKEN, "the link did not come back");
        std::thread::sleep(Duration::from_millis(5));
    }
    assert!(Client::open(&link).line().starts_with("RH="));
    let report = rig.stop();
    assert_eq!((report.unplugged_hygrometer, report.unplugged_thermocouples), (1, 0));
    let h = report.hygrometer;
    assert_eq!(h.asked, h.good + h.unsent);
    assert!(h.good >= 2 && !link.exists());
}

#[test]
fn can_frames_reach_the_socket_in_order_none_missing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("can");
    let socket = UnixDatagram::bind(&path).unwrap();
    socket.set_read_timeout(Some(BROKEN)).unwrap();
    let can = CanOut::Link(path);
    let rig = Rig::start(RigOptions { can, pace: 20.0, ..options(folder.path(), vec![]) }).unwrap();
    let (mut machine, mut others, mut image) = (0u64, 0u64, [0; 80]);
    while machine < 300 {
        assert_eq!(socket.recv(&mut image).unwrap(), 16);
        if u32::from_ne_bytes([image[0], image[1], image[2], image[3]]) == 0x120 {
            assert_eq!(u64::from(image[8 + 7]), machine % 256, "the frame's own counter");
            machine += 1;
        } else {
            others += 1;
        }
    }
    drop(socket);
    let report = rig.stop();
    // 300 ticks: every second one with a flow frame, every tenth with valves and status; the last tick's come after.
    assert_eq!(others, 150 + 30 + 30);
    assert!(report.can_frames >= machine + others, "{report:?}");
    assert_eq!(report.trouble, Vec::<String>::new());
}

#[test]
fn frames_for_nobody_are_counted_and_nothing_breaks() {
    let folder = tempfile::tempdir().unwrap();
    let can = CanOut::Link(folder.path().join("nobody"));
    let rig = Rig::start(RigOptions { can, ..options(folder.path(), vec![]) }).unwrap();
    while rig.report().can_unsent < 10 {
        std::thread::sleep(Duration::from_millis(5));
    }
    let report = rig.stop();
    assert_eq!((report.can_frames, report.trouble), (0, vec![]));
}

#[test]
fn nonsense_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    for pace in [0.0, -1.0, f64::NAN, 1e6] {
        assert!(matches!(Rig::start(RigOptions { pace, ..options(folder.path(), vec![]) }), Err(RigError::Pace(_))));
    }
    let faults = vec![(3.0, RigFault::WrongCrc { device: RigDevice::Hygrometer })];
    let e = Rig::start(options(folder.path(), faults)).err().unwrap();
    assert_eq!(e.to_string(), "the scripted fault at 3 s is refused: its lines carry no checksum");
    let faults = vec![(f64::NAN, RigFault::Noise { device: RigDevice::Pressures, bytes: vec![] })];
    assert!(Rig::start(options(folder.path(), faults)).is_err());
    let file = folder.path().join("file");
    std::fs::write(&file, "").unwrap();
    let e = Rig::start(options(&file, vec![])).err().unwrap();
    assert!(e.to_string().contains(&file.display().to_string()), "{e}");
}
