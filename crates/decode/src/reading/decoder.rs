//! The decoder of one source.

use super::{DecodeError, Raw, ReadingInfo, Unfit, Unmapped};
use crate::binary::BinaryFormat;
use crate::can::CanDatabase;
use crate::capture::table::TableFormat;
use crate::modbus::ModbusMap;
use crate::text::TextLines;
use stream::{NO_DEVICE, RawRecord, RecordKind};

/// What turns the records of one source into readings.
#[derive(Clone, Debug)]
pub struct Decoder {
    readings: Vec<ReadingInfo>,
    kind: Kind,
}

/// One device on a line and how its messages are read.
#[derive(Clone, Debug)]
pub struct DeviceFormat {
    /// The device's name; its readings are called `name/reading`.
    pub name: String,
    /// How its messages are read.
    pub format: Format,
}

/// How a device's messages are read.
#[derive(Clone, Debug)]
pub enum Format {
    /// Modbus answers, through a register map.
    Modbus(ModbusMap),
    /// Lines of text.
    Text(TextLines),
    /// Binary frames.
    Binary(BinaryFormat),
}

/// Why a decoder cannot be made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DecoderError {
    /// Two readings of the source have one name.
    #[error("two readings are called `{0}`; give one of them (or its device) another name")]
    DuplicateReading(String),
    /// More readings than their index can count.
    #[error("{0} readings in one source, at most 65535 are possible; split the source")]
    TooMany(usize),
}

#[derive(Clone, Debug)]
enum Kind {
    Devices(Vec<Device>),
    Can(Box<CanDatabase>),
    Table(TableFormat),
}

#[derive(Clone, Debug)]
struct Device {
    first: u16,
    format: Format,
}

impl Decoder {
    /// For a line with devices, in the order of their indices. Readings are called `device/reading`.
    ///
    /// # Errors
    /// Two readings of one name, or too many.
    pub fn devices(devices: Vec<DeviceFormat>) -> Result<Decoder, DecoderError> {
        let mut readings = Vec::new();
        let mut compiled = Vec::with_capacity(devices.len());
        for DeviceFormat { name, format } in devices {
            let own = match &format {
                Format::Modbus(map) => map.readings(),
                Format::Text(text) => text.readings(),
                Format::Binary(binary) => binary.readings(),
            };
            let first = u16::try_from(readings.len()).map_err(|_| DecoderError::TooMany(readings.len()))?;
            readings.extend(own.into_iter().map(|r| ReadingInfo { name: format!("{name}/{}", r.name), ..r }));
            compiled.push(Device { first, format });
        }
        checked(readings, Kind::Devices(compiled))
    }

    /// For a CAN interface. Readings are called `MESSAGE.SIGNAL`.
    ///
    /// # Errors
    /// Too many signals.
    pub fn can(database: CanDatabase) -> Result<Decoder, DecoderError> {
        checked(database.readings().to_vec(), Kind::Can(Box::new(database)))
    }

    /// For a table's rows. Readings are called as the columns' headers.
    ///
    /// # Errors
    /// Too many columns.
    pub fn table(format: TableFormat) -> Result<Decoder, DecoderError> {
        checked(format.readings().to_vec(), Kind::Table(format))
    }

    /// What the readings are called; `decode` counts them in this order.
    pub fn readings(&self) -> &[ReadingInfo] {
        &self.readings
    }

    /// The databases of a CAN interface.
    pub fn can_database(&self) -> Option<&CanDatabase> {
        match &self.kind {
            Kind::Can(database) => Some(database),
            _ => None,
        }
    }

    /// The same, to declare raw values that are no number.
    pub fn can_database_mut(&mut self) -> Option<&mut CanDatabase> {
        match &mut self.kind {
            Kind::Can(database) => Some(database),
            _ => None,
        }
    }

    /// The byte that tells the frames of each device with binary frames apart, by device index.
    pub fn selectors(&self) -> Vec<(u16, u16)> {
        let Kind::Devices(devices) = &self.kind else { return Vec::new() };
        let selector = |(i, d): (u16, &Device)| match &d.format {
            Format::Binary(b) => Some((i, b.selector()?)),
            _ => None,
        };
        (0..).zip(devices).filter_map(selector).collect()
    }

    /// Why a reading of this name may not be mapped to a channel; `None` where it may, or where nothing is known of it.
    pub fn refusal(&self, reading: &str) -> Option<String> {
        self.can_database()?.refusal(reading)
    }

    /// Hands over every reading of a record by its index into [`Decoder::readings`]. A fault record has none. On
    /// an error nothing was handed over. Does not allocate but for text lines of more than sixteen fields.
    ///
    /// # Errors
    /// [`DecodeError::Unmapped`] for a sound record nothing is mapped to, [`DecodeError::Unfit`] for a damaged one.
    #[inline]
    pub fn decode(&self, record: &RawRecord, each: &mut impl FnMut(u16, Raw)) -> Result<(), DecodeError> {
        let payload = record.payload.as_slice();
        match (&self.kind, record.kind) {
            (_, RecordKind::Fault) => Ok(()),
            (Kind::Can(database), RecordKind::CanFrame) => database.decode_payload(payload, each),
            (Kind::Table(format), RecordKind::Row) => format.decode_row(payload, each),
            (_, kind @ (RecordKind::CanFrame | RecordKind::Row)) => Err(Unfit::Kind(kind).into()),
            (Kind::Devices(devices), kind) => decode_device(devices, kind, payload, each),
            (_, kind) => Err(Unfit::Kind(kind).into()),
        }
    }
}

fn decode_device(
    devices: &[Device],
    kind: RecordKind,
    payload: &[u8],
    each: &mut impl FnMut(u16, Raw),
) -> Result<(), DecodeError> {
    let [low, high, rest @ ..] = payload else {
        return Err(Unfit::TooShort { needed: 2, found: payload.len() }.into());
    };
    let index = u16::from_le_bytes([*low, *high]);
    if index == NO_DEVICE {
        return Err(Unmapped::Device.into());
    }
    let Some(device) = devices.get(usize::from(index)) else {
        return Err(Unfit::Device { device: index, known: devices.len() }.into());
    };
    let each = &mut |reading: u16, raw: Raw| each(device.first + reading, raw);
    match (&device.format, kind) {
        (Format::Modbus(map), RecordKind::ModbusAnswer) => map.decode(rest, each),
        (Format::Text(text), RecordKind::TextLine) => text.decode(rest, each),
        (Format::Text(text), RecordKind::TextAnswer) => text.decode_answer(rest, each),
        (Format::Binary(binary), RecordKind::Frame) => binary.decode(rest, each),
        _ => Err(Unfit::Format { kind, device: index }.into()),
    }
}

/// Checks names and count, so that every index fits its type.
fn checked(readings: Vec<ReadingInfo>, kind: Kind) -> Result<Decoder, DecoderError> {
    if readings.len() > usize::from(u16::MAX) {
        return Err(DecoderError::TooMany(readings.len()));
    }
    let mut names: Vec<&str> = readings.iter().map(|r| r.name.as_str()).collect();
    names.sort_unstable();
    if let Some(pair) = names.windows(2).find(|w| w[0] == w[1]) {
        return Err(DecoderError::DuplicateReading(pair[0].to_owned()));
    }
    Ok(Decoder { readings, kind })
}
