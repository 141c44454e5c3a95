//! Every degree of every thermocouple, and of a Pt100, against values of others (`data/`, made by
//! `tests/peers/thermocouple_fixture.py`):
//!
//! * the printed tables of the NIST ITS-90 Thermocouple Database (SRD 60), 12 026 values rounded to 1 µV;
//! * thermocouples_reference 0.20 (PyPI), the reference functions read from that database by somebody else;
//! * rtd-sensor 0.8.0 (PyPI), IEC 60751 platinum both ways.
#![allow(clippy::unwrap_used)]

use sensors::{Platinum, Thermocouple};

/// The blocks of a file: head, then one value per step.
fn blocks(text: &str) -> Vec<(Vec<&str>, Vec<f64>)> {
    let mut all: Vec<(Vec<&str>, Vec<f64>)> = Vec::new();
    for line in text.lines().filter(|l| !l.starts_with('#')) {
        if line.starts_with(|c: char| c.is_ascii_alphabetic()) {
            all.push((line.split(' ').collect(), Vec::new()));
        } else {
            all.last_mut().unwrap().1.extend(line.split(' ').map(|v| v.parse::<f64>().unwrap()));
        }
    }
    all
}

/// (type, whole degree, value) of the blocks of one kind.
fn rows(kind: &str) -> Vec<(Thermocouple, f64, f64)> {
    let mut rows = Vec::new();
    for (head, values) in blocks(include_str!("data/thermocouples.txt")) {
        if head[0] != kind {
            continue;
        }
        let (tc, first): (_, f64) = (Thermocouple::from_letter(head[1]).unwrap(), head[2].parse().unwrap());
        assert_eq!((first, first + values.len() as f64 - 1.0), (tc.range_c().0, tc.range_c().1.floor()), "{tc:?}");
        rows.extend(values.iter().enumerate().map(|(i, v)| (tc, first + i as f64, *v)));
    }
    assert_eq!(rows.len(), 12_026);
    rows
}

/// The largest of some deviations per type, for a message and a limit.
fn worst(deviations: impl Iterator<Item = (Thermocouple, f64)>) -> Vec<(&'static str, f64)> {
    let mut worst: Vec<(&'static str, f64)> = Thermocouple::ALL.iter().map(|t| (t.letter(), 0.0)).collect();
    for (tc, d) in deviations {
        let w = &mut worst.iter_mut().find(|(l, _)| *l == tc.letter()).unwrap().1;
        *w = w.max(d.abs());
    }
    worst
}

/// Worst: 0.500 µV for every type (K 0.4993, T 0.5000, J 0.4998, E 0.4999, N 0.4997, S 0.4997, R 0.4998, B 0.5000):
/// the table's rounding and nothing more.
#[test]
fn emf_at_every_degree_is_the_printed_one() {
    let off = worst(rows("table").into_iter().map(|(tc, t, uv)| (tc, tc.emf_mv(t).unwrap() * 1e3 - uv)));
    println!("emf against the printed tables, uV: {off:?}");
    assert!(off.iter().all(|(_, w)| *w > 0.49 && *w <= 0.500_01), "{off:?}");
}

/// Worst: 0.05 nV for every type, the fixture's rounding.
#[test]
fn emf_at_every_degree_is_that_of_another_program() {
    let off = worst(rows("function").into_iter().map(|(tc, t, v)| (tc, tc.emf_mv(t).unwrap() * 1e6 - v * 0.1)));
    println!("emf against thermocouples_reference, nV: {off:?}");
    assert!(off.iter().all(|(_, w)| *w <= 0.050_01), "{off:?}");
}

/// The other program's emf, rounded to 0.1 nV, read back: within the rounding over the Seebeck coefficient, which is
/// small at the cold end (type N at −270 °C: 0.35 µV/K) and for type B near 42 °C.
#[test]
fn temperature_at_every_degree_is_the_one_it_came_from() {
    let mut read = 0;
    let off = worst(rows("function").into_iter().filter_map(|(tc, t, v)| {
        let emf = v * 1e-7;
        if tc == Thermocouple::B && t <= 42.0 || emf < tc.range_mv().0 || emf > tc.range_mv().1 {
            return None;
        }
        read += 1;
        let rounding = 0.5e-7 / tc.seebeck_mv_per_k(t).unwrap();
        Some((tc, ((tc.temperature_c(emf).unwrap() - t).abs() - rounding).max(0.0)))
    }));
    println!("temperature less what the rounding explains, K: {off:?}");
    assert!(off.iter().all(|(_, w)| *w <= 1e-8), "{off:?}");
    assert!(read >= 12_026 - 43 - 8, "{read}");
}

/// Worst: 5.0e-8 Ω and 5.0e-8 K, the fixture's rounding.
#[test]
fn platinum_at_every_degree_and_every_ohm() {
    let off = |name: &str, f: &dyn Fn(f64) -> f64| {
        let found = blocks(include_str!("data/platinum.txt")).into_iter().find(|(h, _)| h[0] == name).unwrap();
        let first: f64 = found.0[2].parse().unwrap();
        let each = found.1.iter().enumerate().map(|(i, v)| (f(first + i as f64) - v * 1e-7).abs());
        (found.1.len(), each.fold(0.0, f64::max))
    };
    let resistance = off("resistance", &|t| Platinum::PT100.resistance_ohm(t).unwrap());
    let temperature = off("temperature", &|r| Platinum::PT100.temperature_c(r).unwrap());
    println!("platinum: {resistance:?} ohm, {temperature:?} K");
    assert!(resistance.0 == 1051 && resistance.1 <= 5.001e-8, "{resistance:?}");
    assert!(temperature.0 == 372 && temperature.1 <= 5.001e-8, "{temperature:?}");
}
