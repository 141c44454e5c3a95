//! JCGM 100:2008, "Guide to the expression of uncertainty in measurement" (GUM), examples H.1, H.2 and H.3.

use crate::near;
use uncertainty::line::StraightLine;
use uncertainty::propagate::{covariance, propagate, second_order};
use uncertainty::standard::{Shape, dof_from_reliability};
use uncertainty::type_a::{correlation, mean};
use uncertainty::{Correlation, Coverage, Input};
use units::Real;

/// l = l_s + d − l_s·(δα·θ + α_s·δθ), θ = θ_mean + Δ, d in three parts. Inputs in this order: l_s, repeated readings,
/// comparator random, comparator systematic, δα, θ_mean, Δ, α_s, δθ. nm, 1/K, K.
fn end_gauge<R: Real>(x: &[R]) -> R {
    let [l_s, readings, random, systematic, delta_alpha, theta_mean, cyclic, alpha_s, delta_theta] =
        [x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7], x[8]];
    l_s + readings + random + systematic - l_s * (delta_alpha * (theta_mean + cyclic) + alpha_s * delta_theta)
}

/// Case MS-01: H.1, end-gauge calibration. Tolerance: 1 in the last printed digit. Values read in the documentation
/// of GTC (MSLNZ), effective degrees of freedom and U99 from memory.
#[test]
fn ms_01_h1_end_gauge() {
    let rectangular = |a: f64| Shape::Rectangular.from_limit(a).unwrap();
    let inputs = [
        Input { value: 50_000_623.0, u: 25.0, dof: 18.0 },
        Input { value: 215.0, u: 5.8, dof: 24.0 },
        Input { value: 0.0, u: 3.9, dof: 5.0 },
        Input { value: 0.0, u: 6.7, dof: 8.0 },
        Input { value: 0.0, u: rectangular(1e-6), dof: dof_from_reliability(0.10).unwrap() },
        Input::new(-0.1, 0.2),
        Input::new(0.0, Shape::UShaped.from_limit(0.5).unwrap()),
        Input::new(11.5e-6, rectangular(2e-6)),
        Input { value: 0.0, u: rectangular(0.05), dof: dof_from_reliability(0.50).unwrap() },
    ];
    // Degrees of freedom 50 and 2 as printed, from a reliability of 10 % and 50 %.
    near("dof of delta alpha", inputs[4].dof, 50.0, 1e-9);
    near("dof of delta theta", inputs[8].dof, 2.0, 1e-9);
    let result = propagate::<4>(&inputs, Correlation::Independent, end_gauge).unwrap();
    let (l, part) = (result.combined, |i: usize| result.gradient[i].abs() * inputs[i].u);
    near("length, nm", l.value, 50_000_838.0, 1.0);
    near("u_c, nm", l.u, 32.0, 1.0);
    near("u(d), nm", (part(1).powi(2) + part(2).powi(2) + part(3).powi(2)).sqrt(), 9.7, 0.1);
    near("term of delta theta, nm", part(8), 16.6, 0.1);
    near("term of delta alpha, nm", part(4), 2.9, 0.1);
    near("first-order term of theta, nm", part(5) + part(6) + part(7), 0.0, 1e-9);
    near("effective degrees of freedom, cut to whole", l.dof.floor(), 16.0, 0.0);
    let coverage = Coverage::of(l.value, l.u, 0.99, l.dof.floor()).unwrap();
    near("t99", coverage.k, 2.92, 0.01);
    near("U99, nm", coverage.expanded, 93.0, 1.0);
    near(
        "u_c with second-order terms, nm",
        second_order::<4>(&inputs, Correlation::Independent, end_gauge).unwrap().u,
        34.0,
        1.0,
    );
}

const VOLTAGE_V: [f64; 5] = [5.007, 4.994, 5.005, 4.990, 4.999];
const CURRENT_MA: [f64; 5] = [19.663, 19.639, 19.640, 19.685, 19.678];
const PHASE_RAD: [f64; 5] = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];

fn resistance<R: Real>(x: &[R]) -> R {
    x[0] / (x[1] * 1e-3) * x[2].cos()
}

fn reactance<R: Real>(x: &[R]) -> R {
    x[0] / (x[1] * 1e-3) * x[2].sin()
}

fn impedance<R: Real>(x: &[R]) -> R {
    x[0] / (x[1] * 1e-3)
}

/// Case MS-02: H.2, resistance and reactance from correlated readings. Tolerance 0.001 ohm, 0.005 on correlations;
/// correlations of the inputs are printed with two digits. Readings from memory, results as asserted in the tests of
/// suncal (Sandia). GTC's documentation prints V·I·cos φ for the resistance: the equation is V/I·cos φ.
#[test]
fn ms_02_h2_resistance_and_reactance() {
    let readings = [&VOLTAGE_V, &CURRENT_MA, &PHASE_RAD];
    let inputs = readings.map(|r| mean(r).unwrap().input());
    let mut r = [1.0; 9];
    for (i, a) in readings.iter().enumerate() {
        for (j, b) in readings.iter().enumerate() {
            r[3 * i + j] = if i == j { 1.0 } else { correlation(*a, *b).unwrap() };
        }
    }
    near("r(V, I)", r[1], -0.36, 0.005);
    near("r(V, phi)", r[2], 0.86, 0.005);
    near("r(I, phi)", r[5], -0.65, 0.005);
    let matrix = Correlation::Matrix(&r);
    let results = [
        propagate::<3>(&inputs, matrix, resistance).unwrap(),
        propagate::<3>(&inputs, matrix, reactance).unwrap(),
        propagate::<3>(&inputs, matrix, impedance).unwrap(),
    ];
    let published = [("R", 127.732, 0.071), ("X", 219.847, 0.295), ("Z", 254.26, 0.236)];
    for (result, (name, value, u)) in results.iter().zip(published) {
        near(name, result.combined.value, value, 0.001);
        near(name, result.combined.u, u, 0.001);
        near("degrees of freedom of simultaneous readings", result.combined.dof, 4.0, 1e-9);
    }
    for (a, b, published) in [(0, 1, -0.588), (0, 2, -0.485), (1, 2, 0.993)] {
        let common = covariance(&results[a].gradient, &results[b].gradient, &inputs, matrix).unwrap();
        near("correlation of results", common / results[a].combined.u / results[b].combined.u, published, 0.005);
    }
    // The trap: without the correlations the resistance would seem three times as uncertain.
    let ignored = propagate::<3>(&inputs, Correlation::Independent, resistance).unwrap();
    near("u(R) if correlation is ignored, ohm", ignored.combined.u, 0.20, 0.01);
}

/// H.3, calibration of a thermometer by a straight line. Readings and results from memory of tables H.6 and H.7; the
/// results confirm the readings. Tolerance: 1 in the last printed digit.
#[test]
fn h3_thermometer_calibration() {
    let t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
    let b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
    let line = StraightLine::through(&t, &b, 20.0).unwrap();
    near("y1, degC", line.intercept, -0.1712, 0.0001);
    near("u(y1), degC", line.u_intercept, 0.0029, 0.0001);
    near("y2", line.slope, 0.002_18, 0.000_01);
    near("u(y2)", line.u_slope, 0.000_67, 0.000_01);
    near("r(y1, y2)", line.correlation, -0.930, 0.001);
    near("s, degC", line.s, 0.0035, 0.0001);
    near("degrees of freedom", line.dof, 9.0, 0.0);
    let at_30 = line.at(30.0).unwrap();
    near("correction at 30 degC", at_30.value, -0.1494, 0.0001);
    near("its u", at_30.u, 0.0041, 0.0001);
    // The same through the general least squares.
    let design: Vec<f64> = t.iter().flat_map(|t| [1.0, t - 20.0]).collect();
    let fit = uncertainty::fit::linear(&design, 2, &b, None).unwrap();
    near("u(y1) by QR", fit.u(0).unwrap(), line.u_intercept, 1e-12);
    near("r by QR", fit.correlation(0, 1).unwrap(), line.correlation, 1e-9);
}
