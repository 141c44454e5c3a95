//! Sensors and buses against published values: one module per source, source and case beside each check.
#![allow(clippy::unwrap_used)]

mod buses_arinc_429;
mod buses_crc_catalogue;
mod buses_davis;
mod buses_line_rates;
mod buses_modbus_application;
mod buses_modbus_frames;
mod buses_modbus_serial_line;
mod buses_nmea_0183;
mod buses_thomson_pm077;
mod instruments_iec_60584_1;
mod instruments_iec_60751;
mod instruments_nist_monograph_175;

/// Bytes written as pairs of hexadecimal digits.
fn hex(text: &str) -> Vec<u8> {
    text.split_whitespace().map(|b| u8::from_str_radix(b, 16).unwrap()).collect()
}
