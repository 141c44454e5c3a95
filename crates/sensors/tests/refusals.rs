//! What a refusal says: which argument, its value, what is valid.
#![allow(clippy::unwrap_used)]

use sensors::{
    Construction, FixedJunction, Platinum, PlatinumClass, Polarity, Polynomial, Ratio, Ratiometric, RatiometricSpec,
    SensorError, Thermocouple, ToleranceClass,
};

const SPEC: RatiometricSpec = RatiometricSpec {
    ratio: Ratio::DifferenceOverSum,
    polarity: Polarity::FallsToOpen,
    closed: 0.45,
    open: -0.4,
    window: (3.0, 5.0),
    overtravel: 0.05,
};

#[test]
fn a_description_says_what_is_wrong() {
    let polynomial = |c: &[f64]| Polynomial::new(c, 0.0, 1.0).unwrap_err().to_string();
    let said = [
        Ratiometric::new(RatiometricSpec { closed: -0.5, ..SPEC }).unwrap_err().to_string(),
        Ratiometric::new(RatiometricSpec { window: (0.0, 5.0), ..SPEC }).unwrap_err().to_string(),
        Ratiometric::new(RatiometricSpec { overtravel: -0.1, ..SPEC }).unwrap_err().to_string(),
        Platinum::new(0.0).unwrap_err().to_string(),
        Platinum::with_coefficients(100.0, 3.9e-3, -5.8e-6, 0.0).unwrap_err().to_string(),
        polynomial(&[3.0]),
        polynomial(&[0.0; 32]),
        Polynomial::new(&[0.0, 1.0], 1.0, 1.0).unwrap_err().to_string(),
        FixedJunction::new(Thermocouple::B, -10.0).unwrap_err().to_string(),
    ];
    insta::assert_snapshot!(said.join("\n"), @r"
    the ratio is -0.5 closed and -0.4 open, so it rises towards open, against what is declared; exchange the two readings or the two ratios
    the window of the sum goes from 0 to 5; both must be above 0, the lower first
    the overtravel is -0.1; give 0 or more
    the resistance at 0 degC is 0 ohm; give one above 0, 100 for Pt100
    with A = 0.0039/K, B = -0.0000058/K2, C = 0/K4 the resistance is not above 0 and rising from -200 to 850 degC; IEC 60751 has 3.9083e-3, -5.775e-7, -4.183e-12
    the polynomial gives the same value for every signal in its range; give it a term with the signal
    a polynomial of 32 coefficients; at most 31 are taken
    the range goes from 1 to 1; give the lower end first
    thermocouple type B: the reference junction's temperature is -10 degC, must be from 0 to 1820 degC
    ");
    assert!(matches!(Platinum::new(f64::NAN), Err(SensorError::NotFinite { .. })));
}

#[test]
fn a_refusal_says_argument_value_and_range() {
    let sensor = Ratiometric::new(SPEC).unwrap();
    let turning = Polynomial::new(&[0.0, 1.0, -1.0], 0.0, 1.0).unwrap();
    let said = [
        Thermocouple::K.emf_mv(1372.5).unwrap_err(),
        Thermocouple::T.temperature_c(30.0).unwrap_err(),
        Thermocouple::E.junction_c(1.0, -300.0).unwrap_err(),
        Thermocouple::E.junction_c(76.0, 60.0).unwrap_err(),
        Thermocouple::J.junction_c(f64::NAN, 20.0).unwrap_err(),
        Thermocouple::B.temperature_c(-0.001).unwrap_err(),
        Thermocouple::B.temperature_c(-0.01).unwrap_err(),
        Thermocouple::J.tolerance_k(ToleranceClass::Three, 0.0).unwrap_err(),
        Thermocouple::K.tolerance_k(ToleranceClass::One, 1000.1).unwrap_err(),
        Platinum::PT100.temperature_c(18.5).unwrap_err(),
        Platinum::PT100.resistance_ohm(-200.1).unwrap_err(),
        PlatinumClass::A.tolerance_k(Construction::Film, -40.0).unwrap_err(),
        turning.value(1.5).unwrap_err(),
        turning.raw(0.1).unwrap_err(),
        sensor.position(0.1, 2.0).unwrap_err(),
        sensor.position(4.0, 0.0).unwrap_err(),
    ];
    insta::assert_snapshot!(said.map(|e| e.to_string()).join("\n"), @r"
    thermocouple type K: the temperature is 1372.5 degC, must be from -270 to 1372 degC
    thermocouple type T: the emf referred to 0 degC is 30 mV, must be from -6.257505037863609 to 20.871970050526713 mV
    thermocouple type E: the reference junction's temperature is -300 degC, must be from -270 to 1000 degC
    thermocouple type E: the emf referred to 0 degC is 79.68450026703137 mV, must be from -9.834950856189751 to 76.37282645399976 mV
    thermocouple type J: the measured emf is NaN mV, must be from -77.64855943768467 to 77.64855943768467 mV
    thermocouple type B: an emf of -0.001 mV is given by two temperatures below 42.15 degC; this type cannot measure there, use another
    thermocouple type B: the emf referred to 0 degC is -0.01 mV, must be from -0.00258497198849 to 13.820279215146009 mV
    thermocouple type J: the standard has no class 3 for it; its classes are 1 and 2
    thermocouple type K: the temperature of the class is 1000.1 degC, must be from -40 to 1000 degC
    platinum resistor: the resistance is 18.5 ohm, must be from 18.520079999999997 to 390.48112499999996 ohm
    platinum resistor: the temperature is -200.1 degC, must be from -200 to 850 degC
    tolerance of platinum class A, 0.15: the temperature of the class is -40 degC, must be from -30 to 300 degC
    polynomial: the signal is 1.5, must be from 0 to 1
    polynomial: it turns at signal 0.5, so it cannot be read backwards; declare a range that ends there
    ratiometric position: the sum of the readings is 2.1, must be from 3 to 5: a wire is broken or the excitation is off
    ratiometric position: the position is -0.6470588235294118, must be from -0.05 to 1.05
    ");
}
