//! The widely published sample sentence of NMEA 0183 (from memory).

use decode::crc;

/// Case BU-18, exact.
#[test]
fn xor_checksum_of_the_sample_sentence() {
    let between = b"GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,";
    assert_eq!(format!("{:02X}", crc::xor(between)), "47");
}
