//! First-order uncertainty of every derived quantity against Monte Carlo (JCGM 101): the readings are sampled, the
//! formulas evaluated plainly, and the scatter compared with what the evaluator states. Gauge pressures share a
//! barometer, thermocouples of one scanner its reference junction.

#![allow(clippy::unwrap_used)]

use pack::{
    Architecture, Arrangement, DERIVED, Evaluator, ExchangerFlow, Fact, FirstOrder, PackPlan, Parameters, RamSide,
    Uncertain, WaterSeparation, Why, first_order, plan,
};
use std::collections::BTreeSet;
use std::sync::Arc;
use stream::Reading;
use units::math;

mod stations;
use stations::{COMMON, Station, dry_bench, dry_four_wheel, four_wheel, simple, three_wheel};

const SAMPLES: usize = 1500;
/// Four standard errors of a standard deviation of so many samples, and what second order may add unsaid.
const WITHIN: f64 = 0.073 + 0.02;
/// The shared part of the error of one scanner's thermocouples.
const JUNCTION: f64 = 0.25;

fn arrangement(architecture: Architecture, separation: WaterSeparation, ram: RamSide, packs: &[&str]) -> Arrangement {
    let parameters = Parameters {
        primary: Some(ExchangerFlow::Cross),
        secondary: Some(ExchangerFlow::Cross),
        reheater: Some(ExchangerFlow::Counter),
        condenser: Some(ExchangerFlow::CrossHotMixed),
        occupants: Some(60.0),
        ..Parameters::default()
    };
    let packs = packs.iter().map(ToString::to_string).collect();
    Arrangement { name: "own example".into(), packs, architecture, separation, ram, parameters }
}

/// Own numbers of plausible size for each kind of pack, with the scale of their uncertainties: a condenser that works at
/// the limit of its arrangement shows its curvature at usual ones.
fn installations() -> Vec<(Arrangement, Vec<Station>, f64)> {
    use {Architecture as A, RamSide as R, WaterSeparation as W};
    let with = |stations: Vec<Station>| [stations, COMMON.to_vec()].concat();
    let prefixed = |prefix: &str| -> Vec<Station> {
        three_wheel().into_iter().map(|(name, x, u)| (format!("{prefix}.{name}").leak() as &str, x, u)).collect()
    };
    let high = |a, packs: &[&str]| arrangement(a, W::HighPressure, R::SecondaryFirst, packs);
    vec![
        (high(A::ThreeWheel, &[""]), with(three_wheel()), 1.0),
        (high(A::ThreeWheel, &[""]), with(three_wheel()), 0.3),
        (high(A::FourWheel, &[""]), with(four_wheel()), 1.0),
        (high(A::FourWheel, &[""]), dry_four_wheel(), 1.0),
        (arrangement(A::Simple, W::LowPressure, R::Parallel, &[""]), with(simple()), 1.0),
        (arrangement(A::TwoWheel, W::None, R::SecondaryFirst, &[""]), dry_bench(), 1.0),
        (high(A::ThreeWheel, &["left", "right"]), with([prefixed("left"), prefixed("right")].concat()), 1.0),
    ]
}

/// The compressor blows into a narrow duct with a bare thermocouple and a wall tap.
fn fact(channel: &str) -> Fact {
    match channel {
        "compressor_out.temperature" => Fact::Static { recovery: Some(0.86), area: Some(0.0025) },
        "compressor_out.pressure" => Fact::Static { recovery: None, area: None },
        _ => Fact::Unsaid,
    }
}

struct Run {
    plan: Arc<PackPlan>,
    values: Vec<f64>,
    uncertain: Vec<Option<Uncertain>>,
}

impl Run {
    fn new(arrangement: &Arrangement, stations: &[Station], scale: f64) -> Run {
        let names: Vec<&str> = stations.iter().map(|s| s.0).collect();
        let barometer = names.iter().position(|n| *n == "ambient.pressure");
        let gauge = |n: &str| n.ends_with(".pressure") && n != "ambient.pressure" && !n.contains("cabin");
        let barometers: Vec<Option<usize>> = names.iter().map(|n| barometer.filter(|_| gauge(n))).collect();
        let shared = |n: &str| n.ends_with(".temperature").then_some((0, JUNCTION * scale));
        let uncertain = stations.iter().map(|(n, _, u)| Some(Uncertain { u: *u * scale, shared: shared(n) })).collect();
        let facts: Vec<Fact> = names.iter().map(|n| fact(n)).collect();
        let plan = Arc::new(plan(arrangement, &names, &barometers, &facts));
        Run { plan, values: stations.iter().map(|s| s.1).collect(), uncertain }
    }

    /// Readings as the instruments might have given them.
    fn sample(&self, random: &mut Random) -> Vec<Reading> {
        let junction = random.normal();
        let error = |u: &Option<Uncertain>, random: &mut Random| {
            let Uncertain { u, shared } = u.unwrap();
            let part = shared.map_or(0.0, |(_, part)| part);
            (u * u - part * part).sqrt() * random.normal() + part * junction
        };
        let errors: Vec<f64> = self.uncertain.iter().map(|u| error(u, random)).collect();
        let value = |i: usize| self.values[i] + errors[i] + self.plan.barometers[i].map_or(0.0, |b| errors[b]);
        (0..self.values.len()).map(|i| Reading::Good(value(i))).collect()
    }
}

#[test]
fn first_order_agrees_with_monte_carlo_or_says_that_it_does_not() {
    let mut proved: BTreeSet<&str> = BTreeSet::new();
    let mut wrong = Vec::new();
    for (i, (arrangement, stations, scale)) in installations().iter().enumerate() {
        let run = Run::new(arrangement, stations, *scale);
        let (mut evaluator, mut beside) = (Evaluator::new(run.plan.clone(), 1), Evaluator::new(run.plan.clone(), 1));
        let readings: Vec<Reading> = run.values.iter().map(|x| Reading::Good(*x)).collect();
        evaluator.evaluate(&readings, &run.uncertain);
        let linear = first_order(&run.plan, &evaluator, &mut beside, &readings, &run.uncertain);
        let scatter = scatter(&run, &mut beside, 1 + i as u64);
        for (d, planned) in run.plan.derived.iter().enumerate() {
            let name = &planned.name;
            let Some(value) = evaluator.readings()[run.plan.channels + d].number() else {
                continue;
            };
            let u = evaluator.uncertainty(d).unwrap();
            let (sd, lost) = scatter[d];
            let agrees = (sd - u).abs() <= WITHIN * u + 1e-12 * value.abs() && lost < 0.04;
            let told = linear[d] != FirstOrder::Enough || matches!(evaluator.why(d), Some(Why::Between(..)));
            if agrees && !told {
                proved.insert(planned.derived.name);
            } else if !told {
                wrong.push(format!("{i} {name} = {value}: u {u}, scatter {sd}, without value {lost}"));
            }
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
    // The one that is always a channel under another name.
    proved.insert("<place>.property_pressure");
    let unproved: Vec<&str> = DERIVED.iter().map(|d| d.name).filter(|n| !proved.contains(n)).collect();
    assert_eq!(unproved, Vec::<&str>::new(), "no installation has these where first order is enough");
}

/// Standard deviation of each derived quantity, and the share of samples without a value.
fn scatter(run: &Run, plain: &mut Evaluator, seed: u64) -> Vec<(f64, f64)> {
    let mut random = Random(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
    let n = run.plan.derived.len();
    let mut samples: Vec<Vec<f64>> = vec![Vec::with_capacity(SAMPLES); n];
    for _ in 0..SAMPLES {
        plain.evaluate(&run.sample(&mut random), &[]);
        let derived = &plain.readings()[run.plan.channels..];
        for (all, reading) in samples.iter_mut().zip(derived) {
            all.extend(reading.number());
        }
    }
    let of = |x: &Vec<f64>| {
        let count = x.len().max(2) as f64;
        let mean = x.iter().sum::<f64>() / count;
        let variance = x.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / (count - 1.0);
        (variance.sqrt(), 1.0 - x.len() as f64 / SAMPLES as f64)
    };
    samples.iter().map(of).collect()
}

/// xorshift64* of Vigna (2016), and normal numbers by the method of Box and Muller (1958).
struct Random(u64);

impl Random {
    fn uniform(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        let bits = self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 11;
        (bits as f64 + 0.5) / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let (a, b) = (self.uniform(), self.uniform());
        (-2.0 * math::ln(a)).sqrt() * math::cos(std::f64::consts::TAU * b)
    }
}
