//! Conversion factors as NIST Special Publication 811 (2008), appendix B, prints them: seven digits, rounded, so that
//! half a unit of the seventh digit is the tolerance. The figures are from memory.

#![allow(clippy::disallowed_methods)]

/// Symbol, printed mantissa, printed power of ten.
#[allow(clippy::approx_constant)] // the printed digits of 2π/60 are those of π/3
const PRINTED: [(&str, f64, i32); 45] = [
    ("psi", 6.894_757, 3),
    ("bar", 1.0, 5),
    ("mbar", 1.0, 2),
    ("inHg", 3.386_389, 3),
    ("inH2O(4degC)", 2.490_889, 2),
    ("lb/s", 4.535_924, -1),
    ("lb/min", 7.559_873, -3),
    ("lb/h", 1.259_979, -4),
    ("kg/min", 1.666_667, -2),
    ("ft3/min", 4.719_474, -4),
    ("l/min", 1.666_667, -5),
    ("rpm", 1.047_198, -1),
    ("ft/min", 5.08, -3),
    ("ft/s", 3.048, -1),
    ("kn", 5.144_444, -1),
    ("hp", 7.456_999, 2),
    ("Btu/h", 2.930_711, -1),
    ("Btu/lb", 2.326, 3),
    ("ft", 3.048, -1),
    ("in", 2.54, -2),
    ("lb", 4.535_924, -1),
    ("deg", 1.745_329, -2),
    ("h", 3.6, 3),
    ("min", 6.0, 1),
    ("degF", 5.555_556, -1),
    ("degR", 5.555_556, -1),
    ("degC", 1.0, 0),
    ("atm", 1.013_25, 5),
    ("mmHg", 1.333_224, 2),
    ("mmH2O(4degC)", 9.806_65, 0),
    ("kgf/cm2", 9.806_65, 4),
    ("psf", 4.788_026, 1),
    ("lb/ft3", 1.601_846, 1),
    ("g/cm3", 1.0, 3),
    ("in2", 6.4516, -4),
    ("ft2", 9.290_304, -2),
    ("in3", 1.638_706, -5),
    ("ft3", 2.831_685, -2),
    ("l", 1.0, -3),
    ("lbf.ft", 1.355_818, 0),
    ("lbf.in", 1.129_848, -1),
    ("kWh", 3.6, 6),
    ("Btu", 1.055_056, 3),
    ("km/h", 2.777_778, -1),
    ("mi/h", 4.4704, -1),
];

#[test]
fn factors_are_as_printed() {
    for (symbol, printed, power) in PRINTED {
        let mantissa = units::find(symbol).unwrap().factor / 10_f64.powi(power);
        assert!((mantissa - printed).abs() <= 0.500_001e-6, "{symbol}: {mantissa}, printed {printed}");
    }
}

/// The printed mercury of 32 degF (3.386 38e3) and water of 39.2 degF (2.490 82e2) differ from the conventional
/// columns by what the rows' sources say.
#[test]
fn columns_of_liquid_agree_within_what_their_rows_say() {
    let factor = |symbol| units::find(symbol).unwrap().factor;
    assert!((factor("inHg") / 3.386_38e3 - 1.0).abs() < 4e-6);
    assert!((factor("inH2O(4degC)") / 2.490_82e2 - 1.0).abs() < 3e-5);
}

/// Water of 20 degC: 998.2067 kg/m3 (Tanaka and others, Metrologia 38, 2001) and 998.2071 (Kell, 1975), from memory.
#[test]
fn water_of_20_degc() {
    let ratio = units::find("inH2O(20degC)").unwrap().factor / units::find("inH2O(4degC)").unwrap().factor;
    assert!((ratio - 0.998_206_9).abs() < 3e-7, "{ratio}");
}

/// One pound holds 7000 grains: one grain per pound is 1/7 g/kg.
#[test]
fn grains_per_pound() {
    let factor = units::find("grain/lb").unwrap().factor;
    assert!((factor - 1.0 / 7000.0).abs() < 1e-19);
}

/// What the table does not print is made of what it does.
#[test]
fn compound_units_are_made_of_their_parts() {
    let f = |symbol: &str| units::find(symbol).unwrap().factor;
    for (whole, parts) in [
        ("Btu/min", f("Btu") / f("min")),
        ("Btu/(h.degF)", f("Btu/h") / f("degF")),
        ("psi/min", f("psi") / f("min")),
        ("kPa/min", f("kPa") / f("min")),
        ("degF/min", f("degF") / f("min")),
        ("K/min", 1.0 / f("min")),
        ("psf", f("psi") * f("in2") / f("ft2")),
        ("lbf.ft", f("psi") * f("in2") * f("ft")),
        ("lb/ft3", f("lb") / f("ft3")),
        ("ft3/min", f("ft3") / f("min")),
        ("kWh", f("kW") * f("h")),
    ] {
        assert!((f(whole) / parts - 1.0).abs() < 1e-15, "{whole}: {}, its parts {parts}", f(whole));
    }
}
