//! Runs the serial source on a port for a while and prints every message as one JSON line; reopens the port as the
//! program does. For tests against other programs.
//!
//!     poll_line PORT SECONDS modbus UNIT:ADDRESS:COUNT[,ADDRESS:COUNT…] …
//!     poll_line PORT SECONDS text
//!
//! Modbus devices: function 3, period 50 ms, time-out 100 ms, worst answer time 300 ms.

use decode::modbus::{Function, Request};
use decode::text::LineFramer;
use plugin_api::{DeviceSetup, Framing, Message, Messages, Options, Query, SourceSetup, fake};
use serde_json::{Value, json};
use std::error::Error;
use std::time::Duration;
use stream::{RecordKind, SourceId};

#[tokio::main(flavor = "current_thread")]
async fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [port, seconds, framing, devices @ ..] = arguments.as_slice() else {
        return Err("usage: poll_line PORT SECONDS modbus UNIT:ADDRESS:COUNT,… …  or  PORT SECONDS text".into());
    };
    let devices = match framing.as_str() {
        "text" => {
            let lines = Messages::new(RecordKind::TextLine, || LineFramer::new(80));
            vec![device(Framing::Messages(lines), vec![])]
        }
        _ => devices.iter().map(|d| modbus(d)).collect::<Result<_, _>>()?,
    };
    let options = Options::from_text(&format!("port = {port:?}"));
    let mut source =
        (source_serial::PLUGIN.build)(&SourceSetup { id: SourceId(0), name: "line".into(), options, devices })?;
    let (mut intake, taken, stop) = fake::intake();
    let time = Duration::from_secs_f64(seconds.parse()?);
    let mut losses = Vec::new();
    let polling = async {
        while let Err(lost) = source.run(&mut intake).await {
            losses.push(lost.to_string());
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
    };
    let stopping = async {
        tokio::time::sleep(time).await;
        stop.send_replace(true);
    };
    let _ = tokio::time::timeout(time + Duration::from_secs(1), async { tokio::join!(polling, stopping) }).await;
    for message in taken.all() {
        println!("{}", told(&message));
    }
    for lost in losses {
        println!("{}", json!({"lost": lost}));
    }
    Ok(())
}

fn device(framing: Framing, queries: Vec<Query>) -> DeviceSetup {
    let ms = Duration::from_millis;
    let (period, time_out, worst_answer) = (ms(50), ms(100), ms(300));
    DeviceSetup { name: "device".into(), framing, queries, period, time_out, worst_answer }
}

fn modbus(text: &str) -> Result<DeviceSetup, Box<dyn Error>> {
    let (unit, blocks) = text.split_once(':').ok_or("a device is UNIT:ADDRESS:COUNT,…")?;
    let mut queries = Vec::new();
    for block in blocks.split(',') {
        let (address, count) = block.split_once(':').ok_or("a block is ADDRESS:COUNT")?;
        let request = Request::new(unit.parse()?, Function::ReadHoldingRegisters, address.parse()?, count.parse()?)?;
        queries.push(Query { bytes: request.frame().to_vec(), period: None });
    }
    Ok(device(Framing::Modbus, queries))
}

fn told(message: &Message) -> Value {
    match message {
        Message::Record(r) => match (r.kind, r.fault()) {
            (_, Some((device, kind, bytes))) => json!({"fault": kind.word(), "device": device, "bytes": bytes}),
            (RecordKind::ModbusAnswer, _) => {
                json!({"request": &r.payload[2..10], "answer": &r.payload[10..], "time_ns": r.event_time.0})
            }
            _ => json!({"line": String::from_utf8_lossy(&r.payload[2..]), "time_ns": r.event_time.0}),
        },
        Message::Link(l) => json!({"link": l.state.word(), "device": l.device, "detail": l.detail}),
        Message::Gap(g) => json!({"gap": g.lost}),
    }
}
