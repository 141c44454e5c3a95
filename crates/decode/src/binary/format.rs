//! How frames are found, and the numbers in them.

use super::{BinaryFormatError, FrameFramer, FrameMisfit, Order, Part};
use crate::checksum::Checksum;
use crate::reading::{DecodeError, Raw, ReadingInfo, Unfit, Unmapped};

/// How frames are found in a stream of bytes.
#[derive(Clone, Debug, PartialEq)]
pub struct FrameLayout {
    /// By what.
    pub find: Find,
    /// The longest frame, bytes, without what SLIP or COBS add.
    pub longest: usize,
    /// The checksum at the end of the frame.
    pub checksum: Option<FrameChecksum>,
}

/// By what frames are found.
#[derive(Clone, Debug, PartialEq)]
pub enum Find {
    /// A frame begins with these bytes, and is so long.
    Sync(Vec<u8>, Length),
    /// SLIP, RFC 1055. With a length: frames of another one are damaged.
    Slip(Option<usize>),
    /// COBS. With a length: frames of another one are damaged.
    Cobs(Option<usize>),
}

/// How long a frame is, sync and checksum included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Length {
    /// Always so long.
    Fixed(usize),
    /// It says so itself.
    Field {
        /// First byte of the field, from 0.
        byte: usize,
        /// Bytes of the field: 1 or 2.
        bytes: usize,
        /// Their order.
        order: Order,
        /// length = field + this.
        adds: i64,
    },
}

/// The checksum at the end of a frame.
#[derive(Clone, Debug, PartialEq)]
pub struct FrameChecksum {
    /// How it is made.
    pub algorithm: Checksum,
    /// The first byte it covers, from 0; the last is the one before it.
    pub from: usize,
    /// Which byte of it comes first.
    pub order: Order,
}

impl FrameLayout {
    /// A framer that finds these frames.
    pub fn framer(&self) -> FrameFramer {
        FrameFramer::new(self.clone())
    }

    fn trailer(&self) -> usize {
        self.checksum.as_ref().map_or(0, |c| c.algorithm.bytes())
    }

    /// Bytes that every frame has at least.
    pub(super) fn shortest(&self) -> usize {
        let head = match &self.find {
            Find::Sync(sync, Length::Fixed(_)) => sync.len(),
            Find::Sync(sync, Length::Field { byte, bytes, .. }) => sync.len().max(byte + bytes),
            Find::Slip(_) | Find::Cobs(_) => 1,
        };
        let from = self.checksum.as_ref().map_or(0, |c| c.from + 1);
        head.max(from) + self.trailer()
    }

    /// The frame without its checksum, which must be right.
    pub(super) fn sound<'a>(&self, frame: &'a [u8]) -> Result<&'a [u8], FrameMisfit> {
        let Some(c) = &self.checksum else { return Ok(frame) };
        let short = FrameMisfit::Short { needed: self.shortest(), found: frame.len() };
        let at = frame.len().checked_sub(self.trailer()).ok_or(short)?;
        let (body, trailer) = frame.split_at(at);
        let covered = body.get(c.from..).filter(|b| !b.is_empty()).ok_or(short)?;
        if c.order.number(trailer) == c.algorithm.of(covered) { Ok(body) } else { Err(FrameMisfit::Checksum) }
    }

    fn check(&self) -> Result<(), BinaryFormatError> {
        let (needed, longest) = (self.shortest(), self.longest);
        let length = match &self.find {
            Find::Sync(sync, _) if sync.is_empty() => return Err(BinaryFormatError::NoSync),
            Find::Sync(_, Length::Fixed(n)) => Some(*n),
            Find::Sync(_, Length::Field { .. }) => None,
            Find::Slip(n) | Find::Cobs(n) => *n,
        };
        let length = length.unwrap_or(longest);
        if !(needed..=longest).contains(&length) {
            return Err(BinaryFormatError::Length { length, needed, longest });
        }
        Ok(())
    }

    /// Bytes of the longest frame, its checksum taken off.
    fn room(&self) -> usize {
        let length = match &self.find {
            Find::Sync(_, Length::Fixed(n)) | Find::Slip(Some(n)) | Find::Cobs(Some(n)) => *n,
            _ => self.longest,
        };
        length.saturating_sub(self.trailer())
    }
}

/// The frames of an instrument and the numbers in them.
#[derive(Clone, Debug, PartialEq)]
pub struct BinaryFormat {
    layout: FrameLayout,
    parts: Vec<Part>,
}

impl BinaryFormat {
    /// Frames found so, with these numbers in them.
    ///
    /// # Errors
    /// See [`BinaryFormatError`].
    pub fn new(layout: FrameLayout, parts: Vec<Part>) -> Result<BinaryFormat, BinaryFormatError> {
        layout.check()?;
        if parts.is_empty() {
            return Err(BinaryFormatError::Empty);
        }
        u16::try_from(parts.len()).map_err(|_| BinaryFormatError::TooMany(parts.len()))?;
        for (i, part) in parts.iter().enumerate() {
            check_part(part, layout.room())?;
            if part.name.is_empty() || parts[..i].iter().any(|p| p.name == part.name) {
                return Err(BinaryFormatError::Name(part.name.clone()));
            }
        }
        Ok(BinaryFormat { layout, parts })
    }

    /// How frames are found.
    pub fn layout(&self) -> &FrameLayout {
        &self.layout
    }

    /// What the readings are called.
    pub fn readings(&self) -> Vec<ReadingInfo> {
        self.parts.iter().map(|p| ReadingInfo { name: p.name.clone(), unit: p.unit.clone() }).collect()
    }

    /// The byte that tells kinds of frames apart, where one does: the first that a part asks for.
    pub fn selector(&self) -> Option<u16> {
        self.parts.iter().find_map(|p| p.when).map(|w| w.byte)
    }

    /// Reads a frame. Its checksum is held against it once more: a stored log is read by other versions. A frame that
    /// is too short for a reading that it should hold is damaged, and gives none.
    pub(crate) fn decode(&self, frame: &[u8], each: &mut impl FnMut(u16, Raw)) -> Result<(), DecodeError> {
        let body = self.layout.sound(frame).map_err(Unfit::Frame)?;
        let meant = |p: &&Part| p.when.is_none_or(|w| body.get(usize::from(w.byte)) == Some(&w.is));
        let needed = self.parts.iter().filter(meant).map(Part::end).max();
        match needed {
            None => return Err(Unmapped::Frame.into()),
            Some(needed) if needed > body.len() => {
                return Err(Unfit::Frame(FrameMisfit::Short { needed, found: body.len() }).into());
            }
            Some(_) => {}
        }
        for (i, part) in (0..).zip(&self.parts).filter(|(_, p)| meant(p)) {
            if let Some(bytes) = body.get(usize::from(part.byte)..part.end()) {
                each(i, part.read(bytes));
            }
        }
        Ok(())
    }
}

fn check_part(p: &Part, room: usize) -> Result<(), BinaryFormatError> {
    let name = || p.name.clone();
    let last = p.when.map_or(0, |w| usize::from(w.byte) + 1).max(p.end());
    if last > room {
        return Err(BinaryFormatError::Past { name: name(), first: p.byte.into(), last: last - 1, longest: room });
    }
    if p.scale == 0.0 || !p.scale.is_finite() || !p.offset.is_finite() {
        return Err(BinaryFormatError::Scale(name()));
    }
    if let Some((first, count)) = p.bits {
        let fits = count > 0 && usize::from(first) + usize::from(count) <= 8 * p.kind.bytes();
        if !fits || !matches!(p.kind, super::NumberKind::Unsigned(_)) {
            return Err(BinaryFormatError::Bits { name: name(), first, count });
        }
    }
    for (i, (raw, _)) in p.nothing.iter().enumerate() {
        let wide = raw.checked_shr(p.width()).is_some_and(|above| above != 0);
        if wide || p.nothing[..i].iter().any(|n| n.0 == *raw) {
            return Err(BinaryFormatError::Nothing { name: name(), raw: *raw });
        }
    }
    Ok(())
}
