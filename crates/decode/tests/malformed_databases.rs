//! What is wrong in databases, each with its exact message: texts that are refused, messages and signals that are left
//! out.
#![allow(clippy::unwrap_used)]

use decode::can::CanDatabase;

const HEAD: &str = "VERSION \"\"\n\nBU_: BOX\n\n";

fn refused(body: &str) -> String {
    CanDatabase::load(&format!("{HEAD}{body}"), "unit.dbc").unwrap_err().to_string()
}

fn told(body: &str) -> String {
    let database = CanDatabase::load(&format!("{HEAD}{body}"), "unit.dbc").unwrap();
    database.notes().iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

#[test]
fn signals_that_do_not_fit() {
    let said = [
        "BO_ 1 A: 8 BOX\n SG_ X : 0|12@1+ (1,0) [0|0] \"\" BOX\n SG_ Y : 8|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 7|12@0+ (1,0) [0|0] \"\" BOX\n SG_ Y : 8|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 2 BOX\n SG_ X : 8|12@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 2 BOX\n SG_ X : 8|12@0+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 99999|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 0|0@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 64 BOX\n SG_ X : 0|65@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 65 BOX\n SG_ X : 0|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 0|8@1+ (0,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 0|8@1+ (1e300,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 0|16@1- (1,0) [0|0] \"\" BOX\n\nSIG_VALTYPE_ 1 X : 1;\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 0|32@1- (1,0) [0|0] \"\" BOX\n\nSIG_VALTYPE_ 1 Y : 1;\n",
    ];
    insta::assert_snapshot!(said.map(told).join("\n"), @r"
    unit.dbc:7: message `A`: signals `Y` and `X` (line 6) share bit 8; check start bits, sizes and byte orders (cannot be mapped to a channel)
    unit.dbc:7: message `A`: signals `Y` and `X` (line 6) share bit 12; check start bits, sizes and byte orders (cannot be mapped to a channel)
    unit.dbc:6: message `A`, signal `X`: bits 8|12@1 reach byte 3, the message has 2; check start bit, size and byte order, or the message's length (left out)
    unit.dbc:6: message `A`, signal `X`: bits 8|12@0 reach byte 4, the message has 2; check start bit, size and byte order, or the message's length (left out)
    unit.dbc:6: message `A`, signal `X`: bits 99999|8@1 reach byte 12501, the message has 8; check start bit, size and byte order, or the message's length (left out)
    unit.dbc:6: message `A`, signal `X`: 0 bits; 1 to 64 are possible (left out)
    unit.dbc:6: message `A`, signal `X`: 65 bits; 1 to 64 are possible (left out)
    unit.dbc:5: message `A`: 65 bytes; a frame has at most 8, or 64 with CAN FD, and messages sent in several frames are not put together (left out)
    unit.dbc:6: message `A`, signal `X`: scale 0.0, offset 0.0: the scale must not be 0, and no value may overflow (left out)
    unit.dbc:6: message `A`, signal `X`: scale 1e300, offset 0.0: the scale must not be 0, and no value may overflow (left out)
    unit.dbc:6: message `A`, signal `X`: SIG_VALTYPE_ says IEEE 32 bits, the signal has 16 (left out)
    unit.dbc:8: SIG_VALTYPE_ names signal `Y` of message id 1, which the database does not have (left out)
    ");
}

#[test]
fn names_ids_and_multiplexors_that_contradict_each_other() {
    let said = [
        "BO_ 1 A: 8 BOX\n SG_ X : 0|8@1+ (1,0) [0|0] \"\" BOX\n\nBO_ 1 B: 8 BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 0|8@1+ (1,0) [0|0] \"\" BOX\n\nBO_ 2 A: 8 BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 0|8@1+ (1,0) [0|0] \"\" BOX\n SG_ X : 8|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 2048 A: 8 BOX\n SG_ X : 0|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 65537 A: 8 BOX\n SG_ X : 0|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 99999999999 A: 8 BOX\n",
        "BO_ 2684354560 A: 8 BOX\n SG_ X : 0|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X m0 : 0|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ S M : 0|8@1+ (1,0) [0|0] \"\" BOX\n SG_ T M : 8|8@1+ (1,0) [0|0] \"\" BOX\n \
         SG_ X m0 : 16|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ S M : 0|2@1+ (1,0) [0|0] \"\" BOX\n SG_ X m4 : 8|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ S M : 0|32@1- (1,0) [0|0] \"\" BOX\n SG_ X m0 : 32|8@1+ (1,0) [0|0] \"\" BOX\n\nSIG_VALTYPE_ 1 S : 1;\n",
        "BO_ 1 A: 8 BOX\n SG_ S M : 0|8@1+ (1,0) [0|0] \"\" BOX\n SG_ X m1 : 4|8@1+ (1,0) [0|0] \"\" BOX\n",
    ];
    insta::assert_snapshot!(said.map(told).join("\n"), @r"
    unit.dbc:5: message `A` has id 1, which `B` on line 8 has already; remove one of them (left out)
    unit.dbc:8: message `B` has id 1, which `A` on line 5 has already; remove one of them (left out)
    unit.dbc:5: a message called `A` is on line 8 already; rename one of them (left out)
    unit.dbc:8: a message called `A` is on line 5 already; rename one of them (left out)
    unit.dbc:6: message `A` has a signal called `X` on line 7 already; rename one of them (left out)
    unit.dbc:7: message `A` has a signal called `X` on line 6 already; rename one of them (left out)
    unit.dbc:5: message `A`: id 2048 is neither an 11-bit id (up to 2047) nor 2147483648 + a 29-bit id (left out)
    unit.dbc:5: message `A`: id 65537 is neither an 11-bit id (up to 2047) nor 2147483648 + a 29-bit id (left out)
    unit.dbc:5: message `A`: id 99999999999 is neither an 11-bit id (up to 2047) nor 2147483648 + a 29-bit id (left out)
    unit.dbc:5: message `A`: id 2684354560 is neither an 11-bit id (up to 2047) nor 2147483648 + a 29-bit id (left out)
    unit.dbc:6: message `A`, signal `X`: multiplexed, and no SG_MUL_VAL_ says by which signal (others marked M: 0); correct the marks or add the statement (left out)
    unit.dbc:8: message `A`, signal `X`: multiplexed, and no SG_MUL_VAL_ says by which signal (others marked M: 2); correct the marks or add the statement (left out)
    unit.dbc:7: message `A`, signal `X`: multiplexor value 4 does not fit the 2 bits of `S` (left out)
    unit.dbc:7: message `A`, signal `X`: its multiplexor `S` must be an integer, SIG_VALTYPE_ makes it a float (left out)
    unit.dbc:7: message `A`: signals `X` and `S` (line 6) share bit 4; check start bits, sizes and byte orders (cannot be mapped to a channel)
    ");
}

#[test]
fn text_that_is_no_database() {
    let said = [
        "",
        "hello\n",
        "BO_ 1 A 8 BOX\n",
        "BO_ one A: 8 BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 0|8@2+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 0|8@1+ (1;0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 0|8@1+ (1,0) [0|0] \"K BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 0|8@1+ (1,0)\n",
        "BO_ 1 A: -8 BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X m : 0|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\nSG_MUL_VAL_ 1 X S 5-3;\n",
        "BO_ 1 A: 8 BOX\nCM_ \"no end\"\nBO_ 2 B: 8 BOX\n",
        "SG_ X : 0|8@1+ (1,0) [0|0] \"\" BOX\n",
        "BO_ 1 A: 8 BOX\n SG_ X : 0|8@1+ (1,0) [0|0] \"\" BOX\n\nSIG_VALTYPE_ 1 X one;\n",
    ];
    insta::assert_snapshot!(said.map(refused).join("\n"), @r#"
    unit.dbc:1:1: the database has no message that can be decoded; check that it is the right file
    unit.dbc:1:1: the database has no message that can be decoded; check that it is the right file
    unit.dbc:5:9: the statement cannot be read from `8` on; the form is `BO_ id name: bytes sender`
    unit.dbc:5:5: the statement cannot be read from `one` on; the form is `BO_ id name: bytes sender`
    unit.dbc:6:14: the statement cannot be read from `2+` on; the form is `SG_ name : start|bits@order sign (scale,offset) [min|max] "unit" receivers`
    unit.dbc:6:19: the statement cannot be read from `;0)` on; the form is `SG_ name : start|bits@order sign (scale,offset) [min|max] "unit" receivers`
    unit.dbc:6:29: the text that begins here has no closing quotation mark; add it
    unit.dbc:7:1: the file ends before its statement does; the form is `SG_ name : start|bits@order sign (scale,offset) [min|max] "unit" receivers`
    unit.dbc:5:10: the statement cannot be read from `-8` on; the form is `BO_ id name: bytes sender`
    unit.dbc:6:8: the signal is marked `m` without a multiplexor value; add it
    unit.dbc:6:19: the range 5-3 ends before it begins; turn it round
    unit.dbc:6:1: the statement that begins here is not ended by `;` before the next message; add it
    unit.dbc:5:1: a signal that belongs to no message; put it below its BO_
    unit.dbc:8:18: the statement cannot be read from `one;` on; the form is `SIG_VALTYPE_ id signal : 1;` (1 = 32 bits, 2 = 64)
    "#);
}
