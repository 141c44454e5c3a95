//! What limits are to one another.

use super::Written;
use crate::nearest;
use crate::problem::Problems;

/// Puts in place by which others each limit is suppressed.
pub(super) fn resolve(all: &mut [Written], bad: &mut Problems) {
    let names: Vec<String> = all.iter().map(|w| w.table.get_ref().name.get_ref().clone()).collect();
    let mut by: Vec<Vec<usize>> = Vec::new();
    for w in all.iter() {
        let mut of = Vec::new();
        for at in &w.table.get_ref().suppressed_by {
            match names.iter().position(|n| n == at.get_ref()) {
                Some(i) => of.push(i),
                None => {
                    let known = nearest::list(at.get_ref(), names.iter().map(String::as_str));
                    let message = format!("there is no limit {:?}", at.get_ref());
                    bad.0.push(w.text.problem(at, message, format!("there are: {known}")));
                }
            }
        }
        by.push(of);
    }
    for (i, w) in all.iter_mut().enumerate() {
        if let Some(at) = w.table.get_ref().suppressed_by.first().filter(|_| reaches(&by, i)) {
            let message = format!("{} would be suppressed by itself, in the end: nobody would be told", names[i]);
            bad.0.push(w.text.problem(at, message, "name causes only, and no circle of them"));
        }
        if let Some(spec) = &mut w.spec {
            spec.suppressed_by = by[i].clone();
        }
    }
}

/// Whether a limit is among those that suppress it, directly or over others.
fn reaches(by: &[Vec<usize>], of: usize) -> bool {
    let mut seen = vec![false; by.len()];
    let mut next = by[of].clone();
    while let Some(i) = next.pop() {
        if i == of {
            return true;
        }
        if !std::mem::replace(&mut seen[i], true) {
            next.extend(&by[i]);
        }
    }
    false
}
