//! A row cut into cells, without copying.

use crate::number;

/// The cells of a row: slices of it, blanks around them and quotation marks taken off. Inside quotation marks a
/// separator is text; a doubled quotation mark stays doubled.
#[derive(Clone, Debug)]
pub(super) struct Cells<'a> {
    row: &'a [u8],
    separator: u8,
    /// Where the next cell begins; `None` after the last.
    at: Option<usize>,
}

/// A cell: where it begins, and its text.
pub(super) type Cell<'a> = (usize, &'a [u8]);

impl<'a> Cells<'a> {
    pub(super) fn new(row: &'a [u8], separator: u8) -> Cells<'a> {
        Cells { row, separator, at: Some(0) }
    }

    #[cold]
    fn quoted(&self, at: usize) -> (&'a [u8], usize) {
        let rest = &self.row[at..];
        let opens = rest.iter().position(|b| *b == b'"').unwrap_or(0);
        let mut end = opens + 1;
        while let Some(b) = rest.get(end) {
            match (b, rest.get(end + 1)) {
                (b'"', Some(b'"')) => end += 2,
                (b'"', _) => break,
                _ => end += 1,
            }
        }
        let text = &rest[(opens + 1).min(rest.len())..end.min(rest.len())];
        let after = (end + 1).min(rest.len());
        let separator = rest[after..].iter().position(|b| *b == self.separator).map_or(rest.len(), |p| after + p);
        if rest[after..separator].trim_ascii().is_empty() && end < rest.len() {
            (text, at + separator)
        } else {
            // Text after the closing mark, or none: given as it stands, so that it is no number.
            (rest[..separator].trim_ascii(), at + separator)
        }
    }
}

impl<'a> Iterator for Cells<'a> {
    type Item = Cell<'a>;

    #[inline]
    fn next(&mut self) -> Option<Cell<'a>> {
        let at = self.at?;
        let rest = &self.row[at..];
        let length = rest.iter().position(|b| *b == self.separator).unwrap_or(rest.len());
        let mut text = rest[..length].trim_ascii();
        let mut end = at + length;
        if text.first() == Some(&b'"') {
            (text, end) = self.quoted(at);
        }
        self.at = (end < self.row.len()).then_some(end + 1);
        Some((at, text))
    }
}

impl Cells<'_> {
    /// The number that the next cell plainly is, up to its separator, passing over the cell; `None` leaves it there.
    #[inline]
    pub(super) fn plain_number(&mut self) -> Option<f64> {
        let at = self.at?;
        let (x, length) = number::prefix(&self.row[at..])?;
        match self.row.get(at + length) {
            Some(b) if *b == self.separator => self.at = Some(at + length + 1),
            Some(_) => return None,
            None => self.at = None,
        }
        Some(x)
    }
}

/// How many cells a row has.
#[inline]
pub(super) fn count(row: &[u8], separator: u8) -> usize {
    if row.contains(&b'"') {
        return Cells::new(row, separator).count();
    }
    row.iter().filter(|b| **b == separator).count() + 1
}
