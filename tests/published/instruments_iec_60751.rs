//! IEC 60751 (2008): industrial platinum resistance thermometers.

use sensors::Construction::{Film, WireWound};
use sensors::{FormulaError, Platinum, PlatinumClass, ResistorClass};

/// IN-22: °C and Ω of a Pt100. Tolerance 0.005 Ω: the table's rounding.
const TABLE: [(f64, f64); 8] = [
    (-200.0, 18.52),
    (-100.0, 60.26),
    (50.0, 119.40),
    (100.0, 138.51),
    (300.0, 212.05),
    (400.0, 247.09),
    (600.0, 313.71),
    (850.0, 390.48),
];

#[test]
fn resistance_of_the_table() {
    let given = Platinum::with_coefficients(100.0, 0.0039083, -5.775e-7, -4.183e-12).unwrap();
    assert_eq!(given, Platinum::PT100);
    for (t, ohm) in TABLE {
        let r = given.resistance_ohm(t).unwrap();
        assert!((r - ohm).abs() <= 0.005, "IN-22 {t}: {r}, not {ohm}");
        assert!((Platinum::PT1000.resistance_ohm(t).unwrap() - 10.0 * r).abs() < 1e-9);
        // Read back, but for -200 °C, whose 18.52 is rounded down to just outside the range.
        if t > -200.0 {
            let (back, slope) = (given.temperature_c(ohm).unwrap(), given.sensitivity_ohm_per_k(t).unwrap());
            assert!((back - t).abs() <= 0.005 / slope, "IN-22 {ohm}: {back}, not {t}");
        }
    }
    // Older tables on the IPTS-68 have 138.50 at 100 °C: with their coefficients (from memory) that comes out.
    let ipts_68 = Platinum::with_coefficients(100.0, 3.90802e-3, -5.802e-7, -4.27350e-12).unwrap();
    assert!((ipts_68.resistance_ohm(100.0).unwrap() - 138.50).abs() <= 0.0005);
}

/// IN-24, tolerance 0.5 %: limits of classes A and B at 100 °C, the slope there, and what 1 Ω of leads does at 0 °C.
#[test]
fn classes_slope_and_leads() {
    let near = |got: f64, want: f64| assert!((got / want - 1.0).abs() <= 0.005, "IN-24: {got}, not {want}");
    near(PlatinumClass::A.tolerance_k(WireWound, 100.0).unwrap(), 0.35);
    near(PlatinumClass::B.tolerance_k(WireWound, 100.0).unwrap(), 0.8);
    let pt100 = Platinum::PT100;
    near(pt100.sensitivity_ohm_per_k(100.0).unwrap(), 0.3793);
    near(1.0 / pt100.sensitivity_ohm_per_k(0.0).unwrap(), 2.56);
    near(pt100.temperature_c(pt100.resistance_ohm(0.0).unwrap() + 1.0).unwrap(), 2.56);
}

/// Every class at the ends of its range, in °C and K. From memory, agreeing with the PyPI package rtd-sensor 0.8.0, which
/// names tables 1 and 2 of the edition of 2022.
#[test]
fn classes_end_with_their_ranges() {
    use PlatinumClass::{A, AA, B, C};
    for (class, made, (low, high), (at_low, at_high)) in [
        (AA, WireWound, (-50.0, 250.0), (0.185, 0.525)),
        (AA, Film, (0.0, 150.0), (0.1, 0.355)),
        (A, WireWound, (-100.0, 450.0), (0.35, 1.05)),
        (A, Film, (-30.0, 300.0), (0.21, 0.75)),
        (B, WireWound, (-196.0, 600.0), (1.28, 3.3)),
        (B, Film, (-50.0, 500.0), (0.55, 2.8)),
        (C, WireWound, (-196.0, 600.0), (2.56, 6.6)),
        (C, Film, (-50.0, 600.0), (1.1, 6.6)),
    ] {
        let limit = |t: f64| class.tolerance_k(made, t);
        assert!((limit(low).unwrap() - at_low).abs() < 1e-12, "{class:?} {made:?}");
        assert!((limit(high).unwrap() - at_high).abs() < 1e-12, "{class:?} {made:?}");
        for t in [low - 0.1, high + 0.1, f64::NAN] {
            assert!(matches!(limit(t), Err(FormulaError::Outside { .. })), "{class:?} {made:?} {t}");
        }
    }
    use ResistorClass::{P1, P3, P6, P15};
    for (class, made, (low, high), at_high) in [
        (P1, WireWound, (-100.0, 350.0), 0.695),
        (P15, WireWound, (-100.0, 450.0), 1.05),
        (P3, WireWound, (-196.0, 660.0), 3.6),
        (P6, WireWound, (-196.0, 660.0), 7.2),
        (P1, Film, (0.0, 150.0), 0.355),
        (P15, Film, (-30.0, 300.0), 0.75),
        (P3, Film, (-50.0, 500.0), 2.8),
        (P6, Film, (-50.0, 600.0), 6.6),
    ] {
        assert!((class.tolerance_k(made, high).unwrap() - at_high).abs() < 1e-12, "{class:?} {made:?}");
        assert!(class.tolerance_k(made, low).is_ok());
        assert!(class.tolerance_k(made, low - 0.1).is_err() && class.tolerance_k(made, high + 0.1).is_err());
    }
}
