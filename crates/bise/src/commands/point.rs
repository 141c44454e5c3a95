//! `bise point`

use crate::args::{PointArgs, PointFormat};
use crate::exit::Exit;
use crate::{commands::io, show};
use assembly::Error;
use assembly::point::{Outcome, PointRow, PointVerdict, Points, UNSTATED, evaluate};
use recording::point_results::{COLUMNS, PointResult, write};
use serde_json::json;
use std::collections::BTreeSet;
use std::fmt::Write as _;
use stream::{Quality, Reading};
use units::Quantity;

pub(crate) fn run(args: &PointArgs) -> Result<Exit, Error> {
    let points = evaluate(&args.readings, &args.pack, args.limits.as_deref())?;
    let text = match (args.format, &args.out) {
        (PointFormat::Parquet, None) => {
            return Err(Error::Refused("Parquet is not for a terminal: name a file with --out".to_owned()));
        }
        (PointFormat::Parquet, Some(path)) => {
            write(path, &rows(&points))?;
            return Ok(outcome(&points));
        }
        (PointFormat::Text, _) => as_text(&points),
        (PointFormat::Json, _) => format!("{:#}\n", as_json(&points)),
        (PointFormat::Csv, _) => as_csv(&rows(&points)),
    };
    match &args.out {
        Some(path) => std::fs::write(path, text).map_err(io(&format!("writing {}", path.display())))?,
        None => say!("{}", text.trim_end()),
    }
    Ok(outcome(&points))
}

/// A point at which nothing could be derived is not all there.
fn outcome(points: &Points) -> Exit {
    let any = |o: &Outcome| o.rows.iter().any(|r| r.reading.number().is_some());
    if points.outcomes.iter().all(any) { Exit::Done } else { Exit::Incomplete }
}

fn as_text(points: &Points) -> String {
    let mut text = String::new();
    for o in &points.outcomes {
        let rows = o.rows.iter().map(|r| {
            let said = if r.remark.starts_with(UNSTATED) { "" } else { r.remark.as_str() };
            let (value, u, unit) = shown(r);
            let contributors = r.contributors.iter().map(|(n, share)| format!("{n} {:.0} %", 100.0 * share));
            let mut remark = contributors.collect::<Vec<_>>().join(", ");
            for more in [quality(r.reading).as_str(), said] {
                if !more.is_empty() && more != "good" {
                    remark = if remark.is_empty() { more.to_owned() } else { format!("{remark}; {more}") };
                }
            }
            vec![r.name.clone(), value, u, unit, remark]
        });
        let headers = ["quantity", "value", "U (k = 2)", "unit", "most of it from; remarks"];
        let _ = writeln!(text, "point {}\n{}", o.point, show::table(&headers, 9, rows));
        let named = o.rows.iter().filter_map(|r| r.remark.strip_prefix(UNSTATED)).flat_map(|n| n.split(", "));
        let named: BTreeSet<&str> = named.collect();
        if !named.is_empty() {
            let named: Vec<&str> = named.into_iter().collect();
            let _ = writeln!(text, "? no uncertainty is stated for {}", named.join(", "));
        }
        text.push('\n');
        for v in &o.verdicts {
            let _ = writeln!(text, "{}: {}", v.limit, v.sentence);
        }
        if !o.verdicts.is_empty() {
            text.push('\n');
        }
    }
    for a in &points.plan.absent {
        let _ = writeln!(text, "{} is missing: {}", a.name, a.missing.join(", "));
    }
    for n in &points.notes {
        let _ = writeln!(text, "note: {n}");
    }
    text
}

/// Value, expanded uncertainty and unit for a person: temperatures in °C, as many digits as the uncertainty bears.
fn shown(r: &PointRow) -> (String, String, String) {
    let (offset, unit) = match r.quantity {
        Quantity::Temperature => (-273.15, "degC"),
        q => (0.0, q.si_symbol()),
    };
    let Some(value) = r.reading.number().map(|x| x + offset) else {
        return ("-".to_owned(), String::new(), unit.to_owned());
    };
    match r.u.map(|u| 2.0 * u).filter(|u| *u > 0.0) {
        Some(expanded) => {
            let digits = (1.0 - units::math::log10(expanded).floor()).clamp(0.0, 12.0) as usize;
            (format!("{value:.digits$}"), format!("{expanded:.digits$}"), unit.to_owned())
        }
        None if value == 0.0 => ("0".to_owned(), "?".to_owned(), unit.to_owned()),
        None => {
            let digits = (5.0 - units::math::log10(value.abs().max(1e-9)).floor()).clamp(0.0, 12.0) as usize;
            (format!("{value:.digits$}"), "?".to_owned(), unit.to_owned())
        }
    }
}

fn quality(r: Reading) -> String {
    let reason = r.reason().word();
    match r.quality() {
        Quality::Good => Quality::Good.word().to_owned(),
        q if reason.is_empty() => q.word().to_owned(),
        q => format!("{}:{reason}", q.word()),
    }
}

fn as_json(points: &Points) -> serde_json::Value {
    let row = |r: &PointRow| {
        let contributors: Vec<_> =
            r.contributors.iter().map(|(n, share)| json!({ "channel": n, "share": share })).collect();
        json!({
            "quantity": r.name, "value": r.reading.number(), "unit": r.quantity.si_symbol(), "u": r.u,
            "quality": quality(r.reading), "contributors": contributors, "remark": r.remark,
            "provenance": r.provenance,
        })
    };
    let verdict = |v: &PointVerdict| {
        let PointVerdict { limit, column, outcome, sentence, conformance_probability } = v;
        json!({
            "limit": limit, "quantity": column, "outcome": outcome, "sentence": sentence,
            "conformance_probability": conformance_probability,
        })
    };
    let point = |o: &Outcome| {
        json!({
            "point": o.point, "results": o.rows.iter().map(row).collect::<Vec<_>>(),
            "verdicts": o.verdicts.iter().map(verdict).collect::<Vec<_>>(),
        })
    };
    let missing = points.plan.absent.iter().map(|a| json!({ "quantity": a.name, "missing": a.missing }));
    json!({
        "points": points.outcomes.iter().map(point).collect::<Vec<_>>(),
        "missing": missing.collect::<Vec<_>>(), "notes": points.notes,
    })
}

fn rows(points: &Points) -> Vec<PointResult> {
    let row = |o: &Outcome, r: &PointRow| PointResult {
        point: o.point.clone(),
        quantity: r.name.clone(),
        value: r.reading.number(),
        unit: r.quantity.si_symbol().to_owned(),
        u: r.u,
        quality: quality(r.reading),
        contributors: r.contributors.iter().map(|(n, s)| format!("{n} {s:.3}")).collect::<Vec<_>>().join(" "),
        remark: r.remark.clone(),
        provenance: r.provenance.clone(),
    };
    points.outcomes.iter().flat_map(|o| o.rows.iter().map(move |r| row(o, r))).collect()
}

fn as_csv(rows: &[PointResult]) -> String {
    let mut text = COLUMNS.join(",") + "\n";
    let number = |x: Option<f64>| x.map_or_else(String::new, |x| x.to_string());
    for r in rows {
        let cells = [
            quoted(&r.point),
            quoted(&r.quantity),
            number(r.value),
            quoted(&r.unit),
            number(r.u),
            quoted(&r.quality),
            quoted(&r.contributors),
            quoted(&r.remark),
            quoted(&r.provenance),
        ];
        text += &(cells.join(",") + "\n");
    }
    text
}

/// A cell as RFC 4180 has it.
fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.to_owned() }
}
