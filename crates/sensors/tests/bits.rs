//! Fixed inputs give these bits, in every build on every machine: a change here is a change of results.
#![allow(clippy::unwrap_used)]

use sensors::{Platinum, Polynomial, Table, Thermocouple};
use units::Dual;

/// One line per input: both directions and the derivative, as bits.
fn lines() -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = |name: String, numbers: [f64; 4]| {
        let bits: Vec<String> = numbers.iter().map(|x| format!("{:016x}", x.to_bits())).collect();
        lines.push(format!("{name} {}", bits.join(" ")));
    };
    for tc in Thermocouple::ALL {
        let (low, high) = tc.range_c();
        for share in [0.001, 0.13, 0.31, 0.77, 0.999] {
            let t = low + share * (high - low);
            let emf = tc.emf_mv(t).unwrap();
            let back = if emf > 0.0 || tc != Thermocouple::B { tc.temperature_c(emf).unwrap() } else { 0.0 };
            let reading = tc.junction_c(Dual::<1>::constant(tc.emf_mv(high).unwrap() * 0.5), Dual::variable(23.7, 0));
            let reading = reading.unwrap();
            line(format!("{} {share}", tc.letter()), [emf, back, reading.value, reading.partials[0]]);
        }
    }
    for t in [-199.0, -77.7, 0.0, 12.3, 431.0, 849.0] {
        let p = Platinum::PT100;
        let r = p.resistance_ohm(t).unwrap();
        let back = p.temperature_c(Dual::<1>::variable(r, 0)).unwrap();
        line(format!("Pt100 {t}"), [r, back.value, back.partials[0], p.sensitivity_ohm_per_k(t).unwrap()]);
    }
    let p = Polynomial::new(&[0.3, 1.7, 0.0, -0.021, 0.004], -1.5, 4.0).unwrap();
    let curve = Table::monotone_cubic(&[(-2.0, 5.0), (0.1, 1.0), (3.0, 0.7), (5.0, -9.0)]).unwrap();
    for x in [-1.4, 0.01, 2.2, 3.99] {
        let (y, z) = (p.value(x).unwrap(), curve.value(x).unwrap());
        line(format!("polynomial, curve {x}"), [y, p.raw(y).unwrap(), z, curve.raw(z).unwrap()]);
    }
    lines
}

#[test]
fn the_same_bits_as_ever() {
    let (now, kept) = (lines(), include_str!("data/bits.txt"));
    let differ: Vec<_> = now.iter().zip(kept.lines()).filter(|(a, b)| a != b).collect();
    let all = now.join("\n");
    assert!(differ.is_empty() && now.len() == kept.lines().count(), "other bits: {differ:#?}\nall of them:\n{all}");
}
