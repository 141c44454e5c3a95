use super::*;
use crate::ChannelSpec;
use units::Quantity;

fn watch(rate: Option<f64>, frozen_s: Option<i64>) -> Watch {
    let spec = ChannelSpec::new("a.temperature", Quantity::Temperature, units::find("degC").unwrap());
    let spec = ChannelSpec { rate, frozen_after: frozen_s.map(Span::from_secs), ..spec };
    Watch::new(&Channel::new(spec).unwrap()).unwrap()
}

/// The reasons of values that came at these times (s).
fn reasons(w: &mut Watch, samples: &[(f64, f64)]) -> String {
    let word = |&(t, x): &(f64, f64)| {
        let t = EventTime((t * 1e9).round() as i64);
        match w.judge(t, Some(x), Reading::Good(x)).reason() {
            Reason::None => ".".to_owned(),
            r => r.word().to_owned(),
        }
    };
    samples.iter().map(word).collect::<Vec<_>>().join(" ")
}

#[test]
fn a_step_is_doubted_until_its_time_has_passed() {
    let mut w = watch(Some(10.0), None);
    let step = [(0.0, 20.0), (1.0, 20.0), (1.1, 50.0), (2.0, 50.0), (3.9, 50.0), (4.0, 50.0), (4.1, 50.0)];
    assert_eq!(reasons(&mut w, &step), ". . rate rate rate . .");
}

#[test]
fn a_spike_alone_is_doubted() {
    let mut w = watch(Some(10.0), None);
    assert_eq!(reasons(&mut w, &[(0.0, 20.0), (0.1, 1372.0), (0.2, 20.0), (0.3, 20.1)]), ". rate . .");
}

#[test]
fn noise_of_fast_samples_is_no_rate_and_a_ramp_too_steep_is() {
    let mut w = watch(Some(10.0), None);
    let noise: Vec<(f64, f64)> = (0..300).map(|i| (f64::from(i) * 0.01, f64::from(i % 2) * 4.0)).collect();
    assert!(!reasons(&mut w, &noise).contains("rate"));
    let mut w = watch(Some(10.0), None);
    let ramp =
        |slope: f64| (0..60).map(move |i| (f64::from(i) * 0.05, slope * f64::from(i) * 0.05)).collect::<Vec<_>>();
    assert!(!reasons(&mut w, &ramp(9.5)).contains("rate"));
    let mut w = watch(Some(10.0), None);
    let steep = reasons(&mut w, &ramp(20.0));
    assert_eq!(steep.matches("rate").count(), 49, "{steep}");
}

#[test]
fn a_time_that_goes_back_says_nothing_of_a_change() {
    let mut w = watch(Some(10.0), None);
    assert_eq!(reasons(&mut w, &[(5.0, 20.0), (4.0, 90.0), (6.0, 21.0)]), ". . .");
}

#[test]
fn frozen_is_no_bit_changed_while_numbers_kept_coming() {
    let mut w = watch(None, Some(3));
    let same: Vec<(f64, f64)> = (0..6).map(|i| (f64::from(i), 20.5)).collect();
    assert_eq!(reasons(&mut w, &same), ". . . frozen frozen frozen");
    assert_eq!(reasons(&mut w, &[(6.0, 20.6), (7.0, 20.6)]), ". .");
    // A pause longer than stale (2 s): nothing came, so nothing stood still.
    let mut w = watch(None, Some(3));
    assert_eq!(reasons(&mut w, &[(0.0, 1.0), (2.0, 1.0), (4.5, 1.0), (6.5, 1.0), (7.5, 1.0)]), ". . . . frozen");
}

#[test]
fn what_is_no_number_or_not_good_is_not_counted_from() {
    let mut w = watch(Some(10.0), Some(3));
    assert_eq!(w.judge(EventTime(0), None, Reading::Bad(Reason::Open)), Reading::Bad(Reason::Open));
    let out = Reading::Uncertain(900.0, Reason::Range);
    assert_eq!(w.judge(EventTime(1), Some(900.0), out), out);
    assert_eq!(reasons(&mut w, &[(0.1, 20.0)]), ".");
}

#[test]
fn forgotten_is_begun_again() {
    let mut w = watch(Some(10.0), Some(3));
    assert_eq!(reasons(&mut w, &[(0.0, 20.0)]), ".");
    w.forget();
    assert_eq!(reasons(&mut w, &[(0.5, 90.0), (1.5, 90.0), (3.4, 90.0), (3.5, 90.0)]), ". . . frozen");
}
