//! Files of instruments that send binary frames.

use super::{Instrument, ORDERS, REASONS, Text, named};
use crate::config;
use crate::config::instrument::{BinaryFile, FrameTable, LengthTable, PartTable};
use crate::problem::Problems;
use decode::Format;
use decode::binary::{
    BinaryFormat, BinaryFormatError, Find, FrameChecksum, FrameLayout, Length, NumberKind, Order, Part, When,
};
use plugin_api::{Framing, Messages};
use stream::RecordKind;
use toml::Spanned;

/// Bytes of the longest frame where nothing is written.
const LONGEST: usize = 1024;

pub(super) fn load(text: &Text) -> Result<Instrument, Problems> {
    let file: BinaryFile = config::read(&text.name, &text.text)?;
    let mut bad = Problems::default();
    let layout = layout(text, &file.frame, &mut bad);
    let parts: Vec<Option<Part>> = file.reading.iter().map(|r| part(text, r, &mut bad)).collect();
    let (Some(layout), Some(parts)) = (layout, parts.into_iter().collect()) else { return Err(bad) };
    bad.none()?;
    let format = BinaryFormat::new(layout, parts).map_err(|e| match &e {
        BinaryFormatError::NoSync | BinaryFormatError::Length { .. } => text.problem(&file.frame, e.to_string(), ""),
        _ => named(text, &e.to_string(), file.reading.iter().rev().map(|r| (r.get_ref().name.as_str(), r.span()))),
    })?;
    let frames = format.layout().clone();
    let framing = Framing::Messages(Messages::new(RecordKind::Frame, move || frames.framer()));
    Ok(Instrument { framing, format: Format::Binary(format), queries: Vec::new() })
}

fn layout(text: &Text, at: &Spanned<FrameTable>, bad: &mut Problems) -> Option<FrameLayout> {
    const KINDS: &[(u8, &str)] = &[(0, "sync"), (1, "slip"), (2, "cobs")];
    let f = at.get_ref();
    let kind = super::super::word(text, &f.kind, KINDS, "kind of frame", bad)?;
    let length = f.length.as_ref().map(|l| usize::from(*l.get_ref()));
    let find = if kind == 0 {
        let sync = sync(text, at, bad);
        let length = match (length, &f.length_field) {
            (Some(n), None) => Some(Length::Fixed(n)),
            (None, Some(field)) => length_field(text, field, bad),
            _ => {
                let help = "write length = 12, or length_field = { byte = 2, type = \"u8\", adds = 5 }";
                bad.0.push(text.problem(at, "a frame of kind sync has one of length and length_field", help));
                None
            }
        };
        Find::Sync(sync?, length?)
    } else {
        for (key, span) in
            [("sync", f.sync.as_ref().map(Spanned::span)), ("length_field", f.length_field.as_ref().map(Spanned::span))]
        {
            if let Some(span) = span {
                let message = format!("{key} belongs to frames of kind sync");
                let help = "leave it out: a byte of its own ends these frames";
                bad.0.push(crate::problem::Problem::at(&text.name, &text.text, Some(span), message, help));
            }
        }
        if kind == 1 { Find::Slip(length) } else { Find::Cobs(length) }
    };
    let checksum = match &f.checksum {
        None => None,
        Some(name) => {
            let algorithm = super::algorithm(text, name, bad)?;
            let order = order(text, name, f.checksum_order.as_ref(), algorithm.bytes(), "checksum_order", bad)?;
            Some(FrameChecksum { algorithm, from: f.checksum_from.into(), order })
        }
    };
    let longest = f.longest.as_ref().map_or(LONGEST, |l| usize::from(*l.get_ref()));
    Some(FrameLayout { find, longest, checksum })
}

/// Bytes in hexadecimal: `AA 55`.
fn sync(text: &Text, at: &Spanned<FrameTable>, bad: &mut Problems) -> Option<Vec<u8>> {
    let help = "write the bytes that every frame begins with in hexadecimal: sync = \"AA 55\"";
    let Some(sync) = &at.get_ref().sync else {
        bad.0.push(text.problem(at, "a frame of kind sync does not say what it begins with", help));
        return None;
    };
    let bytes = sync.get_ref().split_whitespace().map(|b| u8::from_str_radix(b, 16).ok().filter(|_| b.len() == 2));
    match bytes.collect::<Option<Vec<u8>>>().filter(|b| !b.is_empty()) {
        None => {
            bad.0.push(text.problem(sync, format!("{:?} are no bytes", sync.get_ref()), help));
            None
        }
        bytes => bytes,
    }
}

fn length_field(text: &Text, at: &Spanned<LengthTable>, bad: &mut Problems) -> Option<Length> {
    const KINDS: &[(usize, &str)] = &[(1, "u8"), (2, "u16")];
    let l = at.get_ref();
    let bytes = super::super::word(text, &l.kind, KINDS, "type of a length", bad)?;
    let order = order(text, &l.kind, l.order.as_ref(), bytes, "order", bad)?;
    Some(Length::Field { byte: l.byte.into(), bytes, order, adds: l.adds.into() })
}

/// An order of bytes, which must be written where there are several.
fn order(
    text: &Text,
    of: &Spanned<String>,
    at: Option<&Spanned<String>>,
    bytes: usize,
    key: &str,
    bad: &mut Problems,
) -> Option<Order> {
    let words = [(Order::HighFirst, ORDERS[0]), (Order::LowFirst, ORDERS[1])];
    match at {
        Some(word) => super::super::word(text, word, &words, "byte order", bad),
        None if bytes == 1 => Some(Order::HighFirst),
        None => {
            let message = format!("{} takes {bytes} bytes, and nothing says which comes first", of.get_ref());
            bad.0.push(text.problem(of, message, format!("write {key} = \"low-first\" or \"high-first\"")));
            None
        }
    }
}

fn part(text: &Text, at: &Spanned<PartTable>, bad: &mut Problems) -> Option<Part> {
    use NumberKind::{F32, F64, Signed, Unsigned};
    const KINDS: &[(NumberKind, &str)] = &[
        (Unsigned(1), "u8"),
        (Signed(1), "i8"),
        (Unsigned(2), "u16"),
        (Signed(2), "i16"),
        (Unsigned(3), "u24"),
        (Signed(3), "i24"),
        (Unsigned(4), "u32"),
        (Signed(4), "i32"),
        (Unsigned(8), "u64"),
        (Signed(8), "i64"),
        (F32, "f32"),
        (F64, "f64"),
    ];
    let p = at.get_ref();
    let kind = super::super::word(text, &p.kind, KINDS, "type of a number", bad)?;
    let order = order(text, &p.kind, p.order.as_ref(), kind.bytes(), "order", bad);
    let mut nothing = Vec::new();
    for n in &p.nothing {
        nothing.extend(super::super::word(text, &n.reason, REASONS, "reason", bad).map(|reason| (n.raw, reason)));
    }
    Some(Part {
        name: p.name.clone(),
        byte: p.byte,
        kind,
        order: order?,
        bits: p.bits.map(|[first, count]| (first, count)),
        when: p.when.map(|w| When { byte: w.byte, is: w.is }),
        scale: p.scale.unwrap_or(1.0),
        offset: p.offset.unwrap_or(0.0),
        unit: p.unit.clone(),
        nothing,
    })
}
