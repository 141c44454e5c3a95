//! Lines by pattern, kinds of lines, checksums, decimal commas, numbers that are none, answers to queries.
#![allow(clippy::unwrap_used)]

use decode::checksum::Checksum;
use decode::text::{LineChecksum, LineFramer, TextField, TextFormat, TextLines, Written};
use decode::{DecodeError, Decoder, DeviceFormat, Format, Raw};
use proptest::prelude::*;
use stream::{EventTime, Framed, Framer, Payload, RawRecord, Reason, RecordKind, SourceId};

fn field(name: &str, position: u16) -> TextField {
    TextField {
        name: name.to_owned(),
        position,
        unit: None,
        label: None,
        unit_text: None,
        nothing: vec![("OL".to_owned(), Reason::Rail), ("9999.9".to_owned(), Reason::Rail)],
        scale: 1.0,
        offset: 0.0,
    }
}

fn by_pattern(pattern: &str, names: &[&str]) -> TextFormat {
    TextFormat::pattern(pattern, false, names.iter().map(|n| field(n, 0)).collect()).unwrap()
}

fn decoded(lines: &TextLines, kind: RecordKind, bytes: &[u8]) -> Result<Vec<(String, Raw)>, DecodeError> {
    let format = Format::Text(lines.clone());
    let decoder = Decoder::devices(vec![DeviceFormat { name: "d".to_owned(), format }]).unwrap();
    let mut payload = Payload::from_slice(&[0, 0]);
    payload.extend_from_slice(bytes);
    let record = RawRecord { source: SourceId(0), sequence: 0, event_time: EventTime(0), kind, payload };
    let mut out = Vec::new();
    decoder.decode(&record, &mut |i, raw| out.push((decoder.readings()[usize::from(i)].name[2..].to_owned(), raw)))?;
    Ok(out)
}

/// "name=number" or "name:reason" of each reading, or what is wrong.
fn told(lines: &TextLines, line: &str) -> String {
    match decoded(lines, RecordKind::TextLine, line.as_bytes()) {
        Err(e) => e.to_string(),
        Ok(all) => {
            let one = |(name, raw): &(String, Raw)| match raw {
                Raw::Number(x) => format!("{name}={x}"),
                Raw::Nothing(r) => format!("{name}:{}", r.word()),
            };
            all.iter().map(one).collect::<Vec<_>>().join(" ")
        }
    }
}

#[test]
fn patterns() {
    let cases = [
        (
            "ST,{w} kg",
            &["w"][..],
            "ST,+  12.50 kg",
            "column 4: the piece at position 1 is neither a plain number nor a word listed for it",
        ),
        ("ST,{w} kg", &["w"], "ST,  12.50 kg", "w=12.5"),
        ("ST,{w}kg", &["w"], "ST, OL kg", "w:rail"),
        ("ST,{w}kg", &["w"], "ST, 9999.90 kg", "w:rail"),
        ("ST,{w}kg", &["w"], "ST,12.5 lb", "column 4: the text that the pattern has next does not stand there"),
        ("ST,{w}kg", &["w"], "US,12.5 kg", "the line does not begin with the format's prefix"),
        (
            "ST,{w}kg",
            &["w"],
            "ST,12.5 kg x",
            "column 12: the line goes on behind the pattern's end; end it with {} where the instrument sends more",
        ),
        ("ST,{w}kg{}", &["w"], "ST,12.5 kg x", "w=12.5"),
        ("{t:6}{p:8}", &["t", "p"], "  21.5  1013.2", "t=21.5 p=1013.2"),
        ("{t:6}{p:8}", &["t", "p"], "  21.5  1013", "column 13: the line ends inside a field of the pattern"),
        ("T {a} {b}", &["b", "a"], "T\t 1   2 ", "a=1 b=2"),
        (
            "{}:{level} m",
            &["level"],
            "12:41:3.5 m",
            "column 4: the piece at position 1 is neither a plain number nor a word listed for it",
        ),
        ("{:5} {level} m", &["level"], "12:41 3.5 m", "level=3.5"),
        ("{{{x}}}", &["x"], "{7}", "x=7"),
        ("x{x}\u{b0}C", &["x"], "x-4\u{b0}C", "x=-4"),
    ];
    for (pattern, names, line, expected) in cases {
        assert_eq!(told(&by_pattern(pattern, names).into(), line), expected, "{pattern} {line}");
    }
}

#[test]
fn patterns_that_are_refused() {
    let refused = |pattern: &str, names: &[&str]| {
        let fields = names.iter().map(|n| field(n, 0)).collect();
        TextFormat::pattern(pattern, false, fields).unwrap_err().to_string()
    };
    let said = [
        refused("{a", &["a"]),
        refused("a}", &["a"]),
        refused("{a}{b}", &["a", "b"]),
        refused("{a:0}", &["a"]),
        refused("{a}{a}", &["a"]),
        refused("{a}.{b}", &["a", "b"]),
        refused("plain", &["a"]),
        refused("{a}", &["b"]),
        refused("{a} {b}", &["a"]),
        refused("{a}", &[]),
    ];
    insta::assert_snapshot!(said.join("\n"), @r#"
    pattern "{a": a { is not closed by }
    pattern "a}": it holds a } without its {, or an end of line; }} stands for a brace
    pattern "{a}{b}": two fields stand side by side: write text between them, or how wide the first is: {a:6}
    pattern "{a:0}": behind the : of a field stands how many characters it is wide: {a:6}
    pattern "{a}{a}": it names a field twice
    pattern "{a}.{b}": text that numbers are written with stands right behind a field, which may end too early
    pattern "plain": it names no field: {name}
    field `b` does not stand in the pattern "{a}"; write {b} where its number stands
    the pattern names {b}, and no field is called so; add it, or write {} for text that is not read
    the line format has no field; list at least one
    "#);
}

#[test]
fn decimal_commas_and_numbers_that_are_none() {
    let comma = TextFormat::delimited(None, ';', true, vec![field("a", 1), field("b", 2)]);
    assert!(comma.is_ok(), "a word with a point is no number there, and no harm");
    let mut over = field("b", 2);
    over.nothing = vec![("9999,9".to_owned(), Reason::Rail)];
    let lines = TextFormat::delimited(None, ';', true, vec![field("a", 1), over]).unwrap().into();
    assert_eq!(told(&lines, "1,5;-2"), "a=1.5 b=-2");
    assert_eq!(told(&lines, "1,5;+9999,90"), "a=1.5 b:rail");
    assert!(told(&lines, "1.5;2").contains("neither a plain number"));
    assert!(told(&lines, "1,5,0;2").contains("neither a plain number"));
    assert!(TextFormat::delimited(None, ',', true, vec![field("a", 1)]).is_err());
    let point = TextFormat::new(None, ';', vec![field("a", 1)]).unwrap().into();
    assert!(told(&point, "1,5").contains("neither a plain number"));
    for over in ["9999.9", "+9999.9", "9999.90", "9.9999e3"] {
        assert_eq!(told(&point, over), "a:rail", "{over}");
    }
    assert_eq!(told(&point, "9999.8"), "a=9999.8");
}

#[test]
fn several_kinds_of_lines() {
    let t = TextFormat::new(Some("$T,".to_owned()), ',', vec![field("t1", 1), field("t2", 2)]).unwrap();
    let p = by_pattern("P {p} hPa", &["p"]);
    let lines = TextLines::new(None, vec![t.clone(), p]).unwrap();
    assert_eq!(told(&lines, "$T,1,2"), "t1=1 t2=2");
    assert_eq!(told(&lines, "P 1013.2 hPa"), "p=1013.2");
    assert_eq!(told(&lines, "#boot"), "the line does not begin with the format's prefix");
    let more = TextFormat::new(Some("$T,X,".to_owned()), ',', vec![field("x", 1)]).unwrap();
    let alike = TextLines::new(None, vec![t.clone(), more]).unwrap_err().to_string();
    assert!(alike.starts_with("lines that begin with \"$T,X,\" are of two kinds"), "{alike}");
    let twice = TextLines::new(None, vec![t, by_pattern("P {t1}", &["t1"])]).unwrap_err().to_string();
    assert_eq!(twice, "two fields are called `t1`; give one of them another name");
}

#[test]
fn answers_are_read_by_their_query() {
    let (a, b) = (by_pattern("{a}", &["a"]), by_pattern("{b} V", &["b"]));
    let lines = TextLines::answers(None, vec![a, b]).unwrap();
    let answer = |query: u16, line: &str| {
        let bytes = [&query.to_le_bytes()[..], line.as_bytes()].concat();
        decoded(&lines, RecordKind::TextAnswer, &bytes).map_err(|e| e.to_string())
    };
    assert_eq!(answer(0, "1.5"), Ok(vec![("a".to_owned(), Raw::Number(1.5))]));
    assert_eq!(answer(1, "1.5 V"), Ok(vec![("b".to_owned(), Raw::Number(1.5))]));
    assert!(answer(1, "1.5").is_err());
    assert_eq!(answer(2, "1.5"), Err("query 2 is not in the instrument's list".to_owned()));
    assert!(decoded(&lines, RecordKind::TextAnswer, &[0]).is_err());
}

fn nmea(fields: Vec<TextField>) -> TextLines {
    let checksum = LineChecksum {
        algorithm: Checksum::by_name("xor").unwrap(),
        after: Some("$".to_owned()),
        before: Some("*".to_owned()),
        covers_marks: false,
        written: Written::Hex,
    };
    let format = TextFormat::new(Some("$GPGGA,".to_owned()), ',', fields).unwrap().with_more_fields();
    TextLines::new(Some(checksum), vec![format]).unwrap()
}

/// The widely published sample sentence of NMEA 0183 (from memory).
const SENTENCE: &str = "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47";

#[test]
fn the_sample_sentence_is_read_and_no_other() {
    let lines = nmea(vec![field("satellites", 7), field("altitude", 9)]);
    assert_eq!(told(&lines, SENTENCE), "satellites=8 altitude=545.4");
    assert_eq!(told(&lines, &SENTENCE.replace("*47", "*48")), "column 64: the checksum is wrong");
    assert_eq!(told(&lines, &SENTENCE.replace("*47", "")), "column 63: the mark before the checksum is not there");
    assert_eq!(
        told(&lines, &SENTENCE.replace("*47", "*4")),
        "column 64: the checksum is not written as the format says"
    );
}

#[test]
fn checksums_of_other_kinds() {
    let with = |algorithm: &str, after: Option<&str>, before: Option<&str>, covers_marks, written| {
        let algorithm = Checksum::by_name(algorithm).unwrap();
        let (after, before) = (after.map(str::to_owned), before.map(str::to_owned));
        let checksum = LineChecksum { algorithm, after, before, covers_marks, written };
        TextLines::new(Some(checksum), vec![TextFormat::new(None, ',', vec![field("a", 1)]).unwrap()]).unwrap()
    };
    // 'A' is 65; "1.5" sums to 49 + 46 + 53 = 148; with the comma 192.
    assert_eq!(told(&with("sum-8", None, Some(","), false, Written::Decimal), "1.5,148"), "a=1.5");
    assert_eq!(told(&with("sum-8", None, Some(","), true, Written::Decimal), "1.5,192"), "a=1.5");
    assert_eq!(told(&with("sum-16", None, None, false, Written::Decimal), "1.500148"), "a=1.5");
    // CRC-16/ARC of "123456789" is BB3D (the catalogue's check value).
    assert_eq!(told(&with("CRC-16/ARC", None, None, false, Written::Hex), "123456789bb3d"), "a=123456789");
    assert_eq!(told(&with("CRC-16/ARC", None, Some("\t"), false, Written::Hex), "123456789\tBB3D \r"), "a=123456789");
    assert!(told(&with("sum-8", None, Some(","), false, Written::Decimal), "1.5,-148").contains("not written"));
    assert!(told(&with("xor", Some("!"), Some("*"), false, Written::Hex), "1.5*2A").contains("not there"));
    let empty = LineChecksum {
        algorithm: Checksum::by_name("xor").unwrap(),
        after: None,
        before: Some(String::new()),
        covers_marks: false,
        written: Written::Hex,
    };
    assert!(TextLines::new(Some(empty), vec![by_pattern("{a}", &["a"])]).is_err());
}

/// Lines that a framer finds in a stream, read: what a source and the core do together.
fn readings(stream: &[u8], cuts: &[usize]) -> Vec<String> {
    let lines = nmea(vec![field("satellites", 7), field("altitude", 9)]);
    let mut framer = LineFramer::new(100);
    let mut out = Vec::new();
    let mut sizes = cuts.iter().cycle();
    let mut rest = stream;
    while !rest.is_empty() {
        let n = (*sizes.next().unwrap()).clamp(1, rest.len());
        framer.push(EventTime(0), &rest[..n], &mut |_, f| {
            if let Framed::Message(line) = f {
                out.push(told(&lines, std::str::from_utf8(line).unwrap()));
            }
        });
        rest = &rest[n..];
    }
    out
}

proptest! {
    /// A changed byte anywhere never gives a value: one exclusive or over the line finds every single byte.
    #[test]
    fn a_changed_byte_never_gives_a_value(place in 0usize..65, change in 1u8..=255) {
        let mut bytes = SENTENCE.as_bytes().to_vec();
        bytes[place] ^= change;
        let lines = nmea(vec![field("satellites", 7), field("altitude", 9)]);
        let said = decoded(&lines, RecordKind::TextLine, &bytes);
        // A small digit of the checksum says the same as a capital one.
        prop_assert!(said.is_err() || bytes.eq_ignore_ascii_case(SENTENCE.as_bytes()), "{:?}", said);
    }

    #[test]
    fn noise_and_cuts_make_no_difference(
        noise in prop::collection::vec(prop::sample::select(b"$*,1x\r\n\xFF ".to_vec()), 0..60),
        cuts in prop::collection::vec(1usize..30, 1..10),
        ends in prop::collection::vec(prop::sample::select(vec!["\r", "\n", "\r\n"]), 3),
    ) {
        let sentence = |i: usize| [SENTENCE.as_bytes(), ends[i].as_bytes()].concat();
        let stream = [&sentence(0)[..], &noise, b"\n", &sentence(1), &sentence(2)].concat();
        let whole = readings(&stream, &[stream.len()]);
        prop_assert_eq!(&readings(&stream, &cuts), &whole);
        // The first line may have begun before we listened; the two behind the noise are read.
        prop_assert_eq!(whole.iter().filter(|t| *t == "satellites=8 altitude=545.4").count(), 2);
    }

    #[test]
    fn any_line_never_panics(line in prop::collection::vec(any::<u8>(), 0..80)) {
        let lines = nmea(vec![field("a", 2)]);
        let _ = decoded(&lines, RecordKind::TextLine, &line);
        let _ = decoded(&lines, RecordKind::TextLine, &[b"$GPGGA,", &line[..], b"*00"].concat());
        let pattern: TextLines = by_pattern("T {a} {:3}{b:4}x{}", &["a", "b"]).into();
        let _ = decoded(&pattern, RecordKind::TextLine, &[b"T ", &line[..]].concat());
        let _ = decoded(&pattern, RecordKind::TextAnswer, &line);
    }

    #[test]
    fn any_pattern_never_panics(pattern in "[{}a:0-9 .\u{b0}]{0,12}") {
        let _ = TextFormat::pattern(&pattern, false, vec![field("a", 0)]);
    }
}
