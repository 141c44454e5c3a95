//! Two recorders of one run, their clocks apart by a known offset and drift: what `align` proposes must be that within
//! what it says of its own uncertainty, what it cannot know it must refuse, and nothing is applied unasked.
#![allow(clippy::unwrap_used)]

use assembly::Error;
use assembly::align::{Ask, Proposal, align};
use assembly::replay::{ReplayOptions, captures};
use recording::{RealDisk, Stored};
use std::fs;
use std::path::Path;
use std::sync::Arc;

const START: f64 = 1_772_352_000.0;
const RUN: &str = "[run]\nname = \"two\"\nchannels = [\"map.toml\"]\n\
    [[source]]\nname = \"a\"\nkind = \"table\"\npath = \"a.csv\"\n\
    [[source]]\nname = \"b\"\nkind = \"table\"\npath = \"b.csv\"\n";
const MAP: &str = "[channel]\n\"acm.speed\" = { from = \"a/n\", unit = \"rpm\" }\n\
    \"speed.again\" = { from = \"b/n\", unit = \"rpm\" }\n\"valve.flow.position\" = { from = \"a/v\", unit = \"%\" }\n\
    \"marker\" = { from = \"b/m\", unit = \"1\" }\n";

/// Steps and ramps: (time, value) corners, s and rpm.
type Shape = [(f64, f64)];

fn value(shape: &Shape, t: f64) -> f64 {
    let after = shape.iter().position(|c| c.0 > t).unwrap_or(shape.len());
    match (after.checked_sub(1).map(|i| shape[i]), shape.get(after)) {
        (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0),
        (Some(a), None) => a.1,
        (None, _) => shape[0].1,
    }
}

/// Numbers between 0 and 1, the same each time.
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// What a recorder writes of a shape whose clock shows `clock(t)` at the true time t.
fn table(names: &str, shape: &Shape, every: f64, until: f64, clock: impl Fn(f64) -> f64, n: &mut Numbers) -> String {
    let mut text = format!("time,{names}\ns,rpm,1\n").replace("n,v\ns,rpm,1", "n,v\ns,rpm,%");
    let mut t = every * n.next();
    while t < until {
        let noise = 20.0 * (n.next() + n.next() - 1.0);
        text += &format!("{:.6},{:.2},{:.3}\n", START + clock(t), value(shape, t) + noise, value(shape, t) / 400.0);
        t += every;
    }
    text
}

fn rig(a: &str, b: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [("run.toml", RUN), ("map.toml", MAP), ("a.csv", a), ("b.csv", b)] {
        fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn asked(folder: &Path, reference: &str, channel: &str) -> Result<Proposal, Error> {
    align(&Ask { run: &folder.join("run.toml"), captures: &[], reference, channel })
}

#[test]
fn one_shared_step_gives_the_offset_within_its_uncertainty() {
    let shape = [(0.0, 0.0), (30.0, 0.0), (30.0001, 40_000.0)];
    let mut n = Numbers(7);
    let mut sum = 0.0;
    for i in 0..40 {
        let offset = f64::from(i) * 1.37 - 20.0;
        let a = table("n,v", &shape, 0.1, 60.0, |t| t, &mut n);
        let b = table("n,m", &shape, 0.05, 60.0, |t| t - offset, &mut n);
        let p = asked(rig(&a, &b).path(), "acm.speed", "speed.again").unwrap_or_else(|e| panic!("{e}"));
        let (found, u) = p.offset_s;
        assert_eq!((p.drift_ppm, p.counts), (None, (1, 1, 1)));
        assert!((u - (0.1f64 * 0.1 + 0.05 * 0.05).sqrt() / 12f64.sqrt()).abs() < 1e-3, "{u}");
        assert!((found - offset).abs() < 3.0 * u, "{found} for {offset}, u {u}");
        sum += units::math::powi((found - offset) / u, 2);
    }
    // Forty errors in units of their uncertainty: their mean square is 1, with a deviation of 0.15 for a triangle.
    assert!((0.5..1.6).contains(&(sum / 40.0)), "{}", sum / 40.0);
}

#[test]
fn run_ups_over_an_hour_give_offset_and_drift_within_their_uncertainties() {
    let mut n = Numbers(11);
    let mut shape = vec![(0.0, 0.0)];
    for (at, high) in [(200.0, 38_000.0), (900.0, 0.0), (1000.0, 41_000.0), (2800.0, 0.0), (3100.0, 40_000.0)] {
        let last = shape.last().unwrap().1;
        shape.extend([(at, last), (at + 4.0, high)]);
    }
    let (mut offsets, mut drifts) = (0.0, 0.0);
    for i in 0..5 {
        let (offset, drift) = (f64::from(i) * 777.0 - 1800.0, (f64::from(i) - 1.9) * 45e-6);
        let a = table("n,v", &shape, 0.5, 3600.0, |t| t, &mut n);
        // t = shown + offset + drift·shown
        let b = table("n,m", &shape, 0.3, 3600.0, |t| (t - offset) / (1.0 + drift), &mut n);
        let p = asked(rig(&a, &b).path(), "acm.speed", "speed.again").unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(p.counts, (5, 5, 5));
        let shown = p.since.0 as f64 / 1e9 - START;
        let ((found, u), (ppm, u_ppm)) = (p.offset_s, p.drift_ppm.unwrap());
        let expected = offset + drift * shown;
        assert!((found - expected).abs() < 3.0 * u, "{found} for {expected}, u {u}");
        assert!((ppm - drift * 1e6).abs() < 3.0 * u_ppm, "{ppm} for {} ppm, u {u_ppm}", drift * 1e6);
        assert!(u < 0.1 && u_ppm < 80.0, "{u} s, {u_ppm} ppm: not worth proposing");
        offsets += units::math::powi((found - expected) / u, 2) / 5.0;
        drifts += units::math::powi((ppm - drift * 1e6) / u_ppm, 2) / 5.0;
    }
    // On a ramp the straight line between two values knows better than the distance of the values: u is on the safe side.
    assert!(offsets < 3.0 && drifts < 3.0, "{offsets} {drifts}");
}

#[test]
fn channels_of_two_quantities_share_an_event() {
    let shape = [(0.0, 0.0), (30.0, 0.0), (30.0001, 40_000.0), (50.0, 40_000.0), (50.0001, 0.0)];
    let mut n = Numbers(3);
    let a = table("n,v", &shape, 0.1, 70.0, |t| t, &mut n);
    let b = table("n,m", &shape, 0.1, 70.0, |t| t + 12.5, &mut n);
    let p = asked(rig(&a, &b).path(), "valve.flow.position", "marker").unwrap_or_else(|e| panic!("{e}"));
    assert!((p.offset_s.0 + 12.5).abs() < 3.0 * p.offset_s.1, "{:?}", p.offset_s);
    assert!(p.drift_ppm.is_some_and(|(d, u)| d.abs() < 3.0 * u), "{:?}", p.drift_ppm);
    assert!(!p.toml.contains("drift_ppm"), "a drift that is not told from none is not proposed: {}", p.toml);
}

#[test]
fn the_proposal_in_the_run_file_is_applied_told_and_kept_and_nothing_before() {
    let shape = [(0.0, 0.0), (30.0, 0.0), (30.0001, 40_000.0)];
    let mut n = Numbers(5);
    let a = table("n,v", &shape, 0.1, 60.0, |t| t, &mut n);
    let b = table("n,m", &shape, 0.1, 60.0, |t| t - 100.0, &mut n);
    let folder = rig(&a, &b);
    let run = folder.path().join("run.toml");
    let replay = || {
        let (disk, out) = (Arc::new(RealDisk), Some(folder.path().join("out")));
        captures(&[], ReplayOptions { disk, with: Some(run.clone()), out, compare: false, progress: &mut |_| {} })
            .unwrap()
    };
    let p = asked(folder.path(), "acm.speed", "speed.again").unwrap();
    let before = replay();
    assert!((before.span.unwrap().1 - before.span.unwrap().0).as_secs_f64() > 150.0, "a proposal moves nothing");
    assert!(before.notes.is_empty(), "{:?}", before.notes);
    fs::write(&run, format!("{RUN}{}", p.toml)).unwrap();
    let after = replay();
    assert!((after.span.unwrap().1 - after.span.unwrap().0).as_secs_f64() < 61.0);
    assert!(after.notes.iter().any(|n| n.starts_with("times of b are corrected")), "{:?}", after.notes);
    let kept = Stored::open(&RealDisk, &after.folder.unwrap()).unwrap().manifest.captures[1].clock.clone();
    assert!(kept.contains(&p.found), "{kept}");
    // Asked again, it says the same: what the run file says of the clock does not count.
    assert_eq!(asked(folder.path(), "acm.speed", "speed.again").unwrap().toml, p.toml);
}

#[test]
fn what_shares_no_event_is_refused_with_the_reason() {
    let mut n = Numbers(9);
    let step = [(0.0, 0.0), (30.0, 0.0), (30.0001, 40_000.0)];
    let fall = [(0.0, 40_000.0), (30.0, 40_000.0), (30.0001, 0.0)];
    let flat = [(0.0, 1000.0)];
    let mut periodic = Vec::new();
    for i in 0..5 {
        let t = f64::from(i) * 10.0;
        periodic.extend([(t, 0.0), (t + 5.0, 0.0), (t + 5.0001, 40_000.0), (t + 9.9999, 40_000.0)]);
    }
    let mut told = Vec::new();
    let cases: [(&Shape, &Shape); 4] =
        [(&step, &flat), (&step, &fall), (&periodic, &periodic[..6]), (&periodic, &step)];
    for (a, b) in cases {
        let a = table("n,v", a, 0.1, 60.0, |t| t, &mut n);
        let b = table("n,m", b, 0.1, 60.0, |t| t + 3.0, &mut n);
        let e = asked(rig(&a, &b).path(), "acm.speed", "speed.again").unwrap_err().to_string();
        let shown: String = e.chars().filter(|c| !c.is_ascii_digit()).collect();
        told.push(shown);
    }
    let a = table("n,v", &step, 0.1, 60.0, |t| t, &mut n);
    let folder = rig(&a, &a.replace("n,v", "n,m").replace('%', "1"));
    told.push(asked(folder.path(), "acm.speed", "valve.flow.position").unwrap_err().to_string());
    told.push(asked(folder.path(), "acm.speed", "speed.agin").unwrap_err().to_string());
    insta::assert_snapshot!(told.join("\n"));
}
