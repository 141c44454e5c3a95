use super::*;
use proptest::prelude::*;

fn product<R: Real>(x: &[R]) -> R {
    x[0] * x[1] * x[2]
}

/// Whatever N, the sensitivities have the same bits.
#[test]
fn chunks_give_the_same() {
    let x = [2.0, 3.0, 5.0];
    let all = gradient::<3>(&x, product).unwrap();
    assert_eq!(all, (30.0, vec![15.0, 10.0, 6.0]));
    assert_eq!(gradient::<1>(&x, product).unwrap(), all);
    assert_eq!(gradient::<2>(&x, product).unwrap(), all);
    assert_eq!(gradient::<8>(&x, product).unwrap(), all);
}

#[test]
fn a_common_cause_cancels_in_a_difference_and_adds_in_a_sum() {
    let inputs = [Input::new(10.0, 0.5); 2];
    let shared = [Some(Shared { group: 3, u: 0.4 }); 2];
    let u = |c: [f64; 2]| combine(0.0, &c, &inputs, Correlation::Groups(&shared)).unwrap().u;
    assert!((u([1.0, -1.0]) - (2.0f64 * 0.3 * 0.3).sqrt()).abs() < 1e-15);
    assert!((u([1.0, 1.0]) - (2.0f64 * 0.3 * 0.3 + 4.0 * 0.16).sqrt()).abs() < 1e-15);
    // The same as a matrix: r = 0.4²/0.5².
    let r = [1.0, 0.64, 0.64, 1.0];
    let by_matrix = combine(0.0, &[1.0, -1.0], &inputs, Correlation::Matrix(&r)).unwrap().u;
    assert!((by_matrix - u([1.0, -1.0])).abs() < 1e-15);
}

#[test]
fn degrees_of_freedom() {
    let inputs = [Input { value: 0.0, u: 3.0, dof: 4.0 }, Input { value: 0.0, u: 4.0, dof: 9.0 }];
    let dof = |c| combine(0.0, &[1.0, 1.0], &inputs, c).unwrap().dof;
    assert!((dof(Correlation::Independent) - 625.0 / (81.0 / 4.0 + 256.0 / 9.0)).abs() < 1e-12);
    // One block: the smaller of both, for the block is the whole variance.
    let r = [1.0, 0.5, 0.5, 1.0];
    assert!((dof(Correlation::Matrix(&r)) - 4.0).abs() < 1e-12);
    let alone = [1.0, 0.0, 0.0, 1.0];
    assert!((dof(Correlation::Matrix(&alone)) - dof(Correlation::Independent)).abs() < 1e-12);
    assert_eq!(combine(1.0, &[0.0, 0.0], &inputs, Correlation::Independent).unwrap().dof, f64::INFINITY);
}

#[test]
fn contributors_are_ranked_and_add_up() {
    let inputs = [Input::new(2.0, 0.01), Input::new(3.0, 0.2), Input::new(5.0, 0.1)];
    let (_, g) = gradient::<3>(&[2.0, 3.0, 5.0], product).unwrap();
    let top = top_contributions::<4>(&g, &inputs, Correlation::Independent).unwrap();
    let order: Vec<usize> = top.iter().flatten().map(|c| c.input).collect();
    assert_eq!(order, [1, 2, 0]);
    assert_eq!(top[3], None);
    let shares: f64 = top.iter().flatten().map(|c| c.share).sum();
    assert!((shares - 1.0).abs() < 1e-14);
    assert!((top[0].unwrap().u - 2.0).abs() < 1e-15);
    let one = top_contributions::<1>(&g, &inputs, Correlation::Independent).unwrap();
    assert_eq!(one[0], top[0]);
}

/// x² at 0: no first-order uncertainty at all, √2·u² to second order (JCGM 101:2008, 9.4 speaks of such a case).
#[test]
fn curvature_is_told() {
    let square = |x: &[Dual<1>]| x[0].powi(2);
    let at = |mean| [Input::new(mean, 0.1)];
    let curvature = |inputs: &[Input]| curvature::<1>(inputs, Correlation::Independent, square);
    let judge = |inputs: &[Input]| judge::<1>(inputs, Correlation::Independent, square).unwrap().verdict;
    let second = second_order::<1>(&at(0.0), Correlation::Independent, square).unwrap();
    assert!((second.u - 2f64.sqrt() * 0.01).abs() < 1e-15 && (second.shift - 0.01).abs() < 1e-15);
    assert!(curvature(&at(0.0)).is_err());
    assert!(curvature(&at(0.1)).unwrap() > 0.2);
    assert!(curvature(&at(10.0)).unwrap() < 1e-4);
    assert_eq!(
        (judge(&at(0.0)), judge(&at(0.1)), judge(&at(10.0))),
        (Verdict::Curved, Verdict::Curved, Verdict::Straight)
    );
    assert_eq!(judge(&[Input::exact(0.0)]), Verdict::Straight);
    // At 0.3 u is 2.7 % off and the result 0.17·u; at 0.19 it is 6.7 % and 0.26·u: the shift alone is over its bound.
    assert_eq!((judge(&at(0.3)), judge(&at(0.19))), (Verdict::Straight, Verdict::Curved));
}

/// Where the range ends within one standard uncertainty nothing is promised.
#[test]
fn an_end_of_the_range_is_told() {
    let root = |x: &[Dual<1>]| x[0].sqrt();
    let judged = |value, u| judge::<1>(&[Input::new(value, u)], Correlation::Independent, root).unwrap();
    assert_eq!((judged(1.0, 1.1).verdict, judged(1.0, 1.1).second_order), (Verdict::Ends, None));
    assert_eq!((judged(1.0, 0.01).verdict, judged(1.0, 0.7).verdict), (Verdict::Straight, Verdict::Curved));
    assert!(judge::<1>(&[Input::new(-1.0, 0.1)], Correlation::Independent, root).is_err());
}

/// x·y of normal x, y with correlation r: mean μ_x·μ_y + r·u_x·u_y, variance μ_x²u_y² + μ_y²u_x² + 2·μ_x·μ_y·r·u_x·u_y
/// + u_x²·u_y²·(1 + r²), both exact (a result of probability theory, worked by hand).
#[test]
fn second_order_of_correlated_inputs() {
    let inputs = [Input::new(2.0, 0.5), Input::new(3.0, 0.8)];
    for r in [-1.0, -0.6, 0.0, 0.3, 1.0] {
        let matrix = [1.0, r, r, 1.0];
        let second = second_order::<2>(&inputs, Correlation::Matrix(&matrix), |x| x[0] * x[1]).unwrap();
        let variance = 4.0 * 0.64 + 9.0 * 0.25 + 12.0 * r * 0.4 + 0.16 * (1.0 + r * r);
        assert!((second.u * second.u - variance).abs() < 1e-12, "{r}: {second:?}");
        assert!((second.shift - r * 0.4).abs() < 1e-12, "{r}: {second:?}");
    }
    // The same by groups.
    let shared = [Some(Shared { group: 1, u: 0.3 }), Some(Shared { group: 1, u: 0.4 })];
    let second = second_order::<2>(&inputs, Correlation::Groups(&shared), |x| x[0] * x[1]).unwrap();
    assert!((second.shift - 0.12).abs() < 1e-12, "{second:?}");
}

#[test]
fn refusals_say_what_and_which() {
    let text = |r: Result<Combined, DomainError>| r.unwrap_err().to_string();
    let inputs = [Input::new(1.0, 0.1), Input::new(1.0, -0.1)];
    assert_eq!(
        text(combine(0.0, &[1.0, 1.0], &inputs, Correlation::Independent)),
        "combined uncertainty: standard uncertainty number 1 (from 0) is -0.1, must be a finite number, 0 or above"
    );
    let good = [inputs[0]; 2];
    assert!(text(combine(0.0, &[1.0], &good, Correlation::Independent)).contains("count of sensitivities is 1"));
    let r = [1.0, 0.5, 0.4, 1.0];
    assert!(text(combine(0.0, &[1.0; 2], &good, Correlation::Matrix(&r))).contains("mirror image"));
    let too_much = [Some(Shared { group: 0, u: 0.2 }), None];
    assert!(
        text(combine(0.0, &[1.0; 2], &good, Correlation::Groups(&too_much))).contains("not more than the input's own")
    );
    let infinite = propagate::<1>(&[Input::new(0.0, 0.1)], Correlation::Independent, |x| x[0].sqrt());
    assert_eq!(
        infinite.unwrap_err().to_string(),
        "formula: sensitivity to input number 0 (from 0) is inf, must be a finite number"
    );
}

proptest! {
    #[test]
    fn no_number_gives_nan(v in prop::collection::vec(any::<f64>(), 12)) {
        let input = |i: usize| Input { value: v[i], u: v[i + 1].abs(), dof: 1.0 + v[i + 2].abs() };
        let inputs = [input(0), input(3)];
        let shared = [Some(Shared { group: 0, u: v[6] }), Some(Shared { group: 0, u: inputs[1].u })];
        let r = [1.0, v[7].fract(), v[7].fract(), 1.0];
        use Correlation::{Groups, Independent, Matrix};
        for correlation in [Independent, Groups(&shared), Matrix(&r), Matrix(&v[..4])] {
            if let Ok(c) = combine(v[9], &[v[10], v[11]], &inputs, correlation) {
                prop_assert!(c.u.is_finite() && c.u >= 0.0 && c.dof >= 1.0, "{c:?}");
                prop_assert!(c.expanded(0.95).map_or(true, |e| e.low.is_finite() && e.high.is_finite()));
            }
            if let Ok(top) = top_contributions::<2>(&[v[10], v[11]], &inputs, correlation) {
                prop_assert!(top.iter().flatten().all(|c| c.share.is_finite() && c.u.is_finite()));
            }
        }
        if let Ok(p) = propagate::<2>(&inputs, Correlation::Independent, |x| x[0].powf(1.5) / x[1].ln()) {
            prop_assert!(p.combined.u.is_finite());
        }
        let curve = |x: &[Dual<2>]| x[0] * x[1].exp();
        for correlation in [Independent, Groups(&shared), Matrix(&r)] {
            let second = second_order::<2>(&inputs, correlation, curve);
            prop_assert!(second.map_or(true, |s| s.u.is_finite() && s.shift.is_finite()));
            prop_assert!(curvature::<2>(&inputs, correlation, curve).map_or(true, f64::is_finite));
            let judged = judge::<2>(&inputs, correlation, curve);
            prop_assert!(judged.map_or(true, |j| j.first_order.combined.u.is_finite()));
        }
    }
}
