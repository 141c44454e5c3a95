//! Files of instruments that send lines of text.

use super::{Instrument, REASONS, Text, named};
use crate::config::instrument::{FieldTable, TextChecksumTable, TextFile};
use crate::config::{self, text as short};
use crate::problem::Problems;
use decode::Format;
use decode::checksum::Checksum;
use decode::text::{
    LineChecksum, LineFramer, QueryRefused, TextField, TextFormat, TextFormatError, TextLines, Written, query,
};
use plugin_api::{Framing, Messages, Query};
use std::ops::Range;
use std::time::Duration;
use stream::RecordKind;
use toml::Spanned;

/// What one kind of line, or one answer, is told by.
struct Layout<'a> {
    at: Range<usize>,
    prefix: &'a Option<String>,
    separator: Option<&'a Spanned<char>>,
    pattern: &'a Option<Spanned<String>>,
    more_fields: bool,
    readings: &'a [Spanned<FieldTable>],
}

pub(super) fn load(text: &Text) -> Result<Instrument, Problems> {
    let file: TextFile = config::read(&text.name, &text.text)?;
    let mut bad = Problems::default();
    if let Some(at) = file.longest.as_ref().filter(|l| *l.get_ref() == 0) {
        bad.0.push(text.problem(at, "no line is 0 bytes long", "write the bytes of the longest line, such as 200"));
    }
    let layouts = layouts(text, &file, &mut bad);
    let kinds: Vec<Option<TextFormat>> =
        layouts.iter().map(|l| format(text, l, file.decimal_comma, &mut bad)).collect();
    let checksum = file.checksum.as_ref().map(|c| checksum(text, c.get_ref(), &mut bad));
    let queries = queries(text, &file, &mut bad);
    bad.none()?;
    let kinds = kinds.into_iter().flatten().collect();
    let checksum = checksum.flatten();
    let lines =
        if file.query.is_empty() { TextLines::new(checksum, kinds) } else { TextLines::answers(checksum, kinds) };
    let lines = lines.map_err(|e| refused(text, &e, &layouts, file.checksum.as_ref()))?;
    let longest = file.longest.as_ref().map_or(512, |l| usize::from(*l.get_ref()));
    let framing = Framing::Messages(Messages::new(RecordKind::TextLine, move || LineFramer::new(longest)));
    Ok(Instrument { framing, format: Format::Text(lines), queries })
}

/// The kinds of lines that the file tells of: itself, its `[[line]]` or its `[[query]]`, not two of these.
fn layouts<'a>(text: &Text, file: &'a TextFile, bad: &mut Problems) -> Vec<Layout<'a>> {
    let own = !file.reading.is_empty() || file.pattern.is_some() || file.prefix.is_some() || file.more_fields;
    let ways = usize::from(own) + usize::from(!file.line.is_empty()) + usize::from(!file.query.is_empty());
    if ways != 1 {
        let (message, help) = match ways {
            0 => (
                "the file tells of no reading",
                "write [[reading]], or [[line]] or [[query]] with readings of their own",
            ),
            _ => (
                "what stands on a line is told in more than one way",
                "[[reading]] where all lines are alike, [[line]] for several kinds, [[query]] where it is asked",
            ),
        };
        let first = file.line.first().map(Spanned::span).or_else(|| file.query.first().map(Spanned::span));
        bad.0.push(crate::problem::Problem::at(&text.name, &text.text, first, message, help));
        return Vec::new();
    }
    if own {
        let at = file.reading.first().map_or(0..0, Spanned::span);
        let (prefix, separator, pattern) = (&file.prefix, file.separator.as_ref(), &file.pattern);
        return vec![Layout { at, prefix, separator, pattern, more_fields: file.more_fields, readings: &file.reading }];
    }
    let separator = |own: &'a Option<Spanned<char>>| own.as_ref().or(file.separator.as_ref());
    let lines = file.line.iter().map(|l| (l.span(), l.get_ref())).map(|(at, l)| Layout {
        at,
        prefix: &l.prefix,
        separator: separator(&l.separator),
        pattern: &l.pattern,
        more_fields: l.more_fields,
        readings: &l.reading,
    });
    let queries = file.query.iter().map(|q| (q.span(), q.get_ref())).map(|(at, q)| Layout {
        at,
        prefix: &q.prefix,
        separator: separator(&q.separator),
        pattern: &q.pattern,
        more_fields: q.more_fields,
        readings: &q.reading,
    });
    lines.chain(queries).collect()
}

fn format(text: &Text, l: &Layout<'_>, comma: bool, bad: &mut Problems) -> Option<TextFormat> {
    let before = bad.0.len();
    let fields: Vec<TextField> = l.readings.iter().map(|f| field(text, f, l.pattern.is_some(), bad)).collect();
    if let Some(p) = l.pattern.as_ref().filter(|_| l.prefix.is_some() || l.more_fields) {
        let help = "leave them out: the pattern's beginning is the prefix, {} at its end stands for what is not read";
        bad.0.push(text.problem(
            p,
            "a pattern tells the whole line: prefix and more_fields have no place beside it",
            help,
        ));
    }
    if bad.0.len() > before {
        return None;
    }
    let made = match l.pattern {
        Some(p) => TextFormat::pattern(p.get_ref(), comma, fields),
        None => {
            let separator = l.separator.map_or(',', |s| *s.get_ref());
            TextFormat::delimited(l.prefix.clone(), separator, comma, fields)
        }
    };
    match made {
        Ok(f) => Some(if l.more_fields { f.with_more_fields() } else { f }),
        Err(e) => {
            bad.0.extend(refused(text, &e, std::slice::from_ref(l), None).0);
            None
        }
    }
}

/// A format's refusal, pointed at what it is about.
fn refused(
    text: &Text,
    e: &TextFormatError,
    layouts: &[Layout<'_>],
    checksum: Option<&Spanned<TextChecksumTable>>,
) -> Problems {
    let message = e.to_string();
    let at = |span| crate::problem::Problem::at(&text.name, &text.text, span, message.clone(), "");
    let last = layouts.last();
    match e {
        TextFormatError::Separator(_) => {
            at(last.and_then(|l| l.separator).map(Spanned::span).or(last.map(|l| l.at.clone())))
        }
        TextFormatError::Pattern { .. } | TextFormatError::NoField(_) => {
            at(last.and_then(|l| l.pattern.as_ref()).map(Spanned::span))
        }
        TextFormatError::Kinds(_) => at(last.map(|l| l.at.clone())),
        TextFormatError::Mark(_) => at(checksum.map(Spanned::span)),
        _ => {
            let readings = layouts.iter().flat_map(|l| l.readings).map(|r| (r.get_ref().name.as_str(), r.span()));
            // Of two of one name the second is meant.
            let mut all: Vec<_> = readings.collect();
            if matches!(e, TextFormatError::Name(_)) {
                all.reverse();
            }
            named(text, &message, all.into_iter())
        }
    }
    .into()
}

fn field(text: &Text, at: &Spanned<FieldTable>, in_pattern: bool, bad: &mut Problems) -> TextField {
    let f = at.get_ref();
    let mut nothing = Vec::new();
    for n in &f.nothing {
        nothing
            .extend(super::super::word(text, &n.reason, REASONS, "reason", bad).map(|reason| (n.word.clone(), reason)));
    }
    match (&f.position, in_pattern) {
        (None, false) => {
            let message = format!("reading {:?} does not say which field of the line it is", f.name);
            bad.0.push(text.problem(at, message, "write position = 1 for the first, or a pattern that names it"));
        }
        (Some(p), true) => {
            bad.0.push(text.problem(p, "a pattern says where the reading stands", "leave position out"));
        }
        _ => {}
    }
    TextField {
        name: f.name.clone(),
        position: f.position.as_ref().map_or(0, |p| *p.get_ref()),
        label: f.label.clone(),
        unit: f.unit.clone(),
        unit_text: f.unit_text.clone(),
        scale: f.scale.unwrap_or(1.0),
        offset: f.offset.unwrap_or(0.0),
        nothing,
    }
}

fn checksum(text: &Text, c: &TextChecksumTable, bad: &mut Problems) -> Option<LineChecksum> {
    const WRITTEN: &[(Written, &str)] = &[(Written::Hex, "hex"), (Written::Decimal, "decimal")];
    let algorithm = super::algorithm(text, &c.algorithm, bad);
    let written = match &c.written {
        Some(w) => super::super::word(text, w, WRITTEN, "way to write a checksum", bad),
        None => Some(Written::Hex),
    };
    let (after, before) = (c.after.clone(), c.before.clone());
    let algorithm: Checksum = algorithm?;
    Some(LineChecksum { algorithm, after, before, covers_marks: c.covers_marks, written: written? })
}

fn queries(text: &Text, file: &TextFile, bad: &mut Problems) -> Vec<Query> {
    const ENDS: &[(&str, &str)] = &[("\r\n", "crlf"), ("\r", "cr"), ("\n", "lf"), ("", "none")];
    let end = match &file.query_end {
        Some(e) => super::super::word(text, e, ENDS, "end of a query", bad).unwrap_or_default(),
        None => "\r\n",
    };
    let mut all = Vec::new();
    for q in &file.query {
        let q = q.get_ref();
        if let Err(e) = query(q.send.get_ref(), q.only_reads) {
            let help = match e {
                QueryRefused::Unclear(_) => {
                    "where the instrument's documents say that it only reads, write only_reads = true"
                }
                QueryRefused::Command(_) => "this program measures and never commands; ask with a ? at the end",
                QueryRefused::Text(_) => "write the query as the documents print it, without its end",
            };
            bad.0.push(text.problem(&q.send, e.to_string(), help));
        }
        let mut period = None;
        if let Some(p) = &q.period {
            match short::duration(p.get_ref()) {
                Ok(d) if d.0 > 0 => period = Some(Duration::from_nanos(d.0.unsigned_abs())),
                Ok(_) => {
                    bad.0.push(text.problem(p, "a query cannot be asked every 0s", "write how often, such as \"1s\""))
                }
                Err(e) => bad.0.push(text.problem(p, e, "")),
            }
        }
        all.push(Query { bytes: format!("{}{end}", q.send.get_ref()).into_bytes(), period });
    }
    all
}
