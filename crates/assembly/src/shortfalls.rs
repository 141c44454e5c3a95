//! What a run or replay did not get: told in the summary, and the exit status says so.

use pipeline::{Counts, Plan};
use stream::{GapCause, LinkState, Origin};

/// So many channels of a source are named.
const SHOWN: usize = 8;

/// One sentence for each thing that is missing; empty where everything came and every limit was judged.
pub fn shortfalls(plan: &Plan, counts: &Counts) -> Vec<String> {
    let mut all = Vec::new();
    for (info, c) in plan.layout.sources.iter().zip(&counts.sources) {
        let name = &info.name;
        match (c.link, c.records, c.link_losses) {
            (Some(LinkState::Down), 0, 0) => all.push(format!("{name} never came up")),
            (Some(LinkState::Down), ..) => all.push(format!("{name} is down at the end")),
            (_, 0, _) => all.push(format!("nothing came from {name}")),
            _ => {}
        }
        for (n, what) in [
            (c.lost, "records were lost"),
            (c.late, "records came too late: kept, not evaluated"),
            (c.undecodable, "records did not decode: kept, not evaluated"),
        ] {
            if n > 0 {
                all.push(format!("{name}: {n} {what}"));
            }
        }
    }
    for (s, _) in counts.sources.iter().enumerate().filter(|(_, c)| c.records > 0) {
        let never = plan.layout.columns.iter().zip(&counts.numbers).filter(|(column, n)| {
            **n == 0 && matches!(column.origin, Origin::Channel(source) if usize::from(source.0) == s)
        });
        let never: Vec<&str> = never.map(|(column, _)| column.name.as_str()).collect();
        let (shown, rest) = never.split_at(never.len().min(SHOWN));
        match (shown, rest.len()) {
            ([], _) => {}
            (shown, 0) => all.push(format!("never a value of {}", shown.join(", "))),
            (shown, n) => all.push(format!("never a value of {} and {n} more", shown.join(", "))),
        }
    }
    for (cause, times, length) in &counts.stretches {
        let what = match cause {
            GapCause::StoodStill => {
                "the program stood still: what came meanwhile was taken late, and may be incomplete"
            }
            GapCause::Suspend => "the machine slept: nothing was taken",
            _ => "nothing was recorded",
        };
        all.push(format!("{what} ({times} times, {:.1} s in all)", length.as_secs_f64()));
    }
    for (info, c) in plan.layout.limits.iter().zip(&counts.limits) {
        if c.judged == 0 && c.crossed == 0 {
            let column = &plan.layout.columns[usize::from(info.column.0)].name;
            let why = match c.not_enabled {
                0 => format!("{column} had no value"),
                _ => "its condition never held".to_owned(),
            };
            all.push(format!("limit {} was never judged: {why}", info.name));
        }
    }
    all
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::files::Files;
    use crate::load::{CaptureFiles, load};
    use pipeline::{LimitCounts, SourceCounts};
    use std::path::Path;

    /// The demonstration's run, as if each source had sent something and every limit had been judged.
    fn told(numbers: impl Fn(&str) -> u64) -> Vec<String> {
        let run = load(&Files::embedded(), Path::new("runs/demo.toml"), &CaptureFiles::default()).unwrap();
        let layout = &run.plan.layout;
        let channels = run.plan.channels.len();
        let counts = Counts {
            sources: vec![SourceCounts { records: 1, ..SourceCounts::default() }; layout.sources.len()],
            numbers: layout.columns[..channels].iter().map(|c| numbers(&c.name)).collect(),
            limits: vec![LimitCounts { judged: 1, ..LimitCounts::default() }; layout.limits.len()],
            ..Counts::default()
        };
        shortfalls(&run.plan, &counts)
    }

    #[test]
    fn a_channel_that_never_had_a_value_is_named() {
        assert_eq!(told(|_| 1), [""; 0]);
        let silent = told(|name| u64::from(!name.starts_with("acm.")));
        assert_eq!(silent, ["never a value of acm.speed, acm.bearing_temperature"]);
        let all = told(|_| 0);
        assert_eq!(all.len(), 3, "one sentence a source: {all:?}");
        assert!(all[0].ends_with("and 7 more"), "{all:?}");
    }
}
