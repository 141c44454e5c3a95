//! On real pseudo-terminals; nothing here depends on how long anything takes.

use super::*;
use decode::modbus::{Function, Request, encode_answer};
use decode::text::LineFramer;
use plugin_api::{Framing, Message, Options, Query, fake};
use std::time::Duration;
use stream::{RecordKind, SourceId};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio_serial::SerialPort;

/// A pseudo-terminal: the far end, and the path of the port.
fn pty() -> (SerialStream, String) {
    let (far, mut port) = SerialStream::pair().unwrap();
    port.set_exclusive(false).unwrap();
    let path = port.name().unwrap();
    (far, path)
}

/// A test that hangs has failed.
async fn soon<T>(work: impl Future<Output = T>) -> T {
    tokio::time::timeout(Duration::from_secs(20), work).await.unwrap()
}

fn lines() -> Framing {
    Framing::Messages(Messages::new(RecordKind::TextLine, || LineFramer::new(80)))
}

fn source(path: &str, framing: Framing, queries: Vec<Query>) -> Box<dyn Source> {
    let ms = Duration::from_millis;
    let name = "instrument".to_owned();
    let (period, time_out, worst_answer) = (ms(20), ms(5000), ms(5000));
    let device = DeviceSetup { name, framing, queries, period, time_out, worst_answer };
    // A short worst answer time only for the silence after opening.
    let device = match device.framing {
        Framing::Modbus => DeviceSetup { time_out: ms(200), worst_answer: ms(200), ..device },
        Framing::Messages(_) => device,
    };
    let options = Options::from_text(&format!("port = {path:?}"));
    build(&SourceSetup { id: SourceId(0), name: "line".into(), options, devices: vec![device] }).unwrap()
}

#[tokio::test]
async fn text_then_the_far_end_goes() {
    let (mut far, path) = pty();
    let mut source = source(&path, lines(), vec![]);
    let (mut intake, taken, _stop) = fake::intake();
    let watch = taken.clone();
    let end = async move {
        while watch.all().is_empty() {
            tokio::task::yield_now().await;
        }
        far.write_all(b"joining\nT1=20.5\n").await.unwrap();
        while watch.all().len() < 3 {
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
        drop(far);
    };
    let (ran, ()) = soon(async { tokio::join!(source.run(&mut intake), end) }).await;
    let lost = ran.unwrap_err().to_string();
    assert!(lost.starts_with(&format!("{path}: ")), "{lost}");
    let lines = taken.all().into_iter().filter_map(|m| match m {
        Message::Record(r) if r.kind == RecordKind::TextLine => Some(r.payload[2..].to_vec()),
        _ => None,
    });
    assert_eq!(lines.collect::<Vec<_>>(), [b"T1=20.5"]);

    // The path is gone with its far end: opening again says so and what is there instead.
    let lost = soon(source.run(&mut intake)).await.unwrap_err().to_string();
    assert!(lost.contains(&format!("{path} is not there")), "{lost}");
}

#[tokio::test]
async fn polls_through_a_real_port_until_stopped() {
    let (mut far, path) = pty();
    let request = Request::new(1, Function::ReadInputRegisters, 7, 2).unwrap();
    let mut source = source(&path, Framing::Modbus, vec![Query { bytes: request.frame().to_vec(), period: None }]);
    let (mut intake, taken, stop) = fake::intake();
    let responder = tokio::spawn(async move {
        for _ in 0..3 {
            let mut asked = [0; 8];
            far.read_exact(&mut asked).await.unwrap();
            far.write_all(&encode_answer(&asked, |a| a + 1000).unwrap()).await.unwrap();
        }
        far
    });
    let watch = taken.clone();
    let end = async move {
        let answers = || watch.all().iter().filter(|m| matches!(m, Message::Record(_))).count();
        while answers() < 3 {
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
        stop.send(true).unwrap();
    };
    let (ran, ()) = soon(async { tokio::join!(source.run(&mut intake), end) }).await;
    assert!(ran.is_ok());
    let Some(Message::Link(up)) = taken.all().into_iter().next() else { panic!("no link message first") };
    assert_eq!((up.device, up.state), (None, LinkState::Up));
    assert!(up.detail.contains("19200 bit/s, 8 data bits, parity even, stop bits 1"), "{}", up.detail);
    responder.await.unwrap();
}

#[tokio::test]
async fn busy_port_says_who_has_it() {
    let (_far, path) = pty();
    let _held = SerialStream::open(&tokio_serial::new(&path, 9600)).unwrap();
    let mut source = source(&path, lines(), vec![]);
    let (mut intake, _taken, _stop) = fake::intake();
    let lost = soon(source.run(&mut intake)).await.unwrap_err().to_string();
    assert!(lost.contains(&format!("{path} is in use by this program itself")), "{lost}");
}
