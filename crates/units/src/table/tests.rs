use super::*;
use crate::find::{REFUSED, names};
use crate::{UnknownUnit, find};

fn unit(text: &str) -> &'static Unit {
    find(text).unwrap()
}

/// Relative difference.
fn off(a: f64, b: f64) -> f64 {
    ((a - b) / b).abs()
}

#[test]
fn every_text_stands_for_one_unit() {
    let all: Vec<(&str, &str)> = UNITS.iter().flat_map(|u| names(u).map(|n| (n, u.symbol))).collect();
    for (i, (name, symbol)) in all.iter().enumerate() {
        assert_eq!(all.iter().position(|(n, _)| n == name), Some(i), "'{name}' twice, once for {symbol}");
        assert_eq!(find(name).map(|u| u.symbol), Ok(*symbol));
        assert!(REFUSED.iter().all(|(words, ..)| !words.contains(name)), "'{name}' is both known and refused");
        assert!(!name.is_empty() && name.trim() == *name, "'{name}' cannot be found");
    }
}

#[test]
fn every_row_is_complete() {
    for u in UNITS {
        assert!(
            !u.ucum.is_empty() && u.ucum.is_ascii() && !u.ucum.contains(' '),
            "{}: UCUM code '{}'",
            u.symbol,
            u.ucum
        );
        assert!(!u.source.is_empty() && u.factor.is_finite() && u.factor > 0.0 && u.offset.is_finite(), "{}", u.symbol);
        assert!(u.offset == 0.0 || u.quantity == Q::Temperature, "{}", u.symbol);
        assert!(u.reference.is_none() || u.quantity == Q::Pressure, "{}", u.symbol);
    }
}

#[test]
fn every_quantity_has_its_si_unit_in_the_table() {
    for q in Q::all() {
        let si = unit(q.si_symbol());
        assert!(si.fits(q), "{q}");
        assert_eq!((si.factor, si.offset, si.ucum), (1.0, 0.0, q.si_ucum()), "{q}");
    }
}

#[test]
fn every_row_round_trips() {
    for u in UNITS {
        for x in [-459.67_f64, -60.0, -1.0, 0.0, 0.03, 1.0, 20.0, 300.0, 40_000.0, 1e6] {
            let scale = x.abs() + u.offset.abs() + 1.0;
            assert!((u.from_si(u.to_si(x)) - x).abs() <= 4.0 * f64::EPSILON * scale, "{} {x}", u.symbol);
            let d = u.difference_from_si(u.difference_to_si(x));
            assert!((d - x).abs() <= 2.0 * f64::EPSILON * x.abs(), "difference, {} {x}", u.symbol);
        }
    }
}

proptest::proptest! {
    #[test]
    fn any_number_round_trips(x in -1e7..1e7_f64, i in 0..UNITS.len()) {
        let u = &UNITS[i];
        proptest::prop_assert!((u.from_si(u.to_si(x)) - x).abs() <= 4.0 * f64::EPSILON * (x.abs() + u.offset + 1.0));
    }

    #[test]
    fn no_text_makes_it_panic(text in ".{0,20}") {
        let _ = find(&text);
    }
}

#[test]
fn a_temperature_difference_has_no_offset() {
    assert_eq!(unit("degC").to_si(20.0), 293.15);
    assert_eq!(unit("degC").difference_to_si(20.0), 20.0);
    assert!(off(unit("degF").difference_to_si(20.0), 11.111_111_111_111_11) < 1e-15);
    assert!(off(unit("degF").to_si(212.0), 373.15) < 1e-15);
    assert!(off(unit("degF").to_si(-40.0), unit("degC").to_si(-40.0)) < 1e-15);
    assert!(off(unit("degR").to_si(491.67), 273.15) < 1e-15);
}

#[test]
fn units_fit_their_quantities() {
    let fits = |symbol: &str| Q::all().filter(|q| unit(symbol).fits(*q)).map(Q::name).collect::<Vec<_>>().join(", ");
    assert_eq!(fits("degC"), "temperature, temperature difference");
    assert_eq!(fits("kPa"), "pressure, pressure difference");
    assert_eq!(fits("psia"), "pressure");
    assert_eq!(fits("psig"), "pressure");
    assert_eq!(fits("psid"), "pressure difference");
    assert_eq!(fits("%"), "ratio");
    assert_eq!(fits("g/kg"), "humidity ratio");
    assert_eq!(fits("lb/min"), "mass flow");
    assert_eq!(fits("N.m"), "torque");
    assert_eq!(fits("J"), "energy");
    assert_eq!(fits("K/min"), "temperature rate");
    assert_eq!(fits("kPad"), "pressure difference");
    assert_eq!(fits("Nm"), fits("N.m"));
}

#[test]
fn the_reference_is_said() {
    assert_eq!(unit("psia").reference, Some(Absolute));
    assert_eq!(unit("kPa(g)").reference, Some(Gauge));
    assert_eq!(unit("psi").reference, None);
    assert_eq!(unit("[psi]").symbol, "psi");
}

#[test]
fn unknown_and_refused_texts_say_what_to_write() {
    let message = |text: &str| fold(&find(text).unwrap_err().to_string());
    insta::assert_snapshot!(message("degc"), @"unit 'degc' is not known; nearest: degC, degF, degR");
    insta::assert_snapshot!(message("Kg/s"), @"unit 'Kg/s' is not known; nearest: kg/s, kg/h, g/s");
    insta::assert_snapshot!(message("furlong/fortnight"), @r"
    unit 'furlong/fortnight' is not known; write its symbol as in the unit table, for example degC, kPa,
    psia, kg/s, rpm, %
    ");
    insta::assert_snapshot!(message(""), @r"
    unit '' is not known; write its symbol as in the unit table, for example degC, kPa, psia, kg/s, rpm,
    %
    ");
    insta::assert_snapshot!(message("scfm"), @r"
    unit 'scfm' is refused: a standard volume flow is a mass flow in disguise, and the state it refers
    to differs between makers: between 0 and 20 degC the same number is 7 % more or less air; have the
    instrument give kg/s, or convert with its own reference state and write kg/s, kg/min or lb/min
    ");
    insta::assert_snapshot!(message("cfm"), @r"
    unit 'cfm' is refused: it leaves open whether the volume is at the state in the duct or at a
    reference state; write ft3/min or l/min for the volume at the state in the duct; give a standard
    flow as kg/s
    ");
    insta::assert_snapshot!(message("inH2O"), @r"
    unit 'inH2O' is refused: a water column depends on the temperature of the water: 0.2 % between 4 and
    20 degC; write inH2O(4degC) or inH2O(20degC) as the instrument's data sheet says
    ");
    insta::assert_snapshot!(message("C"), @r"
    unit 'C' is refused: one letter is a temperature scale to some and coulomb, farad, an angle or the
    gas constant to others; write degC, degF or degR for a temperature, deg for an angle
    ");
    insta::assert_snapshot!(message("lbs"), @r"
    unit 'lbs' is refused: it leaves open whether mass or force is meant; write lb for a mass, psi for a
    pressure
    ");
    insta::assert_snapshot!(message("ppm"), @r"
    unit 'ppm' is refused: it is pounds per minute to some and parts per million to others; write lb/min
    for a mass flow; give a share as 1, % or g/kg
    ");
    for (words, ..) in REFUSED {
        for word in *words {
            assert!(matches!(find(word), Err(UnknownUnit::Ambiguous { .. })), "{word}");
        }
    }
}

/// A message in lines of at most 100 letters, so that it can stand here whole.
fn fold(message: &str) -> String {
    let mut lines = vec![String::new()];
    for word in message.split(' ') {
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if line.chars().count() + word.chars().count() < 100 => *line += &format!(" {word}"),
            _ => lines.push(word.into()),
        }
    }
    lines.join("\n")
}
