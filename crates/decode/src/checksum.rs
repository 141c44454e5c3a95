//! Checksums by name: exclusive or, sum, and the CRCs of the catalogue whose width is whole bytes.
//!
//! Source: G. Cook, Catalogue of parametrised CRC algorithms (CRC RevEng), as carried by the crate `crc`.

use crc::{Algorithm, Crc};
use std::fmt;

/// A checksum algorithm, ready to run.
#[derive(Clone)]
pub struct Checksum {
    name: String,
    bytes: u8,
    engine: Engine,
}

#[derive(Clone)]
enum Engine {
    Xor,
    Sum,
    Narrow(Box<Crc<u8>>),
    Short(Box<Crc<u16>>),
    Long(Box<Crc<u32>>),
    Wide(Box<Crc<u64>>),
}

/// A name that stands for no checksum.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("checksum {name:?} is not known{}", nearest(.nearest_names))]
pub struct UnknownChecksum {
    name: String,
    nearest_names: Vec<String>,
}

fn nearest(names: &[String]) -> String {
    if names.is_empty() { String::new() } else { format!("; of that width: {}", names.join(", ")) }
}

impl Checksum {
    /// `xor`, `sum-8`, `sum-16`, or a CRC by its name in the catalogue, such as `CRC-16/MODBUS`.
    ///
    /// # Errors
    /// Another name.
    pub fn by_name(name: &str) -> Result<Checksum, UnknownChecksum> {
        let engine = match name {
            "xor" => Some((Engine::Xor, 1)),
            "sum-8" => Some((Engine::Sum, 1)),
            "sum-16" => Some((Engine::Sum, 2)),
            _ => engine(&name.to_ascii_uppercase()),
        };
        match engine {
            Some((engine, bytes)) => Ok(Checksum { name: name.to_owned(), bytes, engine }),
            None => {
                let digits =
                    |n: &str| n.bytes().skip_while(|b| !b.is_ascii_digit()).take_while(u8::is_ascii_digit).collect();
                let width: Vec<u8> = digits(name);
                let nearest_names = names().filter(|n| !width.is_empty() && digits(n) == width).collect();
                Err(UnknownChecksum { name: name.to_owned(), nearest_names })
            }
        }
    }

    /// Every name there is.
    pub fn names() -> Vec<String> {
        ["xor", "sum-8", "sum-16"].into_iter().map(str::to_owned).chain(names()).collect()
    }

    /// Its name as it was asked for.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Bytes of its value: 1 to 8.
    pub fn bytes(&self) -> usize {
        usize::from(self.bytes)
    }

    /// Its value over these bytes. Exclusive or and sum begin at 0; sums keep their lowest bits.
    pub fn of(&self, bytes: &[u8]) -> u64 {
        match &self.engine {
            Engine::Xor => u64::from(crate::crc::xor(bytes)),
            Engine::Sum => {
                let sum = bytes.iter().fold(0u64, |sum, b| sum.wrapping_add(u64::from(*b)));
                sum & (u64::MAX >> (64 - 8 * u32::from(self.bytes)))
            }
            Engine::Narrow(crc) => u64::from(crc.checksum(bytes)),
            Engine::Short(crc) => u64::from(crc.checksum(bytes)),
            Engine::Long(crc) => u64::from(crc.checksum(bytes)),
            Engine::Wide(crc) => crc.checksum(bytes),
        }
    }
}

impl fmt::Debug for Checksum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Checksum").field(&self.name).finish()
    }
}

impl PartialEq for Checksum {
    fn eq(&self, other: &Checksum) -> bool {
        self.name.eq_ignore_ascii_case(&other.name)
    }
}

/// The catalogue's name of a constant: `CRC_16_IBM_3740` is CRC-16/IBM-3740.
fn catalogue_name(constant: &str) -> String {
    let mut parts = constant.splitn(3, '_');
    let (crc, width, rest) = (parts.next(), parts.next(), parts.next());
    format!("{}-{}/{}", crc.unwrap_or(""), width.unwrap_or(""), rest.unwrap_or("").replace('_', "-"))
}

macro_rules! catalogue {
    ($($width:ty, $engine:ident: $($name:ident)*;)*) => {
        fn engine(name: &str) -> Option<(Engine, u8)> {
            $($(
                if name == catalogue_name(stringify!($name)) {
                    let algorithm: &'static Algorithm<$width> = &crc::$name;
                    return Some((Engine::$engine(Box::new(Crc::<$width>::new(algorithm))), algorithm.width / 8));
                }
            )*)*
            None
        }

        fn names() -> impl Iterator<Item = String> {
            [$($(stringify!($name)),*),*].into_iter().map(catalogue_name)
        }

        #[cfg(test)]
        fn parameters() -> Vec<(String, [u64; 4], [bool; 2], u8)> {
            vec![$($({
                let a: &Algorithm<$width> = &crc::$name;
                let numbers = [u64::from(a.poly), u64::from(a.init), u64::from(a.xorout), u64::from(a.check)];
                (catalogue_name(stringify!($name)), numbers, [a.refin, a.refout], a.width)
            }),*),*]
        }
    };
}

catalogue! {
    u8, Narrow:
        CRC_8_AUTOSAR CRC_8_BLUETOOTH CRC_8_CDMA2000 CRC_8_DARC CRC_8_DVB_S2 CRC_8_GSM_A CRC_8_GSM_B CRC_8_HITAG
        CRC_8_I_432_1 CRC_8_I_CODE CRC_8_LTE CRC_8_MAXIM_DOW CRC_8_MIFARE_MAD CRC_8_NRSC_5 CRC_8_OPENSAFETY
        CRC_8_ROHC CRC_8_SAE_J1850 CRC_8_SMBUS CRC_8_TECH_3250 CRC_8_WCDMA;
    u16, Short:
        CRC_16_ARC CRC_16_CDMA2000 CRC_16_CMS CRC_16_DDS_110 CRC_16_DECT_R CRC_16_DECT_X CRC_16_DNP CRC_16_EN_13757
        CRC_16_GENIBUS CRC_16_GSM CRC_16_IBM_3740 CRC_16_IBM_SDLC CRC_16_ISO_IEC_14443_3_A CRC_16_KERMIT
        CRC_16_LJ1200 CRC_16_M17 CRC_16_MAXIM_DOW CRC_16_MCRF4XX CRC_16_MODBUS CRC_16_NRSC_5 CRC_16_OPENSAFETY_A
        CRC_16_OPENSAFETY_B CRC_16_PROFIBUS CRC_16_RIELLO CRC_16_SPI_FUJITSU CRC_16_T10_DIF CRC_16_TELEDISK
        CRC_16_TMS37157 CRC_16_UMTS CRC_16_USB CRC_16_XMODEM;
    u32, Long:
        CRC_24_BLE CRC_24_FLEXRAY_A CRC_24_FLEXRAY_B CRC_24_INTERLAKEN CRC_24_LTE_A CRC_24_LTE_B CRC_24_OPENPGP
        CRC_24_OS_9 CRC_32_AIXM CRC_32_AUTOSAR CRC_32_BASE91_D CRC_32_BZIP2 CRC_32_CD_ROM_EDC CRC_32_CKSUM
        CRC_32_ISCSI CRC_32_ISO_HDLC CRC_32_JAMCRC CRC_32_MEF CRC_32_MPEG_2 CRC_32_XFER;
    u64, Wide:
        CRC_64_ECMA_182 CRC_64_GO_ISO CRC_64_MS CRC_64_NVME CRC_64_REDIS CRC_64_WE CRC_64_XZ;
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bit by bit, from the parameters alone: independent of the tables of the crate.
    fn bit_by_bit([poly, init, xorout, _]: [u64; 4], [refin, refout]: [bool; 2], width: u8, bytes: &[u8]) -> u64 {
        let (top, mask) = (1u64 << (width - 1), u64::MAX >> (64 - width));
        let mut register = init;
        for byte in bytes {
            for i in 0..8 {
                let bit = if refin { byte >> i & 1 } else { byte >> (7 - i) & 1 };
                let out = (register & top != 0) != (bit == 1);
                register = (register << 1) & mask;
                if out {
                    register ^= poly;
                }
            }
        }
        let register = if refout { register.reverse_bits() >> (64 - width) } else { register };
        register ^ xorout
    }

    #[test]
    fn every_crc_of_the_catalogue_gives_its_check_value_in_two_ways() {
        let all = parameters();
        assert!(all.len() > 60, "{} algorithms", all.len());
        for (name, numbers, reflected, width) in all {
            let checksum = Checksum::by_name(&name).unwrap();
            assert_eq!(checksum.of(b"123456789"), numbers[3], "{name}");
            assert_eq!(bit_by_bit(numbers, reflected, width, b"123456789"), numbers[3], "{name}");
            assert_eq!(checksum.bytes() * 8, usize::from(width), "{name}");
        }
    }

    #[test]
    fn xor_and_sums() {
        let of = |name: &str, bytes: &[u8]| Checksum::by_name(name).unwrap().of(bytes);
        assert_eq!(of("xor", &[0x55, 0x0F]), 0x5A);
        assert_eq!(of("sum-8", &[0xFF, 0x02]), 0x01);
        assert_eq!(of("sum-16", &[0xFF, 0x02]), 0x101);
        assert_eq!(of("sum-16", &[0xFF; 300]), (300 * 255) & 0xFFFF);
    }

    #[test]
    fn an_unknown_name_is_told_those_of_its_width() {
        assert_eq!(Checksum::by_name("crc-16/modbus").unwrap().of(b"123456789"), 0x4B37);
        let said = Checksum::by_name("CRC-24/SOMETHING").unwrap_err().to_string();
        assert!(said.contains("not known; of that width: ") && said.contains("CRC-24/OPENPGP"), "{said}");
        assert_eq!(Checksum::by_name("adler").unwrap_err().to_string(), "checksum \"adler\" is not known");
    }
}
