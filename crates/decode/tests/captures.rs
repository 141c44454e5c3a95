//! Candump text and tables, line by line.
#![allow(clippy::unwrap_used)]

use decode::can::CanFrame;
use decode::capture::candump::{Form, parse_line, parse_terminal_line, stamp};
use decode::capture::table::{Head, TableFormat, TableOptions};
use decode::{Decoder, Raw};
use proptest::prelude::*;
use stream::{EventTime, RawRecord, Reason, RecordKind, SourceId};

#[test]
fn candump_forms() {
    type Case = (&'static str, i64, u32, u8, u8, &'static [u8]);
    let cases: [Case; 11] = [
        ("(1700000000.123456) can0 123#1122", 1_700_000_000_123_456_000, 0x123, 0, 2, &[0x11, 0x22]),
        (
            "(1.000000) vcan1 0CF00400#FF7D7DE015FFF0FF",
            1_000_000_000,
            0x8CF0_0400,
            0,
            8,
            &[0xFF, 0x7D, 0x7D, 0xE0, 0x15, 0xFF, 0xF0, 0xFF],
        ),
        ("(1.5) can0 7ff#", 1_500_000_000, 0x7FF, 0, 0, &[]),
        ("(0.123456789) can0 123#aB R\n", 123_456_789, 0x123, 0, 1, &[0xAB]),
        ("(1.0) can0 123#AB T\r\n", 1_000_000_000, 0x123, 0, 1, &[0xAB]),
        ("(1.0) can0 123#R", 1_000_000_000, 0x4000_0123, 0, 0, &[]),
        ("(1.0) can0 12345678#R8 R", 1_000_000_000, 0xD234_5678, 0, 8, &[]),
        ("(1.0) can0 123##0", 1_000_000_000, 0x123, 1, 0, &[]),
        (
            "(1.0) can0 123##3000102030405060708090A0B",
            1_000_000_000,
            0x123,
            7,
            12,
            &[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11],
        ),
        ("(1.0) can0 20000004#0004000000000000", 1_000_000_000, 0x2000_0004, 0, 8, &[0, 4, 0, 0, 0, 0, 0, 0]),
        (
            "(1.0) can0 123#0011223344556677_E",
            1_000_000_000,
            0x123,
            0,
            8,
            &[0, 0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x77],
        ),
    ];
    for (line, time_ns, id, flags, len, data) in cases {
        let read = parse_line(line.as_bytes()).unwrap().unwrap();
        assert_eq!(
            (read.time_ns, read.id, read.flags, read.len, read.data()),
            (time_ns, id, flags, len, data),
            "{line}"
        );
        let payload = read.frame(2).payload();
        let expected = CanFrame { id, flags, len, interface: 2, data };
        assert_eq!(CanFrame::parse(&payload), Ok(expected), "{line}");
    }
    assert_eq!(parse_line(b"(1.0) can0 123#00").unwrap().unwrap().interface, b"can0");
    assert_eq!(parse_line(b"   \r\n"), Ok(None));
    assert_eq!(parse_line(b"# made by hand"), Ok(None));
}

/// Lines as written by `asc2log` of can-utils (Debian) from a log of our own invention.
#[test]
fn lines_written_by_can_utils() {
    let read = |line: &'static [u8]| {
        let l = parse_line(line).unwrap().unwrap();
        (l.time_ns, l.id, l.len, l.data().to_vec())
    };
    assert_eq!(
        read(b"(1795595607.461653) can0 123#112233 R"),
        (1_795_595_607_461_653_000, 0x123, 3, vec![0x11, 0x22, 0x33])
    );
    assert_eq!(
        read(b"(1795595607.461753) can0 1ABCDEF0#0001020304050607 T"),
        (1_795_595_607_461_753_000, 0x9ABC_DEF0, 8, vec![0, 1, 2, 3, 4, 5, 6, 7])
    );
    assert_eq!(read(b"(1795595607.461558) can0 7FF#R R"), (1_795_595_607_461_558_000, 0x4000_07FF, 0, vec![]));
}

/// The same frames as candump shows them on a terminal: the second column was written by `log2long` of can-utils
/// (Debian) from the first, which is of our own invention.
#[test]
fn both_forms_of_a_frame_are_one_frame() {
    let pairs = [
        (
            "(1436509052.249713) can0 044#2A366B",
            "(1436509052.249713)  can0       044   [3]  2A 36 6B                  '*6k'",
        ),
        (
            "(1436509052.250713) can0 12345678#0011223344556677",
            "(1436509052.250713)  can0  12345678   [8]  00 11 22 33 44 55 66 77   '..\"3DUfw'",
        ),
        ("(1436509052.251713) can0 123#R", "(1436509052.251713)  can0       123   [0]  remote request"),
        ("(1436509052.251713) can0 123#R4", "(1436509052.251713)  can0       123   [4]  remote request"),
        (
            "(1436509052.252713) can0 123##0000102030405060708090A0B",
            "(1436509052.252713)  can0       123  [12]  00 01 02 03 04 05 06 07 08 09 0A 0B",
        ),
        (
            "(1436509052.252713) can0 123##00001020304050607",
            "(1436509052.252713)  can0       123  [08]  00 01 02 03 04 05 06 07   '........'",
        ),
        (
            "(1436509052.253713) can0 20000004#0004000000000000",
            "(1436509052.253713)  can0  20000004   [8]  00 04 00 00 00 00 00 00   ERRORFRAME",
        ),
        ("(1436509052.253713) can0 123#", "(1436509052.253713)  can0       123   [0]                            ''"),
        ("(1436509052.253713) can0 123##0", "(1436509052.253713)  can0       123  [00]                            ''"),
        // Forms of candump itself (from memory): other columns, direction and flags, a date.
        ("(1436509052.252713) can0 123##300", " (1436509052.252713)  can0  RX B E  123  [01]  00"),
        ("(1436509052.252713) can0 123#00", " (1436509052.252713)  can0  TX - -  123   [1]  00\r\n"),
        ("(2015-07-10 06:17:32.252713) can0 123#00", " (2015-07-10 06:17:32.252713)  can0  123   [1]  00"),
    ];
    for (log, terminal) in pairs {
        assert_eq!(Form::of(log.as_bytes()), Some(Form::Log));
        assert_eq!(Form::of(terminal.as_bytes()), Some(Form::Terminal));
        let shown = parse_terminal_line(terminal.as_bytes()).unwrap_or_else(|e| panic!("{terminal}: {e}"));
        assert_eq!(parse_line(log.as_bytes()).unwrap(), shown, "{terminal}");
        assert_eq!(stamp(log.as_bytes()), Some(1_436_509_052_000_000_000 + shown.unwrap().time_ns % 1_000_000_000));
    }
    for none in ["", "# made by hand", "\tprotocol-violation{{tx-recessive-bit-error}{}}"] {
        assert_eq!(parse_terminal_line(none.as_bytes()), Ok(None));
    }
    assert_eq!(Form::of(b"# [2]"), None);
}

#[test]
fn malformed_terminal_lines() {
    let lines = [
        "  can0  123   [2]  11 22",
        " (1.0)  can0  123  11 22",
        " (1.0)  can0  123   [2]",
        " (1.0)  can0  123   [2]  11",
        " (1.0)  can0  123   [2]  1122",
        " (1.0)  can0  123   [2]  00010001 00100010",
        " (1.0)  can0  123   [2]  22`11",
        " (1.0)  can0  123   [9]  11",
        " (1.0)  can0  123  [09]  11",
        " (1.0)  can0  800   [0]",
        " (1.0)  can0  12G   [0]",
        " (1.0)  can0  RX  123   [0]",
        " (1.0)  can0",
        " (1.0)  can0  123   [1]  11  22",
        " (1.0)  can0  123   [1]  11   ERRORFRAME",
        " (one)  can0  123   [1]  11",
        " (1.0)  \u{1b}[34mcan0  123   [1]  11",
        "DROPCOUNT: dropped 3 CAN frames on 'can0' socket (total drops 3)",
    ];
    let said = lines.map(|l| format!("{l:?}: {}", parse_terminal_line(l.as_bytes()).unwrap_err()));
    insta::assert_snapshot!(said.join("\n"));
}

#[test]
fn malformed_candump_lines() {
    let lines = [
        "1700000000.123456 can0 123#1122",
        "(1700000000) can0 123#1122",
        "(1.1234567890) can0 123#1122",
        "(99999999999.0) can0 123#1122",
        "(9999999999.0) can0 123#1122",
        "(1.0 can0 123#1122",
        "(1.0)can0 123#1122",
        "(1.0)  123#1122",
        "(1.0) can0 1234#1122",
        "(1.0) can0 800#1122",
        "(1.0) can0 FFFFFFFF#1122",
        "(1.0) can0 123 1122",
        "(1.0) can0 123#112",
        "(1.0) can0 123#11 22",
        "(1.0) can0 123#001122334455667788",
        "(1.0) can0 123#R9",
        "(1.0) can0 123##8",
        "(1.0) can0 123##0000102030405060708",
        "(1.0) can0 123#11 X",
    ];
    let said = lines.map(|l| format!("{l}: {}", parse_line(l.as_bytes()).unwrap_err()));
    insta::assert_snapshot!(said.join("\n"), @r#"
    1700000000.123456 can0 123#1122: column 1: expected `(seconds.fraction) interface ID#DATA`
    (1700000000) can0 123#1122: column 2: the time stamp must be whole seconds, a point and 1 to 9 further digits
    (1.1234567890) can0 123#1122: column 2: the time stamp must be whole seconds, a point and 1 to 9 further digits
    (99999999999.0) can0 123#1122: column 2: the time stamp must be whole seconds, a point and 1 to 9 further digits
    (9999999999.0) can0 123#1122: column 2: the time stamp lies after the year 2262
    (1.0 can0 123#1122: column 5: `)` is missing after the time stamp
    (1.0)can0 123#1122: column 6: a blank is missing here; expected `(seconds.fraction) interface ID#DATA`
    (1.0)  123#1122: column 7: the interface's name is missing, or longer than 15 characters
    (1.0) can0 1234#1122: column 12: the identifier has 4 hexadecimal digits; it must have 3 or 8
    (1.0) can0 800#1122: column 12: the identifier is larger than 7FF (3 digits) or 1FFFFFFF (8 digits)
    (1.0) can0 FFFFFFFF#1122: column 12: the identifier is larger than 7FF (3 digits) or 1FFFFFFF (8 digits)
    (1.0) can0 123 1122: column 15: `#` is missing after the identifier
    (1.0) can0 123#112: column 18: half a byte: data is pairs of hexadecimal digits
    (1.0) can0 123#11 22: column 18: unexpected text; data is pairs of hexadecimal digits, then at most ` R` or ` T`
    (1.0) can0 123#001122334455667788: column 32: more than 8 data bytes
    (1.0) can0 123#R9: column 17: a remote frame asks for 0 to 8 bytes
    (1.0) can0 123##8: column 17: the flags of an FD frame are one digit from 0 to 7
    (1.0) can0 123##0000102030405060708: column 18: 9 data bytes; an FD frame has 0 to 8, 12, 16, 20, 24, 32, 48 or 64
    (1.0) can0 123#11 X: column 18: unexpected text; data is pairs of hexadecimal digits, then at most ` R` or ` T`
    "#);
}

fn head(text: &str) -> Result<(TableFormat, usize), String> {
    let lines: Vec<&[u8]> = text.as_bytes().split_inclusive(|b| *b == b'\n').collect();
    // Only times that count from a start may have one.
    let start_ns = Some(1_000_000_000).filter(|_| !text.contains("UTC") && !text.contains("RFC"));
    let options = TableOptions { start_ns, ..TableOptions::default() };
    Head::find(&lines, &options).map(|h| (h.format, h.lines)).map_err(|e| e.to_string())
}

fn row(format: &TableFormat, row: &str) -> Result<Vec<Raw>, String> {
    let decoder = Decoder::table(format.clone()).unwrap();
    let (source, kind) = (SourceId(0), RecordKind::Row);
    let payload = row.bytes().collect();
    let record = RawRecord { source, sequence: 0, event_time: EventTime(0), kind, payload };
    let mut out = Vec::new();
    decoder
        .decode(&record, &mut |i, raw| {
            assert_eq!(usize::from(i), out.len());
            out.push(raw);
        })
        .map_err(|e| e.to_string())?;
    Ok(out)
}

#[test]
fn heads_with_a_units_row_or_units_in_headers() {
    let readings = |text: &str| {
        let (format, rows) = head(text).unwrap();
        let named = |r: &decode::ReadingInfo| format!("{}/{}", r.name, r.unit.as_deref().unwrap_or("none"));
        (format.readings().iter().map(named).collect::<Vec<_>>().join(" "), rows)
    };
    assert_eq!(readings("time,T1,\"a, b\"\ns,degC,\n0,1,2\n"), ("T1/degC a, b/none".to_owned(), 2));
    assert_eq!(readings("\u{feff}time;T1\r\nms;degC\r\n0;1\r\n"), ("T1/degC".to_owned(), 2));
    assert_eq!(readings("time [s],T1 [degC],ratio\n0,1,2\n"), ("T1/degC ratio/none".to_owned(), 1));
    assert_eq!(readings("time,\"T \"\"1\"\"\"\nUTC,1\n"), ("T \"1\"/1".to_owned(), 2));
}

#[test]
fn cells_are_numbers_or_say_why_not() {
    let (format, _) = head("time,a,b,c,d,e\ns,,,,,\n").unwrap();
    let nothing = Raw::Nothing;
    assert_eq!(
        row(&format, "0, 1.5 ,,n/a,\"2,5\",\"-3e2\"\r\n").unwrap(),
        [
            Raw::Number(1.5),
            nothing(Reason::NotAvailable),
            nothing(Reason::NotANumber),
            nothing(Reason::NotANumber),
            Raw::Number(-300.0)
        ]
    );
    assert_eq!(row(&format, "0,NaN,inf,1e999,\"1\"x,\"1").unwrap(), [nothing(Reason::NotANumber); 5]);
    assert_eq!(row(&format, "0,,,,,").unwrap(), [nothing(Reason::NotAvailable); 5]);
}

#[test]
fn times_of_rows() {
    let time = |head_text: &str, row: &str| head(head_text).unwrap().0.row_time(row.as_bytes()).unwrap();
    assert_eq!(time("t,a\ns,K\n", "12.5,1"), 13_500_000_000);
    assert_eq!(time("t,a\nms,K\n", "\"12.5\",1\r\n"), 1_012_500_000);
    assert_eq!(time("t [us],a [K]\n", "-3,1"), 999_997_000);
    assert_eq!(time("t,a\nRFC 3339,K\n", "1970-01-01T01:00:00.25+01:00,1"), 250_000_000);
}

#[test]
fn malformed_heads() {
    let heads = [
        "",
        "\n",
        "time T1\ns degC\n",
        "time,T1",
        "time,T1\n0.0,21.5\n",
        "time,T1\n2026-01-01T00:00:00Z,21.5\n",
        "time,T1\ns\n",
        "time,T1\nday,degC\n",
        "time,T1,T1\ns,degC,degC\n",
        "time,,T1\ns,degC,degC\n",
        "time,T1\ns,21.5\n",
        "time [d],T1 [degC]\n",
    ];
    let said = heads.map(|h| format!("{h:?}: {}", head(h).unwrap_err()));
    insta::assert_snapshot!(said.join("\n"));
    let latin = Head::find(&[b"time,T_\xE9", b"s,K"], &TableOptions::default()).unwrap_err();
    assert_eq!(
        latin.to_string(),
        "line 1, column 8: this is not UTF-8 text; write encoding = \"windows-1252\" if it is from such a program"
    );
}

#[test]
fn malformed_rows() {
    let (format, _) = head("time,a,b\ns,K,K\n").unwrap();
    let (dated, _) = head("time,a,b\nUTC,K,K\n").unwrap();
    let time = |format: &TableFormat, row: &str| format!("{row:?}: {}", format.row_time(row.as_bytes()).unwrap_err());
    let said = [
        time(&format, "1,2"),
        time(&format, "1,2,3,4"),
        time(&format, ""),
        time(&format, "1;2;3"),
        time(&format, "1,\"2,3\""),
        time(&format, ",2,3"),
        time(&format, "one,2,3"),
        time(&format, "1e,2,3"),
        time(&format, "99999999999,2,3"),
        time(&dated, "2026-02-30T00:00:00Z,2,3"),
        time(&dated, "2026-02-03T00:00:00,2,3"),
        time(&dated, "1.5,2,3"),
        format!("decoded: {}", row(&format, "1,2").unwrap_err()),
    ];
    insta::assert_snapshot!(said.join("\n"));
}

proptest! {
    #[test]
    fn candump_lines_read_back(
        sec in 0i64..4_000_000_000, us in 0i64..1_000_000, id in 0u32..0x2000_0000, extended: bool,
        data in prop::collection::vec(any::<u8>(), 0..=8),
    ) {
        let hex: String = data.iter().map(|b| format!("{b:02X}")).collect();
        let (id, text) = if extended { (id | CanFrame::EXTENDED, format!("{id:08X}")) } else { (id & 0x7FF, format!("{:03X}", id & 0x7FF)) };
        let line = format!("({sec}.{us:06}) can0 {text}#{hex}");
        let read = parse_line(line.as_bytes()).unwrap().unwrap();
        prop_assert_eq!((read.time_ns, read.id, read.data()), (sec * 1_000_000_000 + us * 1000, id, &data[..]));
    }

    #[test]
    fn random_lines_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..120), near in "[(]1[.]0[)] can0 [0-9A-F#R_ ]{0,40}") {
        let _ = parse_line(&bytes);
        let _ = parse_line(near.as_bytes());
        let _ = (parse_terminal_line(&bytes), parse_terminal_line(near.as_bytes()), Form::of(&bytes), stamp(&bytes));
        let lines: Vec<&[u8]> = bytes.split(|b| *b == b'\n').collect();
        let _ = Head::find(&lines, &TableOptions::default());
        let (format, _) = head("time,a,b\ns,K,K\n").unwrap();
        let _ = format.row_time(&bytes);
        let _ = row(&format, &String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn random_rows_never_panic(text in "[0-9\",;. ]{0,40}") {
        let (format, _) = head("time,a,b\ns,K,K\n").unwrap();
        let _ = format.row_time(text.as_bytes());
        if let Ok(cells) = row(&format, &text) {
            prop_assert_eq!(cells.len(), 2);
        }
    }
}
