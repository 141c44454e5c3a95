//! Exchangers against the library ht (fixture by tests/peers/exchanger_fixture.py).
//!
//! | arrangement | tolerance | why |
//! |---|---|---|
//! | counter-flow, parallel-flow, one mixed, both mixed, shell and tube | 1e-12 | closed forms; ht divides by C_r |
//! | cross-flow both unmixed | 1e-12 | ht's integral, which cancels for small C_r·NTU² |
//! | passes | 1e-12 | a linear system of the passes instead of the formula |
//!
//! Largest difference seen: 6.0e-15.

use thermo::exchanger::{Arrangement, Mixing, effectiveness, transfer_units};

const FIXTURE: &str = include_str!("fixtures/exchangers.csv");

fn arrangement(kind: &str, passes: u32) -> Arrangement {
    let mixing = match kind {
        "counter-flow" => return Arrangement::CounterFlow,
        "parallel-flow" => return Arrangement::ParallelFlow,
        "shell-and-tube" => return Arrangement::ShellAndTube { shells: passes },
        "both-unmixed" => Mixing::BothUnmixed,
        "min-mixed" => Mixing::MinMixed,
        "max-mixed" => Mixing::MaxMixed,
        "both-mixed" => Mixing::BothMixed,
        other => panic!("{other}"),
    };
    match passes {
        1 => Arrangement::CrossFlow(mixing),
        _ => Arrangement::CrossCounterFlow { passes, mixing },
    }
}

#[test]
fn effectiveness_and_inverse() {
    let mut count = 0;
    for line in FIXTURE.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (kind, passes) = (cells[0], cells[1].parse().unwrap());
        let [ntu, ratio, expected] = [2, 3, 4].map(|i| cells[i].parse::<f64>().unwrap());
        let arrangement = arrangement(kind, passes);
        let e = effectiveness(arrangement, ntu, ratio).unwrap();
        assert!((e - expected).abs() < 1e-12, "{line}: {e}, {:e} away", e - expected);

        // Both mixed: beyond the maximum the inverse gives the other, smaller solution.
        let back = transfer_units(arrangement, e, ratio).unwrap();
        let again = effectiveness(arrangement, back, ratio).unwrap();
        assert!((again - e).abs() < 1e-14, "{line}: {again}");
        count += 1;
    }
    assert_eq!(count, 1290);
}
