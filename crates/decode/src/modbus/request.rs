//! Read requests. There are no others here: a function that writes cannot be expressed.

use crate::crc;

/// The read functions.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum Function {
    /// Read Coils.
    ReadCoils = 1,
    /// Read Discrete Inputs.
    ReadDiscreteInputs = 2,
    /// Read Holding Registers.
    ReadHoldingRegisters = 3,
    /// Read Input Registers.
    ReadInputRegisters = 4,
}

impl Function {
    /// The function with this code; `None` for every function that is not a plain read.
    pub fn from_code(code: u8) -> Option<Function> {
        [Self::ReadCoils, Self::ReadDiscreteInputs, Self::ReadHoldingRegisters, Self::ReadInputRegisters]
            .into_iter()
            .find(|f| *f as u8 == code)
    }

    /// Whether it reads registers of 16 bits; else single bits.
    pub fn reads_registers(self) -> bool {
        matches!(self, Self::ReadHoldingRegisters | Self::ReadInputRegisters)
    }

    /// The most that one request may read: 2000 bits or 125 registers.
    pub fn most(self) -> u16 {
        if self.reads_registers() { 125 } else { 2000 }
    }
}

/// A read request to one device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Request {
    unit: u8,
    function: Function,
    address: u16,
    quantity: u16,
}

/// Why a request is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RequestError {
    /// Broadcast, or beyond the addresses of devices.
    #[error("device address {0} is not in 1 to 247; 0 is the broadcast address, to which no device answers")]
    Unit(u8),
    /// A function that is no plain read.
    #[error("function {0} is refused: only the read functions 1 to 4 are ever sent")]
    Function(u8),
    /// Nothing, or more than one answer can hold.
    #[error("a quantity of {quantity} is refused: function {function} reads 1 to {most} at a time")]
    Quantity {
        /// Function code.
        function: u8,
        /// Quantity asked for.
        quantity: u16,
        /// The most that is possible.
        most: u16,
    },
    /// Past the end of the address space.
    #[error("{quantity} from address {address} would end past address 65535")]
    Range {
        /// First address.
        address: u16,
        /// Quantity.
        quantity: u16,
    },
    /// Not eight bytes.
    #[error("a read request has 8 bytes, not {0}")]
    Length(usize),
    /// Checksum wrong.
    #[error("its checksum is wrong")]
    Checksum,
}

impl Request {
    /// Bytes of a read request with its checksum.
    pub const LENGTH: usize = 8;

    /// A request for `quantity` bits or registers from `address`, zero-based as in the frame.
    ///
    /// # Errors
    /// Device address outside 1 to 247, quantity 0 or more than one answer holds, range past 65535.
    pub fn new(unit: u8, function: Function, address: u16, quantity: u16) -> Result<Request, RequestError> {
        if !(1..=247).contains(&unit) {
            return Err(RequestError::Unit(unit));
        }
        Request::to_any_unit(unit, function, address, quantity)
    }

    /// As [`Request::new`], for TCP: there 0 and 255 mean the device itself, and no number is refused.
    ///
    /// # Errors
    /// Quantity 0 or more than one answer holds, range past 65535.
    pub fn to_any_unit(unit: u8, function: Function, address: u16, quantity: u16) -> Result<Request, RequestError> {
        let most = function.most();
        if !(1..=most).contains(&quantity) {
            return Err(RequestError::Quantity { function: function as u8, quantity, most });
        }
        if address.checked_add(quantity - 1).is_none() {
            return Err(RequestError::Range { address, quantity });
        }
        Ok(Request { unit, function, address, quantity })
    }

    /// Reads a request's eight bytes.
    ///
    /// # Errors
    /// As [`Request::new`], and for another length, another function or a wrong checksum.
    pub fn parse(frame: &[u8]) -> Result<Request, RequestError> {
        match Request::parse_any_unit(frame)? {
            r if (1..=247).contains(&r.unit) => Ok(r),
            r => Err(RequestError::Unit(r.unit)),
        }
    }

    /// As [`Request::parse`], to any unit: what was asked over TCP is kept in the same form.
    ///
    /// # Errors
    /// As [`Request::to_any_unit`], and for another length, another function or a wrong checksum.
    pub fn parse_any_unit(frame: &[u8]) -> Result<Request, RequestError> {
        let &[unit, function, a, b, c, d, _, _] = frame else {
            return Err(RequestError::Length(frame.len()));
        };
        if !crc::modbus_fits(frame) {
            return Err(RequestError::Checksum);
        }
        let function = Function::from_code(function).ok_or(RequestError::Function(function))?;
        Request::to_any_unit(unit, function, u16::from_be_bytes([a, b]), u16::from_be_bytes([c, d]))
    }

    /// The bytes as they go out.
    pub fn frame(&self) -> [u8; 8] {
        let [a, b] = self.address.to_be_bytes();
        let [c, d] = self.quantity.to_be_bytes();
        let head = [self.unit, self.function as u8, a, b, c, d];
        let [low, high] = crc::modbus(&head).to_le_bytes();
        [self.unit, self.function as u8, a, b, c, d, low, high]
    }

    /// Device address.
    pub fn unit(&self) -> u8 {
        self.unit
    }

    /// Function.
    pub fn function(&self) -> Function {
        self.function
    }

    /// First address, zero-based as in the frame.
    pub fn address(&self) -> u16 {
        self.address
    }

    /// Bits or registers asked for.
    pub fn quantity(&self) -> u16 {
        self.quantity
    }

    /// Data bytes in the answer.
    pub fn data_length(&self) -> u8 {
        // At most 250: 125 registers or 2000 bits.
        if self.function.reads_registers() { (self.quantity * 2) as u8 } else { self.quantity.div_ceil(8) as u8 }
    }

    /// Bytes of the whole answer: address, function, byte count, data, checksum.
    pub fn answer_length(&self) -> usize {
        usize::from(self.data_length()) + 5
    }
}
