//! The last door: what may be written to a connection.

use decode::modbus::Request;
use plugin_api::Query;
use plugin_api::wire::Door;

/// Lets whole, valid Modbus TCP read requests (functions 1 to 4) through and nothing else.
pub(crate) fn modbus() -> Door {
    Box::new(|bytes| match Request::parse_tcp(bytes) {
        Ok(_) => Ok(()),
        Err(cause) => Err(format!("refused to write {bytes:02X?}: {cause}; only Modbus read requests are ever sent")),
    })
}

/// Lets the queries of an instrument's file through, byte for byte, and nothing else.
pub(crate) fn listed(queries: &[Query]) -> Door {
    let listed: Vec<Vec<u8>> = queries.iter().map(|q| q.bytes.clone()).collect();
    Box::new(move |bytes| {
        let why = || format!("refused to write {bytes:02X?}: it is not listed in the instrument's file");
        if listed.iter().any(|q| q == bytes) { Ok(()) } else { Err(why()) }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_function_but_the_four_reads_is_refused() {
        let door = modbus();
        for function in 0..=255u8 {
            let frame = [0, 7, 0, 0, 0, 6, 1, function, 0, 0, 0, 1];
            assert_eq!(door(&frame).is_ok(), (1..=4).contains(&function), "function {function}");
        }
        // Another protocol, another length, more behind it, a quantity of none.
        for bad in [
            &[0, 7, 0, 1, 0, 6, 1, 3, 0, 0, 0, 1][..],
            &[0, 7, 0, 0, 0, 7, 1, 3, 0, 0, 0, 1],
            &[0, 7, 0, 0, 0, 6, 1, 3, 0, 0, 0, 1, 0],
            &[0, 7, 0, 0, 0, 6, 1, 3, 0, 0, 0, 0],
            &[],
        ] {
            assert!(door(bad).is_err(), "{bad:?}");
        }
    }

    #[test]
    fn only_listed_queries_pass() {
        let door = listed(&[Query { bytes: b"T?\r\n".to_vec(), period: None }]);
        assert_eq!(door(b"T?\r\n"), Ok(()));
        assert!(door(b"T?").unwrap_err().contains("is not listed"));
    }
}
