//! Modbus: requests, answers, register maps; on serial lines, overheard there, and over TCP.
//!
//! Sources, from memory throughout (section numbers; page numbers were not at hand):
//! MODBUS Application Protocol Specification V1.1b3, section 4.1 (sizes), 4.2 (big-endian), 6.1 to 6.4 (functions 1
//! to 4 and their quantities), 7 (exceptions); MODBUS over Serial Line, Specification and Implementation Guide V1.02,
//! section 2.2 (addresses 1 to 247), 2.5.1 (RTU frame, CRC low byte first, silences).

mod answer;
mod map;
mod passive;
mod plan;
mod register;
mod request;
mod tcp;
mod timing;

pub use answer::{Found, Mismatch, Verdict, encode_answer, encode_exception, find_frame, match_answer};
pub use map::{MapError, ModbusMap};
pub use passive::PassiveFramer;
pub use register::{Bits, ByteOrder, Register, RegisterKind, ValueError, WordOrder};
pub use request::{Function, Request, RequestError};
pub use tcp::{TcpFound, find_tcp, judge_tcp};
pub use timing::{character_silence_ns, frame_silence_ns};
