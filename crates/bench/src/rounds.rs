//! Several pieces of work in turn, several times over: what they cost beside each other, whatever else the machine
//! does.

use crate::Figures;
use crate::cost::Stretch;
use crate::error::Error;
use serde_json::{Map, Value};
use std::hint::black_box;

const ROUNDS: usize = 9;
/// Calls are doubled until a round of them takes this long.
const ENOUGH_S: f64 = 0.01;

/// A piece of work.
pub(crate) struct Work {
    pub(crate) name: &'static str,
    /// So many calls; how many of them were refused.
    calls: Box<dyn Fn(usize) -> usize>,
}

impl Work {
    /// A call a time, with one input after the other. Inputs and results go through memory, as they do between parts of
    /// the program.
    pub(crate) fn new<I: 'static, T, E>(
        name: &'static str,
        inputs: Vec<I>,
        call: impl Fn(&I) -> Result<T, E> + 'static,
    ) -> Work {
        let calls = move |n: usize| {
            let mut refused = 0;
            for input in inputs.iter().cycle().take(n) {
                match call(black_box(input)) {
                    Ok(result) => _ = black_box(&result),
                    Err(_) => refused += 1,
                }
            }
            refused
        };
        Work { name, calls: Box::new(calls) }
    }

    fn round(&self, n: usize) -> Result<f64, Error> {
        let stretch = Stretch::start();
        let refused = (self.calls)(n);
        let cost = stretch.stop();
        if refused == 0 {
            return Ok(cost.cpu_s);
        }
        Err(Error::Failed(format!(
            "{}: {refused} of {n} calls were refused; a refusal costs something else",
            self.name
        )))
    }

    fn enough(&self) -> Result<usize, Error> {
        let mut n = 64;
        while self.round(n)? < ENOUGH_S {
            n *= 2;
        }
        Ok(n)
    }
}

/// What each call costs, ns of processor time, a figure a round.
pub(crate) fn rounds(work: &[Work]) -> Result<Vec<Vec<f64>>, Error> {
    let calls: Vec<usize> = work.iter().map(Work::enough).collect::<Result<_, _>>()?;
    let mut ns = vec![Vec::new(); work.len()];
    for _ in 0..ROUNDS {
        for ((w, n), ns) in work.iter().zip(&calls).zip(&mut ns) {
            ns.push(w.round(*n)? * 1e9 / *n as f64);
        }
    }
    Ok(ns)
}

/// Median, lowest and highest, of figures in the order they came.
pub(crate) fn spread(figures: &[f64]) -> Value {
    let mut sorted = figures.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = |i: usize| sorted.get(i).map(|x| (x * 1000.0).round() / 1000.0).into();
    let last = sorted.len().saturating_sub(1);
    let fields = [("median", at(last / 2)), ("lowest", at(0)), ("highest", at(last))];
    Value::Object(fields.map(|(name, x)| (name.to_owned(), x)).into_iter().collect::<Map<_, _>>())
}

/// The fields of a line: a spread for each piece of work.
pub(crate) fn figures(work: &[Work], ns: &[Vec<f64>]) -> Figures {
    work.iter().zip(ns).map(|(w, ns)| (w.name.to_owned(), spread(ns))).collect()
}

/// Numbers that lie up to `share` of it beside the middle.
pub(crate) fn about<const N: usize>(middle: [f64; N], share: [f64; N]) -> Vec<[f64; N]> {
    const INPUTS: usize = 4096;
    let mut seed = 0x9E37_79B9_7F4A_7C15_u64;
    let mut unit = || {
        // xorshift64: G. Marsaglia, Xorshift RNGs, Journal of Statistical Software 8 (2003).
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        (seed >> 11) as f64 / (1u64 << 53) as f64
    };
    (0..INPUTS).map(|_| std::array::from_fn(|i| middle[i] * (1.0 + share[i] * (2.0 * unit() - 1.0)))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_round_has_a_figure_and_refusals_are_told() {
        let inputs = about([1.0], [0.5]);
        assert!(inputs.iter().all(|x| (0.5..1.5).contains(&x[0])));
        let ns = rounds(&[Work::new("roots", inputs.clone(), |x| Ok::<_, ()>(x[0].sqrt()))]).unwrap();
        assert!(ns[0].len() == ROUNDS && ns[0].iter().all(|ns| *ns > 0.0), "{ns:?}");
        let refuses = Work::new("refuses", inputs, |x| if x[0] > 0.6 { Ok(()) } else { Err(()) });
        assert!(rounds(&[refuses]).unwrap_err().to_string().contains("refuses"));
    }

    #[test]
    fn the_median_is_the_one_in_the_middle() {
        let s = spread(&[5.0, 1.0, 2.0, 9.0, 4.0]);
        assert_eq!(
            (s["median"].as_f64(), s["lowest"].as_f64(), s["highest"].as_f64()),
            (Some(4.0), Some(1.0), Some(9.0))
        );
    }
}
