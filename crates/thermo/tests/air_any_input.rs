//! Whatever goes in, a finite number or a refusal that names argument, value and range comes out.

#![allow(clippy::disallowed_methods)]

mod air_functions;
mod draw;

use air_functions::{Results, arguments, evaluate};
use draw::Draw;
use units::{Dual, Real};

const ODD: [f64; 16] = [
    f64::NAN,
    f64::INFINITY,
    f64::NEG_INFINITY,
    f64::MAX,
    f64::MIN,
    f64::MIN_POSITIVE,
    5e-324,
    0.0,
    -0.0,
    -1.0,
    1.0,
    273.16,
    273.15,
    1e-9,
    1e300,
    150.0,
];

fn check<R: Real>(results: &Results<R>, a: [f64; 8]) {
    for (name, result) in results {
        match result {
            Ok(x) => assert!(x.is_finite(), "{name} at {a:?}: {x:?}"),
            Err(e) => assert!(!e.argument.is_empty() && !e.valid.is_empty() && !e.formula.is_empty(), "{name}"),
        }
    }
}

/// One, two, then all arguments odd.
#[test]
fn odd_numbers() {
    let mut draw = Draw(7);
    for odd in ODD {
        for k in 0..8 {
            let mut a = arguments(&mut draw);
            a[k] = odd;
            check(&evaluate(a), a);
            a[(draw.share() * 7.99) as usize] = ODD[(draw.share() * 15.99) as usize];
            check(&evaluate(a), a);
            let dual = evaluate::<Dual<8>>(Dual::variables(a));
            check(&dual, a);
        }
    }
    for _ in 0..200 {
        let a = std::array::from_fn(|_| ODD[(draw.share() * 15.99) as usize]);
        check(&evaluate(a), a);
    }
}

/// Far wider than air in a pack, even on a logarithm: the corners of the formulas' own ranges.
#[test]
fn the_whole_range() {
    let mut draw = Draw(11);
    for _ in 0..250 {
        let mut log = |low: f64, high: f64| low * (high / low).powf(draw.share());
        let a = [
            log(140.0, 1100.0),
            log(50.0, 4e6),
            log(140.0, 1100.0),
            log(50.0, 4e6),
            log(1e-12, 20.0),
            log(1e-6, 1.2),
            log(1e-6, 1e3),
            log(1e-6, 10.0),
        ];
        check(&evaluate(a), a);
        check(&evaluate::<Dual<8>>(Dual::variables(a)), a);
    }
}
