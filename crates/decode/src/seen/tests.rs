use super::*;
use crate::binary::{BinaryFormat, Find, FrameLayout, NumberKind, Order, Part, When};
use crate::modbus::{Request, encode_answer};
use crate::{DeviceFormat, Format};
use stream::{Payload, Span};

const SECOND: i64 = 1_000_000_000;

fn record(kind: RecordKind, at_ms: i64, payload: &[u8]) -> RawRecord {
    let (source, event_time) = (SourceId(0), EventTime(at_ms * 1_000_000));
    RawRecord { source, sequence: 0, event_time, kind, payload: Payload::from_slice(payload) }
}

fn frame(at_ms: i64, id: u32, data: &[u8]) -> RawRecord {
    record(RecordKind::CanFrame, at_ms, &CanFrame::data(id, 0, data).payload())
}

fn can(id: u32) -> WordId {
    WordId { source: SourceId(0), key: Key::Can { interface: 0, id } }
}

/// Numbers that look like chance and are the same every time (Knuth's constants for a linear congruence, from memory).
struct Noise(u64);

impl Noise {
    fn next(&mut self) -> u8 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as u8
    }
}

/// 0 before, 1 behind: a door that takes 0.6 s, a fifth of a second after each of `moves`, each time the other way.
fn door(ms: i64, moves: &[i64]) -> f64 {
    let one = |at: &i64| ((ms - at - 200) as f64 / 600.0).clamp(0.0, 1.0);
    moves.iter().enumerate().map(|(i, at)| if i % 2 == 0 { one(at) } else { -one(at) }).sum()
}

const DOOR: u32 = 0x8000_0000 | 0x18F1_A2B3;

/// Two hundred identifiers at 10 Hz for 60 s: counters, checksums, flags that change now and then, values that wander;
/// one of them holds the door, 812 to 3410 little-endian in bytes 2 and 3, beside a counter and a checksum.
fn busy_bus(moves: &[i64]) -> Seen {
    let mut seen = Seen::new(SeenOptions::default());
    let mut noise = Noise(7);
    let mut wander = vec![20_000i32; 200];
    let mut flags = [0u8; 200];
    for n in 0..600i64 {
        for (i, w) in wander.iter_mut().enumerate() {
            let ms = n * 100 + i as i64 / 4;
            *w += i32::from(noise.next()) - 127;
            if noise.next() < 2 {
                flags[i] ^= 1 << (noise.next() & 7);
            }
            let [a, b] = (*w as u16).to_be_bytes();
            let data = [a, b, noise.next() & 3, flags[i], 0x55, 0xAA, n as u8 & 15, noise.next()];
            seen.take(&frame(ms, 0x100 + i as u32, &data));
        }
        let ms = n * 100 + 60;
        let [low, high] = (812 + (2598.0 * door(ms, moves)).round() as u16).to_le_bytes();
        seen.take(&frame(ms, DOOR, &[n as u8, 0, low, high, 0xFF, 0xFF, 3, noise.next()]));
    }
    seen
}

#[test]
fn the_door_is_found_first_among_two_hundred_noisy_words() {
    let moves = [8_000, 20_000, 31_000, 43_000, 52_000];
    let mut seen = busy_bus(&moves);
    for at in moves {
        assert!(seen.mark(EventTime(at * 1_000_000), "move the door"));
    }
    let found = after_marks(&seen, "move the door", MarkOptions::default());
    assert_eq!((found.marks, seen.words().len()), (5, 201));
    assert!(found.tried > 600, "{}", found.tried);
    let first = &found.best[0];
    assert_eq!((&first.word, first.marks, first.elsewhere, first.quiet_elsewhere), (&can(DOOR), 5, 0, true));
    assert_eq!(first.field.to_string(), "bytes 2-3 (little-endian, 16 bit)");
    assert_eq!(first.steps[0], (812.0, 3410.0));
    assert_eq!(first.steps[1], (3410.0, 812.0));
    assert!((Span::from_millis(200)..Span::from_millis(500)).contains(&first.delay), "{:?}", first.delay);
    assert!(first.stands_out(), "{}", first.expected);
    assert!(found.best[1..].iter().all(|m| !m.stands_out()), "{:#?}", &found.best[1]);
}

#[test]
fn marks_at_which_nothing_happened_find_nothing() {
    let mut seen = busy_bus(&[]);
    for at in [8, 20, 31, 43, 52] {
        seen.mark(EventTime(at * SECOND), "");
    }
    let found = after_marks(&seen, "", MarkOptions::default());
    assert!(!found.best.is_empty() && found.best.iter().all(|m| !m.stands_out()), "{:#?}", found.best[0]);
}

#[test]
fn without_a_mark_nothing_is_claimed_and_one_mark_proves_nothing() {
    let mut seen = busy_bus(&[8_000]);
    assert_eq!(after_marks(&seen, "", MarkOptions::default()), AfterMarks::default());
    seen.mark(EventTime(8 * SECOND), "");
    let found = after_marks(&seen, "", MarkOptions::default());
    assert_eq!(found.best[0].word, can(DOOR), "it is still the best guess");
    assert!(!found.best[0].stands_out());
    assert_eq!(after_marks(&seen, "something else", MarkOptions::default()).best, Vec::new());
}

#[test]
fn a_mark_at_which_the_action_failed_does_not_hide_the_word() {
    let moves = [4_000, 11_000, 20_000, 31_000, 38_000, 45_000, 52_000];
    let mut seen = busy_bus(&moves);
    for at in moves.into_iter().chain([26_000]) {
        seen.mark(EventTime(at * 1_000_000), "");
    }
    let found = after_marks(&seen, "", MarkOptions::default());
    assert_eq!((&found.best[0].word, found.best[0].marks), (&can(DOOR), 7));
}

#[test]
fn the_field_that_goes_with_a_channel_is_found_with_its_scale() {
    let moves = [8_000, 20_000, 31_000, 43_000, 52_000];
    let seen = busy_bus(&moves);
    // In per cent, noted 0.3 s before the frame says it.
    let channel: Vec<_> = (0..600).map(|n| (EventTime(n * 100_000_000), 100.0 * door(n * 100 + 300, &moves))).collect();
    let found = follow(&seen, &channel);
    let first = &found.best[0];
    assert_eq!((&first.word, first.field.to_string().as_str()), (&can(DOOR), "bytes 2-3 (little-endian, 16 bit)"));
    assert!(first.r > 0.999 && first.changes_r > 0.99 && first.stands_out(), "{first:?}");
    assert!((3..=4).contains(&first.lag), "{}", first.lag);
    assert!((first.line.0 * 2598.0 - 100.0).abs() < 0.5, "{:?}", first.line);
    let others = found.best.iter().filter(|f| f.word != can(DOOR));
    assert!(others.clone().count() > 0 && others.clone().all(|f| !f.stands_out()), "{:#?}", found.best);
    assert!(found.tried > 3000, "{}", found.tried);
}

#[test]
fn a_channel_that_does_not_move_goes_with_nothing() {
    let seen = busy_bus(&[8_000]);
    let constant: Vec<_> = (0..600).map(|n| (EventTime(n * 100_000_000), 5.0)).collect();
    assert_eq!(follow(&seen, &constant), Followed { moments: 600, range: Some((5.0, 5.0)), ..Followed::default() });
    assert_eq!(follow(&seen, &[]), Followed::default());
    let few: Vec<_> = (0..10).map(|n| (EventTime(n * 100_000_000), n as f64)).collect();
    assert!(follow(&seen, &few).best.is_empty());
}

#[test]
fn bytes_look_like_what_they_are() {
    let seen = busy_bus(&[]);
    let word = seen.word(&can(0x105)).unwrap();
    let looks = word.looks();
    assert_eq!(looks[4..], [Looks::Constant, Looks::Constant, Looks::Counter, Looks::Checksum]);
    assert_eq!(looks[0], Looks::Moving);
    assert_eq!(word.moving()[4..7], [0, 0, 15]);
    assert_eq!((word.count(), word.length_changes()), (600, 0));
    assert!((word.rate().unwrap() - 10.0).abs() < 0.1);
    assert_eq!(word.median_gap(), Some(Span::from_millis(100)));
    // Over the end: 255 is followed by 0.
    assert_eq!(seen.word(&can(DOOR)).unwrap().looks()[0], Looks::Counter);
}

#[test]
fn a_length_that_changes_is_counted_and_breaks_nothing() {
    let mut seen = Seen::new(SeenOptions { most_words: 2, ..SeenOptions::default() });
    assert_eq!(seen.span(), None);
    for (at, data) in [(0, &[1u8, 2][..]), (10, &[1]), (20, &[]), (30, &[1, 2, 3, 4, 5, 6, 7, 8]), (40, &[1, 3])] {
        for id in [5, 6, 7] {
            seen.take(&frame(at, id, data));
        }
    }
    let word = seen.word(&can(5)).unwrap();
    assert_eq!((word.length_changes(), word.changed(), word.moving()[1]), (4, 4, 1));
    assert_eq!((seen.words().len(), seen.left_out()), (2, 5));
}

#[test]
fn registers_pieces_of_lines_frames_and_cells_are_words() {
    let request = Request::new(2, crate::modbus::Function::ReadInputRegisters, 100, 3).unwrap().frame();
    let answer = encode_answer(&request, |r| 1000 + r).unwrap();
    let mut modbus = vec![1, 0];
    modbus.extend_from_slice(&request);
    modbus.extend_from_slice(&answer);
    let options = SeenOptions { selectors: [((SourceId(0), 4), 1)].into(), ..SeenOptions::default() };
    let mut seen = Seen::new(options);
    seen.take(&record(RecordKind::ModbusAnswer, 0, &modbus));
    seen.take(&record(RecordKind::TextLine, 1, b"\x02\x00RH=45.2%,T=-3.5C,P= 1013.2hPa,ok"));
    seen.take(&record(RecordKind::TextLine, 1, b"\x03\x00$AIR 1 2.5e1"));
    seen.take(&record(RecordKind::TextAnswer, 1, b"\x03\x00\x01\x00+7,5;8"));
    seen.take(&record(RecordKind::Frame, 2, &[4, 0, 0xAA, 7, 1]));
    seen.take(&record(RecordKind::Row, 3, b"0.5,,\"x\",12"));
    seen.take(&record(RecordKind::Fault, 3, b"\x00\x00\x01"));
    let told: Vec<String> = seen
        .words()
        .map(|(id, w)| match w.number() {
            Some(x) => format!("{} {x}", id.key),
            None => format!("{} {:02x?}", id.key, w.bytes()),
        })
        .collect();
    let expected = [
        "register 4:100 [04, 4c]",
        "register 4:101 [04, 4d]",
        "register 4:102 [04, 4e]",
        "RH= (piece 1) 45.2",
        "T= (piece 2) -3.5",
        "P= (piece 3) 1013.2",
        "$AIR piece 2 1",
        "$AIR piece 3 25",
        "query 2 piece 1 7.5",
        "query 2 piece 2 8",
        "frame 0x07 [aa, 07, 01]",
        "column 1 0.5",
        "column 4 12",
    ];
    assert_eq!(told, expected);
    assert_eq!(seen.no_word(), 1);
}

#[test]
fn at_no_other_time_is_said_only_where_it_is_so() {
    let mut seen = Seen::new(SeenOptions::default());
    // Comes late, moves at the mark, and once more long after.
    for n in 0..100i64 {
        seen.take(&frame(n * 100, 1, &[0]));
        if n >= 30 {
            seen.take(&frame(n * 100, 2, &[u8::from(n >= 50)]));
            seen.take(&frame(n * 100, 3, &[u8::from(n >= 50) + u8::from(n >= 95)]));
        }
    }
    seen.mark(EventTime(5 * SECOND), "");
    let found = after_marks(&seen, "", MarkOptions::default());
    let quiet: Vec<_> = found.best.iter().map(|m| (m.word.clone(), m.quiet_elsewhere)).collect();
    assert_eq!(quiet, [(can(2), true), (can(3), false)]);
}

#[test]
fn a_device_says_which_byte_tells_its_frames_apart() {
    let part = |name: &str, when| Part {
        name: name.to_owned(),
        byte: 3,
        kind: NumberKind::Unsigned(1),
        order: Order::HighFirst,
        bits: None,
        when,
        scale: 1.0,
        offset: 0.0,
        unit: None,
        nothing: Vec::new(),
    };
    let device = |name: &str, when| {
        let layout = FrameLayout { find: Find::Slip(None), longest: 40, checksum: None };
        let format = BinaryFormat::new(layout, vec![part("x", None), part("y", when)]).unwrap();
        DeviceFormat { name: name.to_owned(), format: Format::Binary(format) }
    };
    let devices = vec![device("plain", None), device("kinds", Some(When { byte: 2, is: 7 }))];
    assert_eq!(crate::Decoder::devices(devices).unwrap().selectors(), [(1, 2)]);
}

#[test]
fn fields_say_where_they_are_as_a_can_database_does() {
    let bits = |byte, bytes, little, low, width| Bits { byte, bytes, little, low, width, signed: false };
    for (field, dbc, text) in [
        (bits(2, 2, true, 0, 16), "16|16@1+", "bytes 2-3 (little-endian, 16 bit)"),
        // Motorola: byte 2's bit 7 is bit 23.
        (bits(2, 2, false, 0, 16), "23|16@0+", "bytes 2-3 (big-endian, 16 bit)"),
        (bits(2, 2, false, 0, 12), "19|12@0+", "bytes 2-3 (big-endian, 12 bit)"),
        (bits(1, 3, true, 4, 14), "12|14@1+", "bytes 1-3 (little-endian, 14 bit) from bit 4"),
        (bits(0, 4, false, 0, 32), "7|32@0+", "bytes 0-3 (big-endian, 32 bit)"),
        (bits(1, 1, true, 3, 1), "11|1@1+", "bit 3 of byte 1"),
        (bits(1, 1, true, 4, 4), "12|4@1+", "bits 4-7 of byte 1"),
        (bits(0, 1, true, 0, 8), "0|8@1+", "byte 0 (8 bit)"),
    ] {
        assert_eq!((field.dbc().as_str(), Field::Bits(field).to_string().as_str()), (dbc, text));
    }
    let signed = Field::Bits(Bits { signed: true, ..bits(0, 2, false, 0, 16) });
    assert_eq!((signed.value(&[0xFF, 0xFE]), signed.value(&[0xFF])), (Some(-2.0), None));
}

#[test]
fn a_busy_word_keeps_a_bounded_number_of_changes_and_loses_no_moved_bit() {
    let mut seen = Seen::new(SeenOptions::default());
    for n in 0..20_000i64 {
        // One flag flashes once, for one frame.
        seen.take(&frame(n * 10, 1, &[n as u8, u8::from(n == 7_777)]));
    }
    let word = seen.word(&can(1)).unwrap();
    assert!((512..=2048).contains(&word.changes().len()), "{}", word.changes().len());
    assert_eq!(word.changes().iter().filter(|c| c.moved[1] != 0).count(), 1);
    assert_eq!(word.flips()[8], 2);
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(64))]
    #[test]
    fn no_record_makes_it_panic(
        kind in 1u8..8,
        payloads in proptest::collection::vec(proptest::collection::vec(proptest::num::u8::ANY, 0..40), 1..40),
        times in proptest::collection::vec(proptest::num::i64::ANY, 40),
    ) {
        let mut seen = Seen::new(SeenOptions::default());
        for (p, t) in payloads.iter().zip(&times) {
            let kind = RecordKind::from_id(kind).unwrap();
            let r = RawRecord { event_time: EventTime(*t), ..record(kind, 0, p) };
            seen.take(&r);
            seen.mark(EventTime(*t), "");
        }
        after_marks(&seen, "", MarkOptions::default());
        let channel: Vec<_> = (0..30).map(|n| (EventTime(n * SECOND), n as f64)).collect();
        follow(&seen, &channel);
        for (_, w) in seen.words() {
            let _ = (w.looks(), w.rate(), w.median_gap());
        }
    }
}
