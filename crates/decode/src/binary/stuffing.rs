//! Escapes and stuffing: SLIP and COBS, one frame at a time, both ways.

/// Ends a SLIP frame (RFC 1055).
pub const SLIP_END: u8 = 0xC0;
const SLIP_ESC: u8 = 0xDB;
const SLIP_ESC_END: u8 = 0xDC;
const SLIP_ESC_ESC: u8 = 0xDD;

/// Ends a COBS frame.
pub const COBS_END: u8 = 0x00;

/// What a SLIP frame says, its END taken off; `None` where an escape is followed by a byte that RFC 1055 does not know.
pub fn slip_decode(frame: &[u8]) -> Option<Vec<u8>> {
    let mut out = Vec::with_capacity(frame.len());
    let mut bytes = frame.iter();
    while let Some(b) = bytes.next() {
        out.push(match *b {
            SLIP_END => return None,
            SLIP_ESC => match bytes.next() {
                Some(&SLIP_ESC_END) => SLIP_END,
                Some(&SLIP_ESC_ESC) => SLIP_ESC,
                _ => return None,
            },
            plain => plain,
        });
    }
    Some(out)
}

/// A SLIP frame with an END before and behind, as RFC 1055 advises.
pub fn slip_encode(data: &[u8]) -> Vec<u8> {
    let mut out = vec![SLIP_END];
    for b in data {
        match *b {
            SLIP_END => out.extend([SLIP_ESC, SLIP_ESC_END]),
            SLIP_ESC => out.extend([SLIP_ESC, SLIP_ESC_ESC]),
            plain => out.push(plain),
        }
    }
    out.push(SLIP_END);
    out
}

/// What a COBS frame says, its zero taken off; `None` where its counts lead past its end or it holds a zero.
pub fn cobs_decode(frame: &[u8]) -> Option<Vec<u8>> {
    let mut out = Vec::with_capacity(frame.len());
    let mut rest = frame;
    while let [count, after @ ..] = rest {
        let length = usize::from(*count).checked_sub(1)?;
        let (block, next) = after.split_at_checked(length)?;
        if block.contains(&COBS_END) {
            return None;
        }
        out.extend_from_slice(block);
        // A full block says nothing of a zero behind it, nor does the frame's end.
        if *count < 0xFF && !next.is_empty() {
            out.push(COBS_END);
        }
        rest = next;
    }
    Some(out)
}

/// A COBS frame with its zero.
pub fn cobs_encode(data: &[u8]) -> Vec<u8> {
    let mut out = Vec::with_capacity(data.len() + data.len() / 254 + 2);
    let mut blocks = data.split(|b| *b == COBS_END).peekable();
    while let Some(block) = blocks.next() {
        let mut full = block.chunks(254).peekable();
        if full.peek().is_none() {
            out.push(1);
        }
        while let Some(chunk) = full.next() {
            out.push(chunk.len() as u8 + 1);
            out.extend_from_slice(chunk);
            // A full chunk with a zero behind it needs a block that says so.
            if chunk.len() == 254 && full.peek().is_none() && blocks.peek().is_some() {
                out.push(1);
            }
        }
    }
    out.push(COBS_END);
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// RFC 1055: END is 192, ESC 219, ESC_END 220, ESC_ESC 221; a data byte END is sent as ESC ESC_END, ESC as ESC
    /// ESC_ESC.
    #[test]
    fn slip_as_the_rfc_says() {
        assert_eq!(slip_encode(&[1, 192, 219, 2]), [192, 1, 219, 220, 219, 221, 2, 192]);
        assert_eq!(slip_decode(&[1, 219, 220, 219, 221, 2]), Some(vec![1, 192, 219, 2]));
        assert_eq!(slip_decode(&[1, 219, 5]), None);
        assert_eq!(slip_decode(&[1, 219]), None);
    }

    /// Examples widely printed with COBS (Cheshire and Baker; the byte values from memory).
    #[test]
    fn cobs_examples() {
        let run = |n: u16| (1..=n).map(|b| b as u8).collect::<Vec<u8>>();
        let cases: Vec<(Vec<u8>, Vec<u8>)> = vec![
            (vec![0x00], vec![0x01, 0x01, 0x00]),
            (vec![0x00, 0x00], vec![0x01, 0x01, 0x01, 0x00]),
            (vec![0x11, 0x22, 0x00, 0x33], vec![0x03, 0x11, 0x22, 0x02, 0x33, 0x00]),
            (vec![0x11, 0x22, 0x33, 0x44], vec![0x05, 0x11, 0x22, 0x33, 0x44, 0x00]),
            (vec![0x11, 0x00, 0x00, 0x00], vec![0x02, 0x11, 0x01, 0x01, 0x01, 0x00]),
            (run(254), [vec![0xFF], run(254), vec![0x00]].concat()),
            (run(255), [vec![0xFF], run(254), vec![0x02, 0xFF, 0x00]].concat()),
        ];
        for (data, frame) in cases {
            assert_eq!(cobs_encode(&data), frame, "{data:02X?}");
            assert_eq!(cobs_decode(&frame[..frame.len() - 1]), Some(data));
        }
        assert_eq!(cobs_decode(&[0x05, 0x11]), None);
        assert_eq!(cobs_decode(&[0x03, 0x11, 0x00]), None);
    }

    proptest! {
        #[test]
        fn both_come_back(
            data in prop::collection::vec(prop::sample::select(vec![0u8, 1, 192, 219, 220, 221, 255]), 0..600),
        ) {
            let slip = slip_encode(&data);
            prop_assert_eq!(slip_decode(&slip[1..slip.len() - 1]), Some(data.clone()));
            let cobs = cobs_encode(&data);
            prop_assert!(!cobs[..cobs.len() - 1].contains(&COBS_END));
            prop_assert_eq!(cobs_decode(&cobs[..cobs.len() - 1]), Some(data));
        }

        #[test]
        fn any_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
            let _ = (slip_decode(&bytes), cobs_decode(&bytes));
        }
    }
}
