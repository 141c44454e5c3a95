//! Dual numbers: the value has the bits of the plain computation, the derivatives are those of finite differences.

mod air_functions;
mod draw;

use air_functions::{ARGUMENTS, arguments, evaluate};
use draw::Draw;
use units::{Dual, Real};

/// Every function, by every argument, at random states; a kink or a change of phase within the step is passed over.
#[test]
fn values_to_the_bit_and_derivatives_as_finite_differences() {
    let mut draw = Draw(20_251_125);
    let mut compared = std::collections::BTreeMap::<String, u32>::new();
    for _ in 0..24 {
        let a = arguments(&mut draw);
        let plain = evaluate(a);
        let dual = evaluate::<Dual<8>>(Dual::variables(a));
        for ((name, value), (_, with)) in plain.iter().zip(&dual) {
            compared.entry(name.clone()).or_default();
            assert_eq!(value.is_ok(), with.is_ok(), "{name} at {a:?}: {value:?} {with:?}");
            if let (Ok(value), Ok(with)) = (value, with) {
                assert_eq!(value.to_bits(), with.value().to_bits(), "{name} at {a:?}");
            }
        }
        for k in 0..8 {
            let step = 1e-4 * (ARGUMENTS[k].2 - ARGUMENTS[k].1);
            let at = |n: f64| {
                let mut b = a;
                b[k] += n * step;
                evaluate(b)
            };
            let (back, far_back, fore, far_fore) = (at(-1.0), at(-2.0), at(1.0), at(2.0));
            for (i, (name, with)) in dual.iter().enumerate() {
                let around = [&far_back[i].1, &back[i].1, &plain[i].1, &fore[i].1, &far_fore[i].1];
                let (Ok(with), [Ok(m2), Ok(m1), Ok(c), Ok(p1), Ok(p2)]) = (with, around) else { continue };
                let (left, right) = ((c - m2) / (2.0 * step), (p2 - c) / (2.0 * step));
                let difference = (8.0 * (p1 - m1) - (p2 - m2)) / (12.0 * step);
                let scale = difference.abs().max(c.abs() / (ARGUMENTS[k].2 - ARGUMENTS[k].1) * 1e-3).max(1e-12);
                if (left - right).abs() > 0.02 * scale {
                    continue; // a kink
                }
                let own = with.partials[k];
                let noise = 3e-10 * c.abs().max(1.0) / step;
                assert!(
                    (own - difference).abs() <= 2e-4 * scale + noise,
                    "{name} by {}: {own}, finite difference {difference}, at {a:?}",
                    ARGUMENTS[k].0
                );
                *compared.entry(name.clone()).or_default() += 1;
            }
        }
    }
    let never: Vec<_> = compared.iter().filter(|(_, n)| **n < 10).collect();
    assert!(never.is_empty(), "hardly compared: {never:?}");
}
