//! W.M. Kays, A.L. London, Compact Heat Exchangers, table of effectiveness for cross-flow with both fluids unmixed.
//! From memory, not verified against the book: weak.

use thermo::exchanger::{Arrangement, Mixing, effectiveness};

/// Case HX-10, three digits: 0.001, and 0.002 for NTU 3 and 5.
#[test]
fn hx_10_three_digit_table() {
    let rows = [
        (1.0, 1.0, 0.476, 0.001),
        (2.0, 1.0, 0.614, 0.001),
        (2.0, 0.5, 0.733, 0.001),
        (3.0, 1.0, 0.682, 0.002),
        (5.0, 1.0, 0.751, 0.002),
    ];
    for (ntu, ratio, expected, tolerance) in rows {
        let e = effectiveness(Arrangement::CrossFlow(Mixing::BothUnmixed), ntu, ratio).unwrap();
        assert!((e - expected).abs() < tolerance, "NTU {ntu} C_r {ratio}: {e}");
    }
}
