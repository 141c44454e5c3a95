//! IEC 60751 (2008): industrial platinum resistance thermometers.

use sensors::{Construction::WireWound, Platinum, PlatinumClass};

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
