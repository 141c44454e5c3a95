//! Results promised to the bit: one digest over many, the same in debug and release builds and for any processor. The
//! fits are not among them.

use uncertainty::conformance::conformance_probability;
use uncertainty::distribution::{normal, student_t};
use uncertainty::line::StraightLine;
use uncertainty::monte_carlo::{Generator, simulate};
use uncertainty::propagate::{propagate, second_order};
use uncertainty::risk::global_risk;
use uncertainty::settling::Settling;
use uncertainty::steady::{Filters, null_distribution};
use uncertainty::type_a::mean_of_correlated;
use uncertainty::{Correlation, Distribution, DomainError, Input, Limits, Rule, step_response};
use units::Real;

/// FNV-1a over the bits of numbers.
struct Digest(u64);

impl Digest {
    fn add(&mut self, numbers: &[f64]) {
        for byte in numbers.iter().flat_map(|n| n.to_bits().to_le_bytes()) {
            self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01B3);
        }
    }
}

fn formula<R: Real>(x: &[R]) -> R {
    let ratio = (x[0] / x[1]).powf(0.2857) + (x[2].sin() * x[0].ln()).tanh();
    ratio.exp() / (x[1].sqrt() + x[2].cos().abs() + x[0].log10().atan()) + x[2].pow(x[1])
}

fn numbers() -> Result<Digest, DomainError> {
    let mut d = Digest(0xCBF2_9CE4_8422_2325);
    for i in 1..100 {
        let p = f64::from(i) / 100.0;
        d.add(&[
            normal::quantile(p)?,
            student_t::quantile(p, 1.5 * f64::from(i))?,
            step_response::overshoot(p * 0.99)?,
        ]);
    }
    let inputs = [Input { value: 3.2, u: 0.1, dof: 7.0 }, Input::new(1.7, 0.05), Input::new(0.4, 0.02)];
    let r = [1.0, 0.3, 0.0, 0.3, 1.0, -0.2, 0.0, -0.2, 1.0];
    for correlation in [Correlation::Independent, Correlation::Matrix(&r)] {
        let result = propagate::<2>(&inputs, correlation, formula)?;
        d.add(&result.gradient);
        d.add(&[result.combined.value, result.combined.u, result.combined.dof]);
        let drawn = inputs.map(|i| Distribution::Normal { mean: i.value, u: i.u });
        d.add(simulate(&drawn, correlation, 1000, 5, formula)?.sorted());
    }
    let second = second_order::<3>(&inputs, Correlation::Independent, formula)?;
    d.add(&[second.u, second.shift]);
    let mut g = Generator::new(9);
    for shape in [
        Distribution::StudentT { mean: 1.0, scale: 2.0, dof: 5.0 },
        Distribution::Gamma { shape: 0.7, scale: 2.0 },
        Distribution::ArcSine { low: 1.0, high: 2.0 },
        Distribution::Exponential { mean: 3.0 },
    ] {
        d.add(&[g.draw(shape)?, g.draw(shape)?, shape.density(1.3)?]);
    }
    let limits = Limits::between(-1.0, 1.2)?;
    let risk = global_risk(limits, limits, Distribution::Normal { mean: 0.1, u: 0.5 }, 0.2)?;
    d.add(&[risk.false_accept, risk.false_reject]);
    let decision = Rule::ISO_14253_1.decide(limits, inputs[2])?;
    d.add(&[decision.conformance_probability, conformance_probability(limits, inputs[0])?]);
    let times: Vec<f64> = (0..40).map(f64::from).collect();
    let values: Vec<f64> = times.iter().map(|t| 290.0 + 20.0 / (1.0 + 0.1 * t) + 0.1 * g.normal()).collect();
    let settling = Settling::fit(&times, &values)?;
    d.add(settling.covariance.as_flattened());
    d.add(&[settling.final_value.value, settling.time_constant.value, settling.prediction(80.0, 0.95)?.expanded]);
    let line = StraightLine::through(&times, &values, 3.0)?;
    d.add(&[line.slope, line.u_intercept, mean_of_correlated(&values)?.u]);
    d.add(null_distribution(Filters::FAST, 0.3, 1000, 1)?.sorted());
    Ok(d)
}

#[test]
fn bits_are_pinned() {
    assert_eq!(format!("{:016x}", numbers().unwrap().0), "ba16d8eb79a4c288");
}
