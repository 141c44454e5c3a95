//! `bise replay --limits`: what other limits would have told.

use crate::args::{Format, ReplayArgs};
use crate::exit::{self, Exit};
use crate::show;
use assembly::Error;
use assembly::what_if::{Row, WhatIf, what_if};
use pipeline::LimitCounts;
use recording::{Disk, RealDisk};
use serde_json::{Value, json};
use std::path::PathBuf;
use std::sync::Arc;

/// `told` is what was said already, for JSON.
pub(crate) fn run(recordings: &[PathBuf], args: &ReplayArgs, mut told: Vec<Value>) -> Result<Exit, Error> {
    if recordings.is_empty() {
        let text = "--limits asks what other limits would have told of a recording; name one. For captures, write \
                    the other limits into the run file";
        return Err(Error::Refused(text.to_owned()));
    }
    let disk: Arc<dyn Disk> = Arc::new(RealDisk);
    let mut worst = Exit::Done;
    for folder in recordings {
        let bar = show::progress(&folder.display().to_string());
        let done = what_if(&disk, folder, &args.limits, &mut |p| bar.set_position((p * 1000.0) as u64));
        bar.finish_and_clear();
        worst = worst.or_graver(done.as_ref().map_or_else(exit::of, |_| Exit::Done));
        match (done, args.format) {
            (Ok(done), Format::Text) => as_text(&done),
            (Ok(done), Format::Json) => told.push(as_json(&done)),
            (Err(e), format) => {
                complain!("{}:", folder.display());
                show::error(&e);
                if format == Format::Json {
                    told.push(json!({ "replayed": folder, "error": e.to_string() }));
                }
            }
        }
    }
    if args.format == Format::Json {
        say!("{:#}", Value::Array(told));
    }
    Ok(worst)
}

fn as_text(w: &WhatIf) {
    say!("{}", w.before.what);
    if let Some((from, to)) = w.before.span {
        say!("{from} to {to}: {} snapshots\n", w.before.counts.snapshots);
    }
    let number = |c: Option<LimitCounts>, of: fn(&LimitCounts) -> u64| c.map_or("-".to_owned(), |c| of(&c).to_string());
    let row = |limit: &str, before: Option<LimitCounts>, after: Option<LimitCounts>| {
        vec![
            limit.to_owned(),
            number(before, |c| c.announced),
            number(after, |c| c.announced),
            number(before, |c| c.crossed),
            number(after, |c| c.crossed),
            number(before, |c| c.judged),
            number(after, |c| c.judged),
        ]
    };
    let sum = |of: fn(&Row) -> Option<LimitCounts>| {
        w.rows.iter().filter_map(of).fold(LimitCounts::default(), |mut sum, c| {
            (sum.announced, sum.crossed, sum.judged) =
                (sum.announced + c.announced, sum.crossed + c.crossed, sum.judged + c.judged);
            sum
        })
    };
    let all = row("all", Some(sum(|r| r.before)), Some(sum(|r| r.after)));
    let rows = w.rows.iter().map(|r| row(&r.limit, r.before, r.after)).chain([all]);
    let headers = ["limit", "alarms before", "after", "crossings before", "after", "snapshots judged before", "after"];
    say!("{}", show::table(&headers, 1, rows));
    w.after.notes.iter().for_each(|n| say!("note: {n}"));
}

fn as_json(w: &WhatIf) -> Value {
    let counts = |c: Option<LimitCounts>| {
        c.map(|c| {
            json!({
                "alarms": c.announced, "crossed": c.crossed, "judged": c.judged, "not_judged": c.not_judged,
                "not_enabled": c.not_enabled, "last": c.last.word(),
            })
        })
    };
    let rows: Vec<Value> = w
        .rows
        .iter()
        .map(|r| json!({ "limit": r.limit, "before": counts(r.before), "after": counts(r.after) }))
        .collect();
    json!({ "replayed": w.before.what, "snapshots": w.before.counts.snapshots, "limits": rows, "notes": w.after.notes })
}
