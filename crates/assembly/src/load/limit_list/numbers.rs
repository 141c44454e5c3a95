//! The numbers of a limit, its condition and its rule.

use super::known::{ABSOLUTE, GAUGE, Known, unit};
use super::span_of;
use crate::config::limits::{ComparisonTable, LimitTable};
use crate::load::{Text, word};
use crate::problem::Problems;
use limits::settings::{Key, Settings, Side};
use limits::{Comparison, Condition, Kind};
use stream::{ChannelId, Span};
use toml::Spanned;
use uncertainty::{GuardBand, Rule};
use units::{PressureReference, Quantity, Unit};

/// The numbers of a limit, and how they are written.
pub(super) struct Numbers {
    pub(super) settings: Settings,
    pub(super) unit: Option<&'static Unit>,
    pub(super) reference: Option<PressureReference>,
}

impl Known<'_> {
    pub(super) fn numbers(
        &self,
        text: &Text,
        at: &Spanned<LimitTable>,
        kind: &'static Kind,
        column: Option<usize>,
        bad: &mut Problems,
    ) -> Numbers {
        let t = at.get_ref();
        check_keys(text, at, kind, bad);
        let quantity = column.map(|c| self.quantity(c));
        let other = second(t).and_then(|(key, name)| Some((key, self.column(text, name, bad)?)));
        let other_quantity = other.map(|(_, c)| self.quantity(c));
        if kind.of_differences
            && let (Some((Key::With | Key::Expected, _)), Some(q), Some(o)) = (other, quantity, other_quantity)
            && q != o
            && let Some((_, name)) = second(t)
        {
            let message = format!("{} is a {}, {} is a {}", t.column.get_ref(), q.name(), name.get_ref(), o.name());
            bad.0.push(text.problem(name, message, "name a column of the same quantity"));
        }
        let differences = kind.of_differences;
        let mut number = |at: &Option<Spanned<String>>, quantity, difference| {
            at.as_ref().and_then(|at| self.value(text, at, quantity, difference, bad))
        };
        let mut settings = Settings {
            threshold: number(&t.threshold, quantity, differences),
            low: number(&t.low, quantity, differences),
            high: number(&t.high, quantity, differences),
            share: number(&t.share, Some(Quantity::Ratio), false),
            per_second: number(&t.per_second, quantity, true),
            dead_band: number(&t.dead_band, quantity, true),
            change: number(&t.change, quantity, true),
            driver_change: number(&t.driver_change, other_quantity, true),
            count: t.count.as_ref().map(|c| *c.get_ref()),
            other: other.map(|(key, c)| (key, ChannelId(c as u16))),
            ..Settings::default()
        };
        if let (Some(share), Some(Quantity::Temperature)) = (&t.share, quantity) {
            let message = "a share of a temperature depends on where its scale begins";
            bad.0.push(text.problem(share, message, "give threshold, a difference: 2 K"));
        }
        if let (Some(change), None) = (&t.driver_change, &t.driver) {
            let help = "name the driver, or leave driver_change out";
            bad.0.push(text.problem(
                change,
                "this is how far the driver must have moved, and there is no driver",
                help,
            ));
        }
        settings.window = t.window.as_ref().map(|w| text.duration(Some(w), Span::ZERO, bad));
        settings.side = t.side.as_ref().and_then(|s| {
            let words: Vec<(Side, &str)> = Side::WORDS.to_vec();
            word(text, s, &words, "side", bad)
        });
        let points = self.points(text, t, quantity, other_quantity, bad);
        let values = values(t, kind, &points, quantity, other_quantity);
        settings.points = points.map(|p| p.into_iter().map(|p| (p.0.1, p.1.1)).collect());
        let reference = reference(text, t, &values, bad);
        Numbers { settings, unit: shown_in(t, quantity), reference }
    }

    /// The points of a curve, each number with where it stands.
    fn points<'t>(
        &self,
        text: &Text,
        t: &'t LimitTable,
        quantity: Option<Quantity>,
        over: Option<Quantity>,
        bad: &mut Problems,
    ) -> Option<Vec<Point<'t>>> {
        let at = t.points.as_ref()?;
        let mut all = Vec::new();
        for p in at.get_ref() {
            let [x, y] = &p[..] else {
                let message = format!("a point is two texts, not {}", p.len());
                bad.0.push(text.problem(at, message, "write [\"20 degC\", \"85 degC\"]: where, and the limit there"));
                return None;
            };
            let both = (self.value(text, x, over, false, bad), self.value(text, y, quantity, false, bad));
            if let (Some(a), Some(b)) = both {
                all.push(((x, a), (y, b)));
            }
        }
        Some(all)
    }

    pub(super) fn condition(&self, text: &Text, t: &LimitTable, bad: &mut Problems) -> Condition {
        let Some(at) = &t.enable else { return Condition::Always };
        let mut parts = |of: &[ComparisonTable]| of.iter().filter_map(|c| self.comparison(text, c, bad)).collect();
        match (&at.get_ref().all[..], &at.get_ref().any[..]) {
            (all @ [_, ..], []) => Condition::All(parts(all)),
            ([], any @ [_, ..]) => Condition::Any(parts(any)),
            _ => {
                let help = "write { all = [{ column = \"acm.speed\", above = \"9000 rpm\" }] }, or any in place of all";
                bad.0.push(text.problem(at, "a condition has either all or any, with something in it", help));
                Condition::Always
            }
        }
    }

    fn comparison(&self, text: &Text, c: &ComparisonTable, bad: &mut Problems) -> Option<Comparison> {
        let column = self.column(text, &c.column, bad)?;
        let quantity = self.quantity(column);
        let (side, at) = match (&c.above, &c.below) {
            (Some(at), None) => (Side::Above, at),
            (None, Some(at)) => (Side::Below, at),
            _ => {
                let message = "a part of a condition has one of above and below";
                bad.0.push(text.problem(&c.column, message, "write above = \"9000 rpm\"; for a band two parts"));
                return None;
            }
        };
        let threshold = self.value(text, at, Some(quantity), false, bad)?;
        if quantity == Quantity::Pressure && unit(at).is_some_and(|u| u.reference.is_none()) {
            let message = "the unit leaves open what the pressure is measured against";
            bad.0.push(text.problem(at, message, "write a unit that says it: psia, kPa(a), bar(a)"));
            return None;
        }
        let dead_band = match &c.dead_band {
            Some(at) => self.value(text, at, Some(quantity), true, bad)?,
            None => 0.0,
        };
        if let Some(at) = c.dead_band.as_ref().filter(|_| dead_band < 0.0) {
            bad.0.push(text.problem(at, "a dead band is 0 or more", "write how far back the value must go"));
            return None;
        }
        Some(Comparison::new(ChannelId(column as u16), side, threshold, dead_band))
    }

    pub(super) fn rule(&self, text: &Text, t: &LimitTable, column: Option<usize>, bad: &mut Problems) -> Option<Rule> {
        type Make = fn(GuardBand) -> Rule;
        const RULES: &[(Make, &str)] = &[
            (|_| Rule::SIMPLE, "simple"),
            (Rule::guarded_acceptance, "guarded-acceptance"),
            (Rule::guarded_rejection, "guarded-rejection"),
            (Rule::guarded, "guarded"),
        ];
        let make = match &t.rule {
            Some(at) => Some(word(text, at, RULES, "rule of a verdict", bad)?),
            None => None,
        };
        let Some(at) = &t.guard_band else { return make.map(|m| m(GuardBand::Probability(0.95))) };
        let simple = t.rule.as_ref().is_none_or(|r| r.get_ref() == "simple");
        if simple {
            let help = "leave it out, or write rule = \"guarded\", \"guarded-acceptance\" or \"guarded-rejection\"";
            bad.0.push(text.problem(at, "a guard band belongs to a guarded rule", help));
            return None;
        }
        let band = self.guard_band(text, at, column, bad)?;
        make.map(|m| m(band))
    }

    /// `95 %`, `2 u`, or a width with its unit.
    fn guard_band(
        &self,
        text: &Text,
        at: &Spanned<String>,
        column: Option<usize>,
        bad: &mut Problems,
    ) -> Option<GuardBand> {
        let written = at.get_ref().trim();
        let number = |suffix: &str| written.strip_suffix(suffix).map(|n| n.trim().parse::<f64>());
        let band = match (number("%"), number("u")) {
            (Some(Ok(p)), _) if (50.0..100.0).contains(&p) => GuardBand::Probability(p / 100.0),
            (Some(_), _) => {
                let message = format!("{written:?} is no probability of a guard band");
                bad.0.push(text.problem(at, message, "write 50 % or more and less than 100 %"));
                return None;
            }
            (_, Some(Ok(k))) if k >= 0.0 && k.is_finite() => GuardBand::Multiple(k),
            _ => GuardBand::Width(self.value(text, at, column.map(|c| self.quantity(c)), true, bad)?),
        };
        if matches!(band, GuardBand::Width(w) if w < 0.0) {
            bad.0.push(text.problem(at, "a guard band is 0 or more", ""));
            return None;
        }
        Some(band)
    }
}

/// A number of a point with where it stands: where, and the limit there.
type Point<'t> = ((&'t Spanned<String>, f64), (&'t Spanned<String>, f64));

/// The key that names the second column, and the name.
pub(super) fn second(t: &LimitTable) -> Option<(Key, &Spanned<String>)> {
    let keys = [(Key::Over, &t.over), (Key::With, &t.with), (Key::Expected, &t.expected), (Key::Driver, &t.driver)];
    keys.into_iter().find_map(|(key, at)| Some((key, at.as_ref()?)))
}

/// Keys that the kind needs are there, and no others.
fn check_keys(text: &Text, at: &Spanned<LimitTable>, kind: &Kind, bad: &mut Problems) {
    let list = |keys: &[Key]| keys.iter().map(|k| k.word()).collect::<Vec<_>>().join(", ");
    for key in Key::ALL {
        let (needed, allowed) = (kind.needs.contains(&key), kind.may.contains(&key));
        match span_of(at.get_ref(), key) {
            None if needed => {
                let message = format!("a limit of kind {} needs the key {}", kind.name, key.word());
                bad.0.push(text.problem(&at.get_ref().kind, message, format!("it needs: {}", list(kind.needs))));
            }
            Some(span) if !needed && !allowed => {
                let message = format!("{} is no key of a limit of kind {}", key.word(), kind.name);
                let help = format!("leave it out; it needs: {}; it may have: {}", list(kind.needs), list(kind.may));
                bad.0.push(text.problem(&Spanned::new(span, ()), message, help));
            }
            _ => {}
        }
    }
}

/// The unit that numbers are shown in: the one the limit is written in.
fn shown_in(t: &LimitTable, quantity: Option<Quantity>) -> Option<&'static Unit> {
    let quantity = quantity?;
    let written = [&t.threshold, &t.low, &t.high, &t.per_second, &t.change].into_iter().flatten();
    let first_point = t.points.as_ref().and_then(|p| p.get_ref().first()?.get(1));
    let si = || units::find(quantity.si_symbol()).ok();
    // A difference is shown in K: a scale with an offset would show it wrong.
    if quantity == Quantity::TemperatureDifference {
        return si();
    }
    written.chain(first_point).find_map(unit).or_else(si)
}

/// Every number that is a value, not a difference, with the quantity of its column.
fn values<'t>(
    t: &'t LimitTable,
    kind: &Kind,
    points: &Option<Vec<Point<'t>>>,
    quantity: Option<Quantity>,
    over: Option<Quantity>,
) -> Vec<(&'t Spanned<String>, Quantity)> {
    let mut all = Vec::new();
    if let (Some(q), false) = (quantity, kind.of_differences) {
        all.extend([&t.threshold, &t.low, &t.high].into_iter().flatten().map(|at| (at, q)));
    }
    for ((x, _), (y, _)) in points.iter().flatten() {
        all.extend(over.map(|q| (*x, q)));
        all.extend(quantity.map(|q| (*y, q)));
    }
    all
}

/// What a pressure's numbers are measured against. Channels hold absolute pressures, gauge ones too, by their
/// barometer: a number that leaves it open could be off by an atmosphere.
fn reference(
    text: &Text,
    t: &LimitTable,
    values: &[(&Spanned<String>, Quantity)],
    bad: &mut Problems,
) -> Option<PressureReference> {
    const WORDS: &[(PressureReference, &str)] = &[(PressureReference::Absolute, "absolute")];
    let pressures = || values.iter().filter(|v| v.1 == Quantity::Pressure);
    let Some(r) = &t.reference else {
        let mut reference = None;
        for (at, _) in pressures() {
            let Some(unit) = unit(at).filter(|u| u.quantity == Quantity::Pressure) else { continue };
            reference = reference.or(unit.reference);
            if unit.reference.is_none() {
                let message = format!("{} leaves open what the pressure is measured against", unit.symbol);
                bad.0.push(text.problem(at, message, format!("limits of pressures are absolute: {ABSOLUTE}")));
            }
        }
        return reference;
    };
    match pressures().next() {
        Some(_) if r.get_ref() == PressureReference::Gauge.word() => {
            bad.0.push(text.problem(r, GAUGE, ABSOLUTE));
            None
        }
        Some(_) => word(text, r, WORDS, "pressure reference of a limit", bad),
        None => {
            let message = match values.first() {
                Some((_, other)) => format!("a reference is for a pressure, the column is a {}", other.name()),
                None => return None,
            };
            bad.0.push(text.problem(r, message, "leave reference out"));
            None
        }
    }
}
