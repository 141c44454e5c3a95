//! Text instruments: lines whatever the chunks, fields, both directions.
#![allow(clippy::unwrap_used)]

use decode::text::{LineFramer, TextField, TextFormat};
use decode::{DecodeError, Decoder, DeviceFormat, Format, Raw};
use proptest::prelude::*;
use stream::{EventTime, FaultKind, Framed, Framer, Payload, RawRecord, Reason, RecordKind, SourceId};

fn framed(chunks: &[&[u8]], longest: usize) -> Vec<String> {
    let mut framer = LineFramer::new(longest);
    let mut out = Vec::new();
    for chunk in chunks {
        framer.push(EventTime(0), chunk, &mut |_, f| {
            out.push(match f {
                Framed::Message(l) => format!("line {}", l.escape_ascii()),
                Framed::Fault(FaultKind::PartialLine, l) => format!("partial {}", l.escape_ascii()),
                Framed::Fault(kind, l) => format!("{} {}", kind.word(), l.escape_ascii()),
            });
        });
    }
    out
}

#[test]
fn any_terminator_ends_a_line_and_the_first_is_partial() {
    assert_eq!(
        framed(&[b"2.5\r\nA,1\r\nB,2\nC,3\rD,4\r\n\r\nE"], 20),
        ["partial 2.5", "line A,1", "line B,2", "line C,3", "line D,4"]
    );
    assert_eq!(framed(&[b"\nA,1\r", b"\nB,2\n"], 20), ["line A,1", "line B,2"]);
}

#[test]
fn a_line_too_long_is_one_fault_and_the_next_is_whole() {
    assert_eq!(framed(&[b"\n12345678", b"90123\nok\n"], 10), ["too-long 1234567890", "line ok"]);
    assert_eq!(framed(&[b"\n1234567890\nok\n"], 10), ["line 1234567890", "line ok"]);
    assert_eq!(framed(&[b"12345678901\nok\n"], 10), ["too-long 1234567890", "line ok"]);
}

#[test]
fn what_is_pending_is_told_and_datagrams_end_lines() {
    let mut framer = LineFramer::new(10);
    let told = std::cell::RefCell::new(Vec::new());
    let mut each = |at: EventTime, f: Framed<'_>| {
        told.borrow_mut().push(match f {
            Framed::Message(l) => format!("{} line {}", at.0, l.escape_ascii()),
            Framed::Fault(kind, l) => format!("{} {} {}", at.0, kind.word(), l.escape_ascii()),
        });
    };
    framer.push(EventTime(1), b"\nab", &mut each);
    framer.finish(&mut each);
    framer.begin();
    framer.push(EventTime(2), b"cd\n", &mut each);
    framer.datagram(EventTime(3), b"e,1\r\nf,2", &mut each);
    framer.datagram(EventTime(4), b"g\xFF", &mut each);
    assert_eq!(*told.borrow(), ["1 partial-line ab", "2 line cd", "3 line e,1", "3 line f,2", "4 malformed g\\xff"]);
}

fn field(name: &str, position: u16) -> TextField {
    TextField {
        name: name.to_owned(),
        position,
        unit: None,
        label: None,
        unit_text: None,
        nothing: vec![("OPEN".to_owned(), Reason::Open), ("---".to_owned(), Reason::NotAvailable)],
        scale: 1.0,
        offset: 0.0,
    }
}

fn bench_format() -> TextFormat {
    let mut t1 = field("T1", 1);
    (t1.label, t1.unit_text) = (Some("T1=".to_owned()), Some("C".to_owned()));
    let mut p = field("P", 3);
    (p.scale, p.offset) = (100.0, 1.0);
    TextFormat::new(Some("$PK,".to_owned()), ',', vec![p, t1]).unwrap()
}

/// A line that says what its numbers are in.
fn room_format() -> TextFormat {
    let mut p = field("P", 1);
    (p.label, p.unit_text, p.scale) = (Some("P=".to_owned()), Some("hPa".to_owned()), 100.0);
    TextFormat::new(None, ',', vec![p]).unwrap()
}

fn decode(format: TextFormat, line: &[u8]) -> Result<Vec<(u16, Raw)>, DecodeError> {
    let decoder =
        Decoder::devices(vec![DeviceFormat { name: "logger".to_owned(), format: Format::Text(format.into()) }])
            .unwrap();
    let mut payload = Payload::from_slice(&[0, 0]);
    payload.extend_from_slice(line);
    let (source, kind) = (SourceId(0), RecordKind::TextLine);
    let mut out = Vec::new();
    let record = RawRecord { source, sequence: 0, event_time: EventTime(0), kind, payload };
    decoder.decode(&record, &mut |i, raw| out.push((i, raw)))?;
    Ok(out)
}

#[test]
fn fields_labels_units_and_words() {
    let numbers = |line: &str| decode(bench_format(), line.as_bytes()).unwrap();
    assert_eq!(numbers("$PK,T1=21.5C,x,2.5"), [(1, Raw::Number(21.5)), (0, Raw::Number(251.0))]);
    assert_eq!(numbers("$PK, T1= -3 C ,, 1e2 "), [(1, Raw::Number(-3.0)), (0, Raw::Number(10_001.0))]);
    assert_eq!(numbers("$PK,T1=OPEN,,---"), [(1, Raw::Nothing(Reason::Open)), (0, Raw::Nothing(Reason::NotAvailable))]);
}

/// A label or unit that holds the separator could never stand in one piece: no line would ever fit.
#[test]
fn what_stands_beside_a_number_holds_no_separator() {
    for (label, unit_text) in [(Some("QUAL,"), None), (None, Some("C,QUAL"))] {
        let own = |t: Option<&str>| t.map(str::to_owned);
        let beside = TextField { label: own(label), unit_text: own(unit_text), ..field("flag", 3) };
        let refused = TextFormat::new(None, ',', vec![beside.clone()]).unwrap_err().to_string();
        assert!(refused.contains("holds the separator") && refused.contains("write a pattern"), "{refused}");
        assert!(TextFormat::new(None, ';', vec![beside]).is_ok());
    }
}

#[test]
fn blanks_separate_once_tabs_each() {
    let of = |separator, line: &str| {
        let format = TextFormat::new(None, separator, vec![field("a", 1), field("b", 2)]).unwrap();
        decode(format, line.as_bytes()).map_err(|e| e.to_string())
    };
    let both = Ok(vec![(0, Raw::Number(1.0)), (1, Raw::Number(2.0))]);
    assert_eq!(of(' ', "  1    2 "), both);
    assert_eq!(of('\t', "1\t2"), both);
    assert_eq!(of('\u{b7}', "1·2"), both);
    assert_eq!(of(' ', "").unwrap_err(), "column 1: the line has 0 pieces, field at position 1 is missing");
    let empty = of('\t', "\t2").unwrap_err();
    assert_eq!(empty, "column 1: the piece at position 1 is neither a plain number nor a word listed for it");
}

#[test]
fn a_number_whose_end_was_lost_is_refused_where_a_unit_text_stands() {
    let whole = b"P=1013.2hPa";
    assert_eq!(decode(room_format(), whole).unwrap(), [(0, Raw::Number(101_320.0))]);
    assert_eq!(decode(room_format(), b"P=---").unwrap(), [(0, Raw::Nothing(Reason::NotAvailable))]);
    for end in 0..whole.len() {
        let cut = decode(room_format(), &whole[..end]);
        assert!(matches!(cut, Err(DecodeError::Unfit(_))), "{:?}: {cut:?}", whole[..end].escape_ascii().to_string());
    }
    let said = decode(room_format(), b"P=101").unwrap_err().to_string();
    let text = "column 1: the piece at position 1 does not end with its unit_text and is no word listed for it; was its \
                end lost?";
    assert_eq!(said, text);
}

#[test]
fn a_line_that_goes_on_is_refused_unless_its_format_allows_it() {
    let more = "the line goes on behind position 1, the last field; where the instrument sends more, write more_fields \
                = true in its file";
    for (line, column) in [("P=1013.2hPa,", 13), ("P=1013.2hPa,P=9hPa", 13), ("P=1013.2hPa, x,y", 14)] {
        assert_eq!(decode(room_format(), line.as_bytes()).unwrap_err().to_string(), format!("column {column}: {more}"));
        let allowed = decode(room_format().with_more_fields(), line.as_bytes());
        assert_eq!(allowed.unwrap(), [(0, Raw::Number(101_320.0))], "{line}");
    }
}

#[test]
fn another_prefix_is_not_ours() {
    assert!(matches!(decode(bench_format(), b"$XX,T1=1C,,2"), Err(DecodeError::Unmapped(_))));
}

#[test]
fn malformed_lines() {
    let lines: [&[u8]; 12] = [
        b"$PK,T1=21,5C,,2",
        b"$PK,T1=21.5C,x",
        b"$PK,T2=21.5C,x,1",
        b"$PK,T1=21.5F,x,1",
        b"$PK,T1=infC,x,1",
        b"$PK,T1=nanC,x,1",
        b"$PK,T1=0x1FC,x,1",
        b"$PK,T1=C,x,1",
        b"$PK,T1=21.5C,x,1.2.3",
        b"$PK,T1=21.5C,x,\xFF\xFE",
        b"$PK,T1=21.5C,x,open",
        b"$PK,",
    ];
    let said = lines.map(|l| format!("{}: {}", l.escape_ascii(), decode(bench_format(), l).unwrap_err()));
    insta::assert_snapshot!(said.join("\n"), @r#"
    $PK,T1=21,5C,,2: column 5: the piece at position 1 does not end with its unit_text and is no word listed for it; was its end lost?
    $PK,T1=21.5C,x: column 15: the line has 2 pieces, field at position 3 is missing
    $PK,T2=21.5C,x,1: column 5: the piece at position 1 does not begin with its label
    $PK,T1=21.5F,x,1: column 5: the piece at position 1 does not end with its unit_text and is no word listed for it; was its end lost?
    $PK,T1=infC,x,1: column 5: the piece at position 1 is neither a plain number nor a word listed for it
    $PK,T1=nanC,x,1: column 5: the piece at position 1 is neither a plain number nor a word listed for it
    $PK,T1=0x1FC,x,1: column 5: the piece at position 1 is neither a plain number nor a word listed for it
    $PK,T1=C,x,1: column 5: the piece at position 1 is neither a plain number nor a word listed for it
    $PK,T1=21.5C,x,1.2.3: column 16: the piece at position 3 is neither a plain number nor a word listed for it
    $PK,T1=21.5C,x,\xff\xfe: column 16: the piece at position 3 is neither a plain number nor a word listed for it
    $PK,T1=21.5C,x,open: column 16: the piece at position 3 is neither a plain number nor a word listed for it
    $PK,: column 5: the piece at position 1 does not begin with its label
    "#);
}

#[test]
fn malformed_formats() {
    let format = |separator, change: &dyn Fn(&mut Vec<TextField>)| {
        let mut fields = vec![field("a", 1), field("b", 2)];
        change(&mut fields);
        TextFormat::new(None, separator, fields).unwrap_err().to_string()
    };
    let said = [
        format(',', &|f| f.clear()),
        format('.', &|_| {}),
        format(',', &|f| f[1].name = "a".to_owned()),
        format(',', &|f| f[1].name.clear()),
        format(',', &|f| f[1].position = 1),
        format(',', &|f| f[1].position = 0),
        format(',', &|f| f[0].scale = 0.0),
        format(',', &|f| f[0].offset = f64::NAN),
        format(',', &|f| f[0].nothing.extend(["9999", "9999.0"].map(|w| (w.to_owned(), Reason::Open)))),
        format(',', &|f| f[0].nothing.push(("a,b".to_owned(), Reason::Open))),
    ];
    insta::assert_snapshot!(said.join("\n"), @r#"
    the line format has no field; list at least one
    separator '.' is refused: numbers are written with it, or it ends lines; take one such as ',' or ';'
    two fields are called `a`; give one of them another name
    the field at position 2 has no name; give it one
    field `b`: position 1 is taken by another field, or is 0; positions count from 1
    field `b`: position 0 is taken by another field, or is 0; positions count from 1
    field `a`: scale 0.0 and offset 0.0: the scale must not be 0 and both must be finite
    field `a`: scale 1.0 and offset NaN: the scale must not be 0 and both must be finite
    field `a`: the word "9999.0" is listed twice, or can never stand in a field
    field `a`: the word "a,b" is listed twice, or can never stand in a field
    "#);
}

#[test]
fn what_cannot_be_written_is_said() {
    let format = bench_format();
    let said = [
        format.write_line(&[Raw::Number(1.0)]).unwrap_err().to_string(),
        format.write_line(&[Raw::Number(f64::NAN), Raw::Number(1.0)]).unwrap_err().to_string(),
        format.write_line(&[Raw::Number(1.0), Raw::Nothing(Reason::Short)]).unwrap_err().to_string(),
    ];
    insta::assert_snapshot!(said.join("\n"), @r#"
    1 values for a line of 2 fields
    field `P`: NaN is not finite
    field `T1` has no word that stands for `short`
    "#);
    assert_eq!(format.write_line(&[Raw::Number(251.0), Raw::Nothing(Reason::Open)]).unwrap(), "$PK,T1=OPEN,,2.5");
}

proptest! {
    #[test]
    fn chunks_make_no_difference(
        bytes in prop::collection::vec(prop::sample::select(b"ab,1.\r\n\n\xFF".to_vec()), 0..400),
        cuts in prop::collection::vec(0usize..400, 0..20),
    ) {
        let whole = framed(&[&bytes], 12);
        for size in [1, 7, 64, 10_000] {
            let chunks: Vec<&[u8]> = bytes.chunks(size).collect();
            prop_assert_eq!(&framed(&chunks, 12), &whole);
        }
        let mut cuts: Vec<usize> = cuts.into_iter().map(|c| c.min(bytes.len())).collect();
        cuts.extend([0, bytes.len()]);
        cuts.sort_unstable();
        let chunks: Vec<&[u8]> = cuts.windows(2).map(|w| &bytes[w[0]..w[1]]).collect();
        prop_assert_eq!(&framed(&chunks, 12), &whole);
    }

    #[test]
    fn written_lines_read_back(t in -200.0f64..2000.0, p in -1e6f64..1e6) {
        let line = bench_format().write_line(&[Raw::Number(p), Raw::Number(t)]).unwrap();
        let back = decode(bench_format(), line.as_bytes()).unwrap();
        prop_assert_eq!(back[0], (1, Raw::Number(t)));
        let again = back[1].1.number().unwrap();
        prop_assert!((again - p).abs() <= 1e-12 * p.abs().max(1.0));
    }

    #[test]
    fn random_lines_never_panic(line in prop::collection::vec(any::<u8>(), 0..60)) {
        let _ = decode(bench_format(), &line);
        let _ = decode(bench_format(), &[b"$PK,T1=", &line[..]].concat());
        let _ = decode(TextFormat::new(None, ' ', vec![field("a", 2)]).unwrap(), &line);
        let _ = decode(TextFormat::new(None, '\u{20AC}', vec![field("a", 2)]).unwrap(), &line);
    }
}
