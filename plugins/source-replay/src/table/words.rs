//! Cells that are neither number, nor empty, nor a declared word: counted by word, with the place of the first.

use decode::capture::table::{Decimal, TableFormat, TimeColumn};

/// Different words told one by one; further ones are counted together.
const TOLD: usize = 20;

pub(super) struct Words {
    /// What each byte is in a row of plain numbers.
    class: [Class; 256],
    /// Whether a row can be seen to hold plain numbers only.
    fast: Fast,
    seen: Vec<Seen>,
    others: u64,
}

/// Which rows are looked through fast before their cells are read one by one.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Fast {
    /// All, from the first byte on.
    Whole,
    /// All, from the second cell on: the first holds a date.
    AfterTime,
    /// None.
    Never,
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
    Sign,
    Strange,
}

impl Words {
    pub(super) fn new(format: &TableFormat) -> Words {
        let mut class = [Class::Strange; 256];
        let mut set = |bytes: &[u8], c: Class| bytes.iter().for_each(|b| class[usize::from(*b)] = c);
        set(b"0123456789", Class::Digit);
        set(if format.decimal() == Decimal::Comma { b"," } else { b"." }, Class::Mark);
        set(b"+-", Class::Sign);
        set(&[format.separator() as u8], Class::Separator);
        let fast = match (format.time_column(), format.single_time_column()) {
            _ if format.is_long() => Fast::Never,
            (TimeColumn::Number { .. }, _) => Fast::Whole,
            (_, Some(0)) => Fast::AfterTime,
            _ => Fast::Never,
        };
        Words { class, fast, seen: Vec::new(), others: 0 }
    }

    /// Counts the words of a row. Rows of plain numbers, nearly all, are passed over fast.
    #[inline]
    pub(super) fn look(&mut self, format: &TableFormat, row: &[u8], line: u64) {
        let from = match self.fast {
            Fast::Whole => 0,
            Fast::AfterTime => memchr::memchr(format.separator() as u8, row).map_or(row.len(), |p| p + 1),
            Fast::Never => row.len(),
        };
        if self.fast != Fast::Never && self.is_plain(&row[from..]) {
            return;
        }
        format.strange_cells(row, &mut |column, text| self.count(text, line, column));
    }

    /// Whether every cell is empty or made of a sign at its beginning, digits and at most one mark among them.
    #[inline]
    fn is_plain(&self, row: &[u8]) -> bool {
        let mut before = Class::Separator;
        let mut marks = 0;
        for b in row {
            let class = self.class[usize::from(*b)];
            match class {
                Class::Digit => {}
                Class::Separator if matches!(before, Class::Digit | Class::Separator) => marks = 0,
                Class::Mark if before == Class::Digit && marks == 0 => marks = 1,
                Class::Sign if before == Class::Separator => {}
                _ => return false,
            }
            before = class;
        }
        matches!(before, Class::Digit | Class::Separator)
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
