//! Formulas of the pack: derivatives against finite differences, any input, results to the bit.

#[path = "pack_functions/mod.rs"]
mod functions;

use functions::{Case, N, all};
use std::fmt::Write;
use units::{Dual, Real};

/// The value has the bits of the plain computation; the derivatives are those of finite differences of fourth order
/// with steps of 1e-3 of the argument: of 0.3 K where water condenses, hence 1e-6.
#[test]
fn derivatives() {
    for Case { name, used, place, plain, dual } in all() {
        let values = plain(place).unwrap_or_else(|e| panic!("{name}: {e}"));
        let with = dual(Dual::variables(place)).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert!(!values.is_empty() && values.len() == with.len(), "{name}");
        for (value, with) in values.iter().zip(&with) {
            assert_eq!(with.value.to_bits(), value.to_bits(), "{name}: {} {value}", with.value);
        }
        for i in 0..N {
            let step = 1e-3 * place[i].abs();
            let at = |k: f64| {
                let mut x = place;
                x[i] += k * step;
                plain(x).unwrap_or_else(|e| panic!("{name} {x:?}: {e}"))
            };
            let (far_back, back, fore, far_fore) = (at(-2.0), at(-1.0), at(1.0), at(2.0));
            for (j, with) in with.iter().enumerate() {
                if name == "coast-down at any times" && i >= 5 {
                    continue; // times carry no derivatives
                }
                let difference = (8.0 * (fore[j] - back[j]) - (far_fore[j] - far_back[j])) / (12.0 * step);
                let scale = (values[j] / place[i]).abs().max(difference.abs());
                let off = (with.partials[i] - difference).abs();
                assert!(off <= 1e-6 * scale, "{name} [{j}] by {i}: {} for {difference}", with.partials[i]);
                assert!(i < used || with.partials[i] == 0.0, "{name}: argument {i} is not counted");
            }
        }
    }
}

const ODD: [f64; 24] = [
    f64::NAN,
    f64::INFINITY,
    f64::NEG_INFINITY,
    f64::MAX,
    f64::MIN,
    f64::MIN_POSITIVE,
    5e-324,
    f64::EPSILON,
    0.0,
    -0.0,
    -1.0,
    1e-300,
    1e-9,
    0.01,
    0.5,
    1.0,
    10.0,
    273.15,
    273.16,
    300.0,
    1e5,
    2e6,
    1e30,
    1e300,
];

/// xorshift64: the same on every run.
fn next(state: &mut u64) -> u64 {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    *state
}

fn odd(state: &mut u64) -> f64 {
    let n = next(state);
    if n.is_multiple_of(16) { f64::from_bits(next(state)) } else { ODD[(n / 16 % 24) as usize] }
}

/// One, two, three or all arguments odd: a finite number with finite derivatives, or a refusal that names things.
#[test]
fn any_input() {
    let mut state = 0x2545_f491_4f6c_dd1d;
    for Case { name, used, place, plain, dual } in all() {
        let (mut refused, mut given) = (0, 0);
        for round in 0..1500 {
            let mut x = place;
            for _ in 0..[1, 1, 2, 3, 3 * used][round % 5] {
                x[(next(&mut state) % used as u64) as usize] = odd(&mut state);
            }
            match plain(x) {
                Ok(values) => {
                    given += 1;
                    assert!(values.iter().all(|v| v.is_finite()), "{name} {x:?}: {values:?}");
                }
                Err(e) => {
                    refused += 1;
                    assert!(!e.argument.is_empty() && !e.valid.is_empty() && !e.formula.is_empty(), "{name}: {e}");
                }
            }
            if round % 3 == 0
                && let Ok(values) = dual(Dual::variables(x))
            {
                assert!(values.iter().all(|v| Real::is_finite(*v)), "{name} {x:?}: {values:?}");
            }
        }
        assert!(given > 0 && refused > 0, "{name}: {given} given, {refused} refused, the test shows nothing");
    }
}

/// This program's own output: the same in a debug and a release build, on any processor. It proves nothing else. After
/// a change of a formula it is written anew with `BLESS=1 cargo test -p thermo --test pack_functions`.
#[test]
fn results_are_the_table_s_to_the_bit() {
    let mut table = String::new();
    for Case { name, place, dual, .. } in all() {
        for factor in [1.0, 0.9995, 1.0007] {
            for result in dual(Dual::variables(place.map(|x| x * factor))).unwrap() {
                let slope: f64 = result.partials.iter().sum();
                writeln!(table, "{:016x} {:016x} {name}", result.value.to_bits(), slope.to_bits()).unwrap();
            }
        }
    }
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fixtures/pack_bits.txt");
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(path, &table).unwrap();
    }
    let pinned = std::fs::read_to_string(path).unwrap();
    assert_eq!(table.lines().count(), pinned.lines().count());
    for (own, pinned) in table.lines().zip(pinned.lines()) {
        assert_eq!(own, pinned);
    }
}
