//! Every conversion both ways, and what it refuses.
#![allow(clippy::unwrap_used)]

use proptest::prelude::*;
use sensors::{Conversion, CurrentLoop, Fault, Linear, SensorError, Table};

const ODD: [f64; 3] = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY];

fn table(points: &[(f64, f64)]) -> Table {
    Table::new(points).unwrap()
}

#[test]
fn a_line_is_a_line() {
    let line = Linear::new(0.1, -40.0).unwrap();
    assert_eq!(line.value(400.0), Ok(0.0));
    assert_eq!(line.raw(0.0), Ok(400.0));
    let line = Linear::through((4.0, 0.0), (20.0, 400.0)).unwrap();
    assert_eq!((line.value(12.0), line.value(24.0)), (Ok(200.0), Ok(500.0)));
    let falling = Linear::through((0.0, 100.0), (10.0, 0.0)).unwrap();
    assert_eq!((falling.value(2.5), falling.raw(75.0)), (Ok(75.0), Ok(2.5)));
}

#[test]
fn a_table_goes_through_its_points_and_ends_with_them() {
    let t = table(&[(0.0, -50.0), (10.0, 0.0), (30.0, 20.0)]);
    assert_eq!((t.value(0.0), t.value(10.0), t.value(30.0)), (Ok(-50.0), Ok(0.0), Ok(20.0)));
    assert_eq!((t.value(5.0), t.value(20.0)), (Ok(-25.0), Ok(10.0)));
    assert_eq!(t.value(30.000_001), Err(Fault::OutsideTable { value: 30.000_001, from: 0.0, to: 30.0 }));
    assert_eq!(t.value(-0.1), Err(Fault::OutsideTable { value: -0.1, from: 0.0, to: 30.0 }));
    assert_eq!((t.raw(-50.0), t.raw(10.0), t.raw(20.0)), (Ok(0.0), Ok(20.0), Ok(30.0)));
    assert_eq!(t.raw(20.5), Err(Fault::OutsideTable { value: 20.5, from: -50.0, to: 20.0 }));
}

#[test]
fn a_table_may_fall_either_way() {
    let signals_fall = table(&[(30.0, 20.0), (10.0, 0.0), (0.0, -50.0)]);
    assert_eq!(signals_fall, table(&[(0.0, -50.0), (10.0, 0.0), (30.0, 20.0)]));
    let values_fall = table(&[(0.0, 100.0), (1.0, 40.0), (3.0, 0.0)]);
    assert_eq!((values_fall.raw(100.0), values_fall.raw(40.0), values_fall.raw(20.0)), (Ok(0.0), Ok(1.0), Ok(2.0)));
    assert_eq!(values_fall.raw(0.0), Ok(3.0));
}

#[test]
fn a_table_that_rises_and_falls_is_read_forwards_alone() {
    let t = table(&[(0.0, 0.0), (1.0, 5.0), (2.0, 0.0)]);
    assert_eq!((t.value(0.5), t.raw(2.5)), (Ok(2.5), Err(Fault::NotInvertible)));
}

#[test]
fn a_loop_knows_its_faults() {
    let l = CurrentLoop::new(-50.0, 150.0).unwrap();
    assert_eq!((l.value(4.0), l.value(20.0), l.value(8.0)), (Ok(-50.0), Ok(150.0), Ok(0.0)));
    assert_eq!((l.value(3.61), l.value(20.9)), (Ok(-54.875), Ok(161.25)));
    assert_eq!(l.value(3.6), Err(Fault::Open { current: 3.6, limit: 3.6 }));
    assert_eq!(l.value(21.0), Err(Fault::Short { current: 21.0, limit: 21.0 }));
    assert_eq!(l.value(0.0), Err(Fault::Open { current: 0.0, limit: 3.6 }));
    assert_eq!(l.value(21.001), Err(Fault::Short { current: 21.001, limit: 21.0 }));
    assert_eq!((l.raw(0.0), l.raw(150.0)), (Ok(8.0), Ok(20.0)));
    assert_eq!(l.raw(175.0), Err(Fault::Short { current: 22.0, limit: 21.0 }));
    let own = CurrentLoop::with_fault_currents(0.0, 16.0, 3.8, 20.5).unwrap();
    assert_eq!(own.value(3.7), Err(Fault::Open { current: 3.7, limit: 3.8 }));
}

#[test]
fn what_is_no_number_is_a_fault() {
    let conversions = [
        Conversion::IDENTITY,
        Conversion::Table(table(&[(0.0, 0.0), (1.0, 1.0)])),
        Conversion::CurrentLoop(CurrentLoop::new(0.0, 1.0).unwrap()),
    ];
    for c in conversions {
        for x in ODD {
            assert!(matches!(c.value(x), Err(Fault::NotFinite { .. })), "{c:?} {x}");
            assert!(matches!(c.raw(x), Err(Fault::NotFinite { .. })), "{c:?} {x}");
        }
    }
    assert_eq!(Linear::new(10.0, 0.0).unwrap().value(f64::MAX), Err(Fault::NotFinite { value: f64::MAX }));
}

#[test]
fn descriptions_that_cannot_be_used_say_why() {
    let refused: [Result<(), SensorError>; 9] = [
        Linear::new(0.0, 1.0).map(drop),
        Linear::new(f64::NAN, 1.0).map(drop),
        Linear::through((4.0, 0.0), (4.0, 100.0)).map(drop),
        CurrentLoop::new(7.0, 7.0).map(drop),
        Table::new(&[(0.0, 0.0)]).map(drop),
        Table::new(&[(0.0, 0.0), (1.0, 1.0), (1.0, 2.0)]).map(drop),
        Table::new(&[(0.0, 0.0), (1.0, 1.0), (0.5, 2.0)]).map(drop),
        Table::new(&[(0.0, 0.0), (1.0, f64::INFINITY)]).map(drop),
        CurrentLoop::with_fault_currents(0.0, 1.0, 4.5, 21.0).map(drop),
    ];
    let text: Vec<String> = refused.iter().map(|r| r.as_ref().unwrap_err().to_string()).collect();
    insta::assert_snapshot!(text.join("\n"), @r"
    a factor of 0 gives the same value for every signal; give the value of one more raw unit
    the factor is NaN; give a finite number
    both points have signal 4; give two points that differ in signal and in value
    both points have value 7; give two points that differ in signal and in value
    a table needs at least two points, this one has 1; add the points of the calibration
    point 3 has signal 1 after 1; signals must rise from point to point or fall from point to point, each once
    point 3 has signal 0.5 after 1; signals must rise from point to point or fall from point to point, each once
    the value of a point is inf; give a finite number
    fault currents 4.5 and 21 mA do not enclose the measuring range of 4 to 20 mA; the usual ones are 3.6 and 21 mA
    ");
}

#[test]
fn faults_say_what_they_saw() {
    let l = CurrentLoop::new(0.0, 100.0).unwrap();
    let t = table(&[(0.0, 0.0), (1.0, 5.0), (2.0, 0.0)]);
    let faults = [l.value(2.0), l.value(22.0), t.value(3.0), t.raw(1.0), l.value(f64::NAN)];
    let text: Vec<String> = faults.iter().map(|f| f.unwrap_err().to_string()).collect();
    insta::assert_snapshot!(text.join("\n"), @r"
    loop current 2 mA is below 3.6 mA: wire open or transmitter without supply
    loop current 22 mA is above 21 mA: short circuit, or the transmitter reports its own failure
    3 is outside the table or formula, which goes from 0 to 2
    the table or formula cannot be read that way: it both rises and falls
    NaN is not a finite number, or becomes none by the conversion
    ");
}

/// Two to twelve points with rising signals and rising values.
fn rising() -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop::collection::vec((0.01..50.0_f64, 0.01..50.0_f64), 2..12).prop_map(|steps| {
        let (mut x, mut y) = (-100.0, -30.0);
        let step = |(dx, dy): (f64, f64)| {
            x += dx;
            y += dy;
            (x, y)
        };
        steps.into_iter().map(step).collect()
    })
}

proptest! {
    #[test]
    fn a_line_round_trips(factor in 0.001..1e3_f64, offset in -1e3..1e3_f64, raw in -1e5..1e5_f64) {
        let line = Linear::new(factor, offset).unwrap();
        let back = line.raw(line.value(raw).unwrap()).unwrap();
        prop_assert!((back - raw).abs() <= 1e-14 * (raw.abs() + (offset / factor).abs() + 1.0));
    }

    #[test]
    fn a_table_round_trips_between_its_ends(points in rising(), share in 0.0..=1.0_f64) {
        let t = table(&points);
        let (first, last) = (points[0].0, points[points.len() - 1].0);
        let raw = (first + share * (last - first)).clamp(first, last);
        let value = t.value(raw).unwrap();
        prop_assert!(value >= points[0].1 && value <= points[points.len() - 1].1);
        // A stretch may be 5000 times as wide as high: its rounding returns magnified.
        prop_assert!((t.raw(value).unwrap() - raw).abs() <= 1e-9, "{raw} {value}");
    }

    #[test]
    fn a_table_rises_with_its_signal(points in rising(), a in 0.0..=1.0_f64, b in 0.0..=1.0_f64) {
        let t = table(&points);
        let (first, last) = (points[0].0, points[points.len() - 1].0);
        let at = |share: f64| t.value((first + share * (last - first)).clamp(first, last)).unwrap();
        prop_assert!(at(a.min(b)) <= at(a.max(b)) + 1e-12);
    }

    #[test]
    fn a_loop_round_trips(low in -1e3..1e3_f64, span in 0.1..1e4_f64, current in 3.6..=21.0_f64) {
        let l = CurrentLoop::new(low, low + span).unwrap();
        let value = l.value(current).unwrap();
        match l.raw(value) {
            Ok(back) => prop_assert!((back - current).abs() <= 1e-9),
            Err(Fault::Open { current: c, .. } | Fault::Short { current: c, .. }) => {
                prop_assert!((c - current).abs() <= 1e-9, "only rounding at the very fault current")
            }
            Err(other) => prop_assert!(false, "{other}"),
        }
    }
}
