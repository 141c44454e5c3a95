use super::*;
use crate::log::format::{BLOCK_HEAD_BYTES, BlockHead, SegmentHead};
use crate::testing::{RUN, entries, entry};
use proptest::prelude::*;

fn block(entries: &[LogEntry]) -> (BlockHead, Vec<u8>) {
    let first = entries.first().map_or(0, |e| e.ordinal);
    let (mut previous, mut payload) = (Previous { ordinal: first, logged_at: 0 }, Vec::new());
    for e in entries {
        encode(e, &mut previous, &mut payload);
    }
    (BlockHead::of(7, entries.len() as u32, first, &payload), payload)
}

proptest! {
    #[test]
    fn every_entry_comes_back_as_it_was(list in entries(40)) {
        let (head, payload) = block(&list);
        let mut back = Vec::new();
        BlockHead::decode(&head.encode()).unwrap().open(7, &payload, &mut back).unwrap();
        prop_assert_eq!(back, list);
    }

    #[test]
    fn no_bytes_make_it_panic(payload in proptest::collection::vec(any::<u8>(), 0..200), n in 0..20u32) {
        let mut back = Vec::new();
        let _ = decode_all(&payload, n, 0, &mut back);
        prop_assert!(back.len() <= n as usize);
    }

    #[test]
    fn a_payload_cut_short_is_an_error(list in entries(8), cut in 1..50usize) {
        prop_assume!(!list.is_empty());
        let (head, payload) = block(&list);
        let short = &payload[..payload.len().saturating_sub(cut)];
        prop_assert!(decode_all(short, head.entries, head.first, &mut Vec::new()).is_err());
    }
}

#[test]
fn a_can_record_takes_few_bytes() {
    let frames: Vec<LogEntry> =
        (0..1000).filter(|i| matches!(entry(*i).body, EntryBody::Record(_))).map(entry).collect();
    let (_, payload) = block(&frames);
    let each = (payload.len() + BLOCK_HEAD_BYTES) as f64 / frames.len() as f64;
    assert!(each < 16.0 + 16.0, "{each} bytes for a payload of 16");
}

/// The layout on disk, written out by hand from its description and with CRCs from Python's zlib. Where this
/// fails, old recordings would be read wrongly.
#[test]
fn the_layout_is_frozen() {
    let hex = |b: &[u8]| crate::digests::hex(b);
    let head = SegmentHead { run_id: RUN, number: 3 };
    let expected = "424953452d4c4f4701000000ffeeddccbbaa998877665544332211000300000083471690";
    assert_eq!(hex(&head.encode()), expected);
    let at = EventTime(1000);
    let bodies = [
        EntryBody::Record(RawRecord {
            source: SourceId(1),
            sequence: 300,
            event_time: EventTime(990),
            kind: RecordKind::Row,
            payload: Payload::from_slice(b"abc"),
        }),
        EntryBody::Tick,
        EntryBody::Gap(Gap {
            source: Some(SourceId(2)),
            lost: 4,
            from: EventTime(999),
            to: at,
            cause: GapCause::Suspend,
        }),
        EntryBody::Link(Link {
            source: SourceId(0),
            device: None,
            event_time: at,
            state: LinkState::Degraded,
            detail: "x".into(),
        }),
        EntryBody::Anchor(Anchor { event_time: at, wall_offset_ns: -1 }),
        EntryBody::Operator(OperatorAction {
            author: "me".into(),
            pressed_at: at,
            content: OperatorContent::TestBegin("t".into()),
        }),
        EntryBody::End,
    ];
    let list: Vec<LogEntry> =
        bodies.into_iter().zip(5..).map(|(body, ordinal)| LogEntry { ordinal, logged_at: at, body }).collect();
    let (block, payload) = block(&list);
    let expected = concat!(
        "0100d00f0104ac021303616263",
        "020100",
        "0301000304010003",
        "040100000000020178",
        "0501000001",
        "060100026d6500020174",
        "070100",
    );
    assert_eq!(hex(&payload), expected);
    assert_eq!(hex(&block.encode()), "33000000feb9d647070000000500000000000000");
}

#[test]
fn an_entry_of_a_newer_program_is_named() {
    let e = decode_all(&[8, 0, 0], 1, 0, &mut Vec::new()).unwrap_err();
    assert_eq!(e.to_string(), "entry kind 8 is not known to this program; a newer one wrote it");
    let e = decode_all(&[1, 0, 0, 1, 9, 0, 0, 0], 1, 0, &mut Vec::new()).unwrap_err();
    assert_eq!(e, EntryError::UnknownId { what: "record kind", id: 9 });
    let e = decode_all(&[2, 0, 0, 0], 1, 0, &mut Vec::new()).unwrap_err();
    assert_eq!(e, EntryError::Rest(1));
}
