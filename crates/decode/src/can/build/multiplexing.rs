//! Which signal selects which, and under which values.

use super::{Checked, Later, Notes};
use crate::can::database::Outcome;
use crate::can::dbc::{DbcFault, MessageText, Selection, SignalText};

/// Enters into each multiplexed signal what selects it; takes out those of which nobody can tell, and those that they
/// select in turn.
pub(super) fn resolve(
    later: &Later<'_>,
    m: &MessageText,
    name: &str,
    signals: &mut Vec<Checked>,
    notes: &mut Notes<'_>,
) {
    let selectors: Vec<&SignalText> = m.signals.iter().filter(|s| s.selects).collect();
    // A multiplexor that SG_MUL_VAL_ puts under another is multiplexed even where its mark is a plain M.
    let inner = |s: &SignalText| s.selects && selectors.len() > 1 && !selections(later, m, s).is_empty();
    for s in m.signals.iter().filter(|s| s.selected_by.is_none() && !inner(s)) {
        for x in selections(later, m, s) {
            let what = format!("SG_MUL_VAL_ speaks of signal `{}`, which is not marked m: it is always there", s.name);
            notes.add(x.at, name, Some(&s.name), what, Outcome::Told);
        }
    }
    let mut unresolved = Vec::new();
    for s in signals.iter_mut() {
        let Some(text) = m.signals.iter().find(|t| t.name == s.short_name) else { continue };
        if text.selected_by.is_none() && !inner(text) {
            continue;
        }
        match under(later, m, name, &selectors, text) {
            Ok(under) => s.under = Some(under),
            Err(fault) => unresolved.push((s.short_name.clone(), fault)),
        }
    }
    loop {
        for (short, fault) in std::mem::take(&mut unresolved) {
            if let Some(at) = signals.iter().position(|s| s.short_name == short) {
                let s = signals.remove(at);
                notes.add(s.at, name, Some(&s.name), fault, Outcome::LeftOut);
            }
        }
        unresolved.extend(signals.iter().filter_map(|s| Some((s.short_name.clone(), fault(m, name, signals, s)?))));
        if unresolved.is_empty() {
            return;
        }
    }
}

fn selections<'a>(later: &'a Later<'_>, m: &MessageText, s: &'a SignalText) -> Vec<&'a Selection> {
    let listed = later.selections.get(&(m.id, s.name.as_str())).map_or(&[][..], Vec::as_slice);
    listed.iter().map(|i| &later.statements.selections[*i]).collect()
}

type Under = (String, Vec<(u64, u64)>);

/// The multiplexor of a signal and its values: with one multiplexor in the message the value at `m` and all of
/// SG_MUL_VAL_, with several what SG_MUL_VAL_ says.
fn under(
    later: &Later<'_>,
    m: &MessageText,
    name: &str,
    selectors: &[&SignalText],
    s: &SignalText,
) -> Result<Under, DbcFault> {
    let listed = selections(later, m, s);
    let mut ranges: Vec<(u64, u64)> = listed.iter().flat_map(|x| x.ranges.iter().copied()).collect();
    if let Some(second) = listed.iter().find(|x| x.selector != listed[0].selector) {
        let (first, second) = (listed[0].selector.clone(), second.selector.clone());
        return Err(DbcFault::TwoSelectors { message: name.to_owned(), signal: s.name.clone(), first, second });
    }
    let selector = match (listed.first(), selectors) {
        (Some(x), _) => x.selector.clone(),
        (None, [only]) if only.name != s.name => only.name.clone(),
        _ => {
            let found = selectors.iter().filter(|o| o.name != s.name).count();
            return Err(DbcFault::Unselected { message: name.to_owned(), signal: s.name.clone(), found });
        }
    };
    if selectors.len() == 1 || ranges.is_empty() {
        ranges.extend(s.selected_by.map(|value| (value, value)));
    }
    Ok((selector, joined(ranges)))
}

/// In order, without touching ranges.
fn joined(mut ranges: Vec<(u64, u64)>) -> Vec<(u64, u64)> {
    ranges.sort_unstable();
    let mut all: Vec<(u64, u64)> = Vec::with_capacity(ranges.len());
    for (low, high) in ranges {
        match all.last_mut() {
            Some(last) if low <= last.1.saturating_add(1) => last.1 = last.1.max(high),
            _ => all.push((low, high)),
        }
    }
    all
}

/// Why a multiplexed signal can never be selected.
fn fault(m: &MessageText, name: &str, signals: &[Checked], s: &Checked) -> Option<DbcFault> {
    let (selector, ranges) = s.under.as_ref()?;
    let (message, signal) = (name.to_owned(), s.name.clone());
    let wrong = |why| {
        Some(DbcFault::Selector { message: message.clone(), signal: signal.clone(), selector: selector.clone(), why })
    };
    let Some(o) = signals.iter().find(|o| o.short_name == *selector) else {
        let there = m.signals.iter().any(|t| t.name == *selector);
        return wrong(if there { "was left out" } else { "is not in the message" });
    };
    if !m.signals.iter().any(|t| t.name == *selector && t.selects) {
        return wrong("is not marked M");
    }
    if o.value.is_float() {
        return wrong("must be an integer, SIG_VALTYPE_ makes it a float");
    }
    if chain(signals, s).count() > signals.len() {
        return wrong("is selected by itself, by way of others");
    }
    let size = u64::from(o.place.size);
    let bits = if o.signed { size - 1 } else { size };
    let value = ranges.iter().map(|r| r.0).min().filter(|low| bits < 64 && low >> bits != 0)?;
    Some(DbcFault::MultiplexorValue { message, signal, value, selector: selector.clone(), size })
}

/// What must hold for a signal to be there, from itself outwards; longer than the message has signals where it goes
/// in a circle.
fn chain<'a>(signals: &'a [Checked], s: &'a Checked) -> impl Iterator<Item = &'a Under> {
    let outer = |u: &&'a Under| signals.iter().find(|o| o.short_name == u.0).and_then(|o| o.under.as_ref());
    std::iter::successors(s.under.as_ref(), outer).take(signals.len() + 1)
}

/// Whether two signals are never in one frame: some multiplexor selects one or the other.
pub(super) fn never_together(signals: &[Checked], i: usize, j: usize) -> bool {
    let meet = |a: &[(u64, u64)], b: &[(u64, u64)]| a.iter().any(|x| b.iter().any(|y| x.0 <= y.1 && y.0 <= x.1));
    chain(signals, &signals[i]).any(|(a, x)| chain(signals, &signals[j]).any(|(b, y)| a == b && !meet(x, y)))
}
