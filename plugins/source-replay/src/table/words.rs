//! Cells that are neither number, nor empty, nor a declared word: counted by word, with the place of the first.

use decode::capture::table::{Decimal, TableFormat, TimeColumn};

/// Different words told one by one; further ones are counted together.
const TOLD: usize = 20;

pub(super) struct Words {
    /// What each byte is in a row of plain numbers.
    class: [Class; 256],
    seen: Vec<Seen>,
    others: u64,
}

struct Seen {
    word: Vec<u8>,
    count: u64,
    line: u64,
    column: usize,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Class {
    Digit,
    Separator,
    Mark,
    Minus,
    Passes,
    Strange,
}

impl Words {
    pub(super) fn new(format: &TableFormat, thousands: Option<u8>) -> Words {
        let mut class = [Class::Strange; 256];
        let mut set = |bytes: &[u8], c: Class| bytes.iter().for_each(|b| class[usize::from(*b)] = c);
        set(b"+eE \"\r", Class::Passes);
        // Dates of the time column; a word of these letters alone counts as not a number all the same.
        if !matches!(format.time_column(), TimeColumn::Number { .. }) {
            set(b":TZ/", Class::Passes);
        }
        set(b"0123456789", Class::Digit);
        set(if format.decimal() == Decimal::Comma { b"," } else { b"." }, Class::Mark);
        set(b"-", Class::Minus);
        thousands.iter().for_each(|t| set(&[*t], Class::Passes));
        set(&[format.separator() as u8], Class::Separator);
        Words { class, seen: Vec::new(), others: 0 }
    }

    /// Counts the words of a row. Rows of plain numbers, nearly all, are passed over fast.
    #[inline]
    pub(super) fn look(&mut self, format: &TableFormat, row: &[u8], line: u64) {
        if !format.is_long() && self.is_plain(row) {
            return;
        }
        format.strange_cells(row, &mut |column, text| self.count(text, line, column));
    }

    #[inline]
    fn is_plain(&self, row: &[u8]) -> bool {
        let mut marks = 0;
        for (i, b) in row.iter().enumerate() {
            match self.class[usize::from(*b)] {
                Class::Digit | Class::Passes => {}
                Class::Separator => marks = 0,
                Class::Mark => {
                    marks += 1;
                    if marks > 1 {
                        return false;
                    }
                }
                Class::Minus => {
                    let next = row.get(i + 1).map(|b| self.class[usize::from(*b)]);
                    if !matches!(next, Some(Class::Digit | Class::Mark)) {
                        return false;
                    }
                }
                Class::Strange => return false,
            }
        }
        true
    }

    #[cold]
    fn count(&mut self, text: &[u8], line: u64, column: usize) {
        if let Some(s) = self.seen.iter_mut().find(|s| s.word == text) {
            s.count += 1;
        } else if self.seen.len() < TOLD {
            self.seen.push(Seen { word: text.to_vec(), count: 1, line, column });
        } else {
            self.others += 1;
        }
    }

    /// What was found, for a person.
    pub(super) fn told(&self) -> Vec<(String, u64)> {
        let one = |s: &Seen| {
            let word: String = String::from_utf8_lossy(&s.word).chars().take(40).collect();
            (format!("cells `{word}`: no number (first in line {}, column {})", s.line, s.column), s.count)
        };
        let mut all: Vec<_> = self.seen.iter().map(one).collect();
        if self.others > 0 {
            all.push(("cells with other words: no number".to_owned(), self.others));
        }
        all
    }
}
