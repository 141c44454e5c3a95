//! A device's register map.

use super::plan::Plan;
use super::{Bits, Function, Mismatch, Register, RegisterKind, Request, RequestError};
use crate::crc;
use crate::reading::{DecodeError, Raw, ReadingInfo, Unfit, Unmapped};

/// The registers of a device, merged into as few requests as its limits allow.
#[derive(Clone, Debug)]
pub struct ModbusMap {
    registers: Vec<Register>,
    /// The registers compiled, by function and address.
    plans: Vec<Plan>,
    blocks: Vec<Block>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Block {
    function: Function,
    address: u16,
    quantity: u16,
}

/// Why a map is refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MapError {
    /// No register.
    #[error("the map has no register; list at least one")]
    Empty,
    /// Too many registers.
    #[error("the map has {0} registers, at most 65535 are possible")]
    TooMany(usize),
    /// Two registers of one name, or a name that is empty.
    #[error("two registers are called `{0}`; give one of them another name")]
    Name(String),
    /// A register without a name.
    #[error("the register at address {0} has no name; give it one")]
    NoName(u16),
    /// Single bits and registers are read by different functions.
    #[error(
        "register `{name}`: function {function} does not read {kind}; functions 1 and 2 read single bits, 3 and 4 \
         registers"
    )]
    Function {
        /// Register.
        name: String,
        /// Function code.
        function: u8,
        /// Kind.
        kind: RegisterKind,
    },
    /// A part of a register that is none, or of a kind that has no parts.
    #[error(
        "register `{name}`: {count} bits from bit {first} on are no part of {kind}; u16 and u32 have parts, counted \
         from bit 0"
    )]
    Part {
        /// Register.
        name: String,
        /// Kind.
        kind: RegisterKind,
        /// Lowest bit.
        first: u8,
        /// How many.
        count: u8,
    },
    /// Ends past the address space.
    #[error("register `{name}`: {words} registers from address {address} end past 65535; check the address")]
    Address {
        /// Register.
        name: String,
        /// Address.
        address: u16,
        /// Registers.
        words: u16,
    },
    /// Two registers share words but not their meaning.
    #[error(
        "registers `{a}` (address {a_address}, {a_kind}) and `{b}` (address {b_address}, {b_kind}) of function \
         {function} overlap with different meanings; check address, kind, word and byte order"
    )]
    Overlap {
        /// One.
        a: String,
        /// Its address.
        a_address: u16,
        /// Its kind.
        a_kind: RegisterKind,
        /// The other.
        b: String,
        /// Its address.
        b_address: u16,
        /// Its kind.
        b_kind: RegisterKind,
        /// Function code of both.
        function: u8,
    },
    /// Scale 0, or scale or offset not finite.
    #[error(
        "register `{name}`: scale {scale:?} and offset {offset:?}: the scale must not be 0 and both must be finite"
    )]
    Scale {
        /// Register.
        name: String,
        /// Scale.
        scale: f64,
        /// Offset.
        offset: f64,
    },
    /// A bit pattern wider than the register, or listed twice.
    #[error("register `{name}`: {raw:#x} is listed twice as no number, or is wider than its {width} bits")]
    Nothing {
        /// Register.
        name: String,
        /// Bit pattern.
        raw: u64,
        /// Bits that count.
        width: u8,
    },
    /// The largest request does not hold the largest register, or more than one answer does.
    #[error("a largest request of {max_block} registers is refused: 1 to 125 are possible, and `{name}` takes {words}")]
    Block {
        /// Largest request asked for.
        max_block: u16,
        /// The largest register.
        name: String,
        /// Registers it takes.
        words: u16,
    },
}

impl ModbusMap {
    /// A map of these registers. Neighbours are read in one request of at most `max_block` registers (1 to 125) or 16
    /// times as many single bits, across at most `max_gap` unlisted addresses: some devices answer an unlisted address
    /// with an exception.
    ///
    /// # Errors
    /// See [`MapError`].
    pub fn new(registers: Vec<Register>, max_block: u16, max_gap: u16) -> Result<ModbusMap, MapError> {
        let Some(largest) = registers.iter().max_by_key(|r| r.kind.words()) else {
            return Err(MapError::Empty);
        };
        let words = largest.kind.words();
        if max_block < words || max_block > Function::ReadHoldingRegisters.most() {
            return Err(MapError::Block { max_block, name: largest.name.clone(), words });
        }
        let count = u16::try_from(registers.len()).map_err(|_| MapError::TooMany(registers.len()))?;
        registers.iter().try_for_each(check_register)?;
        check_names(&registers)?;
        let mut order: Vec<u16> = (0..count).collect();
        order.sort_by_key(|i| place(&registers[usize::from(*i)]));
        check_overlaps(&registers, &order)?;
        let blocks = blocks(&registers, &order, max_block, max_gap);
        let plans = order.iter().map(|i| Plan::new(*i, &registers[usize::from(*i)])).collect();
        Ok(ModbusMap { registers, plans, blocks })
    }

    /// The registers, in the order given.
    pub fn registers(&self) -> &[Register] {
        &self.registers
    }

    /// What the readings are called, in the same order.
    pub fn readings(&self) -> Vec<ReadingInfo> {
        self.registers.iter().map(|r| ReadingInfo { name: r.name.clone(), unit: r.unit.clone() }).collect()
    }

    /// The requests that read the whole map from a device, by function and address.
    ///
    /// # Errors
    /// A device address outside 1 to 247.
    pub fn requests(&self, unit: u8) -> Result<Vec<[u8; 8]>, RequestError> {
        self.blocks.iter().map(|b| Ok(Request::new(unit, b.function, b.address, b.quantity)?.frame())).collect()
    }

    /// As [`ModbusMap::requests`], for TCP, where any unit is possible; still in the form of a serial line.
    ///
    /// # Errors
    /// None that a map could cause.
    pub fn requests_to_any_unit(&self, unit: u8) -> Result<Vec<[u8; 8]>, RequestError> {
        let frame = |b: &Block| Ok(Request::to_any_unit(unit, b.function, b.address, b.quantity)?.frame());
        self.blocks.iter().map(frame).collect()
    }

    /// Every register that lies wholly in the answer: `exchange` = the request's eight bytes, then the answer's.
    /// Held against the request once more, although the source has done so: a stored log is read by other versions.
    pub(crate) fn decode(&self, exchange: &[u8], each: &mut impl FnMut(u16, Raw)) -> Result<(), DecodeError> {
        let Some((request, answer)) = exchange.split_first_chunk::<8>() else {
            return Err(Unfit::TooShort { needed: 8, found: exchange.len() }.into());
        };
        let request = Request::parse_any_unit(request).map_err(Unfit::Request)?;
        let data = answer_data(&request, answer)?;
        let (function, first) = (request.function(), request.address());
        let last = first + (request.quantity() - 1);
        let from = self.plans.partition_point(|p| (p.function, p.address) < (function, first));
        let mut any = false;
        for plan in &self.plans[from..] {
            if (plan.function, plan.address) > (function, last) {
                break;
            }
            if let Some(raw) = plan.read(&self.registers, data, plan.address - first, request.quantity()) {
                each(plan.index, raw);
                any = true;
            }
        }
        if any { Ok(()) } else { Err(Unmapped::Registers { function: function as u8, first, last }.into()) }
    }
}

/// The data bytes of an answer that belongs to its request.
fn answer_data<'a>(request: &Request, answer: &'a [u8]) -> Result<&'a [u8], DecodeError> {
    if !crc::modbus_fits(answer) {
        return Err(Unfit::Checksum.into());
    }
    let [unit, function, count, rest @ ..] = answer else {
        return Err(Unfit::TooShort { needed: 5, found: answer.len() }.into());
    };
    let asked = request.function() as u8;
    let wrong = if *unit != request.unit() {
        Mismatch::Unit { expected: request.unit(), found: *unit }
    } else if *function == asked | 0x80 {
        return Err(Unfit::Exception(*count).into());
    } else if *function != asked {
        Mismatch::Function { expected: asked, found: *function }
    } else if *count != request.data_length() {
        Mismatch::ByteCount { expected: request.data_length(), found: *count }
    } else if answer.len() != request.answer_length() {
        Mismatch::Length { expected: request.answer_length(), found: answer.len() }
    } else {
        return Ok(&rest[..usize::from(*count)]);
    };
    Err(Unfit::Answer(wrong).into())
}

fn place(r: &Register) -> (Function, u16) {
    (r.function, r.address)
}

fn check_register(r: &Register) -> Result<(), MapError> {
    let name = || r.name.clone();
    if r.name.is_empty() {
        return Err(MapError::NoName(r.address));
    }
    if r.function.reads_registers() == (r.kind == RegisterKind::Bit) {
        return Err(MapError::Function { name: name(), function: r.function as u8, kind: r.kind });
    }
    if let Some(Bits { first, count }) = r.bits {
        let fits = count > 0 && u16::from(first) + u16::from(count) <= u16::from(r.kind.width());
        if !fits || !matches!(r.kind, RegisterKind::U16 | RegisterKind::U32) {
            return Err(MapError::Part { name: name(), kind: r.kind, first, count });
        }
    }
    if r.last().is_none() {
        return Err(MapError::Address { name: name(), address: r.address, words: r.kind.words() });
    }
    if r.scale == 0.0 || !r.scale.is_finite() || !r.offset.is_finite() {
        return Err(MapError::Scale { name: name(), scale: r.scale, offset: r.offset });
    }
    for (i, (raw, _)) in r.nothing.iter().enumerate() {
        let width = r.bits.map_or(r.kind.width(), |b| b.count);
        let wide = raw.checked_shr(u32::from(width)).is_some_and(|above| above != 0);
        if wide || r.nothing[..i].iter().any(|n| n.0 == *raw) {
            return Err(MapError::Nothing { name: name(), raw: *raw, width });
        }
    }
    Ok(())
}

fn check_names(registers: &[Register]) -> Result<(), MapError> {
    let mut names: Vec<&str> = registers.iter().map(|r| r.name.as_str()).collect();
    names.sort_unstable();
    match names.windows(2).find(|w| w[0] == w[1]) {
        Some(pair) => Err(MapError::Name(pair[0].to_owned())),
        None => Ok(()),
    }
}

/// The same words under two names are fine as long as they mean the same bits; anything else is a mistake.
fn check_overlaps(registers: &[Register], order: &[u16]) -> Result<(), MapError> {
    for pair in order.windows(2) {
        let (a, b) = (&registers[usize::from(pair[0])], &registers[usize::from(pair[1])]);
        let apart = a.function != b.function || a.last() < Some(b.address);
        let order = |r: &Register| ((r.kind.words() > 1).then_some(r.word_order), r.byte_order);
        let same = a.address == b.address && a.kind == b.kind && order(a) == order(b);
        if !apart && !same {
            return Err(MapError::Overlap {
                a: a.name.clone(),
                a_address: a.address,
                a_kind: a.kind,
                b: b.name.clone(),
                b_address: b.address,
                b_kind: b.kind,
                function: a.function as u8,
            });
        }
    }
    Ok(())
}

fn blocks(registers: &[Register], order: &[u16], max_block: u16, max_gap: u16) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    for r in order.iter().map(|i| &registers[usize::from(*i)]) {
        let (first, last) = (u32::from(r.address), u32::from(r.address) + u32::from(r.kind.words()) - 1);
        if let Some(b) = blocks.last_mut().filter(|b| b.function == r.function) {
            let next = u32::from(b.address) + u32::from(b.quantity);
            let quantity = (last + 1 - u32::from(b.address)).max(u32::from(b.quantity));
            let most = if r.kind == RegisterKind::Bit { u32::from(max_block) * 16 } else { u32::from(max_block) };
            if first <= next + u32::from(max_gap) && quantity <= most {
                b.quantity = quantity as u16;
                continue;
            }
        }
        blocks.push(Block { function: r.function, address: r.address, quantity: r.kind.words() });
    }
    blocks
}
