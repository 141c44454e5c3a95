//! A configuration problem: what, where (file, line, caret), what to do.

use miette::{Diagnostic, LabeledSpan, NamedSource, SourceCode};
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// One thing that is wrong in a file.
#[derive(Clone, Debug)]
pub struct Problem {
    /// What is wrong.
    pub message: String,
    /// What to do; may be empty.
    pub help: String,
    /// The file's name and text; `None` where the problem is with no file's text.
    pub file: Option<(String, Arc<str>)>,
    /// Where in it.
    pub span: Option<Range<usize>>,
}

impl Problem {
    /// A problem at a place in a file.
    pub fn at(
        name: &str,
        text: &Arc<str>,
        span: Option<Range<usize>>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Problem {
        Problem { message: message.into(), help: help.into(), file: Some((name.to_owned(), Arc::clone(text))), span }
    }

    /// A problem that no text can be shown for.
    pub fn bare(message: impl Into<String>, help: impl Into<String>) -> Problem {
        Problem { message: message.into(), help: help.into(), file: None, span: None }
    }

    /// The problem as `file:line:column: message`, for scripts and logs.
    pub fn line(&self) -> String {
        let place = match (&self.file, &self.span) {
            (Some((name, text)), Some(span)) => {
                let (line, column) = position(text, span.start);
                format!("{name}:{line}:{column}: ")
            }
            (Some((name, _)), None) => format!("{name}: "),
            _ => String::new(),
        };
        let help = if self.help.is_empty() { String::new() } else { format!(" ({})", self.help) };
        format!("{place}{}{help}", self.message)
    }
}

/// Line and column (characters) of a byte offset, both from 1.
pub fn position(text: &str, offset: usize) -> (usize, usize) {
    let upto = text.get(..offset.min(text.len())).unwrap_or(text);
    let line = upto.matches('\n').count() + 1;
    let column = upto.rsplit('\n').next().map_or(0, |l| l.chars().count()) + 1;
    (line, column)
}

/// The rest of the line from a line and column on, both from 1: the reverse of [`position`], for what tells places so.
pub fn rest_of_line(text: &str, line: usize, column: usize) -> Range<usize> {
    let before: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let rest = text.get(before..).unwrap_or_default().lines().next().unwrap_or_default();
    let skipped: usize = rest.chars().take(column.saturating_sub(1)).map(char::len_utf8).sum();
    before + skipped..before + rest.len()
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Problem {}

impl Diagnostic for Problem {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        (!self.help.is_empty()).then(|| Box::new(&self.help) as Box<dyn fmt::Display>)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let span = self.span.clone()?;
        let text = &self.file.as_ref()?.1;
        // A span may stand at the very end of the file; show the last character instead of nothing.
        let end = span.end.clamp(span.start, text.len());
        Some(Box::new(std::iter::once(LabeledSpan::new(
            None,
            span.start.min(text.len()),
            end.saturating_sub(span.start),
        ))))
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        None
    }
}

/// Several problems; never empty where it is an error.
#[derive(Clone, Debug, Default)]
pub struct Problems(pub Vec<Problem>);

impl From<Problem> for Problems {
    fn from(p: Problem) -> Problems {
        Problems(vec![p])
    }
}

impl Problems {
    /// Ok if there are none.
    ///
    /// # Errors
    /// Itself, if there are any.
    pub fn none(self) -> Result<(), Problems> {
        if self.0.is_empty() { Ok(()) } else { Err(self) }
    }

    /// Takes the problems of a part and gives its result, if it has one.
    pub fn take<T>(&mut self, part: Result<T, Problems>) -> Option<T> {
        part.map_err(|p| self.0.extend(p.0)).ok()
    }

    /// Every problem with its place, a line each: for scripts, logs and tests.
    pub fn lines(&self) -> String {
        self.0.iter().map(Problem::line).collect::<Vec<_>>().join("\n")
    }

    /// Every problem with the lines of the file and a caret, for a person.
    pub fn fancy(&self, colour: bool) -> String {
        let theme = if colour { miette::GraphicalTheme::unicode() } else { miette::GraphicalTheme::unicode_nocolor() };
        let handler = miette::GraphicalReportHandler::new_themed(theme).with_links(false);
        let mut out = String::new();
        for p in &self.0 {
            let shown = match &p.file {
                Some((name, text)) => {
                    let source = NamedSource::new(name, Arc::clone(text)).with_language("TOML");
                    let report = miette::Report::new(p.clone()).with_source_code(source);
                    handler.render_report(&mut out, report.as_ref())
                }
                None => handler.render_report(&mut out, p),
            };
            if shown.is_err() {
                out.push_str(&p.line());
            }
        }
        out
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.lines())
    }
}

impl std::error::Error for Problems {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_there_and_back() {
        let text = "ab\n\u{e9}cd\n";
        for (offset, place) in [(0, (1, 1)), (3, (2, 1)), (5, (2, 2)), (7, (2, 4))] {
            assert_eq!(position(text, offset), place);
            assert_eq!(rest_of_line(text, place.0, place.1).start, offset);
        }
        assert_eq!(&text[rest_of_line(text, 2, 2)], "cd");
        assert_eq!(rest_of_line(text, 9, 9), 8..8);
    }
}
