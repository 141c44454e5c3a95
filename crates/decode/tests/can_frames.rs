//! Frames through a database of our own, both directions.
#![allow(clippy::unwrap_used)]

use decode::can::{CanDatabase, CanFrame};
use decode::{DecodeError, Decoder, Raw, Unfit, Unmapped};
use proptest::prelude::*;
use stream::{EventTime, RawRecord, RecordKind, SourceId};

const BENCH: &str = include_str!("bench.dbc");

fn decode(decoder: &Decoder, frame: &CanFrame<'_>) -> Result<Vec<(String, f64)>, DecodeError> {
    let (source, kind) = (SourceId(0), RecordKind::CanFrame);
    let record = RawRecord { source, sequence: 0, event_time: EventTime(0), kind, payload: frame.payload() };
    let mut out = Vec::new();
    decoder.decode(&record, &mut |i, raw| {
        let name = decoder.readings()[usize::from(i)].name.clone();
        out.push((name, raw.number().unwrap_or(f64::NAN)));
    })?;
    Ok(out)
}

fn bench() -> Decoder {
    Decoder::can(CanDatabase::load(BENCH, "bench.dbc").unwrap()).unwrap()
}

fn named(list: &[(&str, f64)]) -> Vec<(String, f64)> {
    list.iter().map(|(n, x)| ((*n).to_owned(), *x)).collect()
}

#[test]
fn files_as_editors_write_them() {
    let plain = CanDatabase::load(BENCH, "bench.dbc").unwrap();
    let of = |text: String| CanDatabase::load_bytes(text.as_bytes(), "bench.dbc").unwrap();
    assert_eq!(of(BENCH.replace('\n', "\r\n")).readings(), plain.readings());
    assert_eq!(of(format!("\u{feff}{BENCH}")).readings(), plain.readings());
    assert_eq!(of(BENCH.trim_end().to_owned()).readings(), plain.readings());
    let mut bytes = BENCH.replacen("degC", "@C", 1).into_bytes();
    bytes.iter_mut().filter(|b| **b == b'@').nth(1).map(|b| *b = 0xB0).unwrap();
    let western = CanDatabase::load_bytes(&bytes, "bench.dbc").unwrap();
    assert_eq!(western.readings()[0].unit.as_deref(), Some("\u{b0}C"));
    let messages: Vec<_> = plain.messages().map(|(name, id, length)| (name.to_owned(), id, length)).collect();
    assert_eq!(messages[2], ("FLOATS".to_owned(), 0x8CF0_0400, 12));
}

#[test]
fn both_byte_orders_signs_and_scales() {
    // Worked by hand. TEMPS: little-endian 12 bits, signed, 0.1, -20; big-endian 16 bits from bit 23; 3 bits across
    // bytes, big-endian.
    let frame = CanFrame::data(0x101, 0, &[0xFF, 0x0F, 0x12, 0x34, 0x01, 0x80, 0, 0]);
    let expected = named(&[("TEMPS.Inlet", -20.1), ("TEMPS.Flow", 0x1234 as f64 * 0.25), ("TEMPS.State", 3.0)]);
    assert_eq!(decode(&bench(), &frame), Ok(expected));
}

#[test]
fn floats() {
    let mut data = [0; 12];
    data[..4].copy_from_slice(&25.75f32.to_le_bytes());
    data[4..].copy_from_slice(&(-1.0e-3f64).to_be_bytes());
    let frame = CanFrame::data(0x8CF0_0400, CanFrame::FD, &data);
    let expected = named(&[("FLOATS.Single", 25.75), ("FLOATS.Double", -1.0e-3 * 2.0 + 1.0)]);
    assert_eq!(decode(&bench(), &frame), Ok(expected));
    data[..4].copy_from_slice(&f32::NAN.to_le_bytes());
    assert!(decode(&bench(), &CanFrame::data(0x8CF0_0400, CanFrame::FD, &data)).unwrap()[0].1.is_nan());
}

#[test]
fn only_the_selected_group_is_there() {
    let names = |selector: u8| {
        let data = [selector, 1, 2, 3];
        decode(&bench(), &CanFrame::data(0x102, 0, &data)).unwrap().into_iter().map(|(n, _)| n).collect::<Vec<_>>()
    };
    assert_eq!(names(0), ["VALVES.Select", "VALVES.Always", "VALVES.A", "VALVES.B"]);
    assert_eq!(names(5), ["VALVES.Select", "VALVES.Always", "VALVES.C"]);
    assert_eq!(names(9), ["VALVES.Select", "VALVES.Always"]);
}

#[test]
fn wide_signals_of_long_frames() {
    let decoder = bench();
    let database = CanDatabase::load(BENCH, "bench.dbc").unwrap();
    let frame =
        database.encode("WIDE", &[("Little", -123_456_789.0), ("Big", 987_654_321.0), ("Last", 200.0)]).unwrap();
    assert_eq!((frame.data.len(), frame.flags), (64, CanFrame::FD));
    let expected = named(&[("WIDE.Little", -123_456_789.0), ("WIDE.Big", 987_654_321.0), ("WIDE.Last", 200.0)]);
    assert_eq!(decode(&decoder, &frame.frame()), Ok(expected));
}

#[test]
fn what_is_not_decoded_says_why() {
    let of = |frame: CanFrame<'_>| decode(&bench(), &frame).unwrap_err();
    assert_eq!(of(CanFrame::data(0x7FF, 0, &[])), DecodeError::Unmapped(Unmapped::CanId(0x7FF)));
    // The same number with 29 bits is another identifier.
    assert_eq!(of(CanFrame::data(0x8000_0101, 0, &[0; 8])), DecodeError::Unmapped(Unmapped::CanId(0x101)));
    let remote = CanFrame { id: 0x101 | CanFrame::REMOTE, flags: 0, len: 8, interface: 0, data: &[] };
    assert_eq!(of(remote), DecodeError::Unmapped(Unmapped::RemoteFrame));
    assert_eq!(of(CanFrame::data(0x2000_0004, 0, &[0; 8])), DecodeError::Unmapped(Unmapped::ErrorFrame));
    let short = of(CanFrame::data(0x101, 0, &[0; 5]));
    assert_eq!(short, DecodeError::Unfit(Unfit::FrameTooShort { id: 0x101, needed: 6, found: 5 }));
    assert_eq!(
        short.to_string(),
        "CAN id 0x101: 5 data bytes, its signals need 6; check the message's length in the database"
    );
}

#[test]
fn bytes_past_the_message_do_not_matter() {
    let short = decode(&bench(), &CanFrame::data(0x102, 0, &[5, 1, 2, 3]));
    assert_eq!(decode(&bench(), &CanFrame::data(0x102, 0, &[5, 1, 2, 3, 9, 9])), short);
}

#[test]
fn what_cannot_be_encoded_says_why() {
    let database = CanDatabase::load(BENCH, "bench.dbc").unwrap();
    let of = |m: &str, s: &[(&str, f64)]| database.encode(m, s).unwrap_err().to_string();
    let said = [
        of("NONE", &[]),
        of("TEMPS", &[("None", 1.0)]),
        of("TEMPS", &[("Inlet", 1000.0)]),
        of("TEMPS", &[("Inlet", f64::NAN)]),
        of("VALVES", &[("A", 1.0), ("C", 1.0)]),
        of("VALVES", &[("Select", 5.0), ("A", 1.0)]),
    ];
    insta::assert_snapshot!(said.join("\n"), @r#"
    the database has no message `NONE`
    message `TEMPS` has no signal `None`
    message `TEMPS`, signal `Inlet`: 1000 does not fit its 12 bits
    message `TEMPS`, signal `Inlet`: NaN does not fit its 12 bits
    message `VALVES`, signal `C` is sent under multiplexor value 5, which is 0 here
    message `VALVES`, signal `A` is sent under multiplexor value 0, which is 5 here
    "#);
    assert_eq!(database.encode("VALVES", &[("C", 3.0)]).unwrap().data, [5, 0, 3, 0]);
}

/// A signal somewhere in a message of 1 to 64 bytes.
#[derive(Clone, Debug)]
struct Somewhere {
    length: u16,
    start: u16,
    size: u16,
    big_endian: bool,
    signed: bool,
    raw: u64,
}

fn somewhere(lengths: &[u16], sizes: std::ops::RangeInclusive<u16>) -> impl Strategy<Value = Somewhere> {
    let length = prop::sample::select(lengths.to_vec());
    (length, sizes, any::<u16>(), any::<bool>(), any::<bool>(), any::<u64>()).prop_map(
        |(length, size, at, big_endian, signed, raw)| {
            let size = size.min(length * 8);
            // Counted along the bits in the signal's own order, then named as a DBC does.
            let first = at % (length * 8 - size + 1);
            let start = if big_endian { first / 8 * 8 + 7 - first % 8 } else { first };
            Somewhere { length, start, size, big_endian, signed, raw }
        },
    )
}

proptest! {
    #[test]
    fn encoded_signals_come_back(s in somewhere(&[1, 2, 3, 7, 8, 12, 16, 48, 64], 1..=53)) {
        let (order, sign) = (u8::from(!s.big_endian), if s.signed { '-' } else { '+' });
        let text = format!(
            "VERSION \"\"\n\nBO_ 5 M: {} X\n SG_ S : {}|{}@{}{} (1,0) [0|0] \"\" X\n",
            s.length, s.start, s.size, order, sign
        );
        let database = CanDatabase::load(&text, "one.dbc").unwrap();
        let bits = s.raw << (64 - s.size);
        let raw = if s.signed { ((bits as i64) >> (64 - s.size)) as f64 } else { (bits >> (64 - s.size)) as f64 };
        let frame = database.encode("M", &[("S", raw)]).unwrap();
        let mut got = None;
        database.decode_frame(&frame.frame(), &mut |_, r| got = Some(r)).unwrap();
        prop_assert_eq!(got, Some(Raw::Number(raw)));
        // Bit by bit, by the definition of the two byte orders.
        let bit = |n: u16| frame.data[usize::from(n / 8)] >> (n % 8) & 1;
        let mut n = s.start;
        for i in 0..s.size {
            let place = if s.big_endian { s.size - 1 - i } else { i };
            prop_assert_eq!(u64::from(bit(n)), s.raw >> place & 1);
            n = match (s.big_endian, n % 8) {
                (true, 0) => n + 15,
                (true, _) => n - 1,
                (false, _) => n + 1,
            };
        }
    }

    #[test]
    fn sixty_four_bits_anywhere_come_back(
        s in somewhere(&[8, 12, 16, 48, 64], 64..=64),
        x in any::<f64>().prop_filter("finite", |x| x.is_finite()),
    ) {
        let text = format!(
            "VERSION \"\"\n\nBO_ 5 M: {} X\n SG_ S : {}|64@{}+ (1,0) [0|0] \"\" X\n\nSIG_VALTYPE_ 5 S : 2;\n",
            s.length, s.start, u8::from(!s.big_endian)
        );
        let database = CanDatabase::load(&text, "one.dbc").unwrap();
        let frame = database.encode("M", &[("S", x)]).unwrap();
        let mut got = None;
        database.decode_frame(&frame.frame(), &mut |_, r| got = r.number()).unwrap();
        prop_assert_eq!(got.map(|y| y + 0.0), Some(x + 0.0));
    }

    #[test]
    fn random_payloads_never_panic(payload in prop::collection::vec(any::<u8>(), 0..90), known: bool) {
        let mut payload = payload;
        if known && payload.len() > 6 {
            payload[..4].copy_from_slice(&0x8000_0103u32.to_le_bytes());
            payload[5] = (payload.len() - 7) as u8;
        }
        let (source, kind) = (SourceId(0), RecordKind::CanFrame);
        let payload = payload.into_iter().collect();
        let record = RawRecord { source, sequence: 0, event_time: EventTime(0), kind, payload };
        let _ = bench().decode(&record, &mut |_, _| {});
    }

    #[test]
    fn random_databases_never_panic(text in ".{0,200}", cut in 0usize..2000, word in "[0-9]{1,30}") {
        let _ = CanDatabase::load(&text, "x.dbc");
        let _ = CanDatabase::load(&BENCH[..cut.min(BENCH.len())], "x.dbc");
        let _ = CanDatabase::load(&BENCH.replacen("12", &word, 1), "x.dbc");
        let _ = CanDatabase::load(&BENCH.replacen("257", &word, 1), "x.dbc");
    }
}
