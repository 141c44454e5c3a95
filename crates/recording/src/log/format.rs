//! How a segment lies on disk: a head, then blocks. All numbers are little endian; nothing here may change its
//! meaning once shipped.
//!
//! ```text
//! head   magic "BISE-LOG" · version u32 · run id u128 · segment number u32 · CRC-32 of these 32 bytes u32
//! block  payload length u32 · CRC-32 u32 · entries u32 · first ordinal u64 · payload
//! ```
//! The CRC of a block covers its other head fields and its payload, and starts from the CRC of the segment's
//! head: a block that belongs to another segment or run does not pass. CRC-32 as in ISO/IEC 8802-3 (Ethernet).
//! Entries: see [`super::entry`].

use super::entry;
use crate::manifest::RunId;
use stream::LogEntry;

/// The version of the layout.
pub const VERSION: u32 = 1;
/// Bytes of a segment's head.
pub const HEAD_BYTES: usize = 36;
/// Bytes of a block's head.
pub const BLOCK_HEAD_BYTES: usize = 20;
/// The longest payload of a block.
pub const MAX_PAYLOAD: usize = 24 << 20;
/// The longest entry, encoded.
pub const MAX_ENTRY: usize = 16 << 20;

const MAGIC: &[u8; 8] = b"BISE-LOG";

/// The head of a segment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SegmentHead {
    /// Identity of the run.
    pub run_id: RunId,
    /// Its number, from 1.
    pub number: u32,
}

/// Why a segment or block cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// The file ends inside.
    #[error("the file ends inside a {0}")]
    Torn(&'static str),
    /// Not a segment at all.
    #[error("this is not a log segment (no BISE-LOG at its start)")]
    NotASegment,
    /// A later version of the layout.
    #[error("log version {0} is newer than this program reads ({VERSION}); use a newer program")]
    Newer(u32),
    /// A checksum does not match.
    #[error("the checksum of the {0} does not match")]
    Checksum(&'static str),
    /// A block that says it is longer than any block is.
    #[error("a block claims {0} bytes, more than any block has")]
    TooLong(u32),
    /// Ordinals must rise.
    #[error("entry {next} follows entry {last}")]
    Order {
        /// The last entry before.
        last: u64,
        /// The first of the block.
        next: u64,
    },
    /// The block is as it was written, but this program does not understand it.
    #[error(transparent)]
    Entry(#[from] entry::EntryError),
    /// The file is of another run or has another number than its name says.
    #[error("segment {number} of run {run_id} does not belong here")]
    Foreign {
        /// The run in its head.
        run_id: RunId,
        /// The number in its head.
        number: u32,
    },
}

impl Fault {
    /// Whether a crash or a damaged disk explains it, so that salvage may cut here. Otherwise another program
    /// can read what this one cannot.
    pub fn is_damage(&self) -> bool {
        !matches!(self, Fault::Newer(_) | Fault::Entry(_) | Fault::Foreign { .. })
    }
}

impl SegmentHead {
    /// The bytes of the head.
    pub fn encode(&self) -> [u8; HEAD_BYTES] {
        let mut b = [0; HEAD_BYTES];
        b[..8].copy_from_slice(MAGIC);
        b[8..12].copy_from_slice(&VERSION.to_le_bytes());
        b[12..28].copy_from_slice(&self.run_id.0.to_le_bytes());
        b[28..32].copy_from_slice(&self.number.to_le_bytes());
        let crc = crc32fast::hash(&b[..32]);
        b[32..].copy_from_slice(&crc.to_le_bytes());
        b
    }

    /// The head in these bytes.
    ///
    /// # Errors
    /// Where they are none, damaged, or of a later version.
    pub fn decode(b: &[u8]) -> Result<SegmentHead, Fault> {
        if !b.starts_with(&MAGIC[..b.len().min(8)]) {
            return Err(Fault::NotASegment);
        }
        let Some(b) = b.first_chunk::<HEAD_BYTES>() else { return Err(Fault::Torn("head")) };
        let version = u32_at(b, 8);
        if crc32fast::hash(&b[..32]) != u32_at(b, 32) {
            return Err(Fault::Checksum("head"));
        }
        if version != VERSION {
            return Err(Fault::Newer(version));
        }
        let mut run_id = [0; 16];
        run_id.copy_from_slice(&b[12..28]);
        Ok(SegmentHead { run_id: RunId(u128::from_le_bytes(run_id)), number: u32_at(b, 28) })
    }

    /// What the CRC of every block of this segment starts from.
    pub fn seed(&self) -> u32 {
        crc32fast::hash(&self.encode()[..32])
    }
}

/// The head of a block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BlockHead {
    /// Bytes of payload.
    pub length: u32,
    /// Its CRC.
    pub crc: u32,
    /// Entries in it.
    pub entries: u32,
    /// Ordinal of the first.
    pub first: u64,
}

impl BlockHead {
    /// The head of a block with this payload.
    pub fn of(seed: u32, entries: u32, first: u64, payload: &[u8]) -> BlockHead {
        let mut head = BlockHead { length: payload.len() as u32, crc: 0, entries, first };
        head.crc = head.checksum(seed, payload);
        head
    }

    /// Its bytes.
    pub fn encode(&self) -> [u8; BLOCK_HEAD_BYTES] {
        let mut b = [0; BLOCK_HEAD_BYTES];
        b[..4].copy_from_slice(&self.length.to_le_bytes());
        b[4..8].copy_from_slice(&self.crc.to_le_bytes());
        b[8..12].copy_from_slice(&self.entries.to_le_bytes());
        b[12..].copy_from_slice(&self.first.to_le_bytes());
        b
    }

    /// The head in these bytes; checked only as far as it can be without the payload.
    ///
    /// # Errors
    /// Where it claims more than any block has.
    pub fn decode(b: &[u8; BLOCK_HEAD_BYTES]) -> Result<BlockHead, Fault> {
        let mut first = [0; 8];
        first.copy_from_slice(&b[12..]);
        let (length, crc, entries) = (u32_at(b, 0), u32_at(b, 4), u32_at(b, 8));
        if length as usize > MAX_PAYLOAD {
            return Err(Fault::TooLong(length));
        }
        Ok(BlockHead { length, crc, entries, first: u64::from_le_bytes(first) })
    }

    fn checksum(&self, seed: u32, payload: &[u8]) -> u32 {
        let mut crc = crc32fast::Hasher::new_with_initial(seed);
        let b = self.encode();
        crc.update(&b[..4]);
        crc.update(&b[8..]);
        crc.update(payload);
        crc.finalize()
    }

    /// Checks the payload and appends its entries to `into`.
    ///
    /// # Errors
    /// A checksum that does not match, or an entry that is not known.
    pub fn open(&self, seed: u32, payload: &[u8], into: &mut Vec<LogEntry>) -> Result<(), Fault> {
        if self.checksum(seed, payload) != self.crc {
            return Err(Fault::Checksum("block"));
        }
        Ok(entry::decode_all(payload, self.entries, self.first, into)?)
    }
}

fn u32_at(b: &[u8], at: usize) -> u32 {
    b[at..].first_chunk::<4>().map_or(0, |c| u32::from_le_bytes(*c))
}
