//! Limit files -> limits.

use super::Text;
use super::channel_map::Mapped;
use crate::config::limits::{LimitTable, LimitsFile};
use crate::config::{self, text};
use crate::files::{Files, beside};
use crate::nearest;
use crate::problem::Problems;
use limits::{Basis, Kind, Limit, LimitError, LimitSpec};
use pack::PackPlan;
use std::path::Path;
use stream::{ChannelId, Column, Span};
use toml::Spanned;
use units::{PressureReference, Quantity, Unit};

/// Columns whose own problems have been told.
pub(crate) struct Told {
    /// Channels of the maps, those with problems included.
    pub(crate) names: Vec<String>,
    /// A map or the pack could not be read: any column may have stood there.
    pub(crate) everything: bool,
}

struct Known<'a> {
    told: &'a Told,
    columns: &'a [Column],
    channels: &'a [Mapped],
    pack: &'a PackPlan,
}

#[allow(clippy::too_many_arguments)]
pub(crate) fn load(
    files: &Files,
    run_path: &Path,
    run: &Text,
    paths: &[Spanned<String>],
    columns: &[Column],
    channels: &[Mapped],
    pack: &PackPlan,
    told: &Told,
    bad: &mut Problems,
) -> Vec<Limit> {
    let known = Known { told, columns, channels, pack };
    let mut all: Vec<Limit> = Vec::new();
    for p in paths {
        let text = match Text::open(files, &beside(run_path, p.get_ref())) {
            Ok(t) => t,
            Err(e) => {
                bad.0.push(run.problem(p, e.message, e.help));
                continue;
            }
        };
        let file = bad.take(config::read::<LimitsFile>(&text.name, &text.text).map_err(Problems::from));
        for at in file.map(|f| f.limit).unwrap_or_default() {
            let name = &at.get_ref().name;
            if all.iter().any(|o| o.spec().name == *name.get_ref()) {
                let message = format!("two limits are called {:?}", name.get_ref());
                bad.0.push(text.problem(name, message, "give one of them another name"));
            }
            all.extend(known.limit(&text, &at, bad));
        }
    }
    all
}

impl Known<'_> {
    fn quantity(&self, column: usize) -> Quantity {
        match self.channels.get(column) {
            Some(c) => c.plan.channel.spec().quantity,
            None => self.pack.derived[column - self.channels.len()].derived.quantity,
        }
    }

    fn limit(&self, text: &Text, at: &Spanned<LimitTable>, bad: &mut Problems) -> Option<Limit> {
        const BASES: &[(Basis, &str)] = &[(Basis::Snapshot, "snapshot"), (Basis::EverySample, "sample")];
        let before = bad.0.len();
        let t = at.get_ref();
        let column = self.column(text, t, bad);
        let quantity = column.map(|c| self.quantity(c));
        let kinds: Vec<(&'static Kind, &str)> = limits::kinds::KINDS.iter().map(|k| (*k, k.name)).collect();
        let kind = super::word(text, &t.kind, &kinds, "limit kind", bad);
        let written = text::quantity(t.threshold.get_ref()).ok().map(|(_, u)| u);
        // A difference is shown in K: a scale with an offset would show it wrong.
        let unit = if quantity == Some(Quantity::TemperatureDifference) { units::find("K").ok() } else { written };
        let threshold = self.value(text, &t.threshold, quantity, false, bad);
        let reference = reference(text, t, quantity, written, bad);
        let dead_band = match &t.dead_band {
            Some(d) => self.value(text, d, quantity, true, bad),
            None => Some(0.0),
        };
        let on_delay = text.duration(t.on_delay.as_ref(), Span::ZERO, bad);
        let off_delay = text.duration(t.off_delay.as_ref(), Span::ZERO, bad);
        let basis = match &t.basis {
            Some(b) => super::word(text, b, BASES, "basis", bad),
            None => Some(Basis::Snapshot),
        };
        if basis == Some(Basis::EverySample) && column.is_some_and(|c| c >= self.channels.len()) {
            let message = format!("{} is computed on snapshots only", t.column.get_ref());
            bad.0.push(text.problem(&t.column, message, "write basis = \"snapshot\""));
        }
        if bad.0.len() > before {
            return None;
        }
        let spec = LimitSpec {
            name: t.name.get_ref().clone(),
            column: ChannelId(column? as u16),
            kind: kind?,
            threshold: threshold?,
            unit: unit?,
            reference,
            dead_band: dead_band?,
            on_delay,
            off_delay,
            basis: basis?,
            document: t.document.clone(),
            revision: t.revision.clone(),
            paragraph: t.paragraph.clone(),
        };
        let made = Limit::new(spec);
        made.map_err(|e| {
            let problem = match (&e, &t.dead_band) {
                (LimitError::Negative { field: "dead band", .. }, Some(d)) => text.problem(d, e.to_string(), ""),
                _ => text.problem(at, e.to_string(), ""),
            };
            bad.0.push(problem);
        })
        .ok()
    }

    fn column(&self, text: &Text, t: &LimitTable, bad: &mut Problems) -> Option<usize> {
        let name = t.column.get_ref();
        let found = self.columns.iter().position(|c| c.name == *name);
        if let (None, Some(absent)) = (found, self.pack.absent.iter().find(|a| a.name == *name)) {
            let message = format!("{name} cannot be computed: channels are missing");
            let help = format!("map {}; or take this limit out of the run", absent.missing.join(", "));
            bad.0.push(text.problem(&t.column, message, help));
        } else if found.is_none() && !self.told.everything && !self.told.names.contains(name) {
            let absent = self.pack.absent.iter().map(|a| a.name.as_str());
            let known = nearest::list(name, self.columns.iter().map(|c| c.name.as_str()).chain(absent));
            let message = format!("there is no channel or derived quantity {name:?}");
            bad.0.push(text.problem(&t.column, message, format!("there are: {known}")));
        }
        found
    }

    /// A number with a unit that fits the column, in SI; `difference` for a dead band. Without a column only the text
    /// is checked.
    fn value(
        &self,
        text: &Text,
        at: &Spanned<String>,
        quantity: Option<Quantity>,
        difference: bool,
        bad: &mut Problems,
    ) -> Option<f64> {
        let written = text::quantity(at.get_ref()).map_err(|e| bad.0.push(text.problem(at, e, ""))).ok()?;
        let quantity = quantity?;
        match written {
            (_, unit) if !difference && is_gauge(unit) && quantity == Quantity::Pressure => {
                bad.0.push(text.problem(at, GAUGE, ABSOLUTE));
                None
            }
            (_, unit) if !fits(unit, quantity, difference) => {
                let message = format!("{} is no unit of the column's {}", unit.symbol, quantity.name());
                bad.0.push(text.problem(at, message, format!("its SI unit is {}", quantity.si_symbol())));
                None
            }
            (x, unit) if difference || quantity == Quantity::TemperatureDifference => Some(unit.difference_to_si(x)),
            (x, unit) => Some(unit.to_si(x)),
        }
    }
}

const GAUGE: &str = "a gauge limit would need a barometer of its own: limits of pressures are absolute";
const ABSOLUTE: &str = "where the document gives it above ambient, add the ambient pressure it has in mind; then write \
                        reference = \"absolute\", or a unit that says so: psia, kPa(a), bar(a)";

/// What a pressure's threshold is measured against. Channels hold absolute pressures, gauge ones too, by their
/// barometer: a number that leaves it open could be off by an atmosphere.
fn reference(
    text: &Text,
    t: &LimitTable,
    quantity: Option<Quantity>,
    unit: Option<&Unit>,
    bad: &mut Problems,
) -> Option<PressureReference> {
    const WORDS: &[(PressureReference, &str)] = &[(PressureReference::Absolute, "absolute")];
    match (&t.reference, quantity?) {
        (None, Quantity::Pressure) => {
            let unit = unit?;
            if unit.quantity == Quantity::Pressure && unit.reference.is_none() {
                let message = format!("{} leaves open what the pressure is measured against", unit.symbol);
                bad.0.push(text.problem(
                    &t.threshold,
                    message,
                    format!("limits of pressures are absolute: {ABSOLUTE}"),
                ));
            }
            unit.reference
        }
        (Some(r), Quantity::Pressure) => {
            if r.get_ref() == PressureReference::Gauge.word() {
                bad.0.push(text.problem(r, GAUGE, ABSOLUTE));
                return None;
            }
            super::word(text, r, WORDS, "pressure reference of a limit", bad)
        }
        (Some(r), other) => {
            let message = format!("a reference is for a pressure, the column is a {}", other.name());
            bad.0.push(text.problem(r, message, "leave reference out"));
            None
        }
        (None, _) => None,
    }
}

fn is_gauge(unit: &Unit) -> bool {
    unit.reference == Some(PressureReference::Gauge)
}

fn fits(unit: &Unit, quantity: Quantity, difference: bool) -> bool {
    if difference {
        return unit.quantity == quantity || unit.fits(quantity);
    }
    unit.fits(quantity)
}
