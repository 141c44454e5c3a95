//! What columns there are, and numbers with a unit that fits them.

use super::Told;
use crate::config::text;
use crate::load::Text;
use crate::nearest;
use crate::problem::Problems;
use pack::PackPlan;
use stream::Column;
use toml::Spanned;
use units::{PressureReference, Quantity, Unit};

/// What limits may refer to.
pub(crate) struct Known<'a> {
    pub(crate) told: &'a Told,
    pub(crate) columns: &'a [Column],
    /// What each channel measures; derived quantities follow in the columns.
    pub(crate) channels: &'a [Quantity],
    pub(crate) pack: &'a PackPlan,
}

pub(super) const GAUGE: &str = "a gauge limit would need a barometer of its own: limits of pressures are absolute";
pub(super) const ABSOLUTE: &str = "where the document gives it above ambient, add the ambient pressure it has in mind; \
                                   then write reference = \"absolute\", or a unit that says so: psia, kPa(a), bar(a)";

impl Known<'_> {
    pub(super) fn quantity(&self, column: usize) -> Quantity {
        match self.channels.get(column) {
            Some(quantity) => *quantity,
            None => self.pack.derived[column - self.channels.len()].derived.quantity,
        }
    }

    pub(super) fn column(&self, text: &Text, at: &Spanned<String>, bad: &mut Problems) -> Option<usize> {
        let name = at.get_ref();
        let found = self.columns.iter().position(|c| c.name == *name);
        if let (None, Some(absent)) = (found, self.pack.absent.iter().find(|a| a.name == *name)) {
            let message = format!("{name} cannot be computed: channels are missing");
            let help = format!("map {}; or take this limit out of the run", absent.missing.join(", "));
            bad.0.push(text.problem(at, message, help));
        } else if found.is_none() && !self.told.everything && !self.told.names.contains(name) {
            let absent = self.pack.absent.iter().map(|a| a.name.as_str());
            let known = nearest::list(name, self.columns.iter().map(|c| c.name.as_str()).chain(absent));
            let message = format!("there is no channel or derived quantity {name:?}");
            bad.0.push(text.problem(at, message, format!("there are: {known}")));
        }
        found
    }

    /// A number with a unit that fits the column, in SI; `difference` for a dead band. Without a column only the text
    /// is checked.
    pub(super) fn value(
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

/// The unit that stands behind a number, where there is one.
pub(super) fn unit(at: &Spanned<String>) -> Option<&'static Unit> {
    text::quantity(at.get_ref()).ok().map(|(_, u)| u)
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
