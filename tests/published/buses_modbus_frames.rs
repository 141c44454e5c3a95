//! Modbus RTU frames as reproduced in several public copies of older protocol guides; the current specification prints
//! only the part without address and checksum.

use crate::hex;
use decode::crc;
use decode::modbus::{Request, Verdict, match_answer};

/// Case BU-03, exact.
#[test]
fn rtu_frames_of_the_protocol_guides() {
    for frame in
        ["11 01 00 13 00 25 0E 84", "11 03 00 6B 00 03 76 87", "11 04 00 08 00 01 B2 98", "01 03 00 00 00 02 C4 0B"]
    {
        let bytes = hex(frame);
        let request = Request::parse(&bytes).unwrap();
        assert_eq!(request.frame().as_slice(), bytes, "{frame}");
    }
    for (request, answer) in [
        ("11 01 00 13 00 25 0E 84", "11 01 05 CD 6B B2 0E 1B 45 E6"),
        ("11 03 00 6B 00 03 76 87", "11 03 06 02 2B 00 00 00 64 C8 BA"),
    ] {
        let answer = hex(answer);
        assert_eq!(
            match_answer(&Request::parse(&hex(request)).unwrap(), &answer),
            Verdict::Answer { len: answer.len() }
        );
    }
    assert!(crc::modbus_fits(&hex("11 02 03 AC DB 35 20 18")));
}

/// Case BU-03: the published frame of a write (function 6) has a right checksum and is refused all the same.
#[test]
fn a_published_write_is_refused() {
    let write = hex("11 06 00 01 00 03 9A 9B");
    assert!(crc::modbus_fits(&write));
    let refused = Request::parse(&write).unwrap_err();
    assert_eq!(refused.to_string(), "function 6 is refused: only the read functions 1 to 4 are ever sent");
}
