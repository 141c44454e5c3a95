//! The one sentence of a verdict.

use super::{COVERAGE_FACTOR, Specification, Verdict, outcome_word};
use crate::words::{Named, Shown, plain};
use std::fmt;
use uncertainty::{GuardBand, Limits, Outcome, Rule};

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (spec, d) = (&self.specification, &self.decision);
        write!(f, "{} {} against {} ({}): ", spec.name, self.measured_text(), spec.limits_text(), spec.source)?;
        write!(f, "{}", outcome_word(d.outcome))?;
        match (d.outcome, self.guard_band()) {
            (Outcome::NotDecidable, None) => write!(f, ", too uncertain for these limits")?,
            (Outcome::NotDecidable, Some(w)) => write!(f, ", inside the guard band of {}", spec.difference(w))?,
            (_, Some(w)) => write!(f, ", the guard band of {} is kept", spec.difference(w))?,
            (_, None) => {}
        }
        let uncertain = self.measured.u > 0.0;
        write!(f, "; conformance probability {}", percent(d.conformance_probability, uncertain))?;
        if let Some(risk) = self.risk().filter(|_| uncertain) {
            write!(f, ", risk that this is false {}", percent(risk, uncertain))?;
        }
        if let Some(ratio) = self.test_uncertainty_ratio() {
            write!(f, "; test uncertainty ratio {}", significant(ratio, 2))?;
        }
        let silent = if spec.rule.is_none() { " (the default, the document is silent)" } else { "" };
        write!(f, "; rule: {}{silent}", spec.rule_text())
    }
}

impl Verdict {
    /// `0.742 ± 0.018 (k = 2)`: U with two significant digits, the value with as many decimals, and with more where it
    /// would else seem to lie on another side of a limit or guard band than it does.
    fn measured_text(&self) -> String {
        let spec = &self.specification;
        let (value, u) = (spec.shown(self.measured.value), spec.shown_difference(COVERAGE_FACTOR * self.measured.u));
        let unit = spec.unit_text();
        if self.measured.u == 0.0 {
            return format!("{}{unit} (without uncertainty)", plain(value));
        }
        let d = &self.decision;
        let edges = [Some(spec.limits), d.acceptance, Some(d.rejection)];
        let edges = edges.into_iter().flatten().flat_map(|l: Limits| [l.lower(), l.upper()]).flatten();
        let edges: Vec<f64> = edges.map(|e| spec.shown(e)).collect();
        let mut decimals = decimals(u, 2);
        let shown = loop {
            let shown = format!("{value:.decimals$}");
            let rounded = shown.parse().unwrap_or(value);
            let same_side = |e: &f64| value.partial_cmp(e) == f64::partial_cmp(&rounded, e);
            if edges.iter().all(same_side) || decimals >= 15 {
                break shown;
            }
            decimals += 1;
        };
        let dof = match self.measured.dof {
            dof if dof.is_finite() => format!(", {} degrees of freedom", plain(dof)),
            _ => String::new(),
        };
        format!("{shown} ± {}{unit} (k = {COVERAGE_FACTOR}{dof})", significant(u, 2))
    }
}

impl Specification {
    fn show(&self) -> Shown<'_> {
        Shown { unit: self.unit, reference: self.reference, column: Named::default(), other: Named::default() }
    }

    /// The number of a value, in the unit of [`Specification::unit_text`].
    fn shown(&self, si: f64) -> f64 {
        if self.is_difference { self.shown_difference(si) } else { self.unit.from_si(si) }
    }

    fn shown_difference(&self, si: f64) -> f64 {
        if self.is_difference && self.unit.offset != 0.0 { si } else { self.unit.difference_from_si(si) }
    }

    /// What stands behind numbers: nothing for a ratio.
    fn unit_text(&self) -> String {
        if self.is_difference && self.unit.offset != 0.0 {
            return format!(" {}", self.unit.quantity.si_symbol());
        }
        if self.unit.symbol == "1" { String::new() } else { format!(" {}", self.unit.symbol) }
    }

    fn value(&self, si: f64) -> String {
        if self.is_difference {
            return self.difference(si);
        }
        let shown = self.show().value(si);
        shown.strip_suffix(" 1").map_or_else(|| shown.clone(), str::to_owned)
    }

    fn difference(&self, si: f64) -> String {
        // In SI where the unit's name would make a value of it.
        let (number, unit) = if self.unit.offset != 0.0 || self.unit.reference.is_some() {
            (si, self.unit.quantity.si_symbol())
        } else {
            (self.unit.difference_from_si(si), self.unit.symbol)
        };
        if unit == "1" { significant(number, 2) } else { format!("{} {unit}", significant(number, 2)) }
    }

    fn limits_text(&self) -> String {
        match (self.limits.lower(), self.limits.upper()) {
            (Some(l), Some(u)) => format!("{} to {}", self.exact(l), self.exact(u)),
            (Some(l), None) => format!("at least {}", self.exact(l)),
            (None, Some(u)) => format!("at most {}", self.exact(u)),
            (None, None) => "no limit".to_owned(),
        }
    }

    /// A limit: never rounded to two digits.
    fn exact(&self, si: f64) -> String {
        if self.is_difference {
            let unit = self.unit_text();
            return format!("{}{unit}", plain(self.shown(si)));
        }
        self.value(si)
    }

    /// The rule in words.
    fn rule_text(&self) -> String {
        let band = |b: GuardBand| match b {
            GuardBand::Width(w) => format!("guard band {}", self.difference(w)),
            GuardBand::Multiple(k) => format!("guard band {} u", plain(k)),
            GuardBand::Probability(p) => format!("{} %", plain(p * 100.0)),
        };
        match self.rule_used() {
            Rule { acceptance: None, rejection: None } => "simple acceptance".to_owned(),
            Rule { acceptance: Some(a), rejection: None } => format!("guarded acceptance, {}", band(a)),
            Rule { acceptance: None, rejection: Some(r) } => format!("guarded rejection, {}", band(r)),
            Rule { acceptance: Some(a), rejection: Some(r) } if a == r => {
                format!("guarded acceptance and rejection, {}", band(a))
            }
            Rule { acceptance: Some(a), rejection: Some(r) } => {
                format!("guarded acceptance, {}, and rejection, {}", band(a), band(r))
            }
        }
    }
}

/// Decimals that show a number with so many significant digits.
fn decimals(x: f64, digits: usize) -> usize {
    let text = format!("{x:.*e}", digits - 1);
    let exponent = text.split_once('e').and_then(|(_, e)| e.parse::<i64>().ok()).unwrap_or(0);
    usize::try_from(digits as i64 - 1 - exponent).unwrap_or(0)
}

/// A number with so many significant digits, whole numbers whole.
fn significant(x: f64, digits: usize) -> String {
    format!("{x:.*}", decimals(x, digits))
}

/// A probability for a person: nothing that is measured with an uncertainty is certain.
fn percent(p: f64, uncertain: bool) -> String {
    let x = p * 100.0;
    match p {
        _ if !uncertain => format!("{x} %"),
        _ if x < 0.1 => "less than 0.1 %".to_owned(),
        _ if x > 99.9 => "more than 99.9 %".to_owned(),
        _ if (1.0..=99.0).contains(&x) => format!("{x:.0} %"),
        _ => format!("{} %", plain((x * 10.0).round() / 10.0)),
    }
}
