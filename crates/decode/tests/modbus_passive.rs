//! Another master's line: what is paired, and what never is.
#![allow(clippy::unwrap_used)]

use decode::modbus::{Function, PassiveFramer, Request, encode_answer, encode_exception};
use proptest::prelude::*;
use stream::{EventTime, FaultKind, Framed, Framer, Span};

const WORST: Span = Span(300);

fn read(unit: u8, address: u16, quantity: u16) -> Request {
    Request::new(unit, Function::ReadHoldingRegisters, address, quantity).unwrap()
}

fn coils(unit: u8, address: u16, quantity: u16) -> Request {
    Request::new(unit, Function::ReadCoils, address, quantity).unwrap()
}

/// Every register's value says where it belongs.
fn answer(r: &Request) -> Vec<u8> {
    encode_answer(&r.frame(), |a| a.wrapping_mul(7).wrapping_add(u16::from(r.unit()) << 8)).unwrap()
}

fn sealed(body: &[u8]) -> Vec<u8> {
    let mut frame = body.to_vec();
    frame.extend(decode::crc::modbus(body).to_le_bytes());
    frame
}

/// What comes out, with the time; a pair is checked: its answer is the answer to its request.
fn told(pushes: &[(i64, Vec<u8>)]) -> Vec<String> {
    let mut framer = PassiveFramer::new(WORST);
    let mut out = Vec::new();
    let mut each = |at: EventTime, framed: Framed<'_>| {
        out.push(match framed {
            Framed::Message(pair) => {
                let r = Request::parse(&pair[..8]).unwrap();
                assert_eq!(pair[8..], answer(&r), "a value of other registers");
                format!("{} {}:{}+{}", at.0, r.unit(), r.address(), r.quantity())
            }
            Framed::Fault(kind, bytes) => format!("{} {} {}", at.0, kind.word(), bytes.len()),
        });
    };
    for (at, bytes) in pushes {
        framer.push(EventTime(*at), bytes, &mut each);
    }
    framer.finish(&mut each);
    out
}

/// A request at that time, and its answer 10 later.
fn exchange(at: i64, r: &Request) -> Vec<(i64, Vec<u8>)> {
    vec![(at, r.frame().to_vec()), (at + 10, answer(r))]
}

/// The first answers after joining are not trusted: a request may have been sent before.
fn joined() -> Vec<(i64, Vec<u8>)> {
    exchange(0, &read(9, 0, 1))
}

#[test]
fn request_and_answer_are_paired_once_listening_is_long_enough() {
    let line = [joined(), exchange(100, &read(1, 5, 2)), exchange(400, &read(1, 5, 2)), exchange(500, &read(2, 7, 1))];
    let all = ["10 unpaired 7", "110 unpaired 9", "410 1:5+2", "510 2:7+1"];
    assert_eq!(told(&line.concat()), all);
    // However it is cut; the time is that of the last byte.
    let bytes: Vec<(i64, Vec<u8>)> =
        line.concat().into_iter().flat_map(|(at, b)| b.into_iter().map(move |b| (at, vec![b]))).collect();
    assert_eq!(told(&bytes), all);
}

#[test]
fn joining_in_the_middle_is_partial_and_no_error() {
    let first = read(1, 5, 2).frame();
    let line = [vec![(0, first[3..].to_vec())], exchange(500, &read(1, 5, 2)), exchange(900, &read(1, 5, 2))].concat();
    // The bytes of the broken request are noise that keeps the first pair doubtful.
    assert_eq!(told(&line)[0], "0 partial-line 5");
    assert_eq!(told(&line).last().unwrap(), "910 1:5+2");
}

#[test]
fn an_answer_whose_request_was_not_seen_is_counted() {
    let line = [joined(), vec![(400, answer(&read(1, 5, 2)))], exchange(500, &read(1, 5, 2))].concat();
    assert_eq!(told(&line), ["10 unpaired 7", "400 unpaired 9", "510 1:5+2"]);
}

#[test]
fn a_late_answer_is_never_taken_for_the_next_request_s() {
    let (a, b) = (read(1, 100, 2), read(1, 200, 2));
    // The answer to a comes behind b's request; then b's own.
    let line = [
        joined(),
        vec![(400, a.frame().to_vec()), (600, b.frame().to_vec()), (610, answer(&a)), (640, answer(&b))],
        exchange(1000, &a),
    ];
    let told_all = told(&line.concat());
    assert_eq!(told_all, ["10 unpaired 7", "610 unpaired 9", "640 unpaired 9", "1010 1:100+2"]);
    // Another shape cannot be mistaken; the same request again reads the same registers.
    let c = read(1, 300, 4);
    let line = [joined(), vec![(400, a.frame().to_vec())], exchange(600, &c), vec![(700, a.frame().to_vec())]].concat();
    assert_eq!(told(&line), ["10 unpaired 7", "610 1:300+4"]);
    let line = [joined(), vec![(400, a.frame().to_vec())], exchange(600, &a)].concat();
    assert_eq!(told(&line), ["10 unpaired 7", "610 1:100+2"]);
    // After the worst answer time nothing is owed any more: that nobody answered is told.
    let line = [joined(), vec![(400, a.frame().to_vec())], exchange(750, &b)].concat();
    assert_eq!(told(&line), ["10 unpaired 7", "750 time-out 8", "760 1:200+2"]);
}

#[test]
fn exceptions_writes_and_damage() {
    let (a, b) = (read(1, 100, 2), read(1, 200, 2));
    let write = sealed(&[1, 6, 0, 1, 0, 3]);
    let many = sealed(&[1, 16, 0, 1, 0, 2, 4, 0, 10, 1, 2]);
    let many_done = sealed(&[1, 16, 0, 1, 0, 2]);
    let mut damaged = answer(&a);
    damaged[4] ^= 0x40;
    let line = [
        joined(),
        vec![(400, a.frame().to_vec()), (410, encode_exception(&a.frame(), 2).unwrap())],
        vec![(420, write.clone()), (430, write)],
        vec![(440, many), (450, many_done)],
        exchange(460, &b),
        vec![(500, a.frame().to_vec()), (510, damaged)],
        exchange(600, &b),
        exchange(1000, &b),
    ];
    let expected = [
        "10 unpaired 7",
        "410 exception 5",
        "420 overheard 8",
        "430 overheard 8",
        "440 overheard 13",
        "450 overheard 8",
        "470 1:200+2",
        "510 checksum 9",
        // A request may have been in the damaged bytes, and a's is unanswered.
        "610 unpaired 9",
        "1000 time-out 8",
        "1010 1:200+2",
    ];
    assert_eq!(told(&line.concat()), expected);
}

#[test]
fn frames_that_are_request_and_answer_at_once() {
    // 24 coils: three data bytes. Their answer's head, read as a request, is one from address 0x03xx.
    let block = coils(1, 8, 24);
    let line = [joined(), exchange(400, &block), exchange(500, &block)].concat();
    assert_eq!(told(&line)[1..], ["410 1:8+24", "510 1:8+24"]);
    // A request from 0x0305 in the place of that answer is seen to be one once it was seen elsewhere.
    let other = coils(1, 0x0305, 20);
    let line = [
        joined(),
        exchange(400, &other),
        vec![(500, block.frame().to_vec())],
        exchange(600, &other),
        exchange(1000, &block),
    ];
    let told = told(&line.concat());
    assert_eq!(told[1], "410 1:773+20");
    assert!(told[2..told.len() - 1].iter().all(|t| t.contains("unpaired") || t.contains("time-out")), "{told:?}");
    assert_eq!(told.last().unwrap(), "1010 1:8+24");
}

fn shapes() -> impl Strategy<Value = Request> {
    (1u8..4, 0u16..6, 1u16..4, any::<bool>()).prop_map(|(unit, block, n, bits)| match bits {
        true => coils(unit, 100 * block, 8 * n),
        false => read(unit, 100 * block, n),
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Noise, losses and repetitions anywhere, cut anywhere: a pair is always the pair that it says.
    #[test]
    fn never_a_value_of_other_registers(
        script in prop::collection::vec((shapes(), 0usize..8, prop::collection::vec(any::<u8>(), 1..6), 5i64..200), 1..40),
        cuts in prop::collection::vec(1usize..20, 1..20),
    ) {
        let (mut at, mut line) = (0, Vec::new());
        let mut late: Option<Vec<u8>> = None;
        for (r, what, noise, pause) in script {
            at += pause;
            line.push((at, r.frame().to_vec()));
            // An answer that is late comes with the next exchange, within the worst answer time.
            if let Some(frame) = late.take() {
                line.push((at + 1, frame));
            }
            match what {
                0 => {}
                1 => line.push((at + 2, noise)),
                2 => late = Some(answer(&r)),
                3 => line.push((at + 2, encode_exception(&r.frame(), 2).unwrap())),
                _ => line.push((at + 4, answer(&r))),
            }
        }
        let whole = told(&line);
        let mut sizes = cuts.iter().cycle();
        let mut cut = Vec::new();
        for (at, bytes) in line {
            let mut rest = &bytes[..];
            while !rest.is_empty() {
                let n = (*sizes.next().unwrap()).min(rest.len());
                cut.push((at, rest[..n].to_vec()));
                rest = &rest[n..];
            }
        }
        prop_assert_eq!(told(&cut), whole);
    }

    #[test]
    fn a_changed_byte_never_makes_a_pair(place in 0usize..17, bit in 0u8..8) {
        let mut bytes = exchange(400, &read(1, 5, 2)).into_iter().flat_map(|(_, b)| b).collect::<Vec<u8>>();
        bytes[place] ^= 1 << bit;
        let said = told(&[joined(), vec![(400, bytes)]].concat());
        prop_assert!(said.iter().all(|t| !t.contains("1:5")), "{:?}", said);
    }

    #[test]
    fn any_bytes_come_out_once(pushes in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..300), 0..6)) {
        let mut framer = PassiveFramer::new(WORST);
        let mut count = 0;
        let mut each = |_, framed: Framed<'_>| {
            count += match framed {
                Framed::Message(bytes) => bytes.len(),
                // Told once more where it was not answered.
                Framed::Fault(FaultKind::TimeOut, _) => 0,
                Framed::Fault(_, bytes) => bytes.len(),
            };
        };
        pushes.iter().for_each(|p| framer.push(EventTime(0), p, &mut each));
        framer.finish(&mut each);
        prop_assert!(count <= pushes.iter().map(Vec::len).sum());
    }
}
