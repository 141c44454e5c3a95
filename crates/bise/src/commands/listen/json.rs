//! What was heard, for a script.

use super::{Told, name, text};
use decode::seen::{AfterMarks, Field, Followed, WordId};
use serde_json::{Value, json};

pub(super) fn all(told: &Told) -> Value {
    let listening = &told.listening;
    let seen = listening.seen();
    let words: Vec<Value> = seen
        .words()
        .map(|(id, w)| {
            json!({
                "word": name(listening, id), "times": w.count(), "per_s": w.rate(),
                "median_gap_s": w.median_gap().map(|g| g.as_secs_f64()),
                "least_gap_s": w.least_gap().map(|g| g.as_secs_f64()),
                "first_ns": w.first().0, "last_ns": w.last().0,
                "newest": if w.is_number() { Value::Null } else { json!(hex(w.bytes())) }, "number": w.number(),
                "changed": w.changed(), "length_changes": w.length_changes(),
                "moved": if w.is_number() { Value::Null } else { json!(hex(&w.moving())) },
                "flips": if w.is_number() { Value::Null } else { json!(w.flips()) },
                "looks": w.looks().iter().map(|l| l.word()).collect::<Vec<_>>(), "mapped": listening.is_mapped(id),
            })
        })
        .collect();
    let place = |id: &WordId, f: &Field| {
        let dbc = if let Field::Bits(b) = f { Some(b.dbc()) } else { None };
        (name(listening, id), f.to_string(), dbc)
    };
    let of_action = |(action, a): &(String, AfterMarks)| {
        let best = a.best.iter().map(|m| {
            let (word, field, dbc) = place(&m.word, &m.field);
            json!({
                "word": word, "field": field, "dbc": dbc, "marks": m.marks, "elsewhere": m.elsewhere,
                "travel": m.travel.0, "travel_elsewhere": m.travel.1, "quiet_elsewhere": m.quiet_elsewhere,
                "delay_s": m.delay.as_secs_f64(), "steps": m.steps, "expected_by_chance": m.expected,
                "stands_out": m.stands_out(), "sentence": text::moved(listening, action, m, a.marks),
            })
        });
        json!({
            "action": action, "marks": a.marks, "other_windows": a.windows, "fields_tried": a.tried,
            "best": best.collect::<Vec<_>>(), "verdict": text::verdict(a),
        })
    };
    let followed = |f: &Followed| {
        let best = f.best.iter().map(|b| {
            let (word, field, dbc) = place(&b.word, &b.field);
            json!({
                "word": word, "field": field, "dbc": dbc, "r": b.r, "rank_r": b.rank_r, "changes_r": b.changes_r,
                "threshold": b.threshold, "slope": b.line.0, "offset": b.line.1, "moments": b.moments,
                "lag_s": listening.step().as_secs_f64() * b.lag as f64, "stands_out": b.stands_out(),
            })
        });
        let (channel, unit) = listening.with().unwrap_or_default();
        json!({
            "channel": channel, "unit": unit, "values": f.moments, "range": f.range, "fields_tried": f.tried,
            "best": best.collect::<Vec<_>>(),
        })
    };
    json!({
        "listened_to": told.what, "recorded": false,
        "from_ns": seen.span().map(|s| s.0.0), "to_ns": seen.span().map(|s| s.1.0),
        "words": words, "left_out": seen.left_out(), "records_without_word": seen.no_word(),
        "marks": seen.marks().iter().map(|m| json!({ "at_ns": m.at.0, "what": m.what })).collect::<Vec<_>>(),
        "marks_refused": listening.marks_refused(),
        "actions": told.findings.actions.iter().map(of_action).collect::<Vec<_>>(),
        "with": told.findings.followed.as_ref().map(followed),
        "notes": told.notes, "bad_lines": told.unused.bad_lines, "not_read": told.unused.told,
        "not_used": told.unused.other.iter().map(|(w, n)| json!({ "what": w, "lines": n })).collect::<Vec<_>>(),
        "missing": told.missing,
    })
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02X}")).collect()
}
