//! Databases as they are in the field: forms of writing, multiplexing in several levels, large offsets, words, long
//! names, several on one bus.
#![allow(clippy::unwrap_used)]

use decode::can::j1939::Senders;
use decode::can::{CanDatabase, CanFrame, Code, DatabaseText, Outcome};
use decode::{DecodeError, Decoder, Raw, Unmapped};
use proptest::prelude::*;
use stream::Reason;

fn load(text: &str) -> CanDatabase {
    CanDatabase::load(text, "unit.dbc").unwrap()
}

fn decode(db: &CanDatabase, frame: &CanFrame<'_>) -> Result<Vec<(String, Raw)>, DecodeError> {
    let mut out = Vec::new();
    db.decode_frame(frame, &mut |i, raw| out.push((db.readings()[usize::from(i)].name.clone(), raw)))?;
    Ok(out)
}

fn numbers(db: &CanDatabase, id: u32, data: &[u8]) -> Vec<(String, f64)> {
    let all = decode(db, &CanFrame::data(id, 0, data)).unwrap();
    all.into_iter().map(|(n, r)| (n.rsplit('.').next().unwrap().to_owned(), r.number().unwrap())).collect()
}

fn names(db: &CanDatabase, id: u32, data: &[u8]) -> Vec<String> {
    numbers(db, id, data).into_iter().map(|(n, _)| n).collect()
}

fn notes(db: &CanDatabase) -> Vec<String> {
    db.notes().iter().map(ToString::to_string).collect()
}

/// One message, one signal, in forms that editors and people write; each must be the same to the bit.
#[test]
fn forms_of_writing() {
    let plain = "BO_ 1 M: 8 A\n SG_ X : 0|16@1- (0.5,-3) [0|0] \"K\" B\n";
    let forms = [
        "BO_ 1 M:8 A\n SG_ X:0|16@1-(0.5,-3)[0|0]\"K\"B\n",
        "BO_ 1 M : 8 A\r\n SG_ X  :  0 | 16 @ 1 - ( 0.5 , -3 ) [ 0 | 0 ] \"K\" B , A\r\n",
        "BO_ 1 M: 8 A\r SG_ X : 0|16@1- (5E-1,-3.) [-1e400|1.#INF] \"K\" B\r",
        "BO_ 1 M: 8 A SG_ X : 0|16@1- (0.5,-3) [0|0] \"K\" B BO_ 2 N: 8 A",
        "BO_\t1\tM:\t8\tA\n\tSG_\tX\t:\t0|16@1-\t(.5,-3.0)\t[0|0]\n\"K\"\n B,\n A\n",
        "BO_ 1 M: 8\n SG_ X : 0|16@1- (+0.5,-3) [0|0] \"K\"\n",
        "BU_: A B\nBU_BO_REL_ A 1 1;\nBO_ 1 M: 8 Vector__XXX\n SG_ X : 0|16@1- (0.5,-3) [0|0] \"K\" Vector__XXX\n\u{1a}",
        "NS_ :\n\tNS_DESC_\n\tCM_\n\tBA_DEF_ BA_\n\tFILTER\n\nBS_: 500 : 0,0\n\nBU_:\n\nBO_ 1 M: 8 A // why\n \
         SG_ X : 0|16@1- (0.5,-3) [0|0] \"K\" B\n/* BO_ 3 */\n",
        "VERSION \"\"\nCM_ \"BO_ 9 Z: 8 A ; it said \\\"no\\\"\nBO_ 8 Y: 8 A\n\";\nBO_ 1 M: 8 A\n SG_ X : 0|16@1- (0.5,-3) \
         [0|0] \"K\" B\nCM_ SG_ 1 X \"a; b\";\n",
        "SGTYPE_ T : 8@1+ (1,0) [0|0] \"\" 0, V;\nEV_ E: 0 [0|1] \"\" 0 1 D V;\nBO_ 1 M: 8 A\n SG_ X : 0|16@1- (0.5,-3) \
         [0|0] \"K\" B\nBO_TX_BU_ 1 : A,B;\nSIG_GROUP_ 1 G 1 : X;\n",
    ];
    let expected = numbers(&load(plain), 1, &[0x34, 0xF2, 0, 0, 0, 0, 0, 0]);
    assert_eq!(expected, [("X".to_owned(), f64::from(0xF234_u16 as i16) * 0.5 - 3.0)]);
    for form in forms {
        let db = load(form);
        assert_eq!(numbers(&db, 1, &[0x34, 0xF2, 0, 0, 0, 0, 0, 0]), expected, "{form}");
        assert_eq!(db.readings()[0].unit.as_deref(), Some("K"), "{form}");
        assert_eq!(notes(&db), [""; 0], "{form}");
    }
}

const LEVELS: &str = "BO_ 1 M: 8 A
 SG_ Top M : 0|4@1+ (1,0) [0|0] \"\" B
 SG_ Inner m1M : 4|4@1+ (1,0) [0|0] \"\" B
 SG_ Shared m0 : 8|8@1+ (1,0) [0|0] \"\" B
 SG_ Deep m2 : 16|8@1+ (1,0) [0|0] \"\" B
 SG_ Deeper m3 : 16|8@1+ (1,0) [0|0] \"\" B
 SG_ Plain : 56|8@1+ (1,0) [0|0] \"\" B
SG_MUL_VAL_ 1 Inner Top 1-1;
SG_MUL_VAL_ 1 Shared Top 0-1, 5-7;
SG_MUL_VAL_ 1 Deep Inner 2-2;
SG_MUL_VAL_ 1 Deeper Inner 3-9, 12-12;
";

#[test]
fn multiplexing_in_levels_and_ranges() {
    let db = load(LEVELS);
    assert_eq!(notes(&db), [""; 0]);
    let of = |top: u8, inner: u8| names(&db, 1, &[top | inner << 4, 0, 0, 0, 0, 0, 0, 0]);
    assert_eq!(of(0, 2), ["Top", "Plain", "Shared"]);
    assert_eq!(of(1, 2), ["Top", "Plain", "Shared", "Inner", "Deep"]);
    assert_eq!(of(1, 3), ["Top", "Plain", "Shared", "Inner", "Deeper"]);
    assert_eq!(of(1, 9), of(1, 12));
    assert_eq!(of(1, 10), ["Top", "Plain", "Shared", "Inner"]);
    assert_eq!(of(7, 3), ["Top", "Plain", "Shared"]);
    assert_eq!(of(4, 3), ["Top", "Plain"]);
    // The other way: the multiplexors follow from the signal.
    assert_eq!(db.encode("M", &[("Deeper", 7.0)]).unwrap().data, [0x31, 0, 7, 0, 0, 0, 0, 0]);
    let wrong = db.encode("M", &[("Top", 4.0), ("Deep", 7.0)]).unwrap_err().to_string();
    assert_eq!(wrong, "message `M`, signal `Inner` is sent under multiplexor value 1, which is 4 here");
}

#[test]
fn one_multiplexor_and_ranges_that_meet() {
    let text = "BO_ 1 M: 8 A\n SG_ S M : 0|8@1+ (1,0) [0|0] \"\" B\n SG_ P m0 : 8|8@1+ (1,0) [0|0] \"\" B\n \
                SG_ Q m3 : 16|8@1+ (1,0) [0|0] \"\" B\nSG_MUL_VAL_ 1 P S 2-5;\nSG_MUL_VAL_ 1 Q S 4-6;\n";
    let db = load(text);
    let of = |s: u8| names(&db, 1, &[s, 0, 0, 0, 0, 0, 0, 0]);
    assert_eq!((of(0), of(1)), (vec!["S".into(), "P".into()], vec!["S".to_owned()]));
    assert_eq!((of(3), of(4)), (vec!["S".to_owned(), "P".into(), "Q".into()], of(5)));
    assert_eq!(of(6), ["S", "Q"]);
}

#[test]
fn what_selects_nobody_can_tell() {
    let text = LEVELS.replace("SG_MUL_VAL_ 1 Inner Top 1-1;\n", "").replace("Deeper Inner 3", "Deeper Plain 3");
    let db = load(&text);
    assert_eq!(names(&db, 1, &[0x21, 0, 0, 0, 0, 0, 0, 0]), ["Top", "Plain", "Shared"]);
    insta::assert_snapshot!(notes(&db).join("\n"), @r"
    unit.dbc:3: message `M`, signal `Inner`: multiplexed, and no SG_MUL_VAL_ says by which signal (others marked M: 1); correct the marks or add the statement (left out)
    unit.dbc:5: message `M`, signal `Deep`: its multiplexor `Inner` was left out (left out)
    unit.dbc:6: message `M`, signal `Deeper`: its multiplexor `Plain` is not marked M (left out)
    ");
    let circle = LEVELS.replace("Inner Top 1-1", "Inner Inner 1-1");
    insta::assert_snapshot!(notes(&load(&circle)).join("\n"), @r"
    unit.dbc:3: message `M`, signal `Inner`: its multiplexor `Inner` is selected by itself, by way of others (left out)
    unit.dbc:5: message `M`, signal `Deep`: its multiplexor `Inner` is selected by itself, by way of others (left out)
    unit.dbc:6: message `M`, signal `Deeper`: its multiplexor `Inner` is selected by itself, by way of others (left out)
    ");
}

/// Signals that share bits are decoded, and refused where somebody wants to map them; their neighbours are not.
#[test]
fn overlapping_signals_are_told_and_not_mapped() {
    let text = "BO_ 1 M: 8 A\n SG_ X : 0|12@1+ (1,0) [0|0] \"\" B\n SG_ Y : 8|8@1+ (1,0) [0|0] \"\" B\n \
                SG_ Z : 16|8@1+ (1,0) [0|0] \"\" B\nBO_ 2 N: 1 A\n SG_ W : 4|8@1+ (1,0) [0|0] \"\" B\n";
    let db = load(text);
    assert_eq!(numbers(&db, 1, &[1, 2, 3, 0, 0, 0, 0, 0]).len(), 3);
    let said =
        "unit.dbc:3: message `M`: signals `Y` and `X` (line 2) share bit 8; check start bits, sizes and byte orders";
    assert_eq!((db.refusal("M.X").as_deref(), db.refusal("M.Y").as_deref()), (Some(said), Some(said)));
    assert_eq!((db.refusal("M.Z"), db.refusal("M.None")), (None, None));
    assert!(db.refusal("N.W").unwrap().starts_with("unit.dbc:6: message `N`, signal `W`: bits 4|8@1 reach byte 2"));
    let outcomes: Vec<_> = db.notes().iter().map(|n| n.outcome).collect();
    assert_eq!(outcomes, [Outcome::NotMappable, Outcome::LeftOut]);
}

/// Integers near the ends of their range, where double precision alone would lose what the offset lays bare.
#[test]
fn large_offsets_are_exact() {
    let text = "BO_ 1 M: 8 A\n SG_ U : 0|64@1+ (1,-9223372036854775808) [0|0] \"\" B\n\
                BO_ 2 N: 8 A\n SG_ S : 7|64@0- (-2,12345678901234567) [0|0] \"\" B\n\
                BO_ 3 O: 8 A\n SG_ F : 0|64@1+ (1.0,-1e18) [0|0] \"\" B\n";
    let db = load(text);
    assert_eq!(numbers(&db, 1, &(0x8000_0000_0000_0005_u64).to_le_bytes()), [("U".to_owned(), 5.0)]);
    let raw = 6_172_839_450_617_280_i64;
    assert_eq!(numbers(&db, 2, &raw.to_be_bytes()), [("S".to_owned(), 7.0)]);
    assert_eq!(numbers(&db, 3, &(10_u64.pow(18) + 3).to_le_bytes()), [("F".to_owned(), 3.0)]);
}

#[test]
fn words_and_long_names() {
    let text = "VAL_TABLE_ Switch 0 \"off\" 1 \"on\" ;\n\
                BO_ 1 M_cut_of: 8 A\n SG_ State : 0|8@1- (1,0) [0|0] \"\" B\n SG_ Lamp : 8|2@1+ (1,0) [0|0] \"\" B\n\
                VAL_ 1 State -1 \"fault \\\"x\\\"\" 2.0 \"two; and\nthree\" ;\nVAL_ 1 Lamp Switch ;\nVAL_ Env 0 \"a\" ;\n\
                VAL_ 1 Lamp_ 0 \"no\" ;\nBA_DEF_ SG_ \"SystemSignalLongSymbol\" STRING;\n\
                BA_ \"SystemMessageLongSymbol\" BO_ 1 \"Message_cut_off\";\n\
                BA_ \"SystemSignalLongSymbol\" SG_ 1 State \"State_of_the_unit\";\n";
    let db = load(text);
    let readings: Vec<_> = db.readings().iter().map(|r| r.name.as_str()).collect();
    assert_eq!(readings, ["Message_cut_off.State_of_the_unit", "Message_cut_off.Lamp"]);
    assert_eq!(db.words(0), [(-1, "fault \"x\"".to_owned()), (2, "two; and\nthree".to_owned())]);
    assert_eq!(db.words(1), [(0, "off".to_owned()), (1, "on".to_owned())]);
    let said = "unit.dbc:9: VAL_ names signal `Lamp_` of message id 1, which the database does not have (left out)";
    assert_eq!(notes(&db), [said]);
}

#[test]
fn declared_codes_are_no_numbers() {
    let mut db = load(
        "BO_ 1 M: 8 A\n SG_ X : 0|8@1- (0.5,10) [0|0] \"\" B\n SG_ F : 32|32@1- (1,0) [0|0] \"\" B\n\
         SIG_VALTYPE_ 1 F : 1;\n",
    );
    let code = |low, high, reason| Code { low, high, reason };
    db.declare(0, vec![code(-1, -1, Reason::NotAvailable), code(120, 127, Reason::ErrorCode)]).unwrap();
    let of = |raw: i8| decode(&db, &CanFrame::data(1, 0, &[raw as u8, 0, 0, 0, 0, 0, 0, 0])).unwrap()[0].1;
    assert_eq!(
        (of(-1), of(120), of(127)),
        (Raw::Nothing(Reason::NotAvailable), Raw::Nothing(Reason::ErrorCode), Raw::Nothing(Reason::ErrorCode))
    );
    assert_eq!((of(-2), of(119)), (Raw::Number(9.0), Raw::Number(69.5)));
    let wrong = |db: &mut CanDatabase, n, codes| db.declare(n, codes).unwrap_err().to_string();
    let said = [
        wrong(&mut db, 0, vec![code(255, 255, Reason::NotAvailable)]),
        wrong(&mut db, 0, vec![code(1, 3, Reason::Open), code(2, 2, Reason::Short)]),
        wrong(&mut db, 1, vec![code(0, 0, Reason::NotAvailable)]),
    ];
    insta::assert_snapshot!(said.join("\n"), @r#"
    `M.X` cannot have the raw value 255: its bits hold -128 to 127
    `M.X`: raw value 2 is declared twice, with two reasons
    `M.F` is an IEEE 754 number: its "not a number" is no value already, raw codes are for integers
    "#);
}

fn bus(files: &[(&str, &str)]) -> Result<CanDatabase, String> {
    let text = |f: &&(&str, &str)| f.1.to_owned();
    let texts: Vec<String> = files.iter().map(|f| text(&f)).collect();
    let all: Vec<DatabaseText<'_>> = files
        .iter()
        .zip(&texts)
        .map(|(f, text)| DatabaseText { file: f.0, text, j1939: Some(false), senders: Senders::AsWritten })
        .collect();
    CanDatabase::load_all(&all).map_err(|e| e.to_string())
}

#[test]
fn several_databases_on_one_bus() {
    let engine = "BO_ 1 M: 8 A\n SG_ X : 0|8@1+ (1,0) [0|0] \"K\" B\n";
    let other = "BO_ 2 N: 8 A\n SG_ X : 0|8@1+ (1,0) [0|0] \"K\" B\nBO_ 2147483649 E: 8 A\n SG_ X : 0|8@1+ (1,0) [0|0] \"\" B\n";
    let db = bus(&[("a.dbc", engine), ("b.dbc", other), ("again.dbc", engine)]).unwrap();
    let decoder = Decoder::can(db.clone()).unwrap();
    let all: Vec<_> = decoder.readings().iter().map(|r| r.name.as_str()).collect();
    assert_eq!(all, ["M.X", "N.X", "E.X"]);
    assert_eq!(numbers(&db, 2, &[7; 8]), [("X".to_owned(), 7.0)]);
    let said = [
        bus(&[("a.dbc", engine), ("b.dbc", &engine.replace("0|8", "0|9"))]).unwrap_err(),
        bus(&[("a.dbc", engine), ("b.dbc", &engine.replace("BO_ 1 M", "BO_ 1 Q"))]).unwrap_err(),
        bus(&[("a.dbc", engine), ("b.dbc", &engine.replace("BO_ 1 M", "BO_ 7 M"))]).unwrap_err(),
        bus(&[("a.dbc", engine), ("b.dbc", "BO_ x")]).unwrap_err(),
    ];
    insta::assert_snapshot!(said.join("\n"), @r"
    b.dbc:1:1: message `M` (id 0x1) is in a.dbc:1 too and differs; take one of them out
    b.dbc:1:1: message `Q` (id 0x1) is in a.dbc:1 too and differs; take one of them out
    b.dbc:1:1: message `M` (its name) is in a.dbc:1 too and differs; take one of them out
    b.dbc:1:5: the statement cannot be read from `x` on; the form is `BO_ id name: bytes sender`
    ");
}

/// Widths of 2, 4, 8, 16 and 32 bits after SAE J1939-71 (from memory), others by the same rule.
#[test]
fn j1939_codes_are_no_numbers() {
    let text = "BO_ 2364540158 EEC: 8 A
 SG_ Two : 0|2@1+ (1,0) [0|3] \"\" B
 SG_ Four : 4|4@1+ (1,0) [0|15] \"\" B
 SG_ Byte : 8|8@1+ (1,-40) [0|0] \"degC\" B
 SG_ Word : 16|16@1+ (0.125,0) [0|0] \"rpm\" B
 SG_ Long : 32|32@1+ (0.05,0) [0|0] \"\" B
BO_ 5 Eleven: 8 A
 SG_ Byte : 0|8@1+ (1,0) [0|0] \"\" B
";
    let says = format!("{text}BA_DEF_ \"ProtocolType\" STRING;\nBA_ \"ProtocolType\" \"J1939\";\n");
    let of = |text: &str, j1939, senders| {
        CanDatabase::load_all(&[DatabaseText { file: "unit.dbc", text, j1939, senders }]).unwrap()
    };
    let (na, error, range) = (Reason::NotAvailable, Reason::ErrorCode, Reason::Range);
    for db in [of(text, Some(true), Senders::AsWritten), of(&says, None, Senders::AsWritten)] {
        let read = |data: [u8; 8]| {
            let all = decode(&db, &CanFrame::data(0x8CF0_04FE, 0, &data)).unwrap();
            all.into_iter().map(|(_, r)| r).collect::<Vec<_>>()
        };
        assert_eq!(read([0xFF; 8]), [Raw::Nothing(na); 5]);
        assert_eq!(read([0xE2, 0xFE, 0x00, 0xFE, 0x00, 0x00, 0x00, 0xFE]), [Raw::Nothing(error); 5]);
        let reserved = read([0xD1, 0xFB, 0xFF, 0xFD, 0x00, 0x00, 0x00, 0xFC]);
        assert_eq!(reserved[..2], [Raw::Number(1.0), Raw::Number(13.0)]);
        assert_eq!(reserved[2..], [Raw::Nothing(range); 3]);
        let highest = read([0xD1, 0xFA, 0xFF, 0xFA, 0xFF, 0xFF, 0xFF, 0xFA]);
        assert_eq!(highest[2..4], [Raw::Number(210.0), Raw::Number(f64::from(0xFAFF) * 0.125)]);
        assert_eq!(decode(&db, &CanFrame::data(5, 0, &[0xFF; 8])).unwrap()[0].1, Raw::Number(255.0));
    }
    // Off: numbers, as the database's scale makes them.
    let off = of(&says, Some(false), Senders::AsWritten);
    assert_eq!(decode(&off, &CanFrame::data(0x8CF0_04FE, 0, &[0xFF; 8])).unwrap()[2].1, Raw::Number(215.0));
}

#[test]
fn j1939_senders_are_matched_only_where_asked() {
    let text = "BO_ 2364540158 EEC: 8 A\n SG_ Word : 16|16@1+ (0.125,0) [0|0] \"rpm\" B\n\
                BO_ 2565537790 REQ: 3 A\n SG_ Group : 0|16@1+ (1,0) [0|0] \"\" B\n";
    let of = |senders| {
        CanDatabase::load_all(&[DatabaseText { file: "unit.dbc", text, j1939: Some(true), senders }]).unwrap()
    };
    let decodes = |db: &CanDatabase, id: u32| decode(db, &CanFrame::data(id, 0, &[0; 8])).map(|r| r.len());
    let unmapped = |id: u32| Err(DecodeError::Unmapped(Unmapped::CanId(id)));
    // Parameter group 61444 with another priority and sender; 59904 with another destination and sender.
    let (eec, req) = (0x98F0_0421, 0x98EA_FF21);
    assert_eq!(decodes(&of(Senders::AsWritten), eec), unmapped(0x18F0_0421));
    assert_eq!((decodes(&of(Senders::Any), eec), decodes(&of(Senders::Any), req)), (Ok(1), Ok(1)));
    let these = of(Senders::These(vec![0x20, 0x21]));
    assert_eq!((decodes(&these, eec), decodes(&these, 0x98F0_0422)), (Ok(1), unmapped(0x18F0_0422)));
    // As written counts always; 11 bits never belong to a group.
    assert_eq!(decodes(&these, 0x8CF0_04FE), Ok(1));
    assert_eq!(decodes(&of(Senders::Any), 0x421), unmapped(0x421));
    let two = format!("{text}BO_ 2364539905 Twin: 8 A\n SG_ Word : 16|16@1+ (1,0) [0|0] \"\" B\n");
    let twice = DatabaseText { file: "unit.dbc", text: &two, j1939: Some(true), senders: Senders::Any };
    insta::assert_snapshot!(CanDatabase::load_all(&[twice]).unwrap_err().to_string(), @r"
    unit.dbc:5:1: message `Twin` has parameter group 61444, which `EEC` on line 1 has too: with `senders` only one of them is possible
    ");
}

proptest! {
    /// A database with a part of it replaced loads or is refused; frames of whatever came of it decode or do not.
    #[test]
    fn damaged_databases_never_panic(at in 0usize..400, cut in 0usize..12, put in "[ 0-9mM|@+-:;\"A-Z_\n]{0,9}", data: [u8; 8]) {
        let end = (at + cut).min(LEVELS.len());
        let text = format!("{}{put}{}", &LEVELS[..at.min(end)], &LEVELS[end..]);
        if let Ok(db) = CanDatabase::load(&text, "unit.dbc") {
            let ids: Vec<u32> = db.messages().map(|m| m.1).collect();
            for id in ids {
                let _ = decode(&db, &CanFrame::data(id, 0, &data));
            }
            let names: Vec<_> = db.readings().iter().map(|r| r.name.clone()).collect();
            for name in names {
                let (message, signal) = name.split_once('.').unwrap();
                let _ = db.encode(message, &[(signal, f64::from(data[0]))]);
                let _ = db.refusal(&name);
            }
        }
    }
}
