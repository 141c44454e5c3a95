//! G. Cook, Catalogue of parametrised CRC algorithms: check values over the nine bytes "123456789".

use crc::Crc;

const CHECK: &[u8] = b"123456789";

/// Case BU-01, exact: the checksum this program uses.
#[test]
fn bu_01_modbus() {
    assert_eq!(decode::crc::modbus(CHECK), 0x4B37);
}

/// Case BU-01, exact: the others come straight from the crate; they are held against the catalogue, so that a later
/// framing may rely on them.
#[test]
fn bu_01_the_crate_agrees_with_the_catalogue() {
    assert_eq!(Crc::<u16>::new(&crc::CRC_16_ARC).checksum(CHECK), 0xBB3D);
    assert_eq!(Crc::<u16>::new(&crc::CRC_16_XMODEM).checksum(CHECK), 0x31C3);
    assert_eq!(Crc::<u16>::new(&crc::CRC_16_IBM_3740).checksum(CHECK), 0x29B1);
    assert_eq!(Crc::<u16>::new(&crc::CRC_16_USB).checksum(CHECK), 0xB4C8);
    assert_eq!(Crc::<u16>::new(&crc::CRC_15_CAN).checksum(CHECK), 0x059E);
    assert_eq!(Crc::<u32>::new(&crc::CRC_17_CAN_FD).checksum(CHECK), 0x0_4F03);
    assert_eq!(Crc::<u8>::new(&crc::CRC_8_SMBUS).checksum(CHECK), 0xF4);
    assert_eq!(Crc::<u8>::new(&crc::CRC_8_SAE_J1850).checksum(CHECK), 0x4B);
    assert_eq!(Crc::<u8>::new(&crc::CRC_8_AUTOSAR).checksum(CHECK), 0xDF);
    assert_eq!(Crc::<u32>::new(&crc::CRC_32_ISO_HDLC).checksum(CHECK), 0xCBF4_3926);
    assert_eq!(Crc::<u32>::new(&crc::CRC_32_MPEG_2).checksum(CHECK), 0x0376_E6E7);
}
