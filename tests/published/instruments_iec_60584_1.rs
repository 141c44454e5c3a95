//! Tolerance classes of IEC 60584-1:2013 (before: IEC 60584-2:1982 with its amendment of 1989). The standard itself was
//! not at hand: figures as two makers of thermocouples print them, which agree with each other but for misprints.

use sensors::{FormulaError, Thermocouple, Thermocouple::*, ToleranceClass, ToleranceClass::*};

/// Type, class, temperature in °C, limit in K: where constant and share meet, and the ends of each range.
const TABLE: [(Thermocouple, ToleranceClass, f64, f64); 41] = [
    (T, One, -40.0, 0.5),
    (T, One, 125.0, 0.5),
    (T, One, 350.0, 1.4),
    (T, Two, 133.0, 1.0),
    (T, Two, 350.0, 2.625),
    (T, Three, 40.0, 1.0),
    (T, Three, -66.0, 1.0),
    (T, Three, -200.0, 3.0),
    (E, One, -40.0, 1.5),
    (E, One, 375.0, 1.5),
    (E, One, 800.0, 3.2),
    (E, Two, 333.0, 2.5),
    (E, Two, 900.0, 6.75),
    (E, Three, -166.0, 2.5),
    (E, Three, -200.0, 3.0),
    (J, One, 375.0, 1.5),
    (J, One, 750.0, 3.0),
    (J, Two, 333.0, 2.5),
    (J, Two, 750.0, 5.625),
    (K, One, 375.0, 1.5),
    (K, One, 1000.0, 4.0),
    (K, Two, -40.0, 2.5),
    (K, Two, 333.0, 2.5),
    (K, Two, 1200.0, 9.0),
    (K, Three, 40.0, 2.5),
    (K, Three, -166.0, 2.5),
    (K, Three, -200.0, 3.0),
    (N, One, 1000.0, 4.0),
    (N, Two, 1200.0, 9.0),
    (N, Three, -200.0, 3.0),
    (S, One, 0.0, 1.0),
    (S, One, 1100.0, 1.0),
    (S, One, 1600.0, 2.5),
    (S, Two, 600.0, 1.5),
    (R, One, 1600.0, 2.5),
    (R, Two, 1600.0, 4.0),
    (B, Two, 600.0, 1.5),
    (B, Two, 1700.0, 4.25),
    (B, Three, 600.0, 4.0),
    (B, Three, 800.0, 4.0),
    (B, Three, 1700.0, 8.5),
];

#[test]
fn limits_of_the_classes() {
    for (tc, class, t, limit) in TABLE {
        let got = tc.tolerance_k(class, t).unwrap();
        assert!((got - limit).abs() < 1e-12, "{tc:?} {class:?} {t}: {got}, not {limit}");
    }
}

#[test]
fn outside_a_class_there_is_no_limit() {
    for tc in Thermocouple::ALL {
        for class in [One, Two, Three] {
            match tc.class_range_c(class) {
                Ok((low, high)) => {
                    assert!(tc.tolerance_k(class, low).is_ok() && tc.tolerance_k(class, high).is_ok());
                    for t in [low - 0.1, high + 0.1, f64::NAN] {
                        assert!(matches!(tc.tolerance_k(class, t), Err(FormulaError::Outside { .. })), "{tc:?} {t}");
                    }
                }
                Err(e) => {
                    assert!(matches!(e, FormulaError::NoClass { .. }));
                    assert!(matches!((tc, class), (J | S | R, Three) | (B, One)), "{tc:?} {class:?}");
                }
            }
        }
    }
}
