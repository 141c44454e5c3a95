//! Burns, Scroger, Strouse, Croarkin, Guthrie: Temperature-electromotive force reference functions and tables for the
//! letter-designated thermocouple types based on the ITS-90. NIST Monograph 175 (1993). Also IEC 60584-1.

use sensors::{Thermocouple, Thermocouple::*};

/// Case, type, temperature in °C, emf in mV with the reference junction at 0 °C; rounded to 1 µV in the source.
const TABLE: [(&str, Thermocouple, f64, f64); 30] = [
    ("IN-01", K, -200.0, -5.891),
    ("IN-01", K, -100.0, -3.554),
    ("IN-01", K, 100.0, 4.096),
    ("IN-01", K, 200.0, 8.138),
    ("IN-01", K, 400.0, 16.397),
    ("IN-01", K, 500.0, 20.644),
    ("IN-03", J, -100.0, -4.633),
    ("IN-03", J, 100.0, 5.269),
    ("IN-03", J, 300.0, 16.327),
    ("IN-03", J, 500.0, 27.393),
    ("IN-05", T, -200.0, -5.603),
    ("IN-05", T, -100.0, -3.379),
    ("IN-05", T, 200.0, 9.288),
    ("IN-05", T, 300.0, 14.862),
    ("IN-06", T, 100.0, 4.279),
    ("IN-06", T, 400.0, 20.872),
    ("IN-07", E, -200.0, -8.825),
    ("IN-07", E, -100.0, -5.237),
    ("IN-07", E, 200.0, 13.421),
    ("IN-07", E, 300.0, 21.036),
    ("IN-08", E, 100.0, 6.319),
    ("IN-08", E, 500.0, 37.005),
    ("IN-09", N, -100.0, -2.407),
    ("IN-09", N, 100.0, 2.774),
    ("IN-09", N, 300.0, 9.341),
    ("IN-09", N, 500.0, 16.748),
    // S, R, B: the same tables as in the NIST ITS-90 Thermocouple Database (SRD 60).
    ("SRD 60", S, 1400.0, 14.373),
    ("SRD 60", R, 1600.0, 18.849),
    ("SRD 60", B, 1200.0, 6.786),
    ("SRD 60", E, 700.0, 53.112),
];

/// Tolerance 0.0005 mV: the table's rounding.
#[test]
fn emf_of_the_reference_tables() {
    for (case, tc, t, mv) in TABLE {
        let emf = tc.emf_mv(t).unwrap();
        assert!((emf - mv).abs() <= 0.0005, "{case} {tc:?} {t}: {emf}, not {mv}");
        // Read back: within the rounding over the slope. Not above the table's own end, where it was rounded up.
        if mv <= tc.range_mv().1 {
            let (back, slope) = (tc.temperature_c(mv).unwrap(), tc.seebeck_mv_per_k(t).unwrap());
            assert!((back - t).abs() <= 0.0005 / slope * 1.01, "{case} {tc:?} {mv}: {back}, not {t}");
        }
    }
}

/// IN-20, computed with thermocouples_reference 0.20: tolerance 0.001 mV, and 0.05 K for a reading by the published
/// inverse polynomials. Ours inverts the function itself and closes to 1e-9 K.
#[test]
fn reference_junction_corrected_by_its_voltage() {
    let measured = K.measured_mv(200.0, 25.0).unwrap();
    assert!((measured - 7.138230971919386).abs() <= 0.001 && (measured - 7.138230971919386).abs() < 1e-12);
    assert!((K.junction_c(measured, 25.0).unwrap() - 200.0).abs() < 1e-9);
    // The trap (CV-12): adding temperatures is 0.05 K off here and several kelvin elsewhere.
    let trap = K.temperature_c(measured).unwrap() + 25.0 - 200.0;
    assert!((trap - -0.053932981180082606).abs() < 1e-6, "{trap}");
    let trap = E.temperature_c(E.measured_mv(400.0, 40.0).unwrap()).unwrap() + 40.0 - 400.0;
    assert!(trap > 5.0, "{trap}");
}
