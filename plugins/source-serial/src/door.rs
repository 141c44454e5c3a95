//! The last door: what may be written to a port.

use decode::modbus::{Request, RequestError};
use plugin_api::Query;
use plugin_api::wire::Door;

/// A frame that is not written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("refused to write {} to the port: {cause}; only Modbus read requests are ever sent", hex(frame))]
pub(crate) struct Refused {
    frame: Vec<u8>,
    cause: RequestError,
}

/// The door of a line of Modbus devices.
pub(crate) fn modbus() -> Door {
    Box::new(|frame| check(frame).map(|_| ()).map_err(|e| e.to_string()))
}

/// The door of an instrument that is asked: lets the queries of its file through, byte for byte, and nothing else.
pub(crate) fn listed(queries: &[Query]) -> Door {
    let listed: Vec<Vec<u8>> = queries.iter().map(|q| q.bytes.clone()).collect();
    Box::new(move |bytes| {
        let why = || format!("refused to write {} to the port: it is not listed in the instrument's file", hex(bytes));
        if listed.iter().any(|q| q == bytes) { Ok(()) } else { Err(why()) }
    })
}

/// Lets a whole, valid read request (functions 1 to 4) through and nothing else.
pub(crate) fn check(frame: &[u8]) -> Result<&[u8], Refused> {
    match Request::parse(frame) {
        Ok(_) => Ok(frame),
        Err(cause) => Err(Refused { frame: frame.to_vec(), cause }),
    }
}

fn hex(bytes: &[u8]) -> String {
    let list: Vec<String> = bytes.iter().map(|b| format!("{b:02X}")).collect();
    if list.is_empty() { "nothing".to_owned() } else { list.join(" ") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sealed(body: &[u8]) -> Vec<u8> {
        let mut frame = body.to_vec();
        frame.extend(decode::crc::modbus(body).to_le_bytes());
        frame
    }

    #[test]
    fn every_function_but_the_four_reads_is_refused() {
        for function in 0..=255u8 {
            let frame = sealed(&[1, function, 0, 0, 0, 1]);
            assert_eq!(check(&frame).is_ok(), (1..=4).contains(&function), "function {function}");
        }
        let write = check(&sealed(&[1, 6, 0, 0, 0, 1])).unwrap_err();
        assert_eq!(write.cause, RequestError::Function(6));
        let text = write.to_string();
        assert!(text.contains("01 06 00 00 00 01") && text.contains("function 6"), "{text}");
    }

    #[test]
    fn only_listed_queries_pass() {
        let door = listed(&[Query { bytes: b"T?\r\n".to_vec(), period: None }]);
        assert_eq!(door(b"T?\r\n"), Ok(()));
        for other in [&b"T?\r"[..], b"T?\r\nT?\r\n", b"", b"*RST\r\n"] {
            assert!(door(other).unwrap_err().contains("is not listed"), "{other:?}");
        }
    }

    #[test]
    fn broadcast_damage_and_other_lengths_are_refused() {
        assert!(matches!(check(&sealed(&[0, 3, 0, 0, 0, 1])).unwrap_err().cause, RequestError::Unit(0)));
        assert!(matches!(check(&[1, 3, 0, 0, 0, 1, 0, 0]).unwrap_err().cause, RequestError::Checksum));
        assert!(matches!(check(&sealed(&[1, 16, 0, 0, 0, 1, 2, 0, 7])).unwrap_err().cause, RequestError::Length(11)));
        assert!(matches!(check(&[]).unwrap_err().cause, RequestError::Length(0)));
    }
}
