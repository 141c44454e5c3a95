//! Answers in a stream of bytes: found whatever stands around them, never taken for another request's.
#![allow(clippy::unwrap_used)]

use decode::modbus::{
    Found, Function, Mismatch, Request, Verdict, encode_answer, encode_exception, find_frame, match_answer,
};
use proptest::prelude::*;

fn request() -> Request {
    Request::new(17, Function::ReadHoldingRegisters, 107, 3).unwrap()
}

fn answer() -> Vec<u8> {
    encode_answer(&request().frame(), |a| a * 3).unwrap()
}

fn other(unit: u8, function: Function, quantity: u16) -> Vec<u8> {
    encode_answer(&Request::new(unit, function, 0, quantity).unwrap().frame(), |_| 1).unwrap()
}

#[test]
fn grows_byte_by_byte() {
    let answer = answer();
    let more: Vec<Verdict> = (0..answer.len()).map(|n| match_answer(&request(), &answer[..n])).collect();
    let needs = [5, 4, 3, 8, 7, 6, 5, 4, 3, 2, 1].map(Verdict::NeedMore);
    assert_eq!(more, needs);
    assert_eq!(match_answer(&request(), &answer), Verdict::Answer { len: 11 });
}

#[test]
fn needed_bytes_are_never_too_many() {
    // Waiting for exactly what is asked for must not wait past the end of the frame.
    for frame in [answer(), encode_exception(&request().frame(), 3).unwrap()] {
        let mut have = 0;
        while let Verdict::NeedMore(n) = match_answer(&request(), &frame[..have]) {
            have += n;
            assert!(have <= frame.len());
        }
        assert_eq!(have, frame.len());
    }
}

#[test]
fn what_belongs_to_another_request_is_told() {
    let verdict = |frame: &[u8]| match_answer(&request(), frame);
    let unit = Mismatch::Unit { expected: 17, found: 18 };
    assert_eq!(verdict(&other(18, Function::ReadHoldingRegisters, 3)), Verdict::Other { len: 11, mismatch: unit });
    let function = Mismatch::Function { expected: 3, found: 4 };
    assert_eq!(verdict(&other(17, Function::ReadInputRegisters, 3)), Verdict::Other { len: 11, mismatch: function });
    let count = Mismatch::ByteCount { expected: 6, found: 4 };
    assert_eq!(verdict(&other(17, Function::ReadHoldingRegisters, 2)), Verdict::Other { len: 9, mismatch: count });
    let foreign = Request::new(18, Function::ReadHoldingRegisters, 0, 1).unwrap();
    let exception = encode_exception(&foreign.frame(), 2).unwrap();
    assert_eq!(verdict(&exception), Verdict::Other { len: 5, mismatch: unit });
}

#[test]
fn every_flipped_bit_is_seen() {
    let good = answer();
    for bit in 0..good.len() * 8 {
        let mut bad = good.clone();
        bad[bit / 8] ^= 1 << (bit % 8);
        let verdict = match_answer(&request(), &bad);
        assert!(!matches!(verdict, Verdict::Answer { .. } | Verdict::Exception { .. }), "bit {bit}: {verdict:?}");
        assert!(
            !matches!(find_frame(&request(), &bad).verdict, Verdict::Answer { .. } | Verdict::Other { .. }),
            "{bit}"
        );
    }
    let mut bad = good;
    bad[4] ^= 0x40;
    assert_eq!(match_answer(&request(), &bad), Verdict::BadChecksum { len: 11 });
}

#[test]
fn found_behind_noise_echo_and_damage() {
    let found = |bytes: &[u8]| find_frame(&request(), bytes);
    let (good, echo) = (answer(), request().frame());
    assert_eq!(
        found(&[&[0x00, 0xFF, 0x11][..], &good].concat()),
        Found { skip: 3, verdict: Verdict::Answer { len: 11 } }
    );
    // Noise that looks like the head of a long frame does not hold the answer up.
    assert_eq!(found(&[&[17, 3, 250][..], &good].concat()), Found { skip: 3, verdict: Verdict::Answer { len: 11 } });
    let echoed = [&echo[..], &good].concat();
    assert_eq!(found(&echoed), Found { skip: 0, verdict: Verdict::Echo { len: 8 } });
    assert_eq!(found(&echoed[8..]), Found { skip: 0, verdict: Verdict::Answer { len: 11 } });
    let mut damaged = good.clone();
    damaged[5] ^= 1;
    assert_eq!(found(&damaged).verdict, Verdict::BadChecksum { len: 11 });
    assert_eq!(found(&[&damaged[..], &good].concat()), Found { skip: 11, verdict: Verdict::Answer { len: 11 } });
    assert_eq!(found(&good[..4]), Found { skip: 0, verdict: Verdict::NeedMore(3) });
    assert_eq!(found(&[0, 0, 0]), Found { skip: 0, verdict: Verdict::Noise });
    assert_eq!(found(&[]), Found { skip: 0, verdict: Verdict::NeedMore(5) });
}

#[test]
fn an_echo_that_looks_like_an_answer_is_still_an_echo() {
    // Address 0x0400 puts a possible byte count where an answer has one.
    let request = Request::new(1, Function::ReadHoldingRegisters, 0x0400, 2).unwrap();
    let bytes = [&request.frame()[..], &encode_answer(&request.frame(), |_| 7).unwrap()].concat();
    assert_eq!(find_frame(&request, &bytes), Found { skip: 0, verdict: Verdict::Echo { len: 8 } });
}

proptest! {
    #[test]
    fn found_in_any_noise(
        before in prop::collection::vec(any::<u8>(), 0..40),
        after in prop::collection::vec(any::<u8>(), 0..40),
    ) {
        let frame = answer();
        let bytes = [&before[..], &frame, &after].concat();
        let found = find_frame(&request(), &bytes);
        // One in 65 536 stretches of noise is a frame by its checksum; those cases are not judged.
        if found.skip >= before.len() {
            prop_assert_eq!(found, Found { skip: before.len(), verdict: Verdict::Answer { len: frame.len() } });
        } else {
            let other = matches!(found.verdict, Verdict::Other { .. } | Verdict::Exception { .. } | Verdict::Answer { .. });
            prop_assert!(other, "{:?}", found);
        }
    }

    #[test]
    fn random_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let _ = find_frame(&request(), &bytes);
        let _ = Request::parse(&bytes);
        let _ = encode_answer(&bytes, |_| 0);
    }

    #[test]
    fn requests_read_back(unit in 1u8..=247, code in 1u8..=4, address in any::<u16>(), quantity in 1u16..=2000) {
        let function = Function::from_code(code).unwrap();
        if let Ok(request) = Request::new(unit, function, address, quantity) {
            prop_assert_eq!(Request::parse(&request.frame()), Ok(request));
            let answer = encode_answer(&request.frame(), |a| a).unwrap();
            prop_assert_eq!(answer.len(), request.answer_length());
            prop_assert_eq!(match_answer(&request, &answer), Verdict::Answer { len: answer.len() });
        } else {
            prop_assert!(quantity > function.most() || u32::from(address) + u32::from(quantity) > 65_536);
        }
    }
}
