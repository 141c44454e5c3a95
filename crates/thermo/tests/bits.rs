//! The results of fixed inputs, to the bit: the same in a debug and a release build, for any processor. The table is
//! this program's own output and proves nothing but that; what is right is tested elsewhere. After a change of a formula
//! it is written anew with `BLESS=1 cargo test -p thermo --test bits`.

mod air_functions;
mod draw;

use air_functions::{arguments, evaluate};
use draw::Draw;
use std::fmt::Write;

#[test]
fn results_are_the_table_s_to_the_bit() {
    let mut draw = Draw(1983);
    let mut table = String::new();
    for _ in 0..12 {
        let a = arguments(&mut draw);
        for (name, result) in evaluate(a) {
            match result {
                Ok(x) => writeln!(table, "{:016x} {name}", x.to_bits()).unwrap(),
                Err(e) => writeln!(table, "refused: {} {name}", e.argument).unwrap(),
            }
        }
    }
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fixtures/bits.txt");
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(path, &table).unwrap();
    }
    let pinned = std::fs::read_to_string(path).unwrap();
    assert_eq!(table.lines().count(), pinned.lines().count());
    for (own, pinned) in table.lines().zip(pinned.lines()) {
        assert_eq!(own, pinned);
    }
}
