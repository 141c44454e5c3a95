//! A line of polled registers to numbers.

use crate::cost::Stretch;
use crate::error::Error;
use crate::{Figures, Place};
use decode::modbus::{Function, ModbusMap, Register, RegisterKind, Request, Verdict, find_frame};
use decode::{Decoder, DeviceFormat, Format, Raw};
use std::hint::black_box;
use stream::{EventTime, Payload, RawRecord, RecordKind, SourceId};

const TIMES: u64 = 10;

/// What one pass over the line found.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Found {
    requests: u64,
    answers: u64,
    skipped: u64,
    sum: f64,
}

/// Bytes in memory, several times over: requests recognised, their answers found and checked as the source does, made
/// records, decoded through a register map as the core does; the numbers are summed.
pub(crate) fn serial(place: &Place) -> Result<Figures, Error> {
    let path = place.data.join("serial.bin");
    let bytes = std::fs::read(&path).map_err(Error::io("reading", &path))?;
    let decoder = decoder()?;
    let mut found = Found::default();
    let stretch = Stretch::start();
    for _ in 0..TIMES {
        found = pass(&decoder, black_box(&bytes));
    }
    let mut figures = stretch.stop().figures("ns_per_byte", bytes.len() as u64 * TIMES);
    figures.insert("requests".to_owned(), found.requests.into());
    figures.insert("replies".to_owned(), found.answers.into());
    figures.insert("skipped_bytes".to_owned(), found.skipped.into());
    figures.insert("check".to_owned(), found.sum.into());
    Ok(figures)
}

fn pass(decoder: &Decoder, bytes: &[u8]) -> Found {
    let mut found = Found::default();
    let mut at = 0;
    while let Some(eight) = bytes.get(at..at + Request::LENGTH) {
        let Ok(request) = Request::parse(eight) else {
            at += 1;
            found.skipped += 1;
            continue;
        };
        found.requests += 1;
        at += Request::LENGTH;
        let window = &bytes[at..(at + request.answer_length()).min(bytes.len())];
        let answer = find_frame(&request, window);
        if let (0, Verdict::Answer { len }) = (answer.skip, answer.verdict) {
            found.answers += 1;
            found.sum += sum(decoder, eight, &window[..len]);
            at += len;
        }
    }
    found.skipped += (bytes.len() - at) as u64;
    found
}

fn sum(decoder: &Decoder, request: &[u8], answer: &[u8]) -> f64 {
    let mut payload = Payload::with_capacity(2 + request.len() + answer.len());
    payload.extend_from_slice(&0u16.to_le_bytes());
    payload.extend_from_slice(request);
    payload.extend_from_slice(answer);
    let (source, kind) = (SourceId(0), RecordKind::ModbusAnswer);
    let record = RawRecord { source, sequence: 0, event_time: EventTime(0), kind, payload };
    let mut sum = 0.0;
    let add = &mut |_, raw| {
        if let Raw::Number(x) = raw {
            sum += x;
        }
    };
    // An answer that `find_frame` has passed decodes; the sum would show it if not.
    let _ = decoder.decode(&record, add);
    sum
}

/// One device with every register that the polls reach.
fn decoder() -> Result<Decoder, Error> {
    let register = |address| Register {
        scale: 0.1,
        ..Register::new(format!("r{address}"), Function::ReadHoldingRegisters, address, RegisterKind::U16)
    };
    let map = ModbusMap::new((0..124).map(register).collect(), 125, 0).map_err(|e| Error::Failed(e.to_string()))?;
    let device = DeviceFormat { name: "device".to_owned(), format: Format::Modbus(map) };
    Decoder::devices(vec![device]).map_err(|e| Error::Failed(e.to_string()))
}
