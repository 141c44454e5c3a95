//! Instrument files -> what a device's bytes mean.

mod binary;
mod text;

use super::Text;
use crate::config::instrument::{Head, ModbusFile, RegisterTable};
use crate::config::{self};
use crate::files::Files;
use crate::problem::{Problem, Problems};
use decode::Format;
use decode::checksum::Checksum;
use decode::modbus::{Bits, ByteOrder, Function, MapError, ModbusMap, Register, RegisterKind, WordOrder};
use plugin_api::{Framing, Query};
use std::path::Path;
use stream::Reason;
use toml::Spanned;

/// An instrument: how its messages are found and what they mean.
pub(crate) struct Instrument {
    pub(crate) framing: Framing,
    pub(crate) format: Format,
    /// What an instrument of text is asked.
    pub(crate) queries: Vec<Query>,
}

/// Reasons an instrument file may give for a word that means no value.
pub(crate) const REASONS: &[(Reason, &str)] = &[
    (Reason::Open, "open"),
    (Reason::Short, "short"),
    (Reason::Rail, "rail"),
    (Reason::NotAvailable, "not-available"),
    (Reason::ErrorCode, "error-code"),
    (Reason::Crc, "crc"),
    (Reason::Parity, "parity"),
];

/// Reads an instrument file.
pub(crate) fn load(files: &Files, path: &Path) -> Result<Instrument, Problems> {
    let text = Text::open(files, path)?;
    let head: Head = config::read(&text.name, &text.text)?;
    match head.framing.get_ref().as_str() {
        "modbus-rtu" | "modbus-tcp" => modbus(&text),
        "text-line" => text::load(&text),
        "binary" => binary::load(&text),
        other => {
            let message = format!("framing {other:?} is not known");
            Err(text.problem(&head.framing, message, "one of: modbus-rtu, modbus-tcp, text-line, binary").into())
        }
    }
}

fn modbus(text: &Text) -> Result<Instrument, Problems> {
    let file: ModbusFile = config::read(&text.name, &text.text)?;
    let mut bad = Problems::default();
    let registers: Vec<Register> = file.reading.iter().filter_map(|r| register(text, r, &mut bad)).collect();
    bad.none()?;
    let longest = file.longest_request.as_ref().map_or(125, |l| *l.get_ref());
    let map = ModbusMap::new(registers, longest, file.widest_gap.unwrap_or(0));
    match (map, &file.longest_request) {
        (Ok(map), _) => Ok(Instrument { framing: Framing::Modbus, format: Format::Modbus(map), queries: Vec::new() }),
        (Err(e @ MapError::Block { .. }), Some(at)) => Err(text.problem(at, e.to_string(), "").into()),
        (Err(e), _) => {
            let message = e.to_string();
            Err(named(text, &message, file.reading.iter().map(|r| (r.get_ref().name.as_str(), r.span()))).into())
        }
    }
}

/// A problem that names one of the readings, pointed at that reading.
fn named<'a>(
    text: &Text,
    message: &str,
    mut readings: impl Iterator<Item = (&'a str, std::ops::Range<usize>)>,
) -> Problem {
    let span = readings.find(|(name, _)| message.contains(&format!("`{name}`"))).map(|(_, s)| s);
    Problem::at(&text.name, &text.text, span, message, "")
}

const ORDERS: &[&str] = &["high-first", "low-first"];

/// Whether the lower part comes first; not, where nothing is written.
fn low_first(text: &Text, at: Option<&Spanned<String>>, what: &str, bad: &mut Problems) -> Option<bool> {
    let words = [(false, ORDERS[0]), (true, ORDERS[1])];
    at.map_or(Some(false), |w| super::word(text, w, &words, what, bad))
}

fn register(text: &Text, at: &Spanned<RegisterTable>, bad: &mut Problems) -> Option<Register> {
    const KINDS: &[(RegisterKind, &str)] = &[
        (RegisterKind::U16, "u16"),
        (RegisterKind::I16, "i16"),
        (RegisterKind::U32, "u32"),
        (RegisterKind::I32, "i32"),
        (RegisterKind::F32, "f32"),
        (RegisterKind::F64, "f64"),
        (RegisterKind::Bit, "bit"),
    ];
    let r = at.get_ref();
    let function = Function::from_code(r.function);
    if function.is_none() {
        let message = format!("function {} does not read; this program only reads", r.function);
        let help = "1 reads coils, 2 discrete inputs, 3 holding registers, 4 input registers";
        bad.0.push(text.problem(at, message, help));
    }
    let kind = match (&r.kind, function) {
        (Some(kind), _) => super::word(text, kind, KINDS, "register type", bad),
        (None, Some(f)) if f.reads_registers() => {
            let message = format!("reading {:?} does not say what its registers hold", r.name);
            bad.0.push(text.problem(
                at,
                message,
                "write type = \"u16\", \"i16\", \"u32\", \"i32\", \"f32\" or \"f64\"",
            ));
            None
        }
        (None, _) => Some(RegisterKind::Bit),
    };
    if let (Some(at_kind), Some(kind), None) = (&r.kind, kind, &r.word_order)
        && kind.words() > 1
    {
        let message = format!("reading {:?} lies in several registers: which part comes first?", r.name);
        let help = "the standard leaves it open: write word_order = \"high-first\" or \"low-first\" as the \
                    instrument's document says, and try it against a known value";
        bad.0.push(text.problem(at_kind, message, help));
    }
    let words_low_first = low_first(text, r.word_order.as_ref(), "word order", bad);
    let bytes_low_first = low_first(text, r.byte_order.as_ref(), "byte order", bad);
    let mut nothing = Vec::new();
    for n in &r.nothing {
        nothing.extend(super::word(text, &n.reason, REASONS, "reason", bad).map(|reason| (n.raw, reason)));
    }
    Some(Register {
        word_order: if words_low_first? { WordOrder::LowFirst } else { WordOrder::HighFirst },
        byte_order: if bytes_low_first? { ByteOrder::LowFirst } else { ByteOrder::HighFirst },
        bits: r.bits.map(|[first, count]| Bits { first, count }),
        scale: r.scale.unwrap_or(1.0),
        offset: r.offset.unwrap_or(0.0),
        unit: r.unit.clone(),
        nothing,
        ..Register::new(r.name.clone(), function?, r.address, kind?)
    })
}

/// A checksum by its name.
fn algorithm(text: &Text, at: &Spanned<String>, bad: &mut Problems) -> Option<Checksum> {
    let made = Checksum::by_name(at.get_ref());
    let help = "write xor, sum-8, sum-16 or a name of the CRC RevEng catalogue such as CRC-16/MODBUS";
    made.map_err(|e| bad.0.push(text.problem(at, e.to_string(), help))).ok()
}
