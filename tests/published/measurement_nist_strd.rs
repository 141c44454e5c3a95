//! NIST/ITL Statistical Reference Datasets (StRD): files as issued, in `nist_strd/`.

use crate::near;
use uncertainty::fit::{Fit, linear, nonlinear};
use units::{Dual, Real};

/// A file of the collection.
struct Dataset {
    starts: [Vec<f64>; 2],
    certified: Vec<f64>,
    certified_sd: Vec<f64>,
    sum_of_squares: f64,
    y: Vec<f64>,
    x: Vec<Vec<f64>>,
}

fn read(text: &str) -> Dataset {
    let numbers = |s: &str| -> Vec<f64> { s.split_whitespace().map(|n| n.parse().unwrap()).collect() };
    let mut d = Dataset {
        starts: [Vec::new(), Vec::new()],
        certified: Vec::new(),
        certified_sd: Vec::new(),
        sum_of_squares: f64::NAN,
        y: Vec::new(),
        x: Vec::new(),
    };
    let (head, rows) = text.rsplit_once("Data:").unwrap();
    for line in head.lines() {
        if let Some(("b", values)) = line.trim().split_once('=').map(|(name, rest)| (&name[..1.min(name.len())], rest))
        {
            let [a, b, value, sd] = numbers(values)[..] else { panic!("{line}") };
            d.starts[0].push(a);
            d.starts[1].push(b);
            d.certified.push(value);
            d.certified_sd.push(sd);
        }
        if let Some(value) = line.strip_prefix("Residual Sum of Squares:") {
            d.sum_of_squares = numbers(value)[0];
        }
    }
    for row in rows.lines().skip(1).filter(|l| !l.trim().is_empty()) {
        let row = numbers(row);
        d.y.push(row[0]);
        d.x.push(row[1..].to_vec());
    }
    d
}

/// Digits that agree: −log₁₀ of the greatest relative difference.
fn digits(got: &[f64], certified: &[f64]) -> f64 {
    assert_eq!(got.len(), certified.len());
    let worst = got.iter().zip(certified).map(|(g, c)| (g - c).abs() / c.abs()).fold(0.0, f64::max);
    if worst == 0.0 { 16.0 } else { -worst.log10() }
}

/// Fits from both starts: at least six digits in parameters and their standard deviations, the sum of squares too.
/// Lanczos1 is made data whose residuals are rounding in the sixteenth digit: sum of squares and standard deviations
/// are noise in double precision, only the parameters are held.
fn check<const P: usize>(name: &str, file: &str, model: impl Fn([Dual<P>; P], &[f64]) -> Dual<P>) {
    let d = read(file);
    assert_eq!(d.certified.len(), P, "{name}");
    for (at, start) in d.starts.iter().enumerate() {
        let start: [f64; P] = start.clone().try_into().unwrap();
        let y: Vec<f64> = if name == "Nelson" { d.y.iter().map(|y| y.ln()).collect() } else { d.y.clone() };
        let fit = nonlinear::<P>(&y, None, start, |b, i| model(b, &d.x[i]))
            .unwrap_or_else(|e| panic!("{name} from start {}: {e}", at + 1));
        report(name, at + 1, &fit, &d);
    }
}

fn report(name: &str, start: usize, fit: &Fit, d: &Dataset) {
    let sd: Vec<f64> = (0..fit.parameters.len()).map(|i| fit.u(i).unwrap()).collect();
    let parameters = digits(&fit.parameters, &d.certified);
    let deviations = digits(&sd, &d.certified_sd);
    let squares = digits(&[fit.sum_of_squares], &[d.sum_of_squares]);
    println!("{name:10} start {start}: digits {parameters:5.1} sd {deviations:5.1} sum of squares {squares:5.1}");
    assert!(parameters >= 6.0, "{name} start {start}: {parameters} digits");
    if name != "Lanczos1" {
        assert!(deviations >= 6.0 && squares >= 6.0, "{name} start {start}: {deviations}, {squares} digits");
    }
}

macro_rules! sets {
    ($($test:ident: $name:literal [$p:literal] |$b:ident, $x:ident| $model:expr;)*) => {$(
        #[test]
        fn $test() {
            fn model<R: Real>($b: [R; $p], $x: &[f64]) -> R { $model }
            check::<$p>($name, include_str!(concat!("nist_strd/", $name, ".dat")), model);
        }
    )*};
}

fn one<R: Real>() -> R {
    R::of(1.0)
}

fn exponentials<R: Real>(b: [R; 6], x: f64) -> R {
    b[0] * (-b[1] * x).exp() + b[2] * (-b[3] * x).exp() + b[4] * (-b[5] * x).exp()
}

fn two_gauss<R: Real>(b: [R; 8], x: f64) -> R {
    let peak = |height: R, centre: R, width: R| height * (-((-centre + x) / width).powi(2)).exp();
    b[0] * (-b[1] * x).exp() + peak(b[2], b[3], b[4]) + peak(b[5], b[6], b[7])
}

fn cubic_ratio<R: Real>(b: [R; 7], x: f64) -> R {
    let (x2, x3) = (x * x, x * x * x);
    (b[0] + b[1] * x + b[2] * x2 + b[3] * x3) / (b[4] * x + b[5] * x2 + b[6] * x3 + 1.0)
}

// Cases MS-11 (Misra1a), MS-13 (Chwirut2), MS-14 (DanWood): tolerance relative 1e-6, here from both starts; and all
// other nonlinear sets of the collection.
sets! {
    misra1a: "Misra1a" [2] |b, x| b[0] * (one::<R>() - (-b[1] * x[0]).exp());
    misra1b: "Misra1b" [2] |b, x| b[0] * (one::<R>() - (b[1] * x[0] / 2.0 + 1.0).powi(-2));
    misra1c: "Misra1c" [2] |b, x| b[0] * (one::<R>() - (b[1] * 2.0 * x[0] + 1.0).powf(-0.5));
    misra1d: "Misra1d" [2] |b, x| b[0] * b[1] * x[0] / (b[1] * x[0] + 1.0);
    chwirut1: "Chwirut1" [3] |b, x| (-b[0] * x[0]).exp() / (b[1] + b[2] * x[0]);
    chwirut2: "Chwirut2" [3] |b, x| (-b[0] * x[0]).exp() / (b[1] + b[2] * x[0]);
    danwood: "DanWood" [2] |b, x| b[0] * R::of(x[0]).pow(b[1]);
    lanczos1: "Lanczos1" [6] |b, x| exponentials(b, x[0]);
    lanczos2: "Lanczos2" [6] |b, x| exponentials(b, x[0]);
    lanczos3: "Lanczos3" [6] |b, x| exponentials(b, x[0]);
    gauss1: "Gauss1" [8] |b, x| two_gauss(b, x[0]);
    gauss2: "Gauss2" [8] |b, x| two_gauss(b, x[0]);
    gauss3: "Gauss3" [8] |b, x| two_gauss(b, x[0]);
    kirby2: "Kirby2" [5] |b, x| {
        let x = x[0];
        (b[0] + b[1] * x + b[2] * x * x) / (b[3] * x + b[4] * x * x + 1.0)
    };
    hahn1: "Hahn1" [7] |b, x| cubic_ratio(b, x[0]);
    thurber: "Thurber" [7] |b, x| cubic_ratio(b, x[0]);
    nelson: "Nelson" [3] |b, x| b[0] - b[1] * x[0] * (-b[2] * x[1]).exp();
    mgh09: "MGH09" [4] |b, x| b[0] * (b[1] * x[0] + x[0] * x[0]) / (b[2] * x[0] + b[3] + x[0] * x[0]);
    mgh10: "MGH10" [3] |b, x| b[0] * (b[1] / (b[2] + x[0])).exp();
    mgh17: "MGH17" [5] |b, x| b[0] + b[1] * (-b[3] * x[0]).exp() + b[2] * (-b[4] * x[0]).exp();
    roszman1: "Roszman1" [4] |b, x| {
        b[0] - b[1] * x[0] - (b[2] / (-b[3] + x[0])).atan() / std::f64::consts::PI
    };
    rat42: "Rat42" [3] |b, x| b[0] / ((b[1] - b[2] * x[0]).exp() + 1.0);
    rat43: "Rat43" [4] |b, x| b[0] / ((b[1] - b[2] * x[0]).exp() + 1.0).pow(one::<R>() / b[3]);
    enso: "ENSO" [9] |b, x| {
        let turn = 2.0 * std::f64::consts::PI * x[0];
        let year = R::of(turn / 12.0);
        let (first, second) = (R::of(turn) / b[3], R::of(turn) / b[6]);
        b[0] + b[1] * year.cos() + b[2] * year.sin() + b[4] * first.cos() + b[5] * first.sin()
            + b[7] * second.cos() + b[8] * second.sin()
    };
    eckerle4: "Eckerle4" [3] |b, x| b[0] / b[1] * (((-b[2] + x[0]) / b[1]).powi(2) * -0.5).exp();
    boxbod: "BoxBOD" [2] |b, x| b[0] * (one::<R>() - (-b[1] * x[0]).exp());
    bennett5: "Bennett5" [3] |b, x| b[0] * (b[1] + x[0]).pow(R::of(-1.0) / b[2]);
}

/// Norris: a straight line, certified to 15 digits.
#[test]
fn norris() {
    let d = read(include_str!("nist_strd/Norris.dat"));
    let design: Vec<f64> = d.x.iter().flat_map(|x| [1.0, x[0]]).collect();
    let fit = linear(&design, 2, &d.y, None).unwrap();
    assert!(digits(&fit.parameters, &[-0.262_323_073_774_029, 1.002_116_818_020_45]) >= 11.0);
    let sd = [fit.u(0).unwrap(), fit.u(1).unwrap()];
    assert!(digits(&sd, &[0.232_818_234_301_152, 0.429_796_848_199_937e-3]) >= 11.0);
    near("residual standard deviation", fit.s, 0.884_796_396_144_373, 1e-12);
}

/// Case MS-16: Longley, ill-conditioned. Certified coefficients from memory, verified by the case's author by exact
/// rational arithmetic. Tolerance relative 1e-7.
#[test]
fn ms_16_longley() {
    #[rustfmt::skip]
    let rows: [[f64; 7]; 16] = [
        [60323.0, 83.0, 234289.0, 2356.0, 1590.0, 107608.0, 1947.0],
        [61122.0, 88.5, 259426.0, 2325.0, 1456.0, 108632.0, 1948.0],
        [60171.0, 88.2, 258054.0, 3682.0, 1616.0, 109773.0, 1949.0],
        [61187.0, 89.5, 284599.0, 3351.0, 1650.0, 110929.0, 1950.0],
        [63221.0, 96.2, 328975.0, 2099.0, 3099.0, 112075.0, 1951.0],
        [63639.0, 98.1, 346999.0, 1932.0, 3594.0, 113270.0, 1952.0],
        [64989.0, 99.0, 365385.0, 1870.0, 3547.0, 115094.0, 1953.0],
        [63761.0, 100.0, 363112.0, 3578.0, 3350.0, 116219.0, 1954.0],
        [66019.0, 101.2, 397469.0, 2904.0, 3048.0, 117388.0, 1955.0],
        [67857.0, 104.6, 419180.0, 2822.0, 2857.0, 118734.0, 1956.0],
        [68169.0, 108.4, 442769.0, 2936.0, 2798.0, 120445.0, 1957.0],
        [66513.0, 110.8, 444546.0, 4681.0, 2637.0, 121950.0, 1958.0],
        [68655.0, 112.6, 482704.0, 3813.0, 2552.0, 123366.0, 1959.0],
        [69564.0, 114.2, 502601.0, 3931.0, 2514.0, 125368.0, 1960.0],
        [69331.0, 115.7, 518173.0, 4806.0, 2572.0, 127852.0, 1961.0],
        [70551.0, 116.9, 554894.0, 4007.0, 2827.0, 130081.0, 1962.0],
    ];
    let y: Vec<f64> = rows.iter().map(|r| r[0]).collect();
    let design: Vec<f64> = rows.iter().flat_map(|r| [1.0, r[1], r[2], r[3], r[4], r[5], r[6]]).collect();
    let fit = linear(&design, 7, &y, None).unwrap();
    let certified = [
        -3_482_258.634_595_82,
        15.061_872_271_373_3,
        -0.035_819_179_292_591,
        -2.020_229_803_816_83,
        -1.033_226_867_173_59,
        -0.051_104_105_653_580_7,
        1_829.151_464_613_55,
    ];
    let got = digits(&fit.parameters, &certified);
    println!("Longley: {got:.1} digits");
    assert!(got >= 7.0, "{got}");
    assert!(digits(&[fit.s], &[304.854_073_561_965]) >= 7.0);
}

/// Wampler1 and Wampler2: fifth-degree polynomials through their own exact values at 0…20 (data by their definition).
#[test]
fn wampler_1_and_2() {
    for base in [1.0f64, 0.1] {
        let at = |x: f64| (0..6).map(|k| (base * x).powi(k)).sum::<f64>();
        let x: Vec<f64> = (0..21).map(f64::from).collect();
        let y: Vec<f64> = x.iter().map(|x| at(*x)).collect();
        let design: Vec<f64> = x.iter().flat_map(|x| (0..6).map(|k| x.powi(k))).collect();
        let fit = linear(&design, 6, &y, None).unwrap();
        let exact: Vec<f64> = (0..6).map(|k| base.powi(k)).collect();
        let got = digits(&fit.parameters, &exact);
        println!("Wampler with base {base}: {got:.1} digits");
        assert!(got >= 7.0, "{got}");
    }
}
