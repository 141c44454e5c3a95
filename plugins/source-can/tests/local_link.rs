//! A whole source on a local link: from datagrams to what the intake takes.
#![allow(clippy::unwrap_used, reason = "tests may panic")]

use decode::can::frame::CanFrame;
use plugin_api::fake::{self, Taken};
use plugin_api::{LinkLost, Message, Options, Source, SourceSetup};
use source_can::PLUGIN;
use std::future::Future;
use std::os::unix::net::UnixDatagram;
use std::path::Path;
use std::time::Duration;
use stream::{FaultKind, LinkState, RecordKind, SourceId};
use tokio::time::{Instant, sleep};

fn source(path: &Path) -> Box<dyn Source> {
    let options = Options::from_text(&format!("interface = \"unix:{}\"", path.display()));
    let setup = SourceSetup { id: SourceId(0), name: "bus".into(), options, devices: Vec::new() };
    (PLUGIN.build)(&setup).unwrap()
}

/// Runs the source while `peer` does its part; ends the source after it.
async fn with_source(path: &Path, peer: impl AsyncFnOnce(&Taken)) -> (Result<(), LinkLost>, Vec<Message>) {
    let mut source = source(path);
    let (mut intake, taken, stop) = fake::intake();
    let part = async {
        peer(&taken).await;
        stop.send(true).unwrap();
    };
    let (result, ()) = tokio::join!(source.run(&mut intake), part);
    (result, taken.all())
}

async fn until(what: &str, mut true_now: impl FnMut() -> bool) {
    let start = Instant::now();
    while !true_now() {
        assert!(start.elapsed() < Duration::from_secs(20), "{what} did not come");
        sleep(Duration::from_millis(2)).await;
    }
}

fn links(messages: &[Message]) -> Vec<(LinkState, String)> {
    let link = |m: &Message| match m {
        Message::Link(l) => Some((l.state, l.detail.clone())),
        _ => None,
    };
    messages.iter().filter_map(link).collect()
}

fn is_up(taken: &Taken) -> bool {
    links(&taken.all()).last().is_some_and(|l| l.0 == LinkState::Up)
}

fn image(id: u32, length: u8, flags: u8, data: &[u8], size: usize) -> Vec<u8> {
    let mut i = id.to_ne_bytes().to_vec();
    i.extend([length, flags, 0, 0]);
    i.extend(data);
    i.resize(size, 0);
    i
}

/// Sends without blocking the thread that the source runs on.
async fn send(socket: &UnixDatagram, datagram: &[u8]) {
    socket.set_nonblocking(true).unwrap();
    while let Err(e) = socket.send(datagram) {
        assert_eq!(e.kind(), std::io::ErrorKind::WouldBlock, "{e}");
        sleep(Duration::from_millis(1)).await;
    }
}

fn connected(path: &Path) -> UnixDatagram {
    let socket = UnixDatagram::unbound().unwrap();
    socket.connect(path).unwrap();
    socket
}

fn run<T>(work: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap().block_on(work)
}

#[test]
fn every_kind_of_frame() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("link");
    let long: Vec<u8> = (0..64).collect();
    let datagrams = [
        image(0x123, 3, 0, &[1, 2, 3], 16),
        image(0x98DA_F110, 8, 0, &[9; 8], 16),
        image(0x124, 64, 1, &long, 72),
        image(0x4000_0125, 5, 0, &[], 16),
        image(0x2000_0040, 8, 0, &[], 16),
        image(0x2000_0080, 8, 0, &[], 16),
        image(0x2000_0100, 8, 0, &[], 16),
        b"fifteen bytes..".to_vec(),
        vec![],
        vec![7; 200],
        image(0x126, 9, 0, &[], 16),
        image(0x127, 0, 0, &[], 16),
    ];
    let (result, messages) = run(with_source(&path, async |taken| {
        until("the link", || is_up(taken)).await;
        let socket = connected(&path);
        for d in &datagrams {
            send(&socket, d).await;
        }
        until("the last frame", || taken.all().len() >= 13).await;
    }));
    result.unwrap();

    let frame = |m: &Message, expected: CanFrame<'_>| match m {
        Message::Record(r) if r.kind == RecordKind::CanFrame => {
            assert_eq!(CanFrame::parse(&r.payload), Ok(expected));
            assert!(r.event_time.0 > 0);
        }
        m => panic!("{m:?} instead of {expected:?}"),
    };
    let fault = |m: &Message, kind: FaultKind, bytes: &[u8]| match m {
        Message::Record(r) => assert_eq!(r.fault(), Some((0, kind, bytes))),
        m => panic!("{m:?} instead of a fault"),
    };
    assert_eq!(messages.len(), 13);
    frame(&messages[1], CanFrame::data(0x123, 0, &[1, 2, 3]));
    frame(&messages[2], CanFrame::data(0x98DA_F110, 0, &[9; 8]));
    frame(&messages[3], CanFrame::data(0x124, CanFrame::FD | CanFrame::RATE_SWITCH, &long));
    frame(&messages[4], CanFrame { id: 0x4000_0125, flags: 0, len: 5, interface: 0, data: &[] });
    fault(&messages[6], FaultKind::BusError, &datagrams[5]);
    fault(&messages[8], FaultKind::Malformed, b"fifteen bytes..");
    fault(&messages[9], FaultKind::Malformed, b"");
    fault(&messages[10], FaultKind::Malformed, &[7; 80]); // what there was room for
    fault(&messages[11], FaultKind::Malformed, &datagrams[10]);
    frame(&messages[12], CanFrame::data(0x127, 0, &[]));
    let links = links(&messages);
    let states: Vec<LinkState> = links.iter().map(|l| l.0).collect();
    assert_eq!(states, [LinkState::Up, LinkState::Down, LinkState::Up]);
    assert!(
        links[0].1.starts_with(&format!("unix:{}: local link, no bus, receive buffer ", path.display())),
        "{links:?}"
    );
    assert_eq!(links[1].1, "bus-off (bus-off)");
    assert_eq!(links[2].1, "error-active (controller restarted)");
    let sequence: Vec<u64> = messages
        .iter()
        .filter_map(|m| match m {
            Message::Record(r) => Some(r.sequence),
            _ => None,
        })
        .collect();
    assert_eq!(sequence, (0..10).collect::<Vec<_>>());
}

/// Many frames, more than one system call takes, in order and none lost: a local link makes the sender wait.
#[test]
fn many_frames_in_order() {
    const COUNT: u32 = 20_000;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("link");
    let (result, messages) = run(with_source(&path, async |taken| {
        until("the link", || is_up(taken)).await;
        let socket = connected(&path);
        let sender = std::thread::spawn(move || {
            for n in 0..COUNT {
                socket.send(&image(0x100, 4, 0, &n.to_le_bytes(), 16)).unwrap();
            }
        });
        until("the sender's end", || sender.is_finished()).await;
    }));
    result.unwrap();
    let numbers: Vec<u32> = messages
        .iter()
        .filter_map(|m| match m {
            Message::Record(r) => {
                Some(u32::from_le_bytes(CanFrame::parse(&r.payload).unwrap().data.try_into().unwrap()))
            }
            _ => None,
        })
        .collect();
    assert_eq!(numbers, (0..COUNT).collect::<Vec<_>>());
}

/// A socket left by a program that was killed is replaced; the file goes with the source.
#[test]
fn stale_sockets_are_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("link");
    drop(UnixDatagram::bind(&path).unwrap());
    assert!(path.exists());
    let (result, _) = run(with_source(&path, async |taken| until("the link", || is_up(taken)).await));
    result.unwrap();
    assert!(!path.exists());
}

/// Nothing else is ever removed; the reason is said once, and the link comes up when it is gone.
#[test]
fn what_is_not_ours_stays() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("link");
    std::fs::write(&path, "kept").unwrap();
    let (result, messages) = run(with_source(&path, async |taken| {
        until("the reason", || !taken.all().is_empty()).await;
        sleep(Duration::from_millis(1200)).await;
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "kept");
        std::fs::remove_file(&path).unwrap();
        let other = UnixDatagram::bind(&path).unwrap();
        until("the other reason", || taken.all().len() == 2).await;
        drop(other);
        until("the link", || is_up(taken)).await;
    }));
    result.unwrap();
    let links = links(&messages);
    let name = path.display();
    assert_eq!(links.len(), 3);
    let file = format!("{name} exists and is not a socket: choose another path or remove it");
    assert_eq!(links[0], (LinkState::Down, file));
    let used = format!("{name} is in use by another program: choose another path or end that program");
    assert_eq!(links[1], (LinkState::Down, used));
}

/// The socket's file removed by someone: the link is lost, and opened anew when the source is run again.
#[test]
fn a_removed_socket_is_noticed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("link");
    let mut source = source(&path);
    let (mut intake, taken, stop) = fake::intake();
    run(async {
        let part = async {
            until("the link", || is_up(&taken)).await;
            std::fs::remove_file(&path).unwrap();
        };
        let (result, ()) = tokio::join!(source.run(&mut intake), part);
        assert_eq!(result.unwrap_err().0, format!("the socket {} was removed", path.display()));
        let part = async {
            until("the link again", || links(&taken.all()).len() == 2).await;
            send(&connected(&path), &image(1, 0, 0, &[], 16)).await;
            until("the frame", || taken.all().len() == 3).await;
            stop.send(true).unwrap();
        };
        let (result, ()) = tokio::join!(source.run(&mut intake), part);
        result.unwrap();
    });
}

/// Where the kernel has no CAN, or no such interface, it is said once and waited for; the stop is heard.
#[test]
fn an_interface_that_is_not_there_is_waited_for() {
    let options = Options::from_text("interface = \"no-such-can\"");
    let setup = SourceSetup { id: SourceId(0), name: "bus".into(), options, devices: Vec::new() };
    let mut source = (PLUGIN.build)(&setup).unwrap();
    let (mut intake, taken, stop) = fake::intake();
    run(async {
        let part = async {
            sleep(Duration::from_millis(1200)).await;
            stop.send(true).unwrap();
        };
        let (result, ()) = tokio::join!(source.run(&mut intake), part);
        result.unwrap();
    });
    let links = links(&taken.all());
    assert_eq!(links.len(), 1);
    assert_eq!(links[0].0, LinkState::Down);
}
