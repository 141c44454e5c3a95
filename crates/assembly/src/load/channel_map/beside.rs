//! What a channel map says beside conversion and plausibility: how the probe stands, and what is stored for people.

use super::Line;
use crate::load::register::Chain;
use crate::problem::Problems;
use channels::{Barometer, ChannelSpec, Convert, Probe, Reference};
use toml::Spanned;

/// How the probe stands in the air.
pub(super) fn probe(l: &Line, bad: &mut Problems) -> Option<Probe> {
    const WORDS: &[(u8, &str)] = &[(0, "total"), (1, "static"), (2, "vapour"), (3, "total-water")];
    let t = &l.table;
    let Some(at) = &t.probe else {
        if t.recovery.is_some() || t.duct_area_m2.is_some() {
            let help = "write probe = \"static\" or probe = \"total\" beside them";
            bad.0.push(l.text.problem(
                &l.name,
                "recovery and duct_area_m2 are of a probe whose kind is not said",
                help,
            ));
        }
        return None;
    };
    let (duct_area_m2, recovery) = (t.duct_area_m2, t.recovery);
    let kind = crate::load::word(&l.text, at, WORDS, "kind of probe", bad)?;
    if recovery.is_some() && kind != 1 || duct_area_m2.is_some() && kind > 1 {
        let message = "a recovery factor is for a static probe, a duct area for a static or a total one";
        bad.0.push(l.text.problem(at, message, "leave it out, or correct the probe"));
    }
    Some(match kind {
        0 => Probe::Total { duct_area_m2 },
        1 => Probe::Static { recovery, duct_area_m2 },
        2 => Probe::Vapour,
        _ => Probe::TotalWater,
    })
}

/// What is known of a channel beside its name and SI unit, for tables and manifest.
pub(super) fn about(l: &Line, names: &[String], spec: &ChannelSpec, chain: &Chain) -> Vec<(String, String)> {
    let t = &l.table;
    let mut about = vec![("map_unit", spec.unit.symbol.to_owned()), ("map_ucum", spec.unit.ucum.to_owned())];
    let reference = t.reference.as_ref().map(|r| r.get_ref().clone());
    let reference = reference.or(spec.unit.reference.map(|r| r.word().to_owned()));
    let own = t.uncertainty.iter().flat_map(|u| u.get_ref().all().to_vec());
    let uncertainty: Vec<String> = own.chain(chain.words.iter().cloned()).collect();
    let text = |s: &Option<Spanned<String>>| s.as_ref().map(|s| s.get_ref().clone()).unwrap_or_default();
    let number = |x: Option<f64>| x.map(|x| x.to_string()).unwrap_or_default();
    let inputs = match (&spec.conversion, spec.reference) {
        (Convert::Pair(p), _) => names.get(usize::from(p.with.0)).cloned(),
        (_, Some(Reference::Gauge { barometer: Some(Barometer::Channel(id)) })) => {
            names.get(usize::from(id.0)).cloned()
        }
        _ => None,
    };
    about.extend([
        ("reference", reference.unwrap_or_default()),
        ("uncertainty", uncertainty.join("; ")),
        ("correlation", text(&t.correlation)),
        ("sensors", chain.serials.join(", ")),
        ("needs_no_calibration", text(&t.needs_no_calibration)),
        ("probe", text(&t.probe)),
        ("recovery", number(t.recovery)),
        ("duct_area_m2", number(t.duct_area_m2)),
        ("inputs", inputs.unwrap_or_default()),
    ]);
    about.into_iter().filter(|(_, v)| !v.is_empty()).map(|(k, v)| (k.to_owned(), v)).collect()
}

/// What the probe means for the derived quantities.
pub(in crate::load) fn fact(probe: Option<Probe>) -> pack::Fact {
    use pack::Fact;
    match probe {
        None => Fact::Unsaid,
        Some(Probe::Vapour) => Fact::Vapour,
        Some(Probe::TotalWater) => Fact::TotalWater,
        Some(Probe::Total { duct_area_m2: area }) => Fact::Total { area },
        Some(Probe::Static { recovery, duct_area_m2: area }) => Fact::Static { recovery, area },
    }
}
