//! Exchangers against the library ht (fixture by tests/peers/exchanger_fixture.py).
//!
//! | arrangement | tolerance | why |
//! |---|---|---|
//! | counter-flow, parallel-flow, one mixed, both mixed, shell and tube | 1e-12 | closed forms; ht divides by C_r |
//! | cross-flow both unmixed | 1e-8 | ht's integral stops at 1.5e-8 relative and cancels for small C_r·NTU² |
//! | passes | 1e-8 with both unmixed, else 1e-11 | a linear system of the passes instead of the formula |

use thermo::exchanger::{Arrangement, Mixing, effectiveness, transfer_units};

const FIXTURE: &str = include_str!("fixtures/exchangers.csv");

fn arrangement(kind: &str, passes: u32) -> (Arrangement, f64) {
    let mixing = match kind {
        "counter-flow" => return (Arrangement::CounterFlow, 1e-12),
        "parallel-flow" => return (Arrangement::ParallelFlow, 1e-12),
        "shell-and-tube" => return (Arrangement::ShellAndTube { shells: passes }, 1e-12),
        "both-unmixed" => Mixing::BothUnmixed,
        "min-mixed" => Mixing::MinMixed,
        "max-mixed" => Mixing::MaxMixed,
        "both-mixed" => Mixing::BothMixed,
        other => panic!("{other}"),
    };
    let exact = if mixing == Mixing::BothUnmixed { 1e-8 } else { 1e-12 };
    match passes {
        1 => (Arrangement::CrossFlow(mixing), exact),
        _ => (Arrangement::CrossCounterFlow { passes, mixing }, f64::max(exact, 1e-11)),
    }
}

#[test]
fn effectiveness_and_inverse() {
    let mut count = 0;
    for line in FIXTURE.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (kind, passes) = (cells[0], cells[1].parse().unwrap());
        let [ntu, ratio, expected] = [2, 3, 4].map(|i| cells[i].parse::<f64>().unwrap());
        let (arrangement, tolerance) = arrangement(kind, passes);
        let e = effectiveness(arrangement, ntu, ratio).unwrap();
        assert!((e - expected).abs() < tolerance, "{line}: {e}, {:e} away", e - expected);

        // Both mixed: beyond the maximum the inverse gives the other, smaller solution.
        let back = transfer_units(arrangement, e, ratio).unwrap();
        let again = effectiveness(arrangement, back, ratio).unwrap();
        assert!((again - e).abs() < 1e-14, "{line}: {again}");
        count += 1;
    }
    assert_eq!(count, 1290);
}
