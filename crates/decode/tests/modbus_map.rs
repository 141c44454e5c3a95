//! Register maps: requests, values, both directions.
#![allow(clippy::unwrap_used)]

use decode::modbus::{
    Bits, ByteOrder, Function, ModbusMap, Register, RegisterKind, Request, WordOrder, encode_answer, encode_exception,
};
use decode::{DecodeError, Decoder, DeviceFormat, Format, Raw};
use proptest::prelude::*;
use stream::{EventTime, Payload, RawRecord, Reason, RecordKind, SourceId};

fn register(name: &str, address: u16, kind: RegisterKind) -> Register {
    Register::new(name, Function::ReadInputRegisters, address, kind)
}

fn record(device: u16, request: &[u8], answer: &[u8]) -> RawRecord {
    let mut payload = Payload::from_slice(&device.to_le_bytes());
    payload.extend_from_slice(request);
    payload.extend_from_slice(answer);
    let (source, kind) = (SourceId(0), RecordKind::ModbusAnswer);
    RawRecord { source, sequence: 0, event_time: EventTime(0), kind, payload }
}

fn decoder(map: ModbusMap) -> Decoder {
    Decoder::devices(vec![DeviceFormat { name: "box".to_owned(), format: Format::Modbus(map) }]).unwrap()
}

fn decode(decoder: &Decoder, record: &RawRecord) -> Result<Vec<(String, Raw)>, DecodeError> {
    let mut out = Vec::new();
    decoder.decode(record, &mut |i, raw| out.push((decoder.readings()[usize::from(i)].name.clone(), raw)))?;
    Ok(out)
}

fn ranges(map: &ModbusMap) -> Vec<(u8, u16, u16)> {
    let requests = map.requests(9).unwrap();
    let parsed = requests.iter().map(|r| Request::parse(r).unwrap());
    parsed.map(|r| (r.function() as u8, r.address(), r.quantity())).collect()
}

#[test]
fn neighbours_share_a_request() {
    let mut held = register("held", 0, RegisterKind::U16);
    held.function = Function::ReadHoldingRegisters;
    let list = || {
        vec![
            register("e", 130, RegisterKind::U32),
            register("a", 0, RegisterKind::F32),
            register("b", 2, RegisterKind::U16),
            register("c", 5, RegisterKind::I32),
            held.clone(),
        ]
    };
    let map = |block, gap| ModbusMap::new(list(), block, gap).unwrap();
    assert_eq!(ranges(&map(125, 0)), [(3, 0, 1), (4, 0, 3), (4, 5, 2), (4, 130, 2)]);
    assert_eq!(ranges(&map(125, 2)), [(3, 0, 1), (4, 0, 7), (4, 130, 2)]);
    assert_eq!(ranges(&map(6, 2)), [(3, 0, 1), (4, 0, 3), (4, 5, 2), (4, 130, 2)]);
    assert_eq!(ranges(&map(125, 500)), [(3, 0, 1), (4, 0, 7), (4, 130, 2)]);
}

#[test]
fn kinds_word_orders_and_words_for_nothing() {
    let mut list = vec![
        register("u16", 0, RegisterKind::U16),
        register("i16", 1, RegisterKind::I16),
        register("u32", 2, RegisterKind::U32),
        register("i32", 4, RegisterKind::I32),
        register("f32", 6, RegisterKind::F32),
        register("swapped", 8, RegisterKind::F32),
        register("absent", 10, RegisterKind::I16),
        register("nan", 11, RegisterKind::F32),
    ];
    list[1].scale = 0.1;
    list[1].offset = 5.0;
    list[5].word_order = WordOrder::LowFirst;
    list[6].nothing = vec![(0x8000, Reason::Open), (0x7FFF, Reason::ErrorCode)];
    let decoder = decoder(ModbusMap::new(list, 125, 0).unwrap());
    let request = Request::new(1, Function::ReadInputRegisters, 0, 13).unwrap().frame();
    // 25.75 as IEEE single: 0x41CE0000.
    let words = [65_535, 0xFFFF, 0x0001, 0x0002, 0xFFFF, 0xFFFE, 0x41CE, 0, 0, 0x41CE, 0x8000, 0x7FC0, 0];
    let answer = encode_answer(&request, |a| words[usize::from(a)]).unwrap();
    let number = |name: &str, x: f64| (format!("box/{name}"), Raw::Number(x));
    let expected = vec![
        number("u16", 65_535.0),
        number("i16", -0.1 + 5.0),
        number("u32", 65_538.0),
        number("i32", -2.0),
        number("f32", 25.75),
        number("swapped", 25.75),
        ("box/absent".to_owned(), Raw::Nothing(Reason::Open)),
        ("box/nan".to_owned(), Raw::Nothing(Reason::NotANumber)),
    ];
    assert_eq!(decode(&decoder, &record(0, &request, &answer)), Ok(expected));
}

#[test]
fn one_word_under_two_names_is_read_twice() {
    let list = vec![register("raw", 4, RegisterKind::U16), register("again", 4, RegisterKind::U16)];
    let decoder = decoder(ModbusMap::new(list, 10, 0).unwrap());
    let request = Request::new(1, Function::ReadInputRegisters, 4, 1).unwrap().frame();
    let answer = encode_answer(&request, |_| 12).unwrap();
    assert_eq!(decode(&decoder, &record(0, &request, &answer)).unwrap().len(), 2);
}

/// 25.75 as IEEE single is 41 CE 00 00; -1.5 as IEEE double BF F8 00 00 00 00 00 00: each order of words and bytes.
#[test]
fn all_four_orders_of_two_and_of_four_registers() {
    let single = [0x41CE, 0x0102];
    let double: [u16; 4] = [0xBFF8, 0x0304, 0x0506, 0x0708];
    let expected = [f64::from(f32::from_bits(0x41CE_0102)), f64::from_bits(0xBFF8_0304_0506_0708)];
    for word_order in [WordOrder::HighFirst, WordOrder::LowFirst] {
        for byte_order in [ByteOrder::HighFirst, ByteOrder::LowFirst] {
            let mut list = vec![register("f", 0, RegisterKind::F32), register("d", 2, RegisterKind::F64)];
            list.iter_mut().for_each(|r| (r.word_order, r.byte_order) = (word_order, byte_order));
            let (mut f, mut d) = (single, double);
            if word_order == WordOrder::LowFirst {
                f.reverse();
                d.reverse();
            }
            let mut words = [&f[..], &d[..]].concat();
            if byte_order == ByteOrder::LowFirst {
                words.iter_mut().for_each(|w| *w = w.swap_bytes());
            }
            let request = Request::new(1, Function::ReadInputRegisters, 0, 6).unwrap().frame();
            let answer = encode_answer(&request, |a| words[usize::from(a)]).unwrap();
            let told = decode(&decoder(ModbusMap::new(list, 10, 0).unwrap()), &record(0, &request, &answer)).unwrap();
            let numbers: Vec<Option<f64>> = told.into_iter().map(|(_, raw)| raw.number()).collect();
            assert_eq!(numbers, expected.map(Some), "{word_order:?} {byte_order:?}");
        }
    }
}

#[test]
fn bits_of_a_register() {
    let part = |name: &str, first, count| {
        let mut r = register(name, 3, RegisterKind::U16);
        r.bits = Some(Bits { first, count });
        r
    };
    let mut mode = part("mode", 4, 3);
    mode.nothing = vec![(7, Reason::NotAvailable)];
    let map = |mode: &Register| ModbusMap::new(vec![part("low", 0, 4), mode.clone(), part("top", 15, 1)], 9, 0);
    assert_eq!(ranges(&map(&mode).unwrap()), [(4, 3, 1)]);
    let request = Request::new(1, Function::ReadInputRegisters, 3, 1).unwrap().frame();
    let told = |word: u16| {
        let answer = encode_answer(&request, |_| word).unwrap();
        let all = decode(&decoder(map(&mode).unwrap()), &record(0, &request, &answer)).unwrap();
        all.into_iter().map(|(_, raw)| raw).collect::<Vec<_>>()
    };
    assert_eq!(told(0x805A), [Raw::Number(10.0), Raw::Number(5.0), Raw::Number(1.0)]);
    assert_eq!(told(0x0070), [Raw::Number(0.0), Raw::Nothing(Reason::NotAvailable), Raw::Number(0.0)]);
    assert_eq!(mode.words(Raw::Number(5.0)), Ok(([0x50, 0, 0, 0], 1)));
    assert!(mode.words(Raw::Number(8.0)).is_err());
}

/// The example of function 1 in the specification: 19 coils from address 19, answered with CD 6B 05 (V1.1b3, 6.1, from
/// memory).
#[test]
fn coils_and_discrete_inputs() {
    let bit = |name: &str, function, address| Register::new(name, function, address, RegisterKind::Bit);
    let (coils, inputs) = (Function::ReadCoils, Function::ReadDiscreteInputs);
    let list = vec![bit("c37", coils, 37), bit("c19", coils, 19), bit("c20", coils, 20), bit("i0", inputs, 0)];
    let map = |block, gap| ModbusMap::new(list.clone(), block, gap).unwrap();
    // A gap that is not allowed is never read across.
    assert_eq!(ranges(&map(125, 0)), [(1, 19, 2), (1, 37, 1), (2, 0, 1)]);
    assert_eq!(ranges(&map(125, 16)), [(1, 19, 19), (2, 0, 1)]);
    assert_eq!(ranges(&map(1, 16)), [(1, 19, 2), (1, 37, 1), (2, 0, 1)]);
    let request = Request::new(17, coils, 19, 19).unwrap().frame();
    let mut answer = vec![17, 1, 3, 0xCD, 0x6B, 0x05];
    answer.extend(decode::crc::modbus(&answer).to_le_bytes());
    let told = decode(&decoder(map(125, 16)), &record(0, &request, &answer)).unwrap();
    let number = |name: &str, x| (format!("box/{name}"), Raw::Number(x));
    assert_eq!(told, [number("c19", 1.0), number("c20", 0.0), number("c37", 1.0)]);
    // The last byte's other bits were not asked for.
    let request = Request::new(17, coils, 19, 18).unwrap().frame();
    let told = decode(&decoder(map(125, 16)), &record(0, &request, &answer)).unwrap();
    assert_eq!(told, [number("c19", 1.0), number("c20", 0.0)]);
}

#[test]
fn a_request_of_another_map_gives_what_lies_wholly_inside() {
    let list = vec![register("in", 4, RegisterKind::U16), register("half", 5, RegisterKind::U32)];
    let decoder = decoder(ModbusMap::new(list, 10, 0).unwrap());
    let request = Request::new(1, Function::ReadInputRegisters, 2, 4).unwrap().frame();
    let answer = encode_answer(&request, |a| a).unwrap();
    assert_eq!(decode(&decoder, &record(0, &request, &answer)), Ok(vec![("box/in".to_owned(), Raw::Number(4.0))]));
}

#[test]
fn a_stored_exchange_is_checked_again() {
    let decoder = decoder(ModbusMap::new(vec![register("x", 0, RegisterKind::U16)], 10, 0).unwrap());
    let asked = |unit, function, address, n| Request::new(unit, function, address, n).unwrap().frame();
    let input = Function::ReadInputRegisters;
    let request = asked(1, input, 0, 1);
    let good = encode_answer(&request, |_| 1).unwrap();
    let mut damaged = good.clone();
    damaged[3] ^= 1;
    let from = |r: [u8; 8]| encode_answer(&r, |_| 1).unwrap();
    let elsewhere = asked(1, input, 900, 2);
    let cases = [
        record(0, &request, &damaged),
        record(0, &request, &from(asked(2, input, 0, 1))),
        record(0, &request, &from(asked(1, Function::ReadHoldingRegisters, 0, 1))),
        record(0, &request, &from(asked(1, input, 0, 2))),
        record(0, &request, &encode_exception(&request, 4).unwrap()),
        record(0, &request[..5], &[]),
        record(0, &[1, 6, 0, 1, 0, 3, 0x98, 0x0B], &good),
        record(0, &elsewhere, &from(elsewhere)),
        record(7, &request, &good),
    ];
    let said: Vec<String> = cases.iter().map(|r| decode(&decoder, r).unwrap_err().to_string()).collect();
    insta::assert_snapshot!(said.join("\n"), @r#"
    the answer's checksum is wrong
    the answer does not belong to its request: it comes from device 2, 1 was asked
    the answer does not belong to its request: it answers function 3, 4 was asked for
    the answer does not belong to its request: it holds 4 data bytes, 2 were asked for
    the device answered with exception 4
    the record has 5 bytes, its layout needs 8
    the stored request is no read request: function 6 is refused: only the read functions 1 to 4 are ever sent
    no register of the map lies in function 4, addresses 900 to 901
    device 7 has no format; the source lists 1
    "#);
}

#[test]
fn malformed_maps() {
    use RegisterKind::{F32, I16, U16, U32};
    let refused = |list: Vec<Register>, block| ModbusMap::new(list, block, 0).unwrap_err().to_string();
    let with = |change: &dyn Fn(&mut Register)| {
        let mut r = register("x", 0, U16);
        change(&mut r);
        refused(vec![r], 10)
    };
    let mut swapped = register("b", 10, F32);
    swapped.word_order = WordOrder::LowFirst;
    let said = [
        refused(vec![], 10),
        refused(vec![register("x", 0, U16), register("x", 1, U16)], 10),
        with(&|r| r.name.clear()),
        with(&|r| r.function = Function::ReadCoils),
        with(&|r| (r.address, r.kind) = (65_535, U32)),
        refused(vec![register("a", 10, U32), register("b", 11, U16)], 10),
        refused(vec![register("a", 10, U16), register("b", 10, I16)], 10),
        refused(vec![register("a", 10, F32), swapped], 10),
        with(&|r| r.scale = 0.0),
        with(&|r| r.offset = f64::INFINITY),
        with(&|r| r.nothing = vec![(0x1_0000, Reason::Open)]),
        with(&|r| r.nothing = vec![(1, Reason::Open), (1, Reason::Short)]),
        with(&|r| r.kind = RegisterKind::Bit),
        with(&|r| r.bits = Some(Bits { first: 12, count: 5 })),
        with(&|r| (r.kind, r.bits) = (I16, Some(Bits { first: 0, count: 4 }))),
        with(&|r| (r.bits, r.nothing) = (Some(Bits { first: 4, count: 4 }), vec![(0x10, Reason::Open)])),
        refused(vec![register("x", 0, U32)], 1),
        refused(vec![register("x", 0, U32)], 126),
        ModbusMap::new(vec![register("x", 0, U16)], 1, 0).unwrap().requests(0).unwrap_err().to_string(),
        ModbusMap::new(vec![register("x", 0, U16)], 1, 0).unwrap().requests(248).unwrap_err().to_string(),
    ];
    insta::assert_snapshot!(said.join("\n"), @r#"
    the map has no register; list at least one
    two registers are called `x`; give one of them another name
    the register at address 0 has no name; give it one
    register `x`: function 1 does not read u16; functions 1 and 2 read single bits, 3 and 4 registers
    register `x`: 2 registers from address 65535 end past 65535; check the address
    registers `a` (address 10, u32) and `b` (address 11, u16) of function 4 overlap with different meanings; check address, kind, word and byte order
    registers `a` (address 10, u16) and `b` (address 10, i16) of function 4 overlap with different meanings; check address, kind, word and byte order
    registers `a` (address 10, f32) and `b` (address 10, f32) of function 4 overlap with different meanings; check address, kind, word and byte order
    register `x`: scale 0.0 and offset 0.0: the scale must not be 0 and both must be finite
    register `x`: scale 1.0 and offset inf: the scale must not be 0 and both must be finite
    register `x`: 0x10000 is listed twice as no number, or is wider than its 16 bits
    register `x`: 0x1 is listed twice as no number, or is wider than its 16 bits
    register `x`: function 4 does not read bit; functions 1 and 2 read single bits, 3 and 4 registers
    register `x`: 5 bits from bit 12 on are no part of u16; u16 and u32 have parts, counted from bit 0
    register `x`: 4 bits from bit 0 on are no part of i16; u16 and u32 have parts, counted from bit 0
    register `x`: 0x10 is listed twice as no number, or is wider than its 4 bits
    a largest request of 1 registers is refused: 1 to 125 are possible, and `x` takes 2
    a largest request of 126 registers is refused: 1 to 125 are possible, and `x` takes 2
    device address 0 is not in 1 to 247; 0 is the broadcast address, to which no device answers
    device address 248 is not in 1 to 247; 0 is the broadcast address, to which no device answers
    "#);
}

#[test]
fn refused_requests_and_values() {
    let request = |unit, function, address, n| Request::new(unit, function, address, n).unwrap_err().to_string();
    let mut x = register("x", 0, RegisterKind::I16);
    x.scale = 0.5;
    x.nothing = vec![(0x8000, Reason::Open)];
    let said = [
        request(1, Function::ReadHoldingRegisters, 0, 0),
        request(1, Function::ReadInputRegisters, 0, 126),
        request(1, Function::ReadCoils, 0, 2001),
        request(1, Function::ReadInputRegisters, 65_535, 2),
        Request::parse(&[1, 3, 0]).unwrap_err().to_string(),
        Request::parse(&[1, 3, 0, 0, 0, 1, 0, 0]).unwrap_err().to_string(),
        x.words(Raw::Number(20_000.0)).unwrap_err().to_string(),
        x.words(Raw::Number(-16_384.0)).unwrap_err().to_string(),
        x.words(Raw::Nothing(Reason::Short)).unwrap_err().to_string(),
    ];
    insta::assert_snapshot!(said.join("\n"), @r#"
    a quantity of 0 is refused: function 3 reads 1 to 125 at a time
    a quantity of 126 is refused: function 4 reads 1 to 125 at a time
    a quantity of 2001 is refused: function 1 reads 1 to 2000 at a time
    2 from address 65535 would end past address 65535
    a read request has 8 bytes, not 3
    its checksum is wrong
    register `x`: 20000 does not fit i16 with scale 0.5 and offset 0
    register `x`: -16384 would be sent as 0x8000, which stands for `open` there
    register `x` has no value that stands for `short`
    "#);
    assert_eq!(x.words(Raw::Nothing(Reason::Open)), Ok(([0x8000, 0, 0, 0], 1)));
}

fn kinds() -> impl Strategy<Value = RegisterKind> {
    use RegisterKind::{F32, F64, I16, I32, U16, U32};
    prop::sample::select(vec![U16, I16, U32, I32, F32, F64])
}

proptest! {
    #[test]
    fn values_come_back(kind in kinds(), low_first: bool, swapped: bool, scale in 0.01f64..10.0, raw: i32) {
        let mut r = register("x", 40, kind);
        r.scale = scale;
        r.offset = -3.0;
        r.word_order = if low_first { WordOrder::LowFirst } else { WordOrder::HighFirst };
        r.byte_order = if swapped { ByteOrder::LowFirst } else { ByteOrder::HighFirst };
        let bits = match kind {
            RegisterKind::U16 => f64::from(raw as u16),
            RegisterKind::I16 => f64::from(raw as i16),
            RegisterKind::U32 => f64::from(raw as u32),
            RegisterKind::I32 | RegisterKind::F64 => f64::from(raw),
            RegisterKind::Bit => f64::from(raw as u8 & 1),
            RegisterKind::F32 => f64::from(raw as f32),
        };
        let value = bits * scale - 3.0;
        let (words, count) = r.words(Raw::Number(value)).unwrap();
        let decoder = decoder(ModbusMap::new(vec![r], 10, 0).unwrap());
        let request = Request::new(1, Function::ReadInputRegisters, 40, count).unwrap().frame();
        let answer = encode_answer(&request, |a| words[usize::from(a - 40)]).unwrap();
        let got = decode(&decoder, &record(0, &request, &answer)).unwrap()[0].1.number().unwrap();
        let tolerance = if kind == RegisterKind::F32 { 1e-6 * value.abs().max(3.0) } else { 1e-9 * value.abs().max(1.0) };
        prop_assert!((got - value).abs() <= tolerance, "{} {}", got, value);
    }

    #[test]
    fn random_records_never_panic(payload in prop::collection::vec(any::<u8>(), 0..80)) {
        let decoder = decoder(ModbusMap::new(vec![register("x", 0, RegisterKind::U32)], 10, 0).unwrap());
        let mut r = record(0, &[], &[]);
        r.payload = Payload::from_slice(&payload);
        let _ = decode(&decoder, &r);
    }
}
