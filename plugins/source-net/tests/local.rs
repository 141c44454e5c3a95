//! On this machine's own loop-back network; nothing here depends on how long anything takes.
#![allow(clippy::unwrap_used)]

use decode::modbus::{Function, Request, encode_answer, encode_exception};
use decode::text::LineFramer;
use plugin_api::{DeviceSetup, Framing, Message, Messages, Options, Query, Source, SourceSetup, fake};
use std::future::Future;
use std::time::Duration;
use stream::{LinkState, RecordKind, SourceId};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream, UdpSocket};

/// A test that hangs has failed.
async fn soon<T>(work: impl Future<Output = T>) -> T {
    tokio::time::timeout(Duration::from_secs(20), work).await.unwrap()
}

fn device(framing: Framing, queries: Vec<Vec<u8>>) -> DeviceSetup {
    let ms = Duration::from_millis;
    let queries = queries.into_iter().map(|bytes| Query { bytes, period: None }).collect();
    DeviceSetup { name: "box".into(), framing, queries, period: ms(5), time_out: ms(500), worst_answer: ms(500) }
}

fn source(options: &str, devices: Vec<DeviceSetup>) -> Box<dyn Source> {
    let setup = SourceSetup { id: SourceId(0), name: "place".into(), options: Options::from_text(options), devices };
    (source_net::PLUGIN.build)(&setup).unwrap()
}

fn lines() -> Framing {
    Framing::Messages(Messages::new(RecordKind::TextLine, || LineFramer::new(80)))
}

fn told(message: &Message) -> String {
    match message {
        Message::Record(r) => match (r.kind, r.fault()) {
            (_, Some((device, kind, _))) => format!("{device} {}", kind.word()),
            (RecordKind::ModbusAnswer, _) => {
                format!("{} answer {:02x?}", r.payload[0], &r.payload[13..r.payload.len() - 2])
            }
            (RecordKind::TextAnswer, _) => format!("answer {} {}", r.payload[2], r.payload[4..].escape_ascii()),
            _ => format!("line {}", r.payload[2..].escape_ascii()),
        },
        Message::Link(l) => format!("{:?} {}", l.device, l.state.word()),
        Message::Gap(_) => "gap".to_owned(),
    }
}

async fn bound() -> (TcpListener, String) {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let options = format!("address = \"{}\"", listener.local_addr().unwrap());
    (listener, options)
}

/// The request's transaction, and the request as on a serial line.
async fn asked(far: &mut TcpStream) -> ([u8; 2], Vec<u8>) {
    let mut adu = [0; 12];
    far.read_exact(&mut adu).await.unwrap();
    ([adu[0], adu[1]], Request::parse_tcp(&adu).unwrap().frame().to_vec())
}

fn adu(transaction: [u8; 2], rtu: &[u8]) -> Vec<u8> {
    let body = &rtu[..rtu.len() - 2];
    [&transaction[..], &[0, 0, 0, body.len() as u8], body].concat()
}

#[tokio::test]
async fn modbus_answers_by_their_transaction() {
    let (listener, options) = bound().await;
    let read = |unit, f, a, n| Request::to_any_unit(unit, f, a, n).unwrap().frame().to_vec();
    let (registers, coils) = (Function::ReadHoldingRegisters, Function::ReadCoils);
    let mut first = device(Framing::Modbus, vec![read(255, registers, 7, 2), read(255, coils, 0, 9)]);
    first.time_out = Duration::from_millis(100);
    first.worst_answer = first.time_out;
    let mut source = source(&options, vec![first, device(Framing::Modbus, vec![read(0, registers, 7, 2)])]);
    let (mut intake, taken, stop) = fake::intake();
    let server = async {
        let (mut far, _) = listener.accept().await.unwrap();
        let mut late = None;
        for n in 0..9 {
            let (t, request) = asked(&mut far).await;
            // The coils and the registers differ by unit: 255 holds its address, 0 the address and 100.
            let answer = encode_answer(&request, |a| if request[0] == 255 { a } else { a + 100 }).unwrap();
            match n {
                0 => late = Some(adu(t, &answer)),
                // The answer that came too late, in two pieces, then the true one.
                1 => {
                    let bytes = [late.take().unwrap(), adu(t, &answer)].concat();
                    far.write_all(&bytes[..11]).await.unwrap();
                    far.flush().await.unwrap();
                    tokio::time::sleep(Duration::from_millis(5)).await;
                    far.write_all(&bytes[11..]).await.unwrap();
                }
                2 => far.write_all(&adu(t, &encode_exception(&request, 2).unwrap())).await.unwrap(),
                // An answer of another unit under the right number.
                3 => {
                    let mut wrong = answer.clone();
                    wrong[0] ^= 1;
                    far.write_all(&adu(t, &wrong)).await.unwrap();
                }
                8 => far.write_all(&[0, 1, 0, 9, 0, 3, 1, 3, 0]).await.unwrap(),
                _ => far.write_all(&adu(t, &answer)).await.unwrap(),
            }
        }
        far
    };
    let (ran, _far) = soon(async { tokio::join!(source.run(&mut intake), server) }).await;
    assert!(ran.unwrap_err().to_string().contains("no Modbus TCP"));
    let all: Vec<String> = taken.all().iter().map(told).collect();
    assert_eq!(all[..4], ["None up", "0 time-out", "0 late-answer", "1 answer [00, 6b, 00, 6c]"]);
    assert!(all.contains(&"0 exception".to_owned()) && all.contains(&"0 wrong-answer".to_owned()), "{all:?}");
    for answer in all.iter().filter(|t| t.contains("answer [")) {
        let good = ["0 answer [00, 07, 00, 08]", "0 answer [fe, 01]", "1 answer [00, 6b, 00, 6c]"];
        assert!(good.contains(&answer.as_str()), "{answer}");
    }
    stop.send(true).unwrap();
}

#[tokio::test]
async fn lines_over_tcp_until_the_far_end_goes_and_again() {
    let (listener, options) = bound().await;
    let mut source = source(&options, vec![device(lines(), vec![])]);
    let (mut intake, taken, _stop) = fake::intake();
    for _ in 0..2 {
        let server = async {
            let (mut far, _) = listener.accept().await.unwrap();
            far.write_all(b"half\r\nT=1\r\nT=2\nT=").await.unwrap();
            // Nothing is ever written to it: at its end the reading ends too.
            far.shutdown().await.unwrap();
            let mut written = Vec::new();
            far.read_to_end(&mut written).await.unwrap();
            assert!(written.is_empty());
        };
        let (ran, ()) = soon(async {
            tokio::join!(
                async {
                    let lost = source.run(&mut intake).await.unwrap_err();
                    lost.to_string()
                },
                server
            )
        })
        .await;
        assert!(ran.contains("the far end is gone"), "{ran}");
    }
    let all: Vec<String> = taken.all().iter().map(told).collect();
    let once = ["None up", "0 partial-line", "line T=1", "line T=2", "0 partial-line"];
    assert_eq!(all, [once, once].concat());
    drop(listener);
    let refused = soon(source.run(&mut intake)).await.unwrap_err().to_string();
    assert!(refused.contains("nothing listens on that port: check the port"), "{refused}");
}

#[tokio::test]
async fn a_quiet_connection_counts_as_lost() {
    let (listener, options) = bound().await;
    let mut source = source(&format!("{options}\nquiet_s = 0.05"), vec![device(lines(), vec![])]);
    let (mut intake, _taken, _stop) = fake::intake();
    let (ran, far) = soon(async { tokio::join!(source.run(&mut intake), listener.accept()) }).await;
    assert!(ran.unwrap_err().to_string().ends_with("nothing came for 50ms"));
    drop(far);
}

#[tokio::test]
async fn queries_over_tcp() {
    let (listener, options) = bound().await;
    let mut source = source(&options, vec![device(lines(), vec![b"A?\n".to_vec(), b"B?\n".to_vec()])]);
    let (mut intake, taken, stop) = fake::intake();
    let server = async {
        let (mut far, _) = listener.accept().await.unwrap();
        for _ in 0..4 {
            let mut query = [0; 3];
            far.read_exact(&mut query).await.unwrap();
            far.write_all(&[query[0], b'=', b'1', b'\r', b'\n']).await.unwrap();
        }
        while taken.all().len() < 5 {
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
        stop.send(true).unwrap();
    };
    let (ran, ()) = soon(async { tokio::join!(source.run(&mut intake), server) }).await;
    assert!(ran.is_ok());
    let all: Vec<String> = taken.all().iter().map(told).collect();
    assert_eq!(all, ["None up", "answer 0 A=1", "answer 1 B=1", "answer 0 A=1", "answer 1 B=1"]);
}

#[tokio::test]
async fn datagrams_are_lines_and_strangers_are_left_out() {
    let free = UdpSocket::bind("127.0.0.1:0").await.unwrap().local_addr().unwrap();
    let udp = format!("address = \"{free}\"\ntransport = \"udp\"\nfrom = \"127.0.0.2\"");
    let mut source = source(&udp, vec![device(lines(), vec![])]);
    let (mut intake, taken, stop) = fake::intake();
    let sender = async {
        let (known, stranger) =
            (UdpSocket::bind("127.0.0.2:0").await.unwrap(), UdpSocket::bind("127.0.0.3:0").await.unwrap());
        while taken.all().is_empty() {
            tokio::task::yield_now().await;
        }
        stranger.send_to(b"T=9\n", free).await.unwrap();
        known.send_to(b"T=1\r\nT=2", free).await.unwrap();
        known.send_to(b"", free).await.unwrap();
        known.send_to(b"T=3", free).await.unwrap();
        while taken.all().len() < 4 {
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
        stop.send(true).unwrap();
    };
    let (ran, ()) = soon(async { tokio::join!(source.run(&mut intake), sender) }).await;
    assert!(ran.is_ok());
    let all: Vec<String> = taken.all().iter().map(told).collect();
    assert_eq!(all, ["None up", "line T=1", "line T=2", "line T=3"]);
    let Message::Link(up) = &taken.all()[0] else { panic!("no link message first") };
    assert!(up.state == LinkState::Up && up.detail.ends_with("udp, from 127.0.0.2 only"), "{}", up.detail);
}

#[test]
fn the_check_before_the_run_says_who_is_there() {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap();
    let probe = |options: &str| {
        let options = Options::from_text(options);
        let setup = SourceSetup { id: SourceId(0), name: "p".into(), options, devices: vec![device(lines(), vec![])] };
        (source_net::PLUGIN.probe)(&setup).unwrap().openable
    };
    assert_eq!(probe(&format!("address = \"{address}\"")), Ok(()));
    drop(listener);
    let why = probe(&format!("address = \"{address}\"")).unwrap_err();
    assert!(why.contains("check the port"), "{why}");
    let held = std::net::UdpSocket::bind("127.0.0.1:0").unwrap();
    let why = probe(&format!("address = \"{}\"\ntransport = \"udp\"", held.local_addr().unwrap())).unwrap_err();
    assert!(why.contains("another program listens there"), "{why}");
}
