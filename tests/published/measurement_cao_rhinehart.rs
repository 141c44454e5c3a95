//! S. Cao and R. R. Rhinehart, "An efficient method for on-line identification of steady state", Journal of Process
//! Control 5 (1995) 363: the ratio of variances. The recursion as in a public implementation that cites R. R.
//! Rhinehart, Proc. ACC 2013, 4477; the printed table of critical values was not at hand.

use crate::near;
use uncertainty::steady::{Filters, RatioOfVariances, null_distribution};

/// Case MS-18: distribution of the ratio for white noise. The figures are the case author's own simulation of 200 000
/// runs; tolerance 0.01 on mean and median, 0.03 on the 95 % value (and on 90 %; 0.05 on 99 %). The 95 % value of
/// 0.2/0.1/0.1 is remembered from the literature as 1.44.
#[test]
fn ms_18_distribution_for_white_noise() {
    for (filters, mean, p50, p90, p95, p99) in [
        (Filters::FAST, 1.039_303_119, 1.000_373_676, 1.315_892_850, 1.438_703_869, 1.724_210_013),
        (Filters::SLOW, 1.023_647_228, 0.999_660_191, 1.237_926_561, 1.325_437_423, 1.522_082_617),
    ] {
        let ratios = null_distribution(filters, 0.0, 800_000, 18).unwrap();
        near("mean", ratios.mean(), mean, 0.01);
        near("p50", ratios.quantile(0.5).unwrap(), p50, 0.01);
        near("p90", ratios.quantile(0.9).unwrap(), p90, 0.03);
        near("p95", ratios.quantile(0.95).unwrap(), p95, 0.03);
        near("p99", ratios.quantile(0.99).unwrap(), p99, 0.05);
    }
}

/// Case MS-20: seven samples from the zero state. Tolerance 1e-9. A first sample of 0 is the zero state.
#[test]
fn ms_20_seven_samples_by_hand() {
    let mut ratio = RatioOfVariances::starting_at(Filters::FAST, 0.0).unwrap();
    for (sample, published) in [
        (10.0, 1.8),
        (10.2, 3.143_402_932_030_209),
        (9.9, 4.009_398_713_112_936),
        (10.1, 4.675_507_330_254_307),
        (12.0, 5.387_228_428_938_18),
        (13.0, 6.274_598_283_263_789),
        (13.9, 7.155_807_836_727_114),
    ] {
        near("R", ratio.push(sample).unwrap().unwrap(), published, 1e-9);
    }
}
