//! Binary frames: found however the stream is cut, numbers of every kind, damage that never becomes a value.
#![allow(clippy::unwrap_used)]

use decode::binary::stuffing::{cobs_encode, slip_encode};
use decode::binary::{BinaryFormat, Find, FrameChecksum, FrameLayout, Length, NumberKind, Order, Part, When};
use decode::checksum::Checksum;
use decode::{DecodeError, Decoder, DeviceFormat, Format, Raw};
use proptest::prelude::*;
use stream::{EventTime, FaultKind, Framed, Framer, Payload, RawRecord, Reason, RecordKind, SourceId};

fn part(name: &str, byte: u16, kind: NumberKind, order: Order) -> Part {
    let name = name.to_owned();
    Part { name, byte, kind, order, bits: None, when: None, scale: 1.0, offset: 0.0, unit: None, nothing: vec![] }
}

fn crc(algorithm: &str, from: usize, order: Order) -> Option<FrameChecksum> {
    Some(FrameChecksum { algorithm: Checksum::by_name(algorithm).unwrap(), from, order })
}

/// AA 55, length of the data, kind, data, CRC-16/MODBUS low byte first over all but the sync.
fn sync_layout() -> FrameLayout {
    let length = Length::Field { byte: 2, bytes: 1, order: Order::HighFirst, adds: 6 };
    FrameLayout {
        find: Find::Sync(vec![0xAA, 0x55], length),
        longest: 40,
        checksum: crc("CRC-16/MODBUS", 2, Order::LowFirst),
    }
}

fn sync_frame(kind: u8, data: &[u8]) -> Vec<u8> {
    let mut frame = vec![0xAA, 0x55, data.len() as u8, kind];
    frame.extend_from_slice(data);
    let sum = decode::crc::modbus(&frame[2..]);
    frame.extend(sum.to_le_bytes());
    frame
}

fn layouts() -> Vec<FrameLayout> {
    let longest = 40;
    let sum = || crc("CRC-16/XMODEM", 0, Order::HighFirst);
    vec![
        sync_layout(),
        FrameLayout {
            find: Find::Sync(vec![0x7E], Length::Fixed(8)),
            longest,
            checksum: crc("xor", 1, Order::LowFirst),
        },
        FrameLayout { find: Find::Slip(None), longest, checksum: sum() },
        FrameLayout { find: Find::Cobs(Some(9)), longest, checksum: sum() },
    ]
}

/// A frame of each layout, as it goes over the line.
fn on_the_line(layout: &FrameLayout, data: &[u8; 6]) -> Vec<u8> {
    let sealed = |body: &[u8]| {
        let sum = Checksum::by_name("CRC-16/XMODEM").unwrap().of(body) as u16;
        [body, &sum.to_be_bytes()].concat()
    };
    match &layout.find {
        Find::Sync(sync, _) if sync.len() == 2 => sync_frame(1, data),
        Find::Sync(..) => [&[0x7E][..], data, &[data.iter().fold(0, |x, b| x ^ b)]].concat(),
        Find::Slip(_) => slip_encode(&sealed(data)),
        Find::Cobs(_) => cobs_encode(&sealed(&[&data[..], &[9]].concat())),
    }
}

/// The six data bytes of a message.
fn data_of(layout: &FrameLayout, message: &[u8]) -> Vec<u8> {
    let from = match &layout.find {
        Find::Sync(sync, _) if sync.len() == 2 => 4,
        Find::Sync(..) => 1,
        _ => 0,
    };
    message[from..from + 6].to_vec()
}

/// A frame, or why bytes are none and which.
type Came = Result<Vec<u8>, (FaultKind, Vec<u8>)>;

fn framed(layout: &FrameLayout, pushes: &[&[u8]]) -> Vec<Came> {
    let mut framer = layout.framer();
    let mut out = Vec::new();
    let mut each = |_, f: Framed<'_>| {
        out.push(match f {
            Framed::Message(m) => Ok(m.to_vec()),
            Framed::Fault(kind, bytes) => Err((kind, bytes.to_vec())),
        });
    };
    pushes.iter().for_each(|p| framer.push(EventTime(0), p, &mut each));
    framer.finish(&mut each);
    out
}

#[test]
fn noise_and_damage_drop_the_least() {
    let good = sync_frame(1, &[1, 2, 3]);
    let mut bad = good.clone();
    bad[5] ^= 1;
    // A frame whose length was damaged reaches into the next ones, which are found all the same.
    let mut long = good.clone();
    long[2] = 20;
    let stream = [&[5, 0xAA][..], &good, &bad, &good, &long, &good, &good, &[0xAA, 0x55, 0xFF], &good].concat();
    let told: Vec<String> = framed(&sync_layout(), &[&stream])
        .into_iter()
        .map(|f| match f {
            Ok(m) => format!("frame {}", m.len()),
            Err((kind, bytes)) => format!("{} {}", kind.word(), bytes.len()),
        })
        .collect();
    assert_eq!(
        told,
        [
            "partial-line 2",
            "frame 9",
            "checksum 9",
            "frame 9",
            "checksum 9",
            "frame 9",
            "frame 9",
            "checksum 3",
            "frame 9"
        ]
    );
}

#[test]
fn slip_and_cobs_frames() {
    let slip = FrameLayout { find: Find::Slip(None), longest: 4, checksum: None };
    let told = framed(&slip, &[&[7, 7, 0xC0, 0xC0, 1, 0xDB, 0xDC, 0xC0, 1, 0xDB, 7, 0xC0, 1, 2, 3, 4, 5, 0xC0, 9]]);
    let fault = |kind, bytes: &[u8]| Err((kind, bytes.to_vec()));
    let expected = [
        fault(FaultKind::PartialLine, &[7, 7]),
        Ok(vec![1, 0xC0]),
        fault(FaultKind::Malformed, &[1, 0xDB, 7]),
        fault(FaultKind::Malformed, &[1, 2, 3, 4, 5]),
        fault(FaultKind::PartialLine, &[9]),
    ];
    assert_eq!(told, expected);
    let endless = framed(&slip, &[&[0xC0], &[1; 15], &[0xC0, 5, 0xC0]]);
    let expected = [fault(FaultKind::TooLong, &[1; 10]), fault(FaultKind::TooLong, &[1; 5]), Ok(vec![5])];
    assert_eq!(endless, expected);
    let cobs = FrameLayout { find: Find::Cobs(Some(2)), longest: 4, checksum: None };
    let told = framed(&cobs, &[&[0, 3, 1, 2, 0, 2, 1, 0, 9, 1, 0, 1, 2, 7, 0]]);
    let expected =
        [Ok(vec![1, 2]), fault(FaultKind::Malformed, &[2, 1]), fault(FaultKind::Malformed, &[9, 1]), Ok(vec![0, 7])];
    assert_eq!(told, expected);
}

fn decoder(layout: FrameLayout, parts: Vec<Part>) -> Decoder {
    let format = Format::Binary(BinaryFormat::new(layout, parts).unwrap());
    Decoder::devices(vec![DeviceFormat { name: "d".to_owned(), format }]).unwrap()
}

fn decoded(decoder: &Decoder, frame: &[u8]) -> Result<Vec<(String, Raw)>, DecodeError> {
    let mut payload = Payload::from_slice(&[0, 0]);
    payload.extend_from_slice(frame);
    let (source, kind) = (SourceId(0), RecordKind::Frame);
    let record = RawRecord { source, sequence: 0, event_time: EventTime(0), kind, payload };
    let mut out = Vec::new();
    decoder.decode(&record, &mut |i, raw| out.push((decoder.readings()[usize::from(i)].name[2..].to_owned(), raw)))?;
    Ok(out)
}

#[test]
fn numbers_of_every_kind() {
    use NumberKind::{F32, F64, Signed, Unsigned};
    let (high, low) = (Order::HighFirst, Order::LowFirst);
    let mut mode = part("mode", 0, Unsigned(1), low);
    mode.bits = Some((4, 3));
    mode.nothing = vec![(7, Reason::NotAvailable)];
    let mut scaled = part("scaled", 1, Signed(2), high);
    (scaled.scale, scaled.offset) = (0.5, 1.0);
    let mut only = part("only", 3, Unsigned(1), low);
    only.when = Some(When { byte: 0, is: 9 });
    let parts = vec![
        mode,
        scaled,
        part("u24", 1, Unsigned(3), high),
        part("i24", 1, Signed(3), low),
        part("u32", 4, Unsigned(4), low),
        part("f32", 4, F32, high),
        part("f64", 8, F64, low),
        part("i64", 8, Signed(8), high),
        only,
    ];
    let layout = FrameLayout { find: Find::Slip(Some(16)), longest: 16, checksum: None };
    let decoder = decoder(layout, parts);
    let mut frame = vec![0x5F, 0xFF, 0xFE, 0x80, 0x41, 0xCE, 0, 0];
    frame.extend((-1.5f64).to_le_bytes());
    let number = |name: &str, x: f64| (name.to_owned(), Raw::Number(x));
    let expected = vec![
        number("mode", 5.0),
        number("scaled", 0.0),
        number("u24", f64::from(0xFF_FE80)),
        number("i24", f64::from(-0x7F_0101)),
        number("u32", f64::from(0xCE41)),
        number("f32", 25.75),
        number("f64", -1.5),
        number("i64", i64::from_be_bytes((-1.5f64).to_le_bytes()) as f64),
    ];
    assert_eq!(decoded(&decoder, &frame), Ok(expected));
    frame[0] = 0x70;
    assert_eq!(decoded(&decoder, &frame).unwrap()[0], ("mode".to_owned(), Raw::Nothing(Reason::NotAvailable)));
    frame[0] = 9;
    assert_eq!(decoded(&decoder, &frame).unwrap().len(), 9);
    assert_eq!(decoded(&decoder, &frame[..12]).unwrap_err().to_string(), "the frame has 12 bytes, 16 are needed");
}

#[test]
fn frames_of_another_kind_are_not_mapped() {
    let mut t = part("t", 4, NumberKind::Unsigned(2), Order::LowFirst);
    t.when = Some(When { byte: 3, is: 1 });
    let decoder = decoder(sync_layout(), vec![t]);
    assert_eq!(decoded(&decoder, &sync_frame(1, &[1, 2])), Ok(vec![("t".to_owned(), Raw::Number(513.0))]));
    assert!(matches!(decoded(&decoder, &sync_frame(2, &[1, 2])), Err(DecodeError::Unmapped(_))));
    let mut damaged = sync_frame(1, &[1, 2]);
    damaged[4] ^= 1;
    assert_eq!(decoded(&decoder, &damaged).unwrap_err().to_string(), "the frame's checksum is wrong");
}

#[test]
fn formats_that_are_refused() {
    let x = || part("x", 2, NumberKind::Unsigned(2), Order::LowFirst);
    let fixed = |n| Find::Sync(vec![1], Length::Fixed(n));
    let refused = |find, checksum, parts| {
        BinaryFormat::new(FrameLayout { find, longest: 40, checksum }, parts).unwrap_err().to_string()
    };
    let with = |change: &dyn Fn(&mut Part)| {
        let mut p = x();
        change(&mut p);
        refused(fixed(9), None, vec![p])
    };
    let said = [
        refused(fixed(9), None, vec![]),
        refused(Find::Sync(vec![], Length::Fixed(9)), None, vec![x()]),
        refused(fixed(41), None, vec![x()]),
        refused(fixed(5), crc("CRC-32/ISO-HDLC", 3, Order::LowFirst), vec![x()]),
        refused(fixed(5), crc("CRC-16/ARC", 0, Order::LowFirst), vec![x()]),
        refused(fixed(9), None, vec![x(), x()]),
        with(&|p| p.scale = 0.0),
        with(&|p| p.byte = 8),
        with(&|p| p.when = Some(When { byte: 9, is: 0 })),
        with(&|p| p.bits = Some((12, 5))),
        with(&|p| p.nothing = vec![(0x1_0000, Reason::Open)]),
    ];
    insta::assert_snapshot!(said.join("\n"), @r"
    the frame format has no reading; list at least one
    frames of kind sync begin with fixed bytes: at least one is needed to find them
    a frame of 41 bytes is refused: 1 are taken by sync and checksum, and 40 is the longest
    a frame of 5 bytes is refused: 8 are taken by sync and checksum, and 40 is the longest
    reading `x`: bytes 2 to 3 lie past the end of the longest frame of 3 bytes
    two readings are called `x`, or one has no name; give it another name
    reading `x`: the scale must not be 0, and scale and offset must be finite
    reading `x`: bytes 8 to 9 lie past the end of the longest frame of 9 bytes
    reading `x`: bytes 2 to 9 lie past the end of the longest frame of 9 bytes
    reading `x`: 5 bits from bit 12 on are no part of it; unsigned types have parts, counted from bit 0
    reading `x`: 0x10000 is listed twice as no number, or is wider than the reading
    ");
}

proptest! {
    #[test]
    fn however_cut_and_noise_around(
        data in prop::collection::vec(any::<[u8; 6]>(), 3),
        noise in prop::collection::vec(any::<u8>(), 0..30),
        cuts in prop::collection::vec(1usize..25, 1..12),
        which in 0usize..4,
    ) {
        let layout = &layouts()[which];
        let frames: Vec<Vec<u8>> = data.iter().map(|d| on_the_line(layout, d)).collect();
        // Behind noise at most one frame is lost: the one that the noise runs into.
        let stream = [&frames[0][..], &frames[1], &noise, &frames[2], &frames[0], &frames[1], &[0u8; 64]].concat();
        let whole = framed(layout, &[&stream]);
        let mut pushes = Vec::new();
        let (mut rest, mut sizes) = (&stream[..], cuts.iter().cycle());
        while !rest.is_empty() {
            let (now, later) = rest.split_at((*sizes.next().unwrap()).min(rest.len()));
            pushes.push(now);
            rest = later;
        }
        prop_assert_eq!(&framed(layout, &pushes), &whole);
        let found: Vec<Vec<u8>> = whole.into_iter().flatten().map(|m| data_of(layout, &m)).collect();
        if which != 1 {
            prop_assert!(found.ends_with(&[data[0].to_vec(), data[1].to_vec()]), "{:?}", found);
        }
    }

    /// A changed byte anywhere, where a CRC is declared: no frame comes out but the true ones.
    #[test]
    fn a_changed_byte_never_gives_a_value(data in any::<[u8; 6]>(), place in 0usize..100, change in 1u8..=255, which in 0usize..4) {
        let layout = &layouts()[which];
        let frame = on_the_line(layout, &data);
        let mut changed = frame.clone();
        let place = place % changed.len();
        changed[place] ^= change;
        let lead = if which == 3 { vec![0] } else { Vec::new() };
        for f in framed(layout, &[&lead, &changed]).into_iter().flatten() {
            prop_assert_eq!(data_of(layout, &f), data.to_vec());
        }
    }

    #[test]
    fn every_byte_comes_out(bytes in prop::collection::vec(prop::sample::select(vec![0u8, 0xAA, 0x55, 0x7E, 3, 1, 0xFF]), 0..400)) {
        for layout in layouts().into_iter().filter(|l| matches!(l.find, Find::Sync(..))) {
            let all = framed(&layout, &[&bytes]).into_iter();
            let count: usize = all.map(|f| f.map_or_else(|(_, bytes)| bytes.len(), |m| m.len())).sum();
            prop_assert_eq!(count, bytes.len());
        }
    }

    #[test]
    fn any_frame_never_panics(frame in prop::collection::vec(any::<u8>(), 0..60)) {
        let part = part("t", 4, NumberKind::F64, Order::LowFirst);
        for layout in layouts().into_iter().filter(|l| !matches!(l.find, Find::Sync(_, Length::Fixed(_)) | Find::Cobs(_))) {
            let _ = decoded(&decoder(layout, vec![part.clone()]), &frame);
        }
    }
}
