//! Checksums of the framings.

use crc::{CRC_16_MODBUS, Crc, Table};

/// The sixteen-table variant: sixteen bytes a step, which whole 125-register answers repay.
static MODBUS: Crc<u16, Table<16>> = Crc::<u16, Table<16>>::new(&CRC_16_MODBUS);

/// CRC-16/MODBUS. On the line its low byte comes first.
///
/// Parameters: polynomial 0x8005, start 0xFFFF, reflected in and out, nothing added at the end.
/// Source: MODBUS over Serial Line, Specification and Implementation Guide V1.02, 2.5.1.2 and 6.2.2 (from memory);
/// G. Cook, Catalogue of parametrised CRC algorithms.
pub fn modbus(bytes: &[u8]) -> u16 {
    MODBUS.checksum(bytes)
}

/// Whether the last two bytes are the CRC-16/MODBUS of those before them, low byte first. False for fewer than three.
pub fn modbus_fits(frame: &[u8]) -> bool {
    match frame {
        [body @ .., low, high] if !body.is_empty() => modbus(body) == u16::from_le_bytes([*low, *high]),
        _ => false,
    }
}

/// All bytes combined by exclusive or: the checksum after the `*` of NMEA 0183 style lines.
pub fn xor(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0, |sum, b| sum ^ b)
}
