//! Which words a record holds.

use crate::can::frame::CanFrame;
use crate::modbus::Request;
use crate::number;
use std::collections::BTreeMap;
use std::fmt;
use stream::{NO_DEVICE, RawRecord, RecordKind, SourceId};

/// A word's place on its source. One more bus is one more variant.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Key {
    /// The data of a CAN identifier.
    Can {
        /// Index of the interface in a capture of several; else 0.
        interface: u8,
        /// The identifier with the flags [`CanFrame::EXTENDED`] and [`CanFrame::REMOTE`].
        id: u32,
    },
    /// A register of 16 bits, or up to 2000 single bits from an address on.
    Register {
        /// The device's index in the source's list; [`NO_DEVICE`] for one that is not in it.
        device: u16,
        /// Its address on the line.
        unit: u8,
        /// Function code that read it.
        function: u8,
        /// Address as it goes over the line.
        address: u16,
    },
    /// A number in a line of text.
    Text {
        /// The device's index.
        device: u16,
        /// The query it answers, by its place in the instrument's list.
        query: Option<u16>,
        /// What the line begins with, where that is no number.
        tag: String,
        /// Which piece of the line, from 1.
        position: u16,
        /// What stands before the number.
        label: String,
    },
    /// A binary frame.
    Frame {
        /// The device's index.
        device: u16,
        /// Its selector, where the device has one.
        selector: Option<u8>,
    },
    /// A cell of a table's row.
    Cell {
        /// Column, from 1.
        column: u16,
    },
}

/// A word: source and place.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct WordId {
    /// The source.
    pub source: SourceId,
    /// The place.
    pub key: Key,
}

/// What stands at a word's place in one record.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Content<'a> {
    Bytes(&'a [u8]),
    Number(f64),
}

impl Key {
    /// The device's index, where the source has several.
    pub fn device(&self) -> Option<u16> {
        match self {
            Key::Register { device, .. } | Key::Text { device, .. } | Key::Frame { device, .. } => {
                Some(*device).filter(|d| *d != NO_DEVICE)
            }
            Key::Can { .. } | Key::Cell { .. } => None,
        }
    }
}

/// The place without the device's name: `0x18F1A2B3`, `register 3:1002`, `T2=`, `frame 0x07`, `column 4`.
impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Key::Can { interface, id } => {
                let (number, extended) = (id & CanFrame::ID_MASK, id & CanFrame::EXTENDED != 0);
                if extended {
                    write!(f, "0x{number:08X}")?
                } else {
                    write!(f, "0x{number:03X}")?
                }
                if *interface != 0 {
                    write!(f, " if{interface}")?;
                }
                if id & CanFrame::REMOTE != 0 { f.write_str(" remote") } else { Ok(()) }
            }
            Key::Register { device, unit, function, address } => {
                if *device == NO_DEVICE {
                    write!(f, "unit {unit} ")?;
                }
                let what = if *function <= 2 { "bits" } else { "register" };
                write!(f, "{what} {function}:{address}")
            }
            Key::Text { query, tag, position, label, .. } => {
                if let Some(q) = query {
                    write!(f, "query {} ", q + 1)?;
                }
                if !tag.is_empty() {
                    write!(f, "{tag} ")?;
                }
                if label.is_empty() { write!(f, "piece {position}") } else { write!(f, "{label} (piece {position})") }
            }
            Key::Frame { selector: Some(s), .. } => write!(f, "frame 0x{s:02X}"),
            Key::Frame { selector: None, .. } => f.write_str("frame"),
            Key::Cell { column } => write!(f, "column {column}"),
        }
    }
}

/// Hands over the words of a record.
pub(crate) fn parts(
    record: &RawRecord,
    selectors: &BTreeMap<(SourceId, u16), u16>,
    each: &mut dyn FnMut(Key, Content<'_>),
) {
    let payload = record.payload.as_slice();
    let device = |p: &[u8]| p.first_chunk::<2>().map(|d| u16::from_le_bytes(*d));
    match record.kind {
        RecordKind::CanFrame => {
            if let Ok(frame) = CanFrame::parse(payload)
                && let Some(key) = can(&frame)
            {
                each(key, Content::Bytes(frame.data));
            }
        }
        RecordKind::ModbusAnswer => registers(payload, each),
        RecordKind::TextLine => {
            if let (Some(device), Some(line)) = (device(payload), payload.get(2..)) {
                text(device, None, line, each);
            }
        }
        RecordKind::TextAnswer => {
            if let (Some(device), Some(query)) = (device(payload), payload.get(2..).and_then(device)) {
                text(device, Some(query), &payload[4..], each);
            }
        }
        RecordKind::Frame => {
            if let (Some(device), Some(frame)) = (device(payload), payload.get(2..)) {
                let byte = selectors.get(&(record.source, device));
                let selector = byte.and_then(|b| frame.get(usize::from(*b))).copied();
                each(Key::Frame { device, selector }, Content::Bytes(frame));
            }
        }
        RecordKind::Row => {
            for (piece, column) in pieces(payload).1.zip(1..=u16::MAX) {
                if let Some((_, x)) = labelled(piece, separator(payload) != b',') {
                    each(Key::Cell { column }, Content::Number(x));
                }
            }
        }
        RecordKind::Fault => {}
    }
}

/// An error frame has no place.
pub(crate) fn can(frame: &CanFrame<'_>) -> Option<Key> {
    let keep = CanFrame::EXTENDED | CanFrame::REMOTE | CanFrame::ID_MASK;
    (frame.id & CanFrame::ERROR == 0).then_some(Key::Can { interface: frame.interface, id: frame.id & keep })
}

fn registers(payload: &[u8], each: &mut dyn FnMut(Key, Content<'_>)) {
    let Some((&[a, b, ref request @ ..], answer)) = payload.split_first_chunk::<10>() else { return };
    let Ok(request) = Request::parse_any_unit(request) else { return };
    let length = usize::from(request.data_length());
    // The answer: unit, function, byte count, data, checksum.
    let Some(data) = answer.get(3..3 + length) else { return };
    let (device, unit) = (u16::from_le_bytes([a, b]), request.unit());
    let (function, first) = (request.function() as u8, request.address());
    if !request.function().reads_registers() {
        return each(Key::Register { device, unit, function, address: first }, Content::Bytes(data));
    }
    for (i, register) in (0u16..).zip(data.chunks_exact(2)) {
        let address = first.saturating_add(i);
        each(Key::Register { device, unit, function, address }, Content::Bytes(register));
    }
}

/// What a line's pieces are divided by: the first of these that is in it.
fn separator(line: &[u8]) -> u8 {
    b";,\t|".iter().copied().find(|s| line.contains(s)).unwrap_or(b' ')
}

fn pieces(line: &[u8]) -> (u8, impl Iterator<Item = &[u8]>) {
    let separator = separator(line);
    let all = line.split(move |b| *b == separator).map(<[u8]>::trim_ascii);
    // Any run of blanks divides once.
    (separator, all.filter(move |p| separator != b' ' || !p.is_empty()))
}

fn text(device: u16, query: Option<u16>, line: &[u8], each: &mut dyn FnMut(Key, Content<'_>)) {
    let (separator, pieces) = pieces(line);
    let mut tag = String::new();
    for (piece, position) in pieces.zip(1..=u16::MAX) {
        match labelled(piece, separator != b',') {
            Some((label, x)) => {
                let label = String::from_utf8_lossy(&label[..label.len().min(32)]).into_owned();
                each(Key::Text { device, query, tag: tag.clone(), position, label }, Content::Number(x));
            }
            None if position == 1 => tag = String::from_utf8_lossy(&piece[..piece.len().min(32)]).into_owned(),
            None => {}
        }
    }
}

/// Label and number of a piece; a comma in the number is a decimal one where `comma`.
fn labelled(piece: &[u8], comma: bool) -> Option<(&[u8], f64)> {
    let after = piece.iter().position(|b| matches!(b, b'=' | b':')).map_or(0, |i| i + 1);
    let rest = &piece[after..];
    let begins = |i: usize| {
        let digit = |j: usize| rest.get(j).is_some_and(u8::is_ascii_digit);
        let sign = matches!(rest[i], b'+' | b'-') as usize;
        digit(i + sign) || (rest.get(i + sign) == Some(&b'.') && digit(i + sign + 1))
    };
    let start = (0..rest.len()).find(|i| begins(*i))?;
    let is_number = |b: &u8| b.is_ascii_digit() || matches!(b, b'.' | b'+' | b'-' | b',' | b'e' | b'E');
    let number: Vec<u8> = rest[start..].iter().copied().take_while(is_number).take(40).collect();
    let number: Vec<u8> = number.iter().map(|b| if comma && *b == b',' { b'.' } else { *b }).collect();
    // A unit may begin with a letter that numbers are written with.
    let x = (1..=number.len()).rev().find_map(|n| number::parse(&number[..n]))?;
    Some((piece[..after + start].trim_ascii(), x))
}
