//! Checked messages -> the tables that frames are decoded with.

use super::{Checked, Draft, FilePart};
use crate::can::database::{CanDatabase, Detail, Group, IdTable, Message, Selector};
use crate::can::dbc::{self, DbcError, DbcFault};
use crate::can::frame::CanFrame;
use crate::can::j1939::{Groups, Identifier, Senders};
use crate::can::signal::Signal;
use crate::reading::ReadingInfo;

pub(super) fn database(parts: &[FilePart], all: &[(usize, Draft)]) -> Result<CanDatabase, DbcError> {
    let mut db = CanDatabase {
        messages: Vec::with_capacity(all.len()),
        names: all.iter().map(|(_, m)| m.name.clone()).collect(),
        signals: Vec::new(),
        details: Vec::new(),
        readings: Vec::new(),
        ids: IdTable::new(&all.iter().map(|(_, m)| m.id).collect::<Vec<_>>()),
        groups: groups(parts, all)?,
        notes: parts.iter().flat_map(|p| p.notes.clone()).collect(),
    };
    let mut signals = 0;
    for (part, m) in all {
        signals += m.signals.len();
        if signals >= usize::from(u16::MAX) || db.messages.len() >= usize::from(u16::MAX) - 1 {
            return Err(dbc::error(&parts[*part].file, m.at, DbcFault::TooMany));
        }
        let message = Compiler { db: &mut db, draft: m }.message();
        db.messages.push(message);
    }
    Ok(db)
}

/// Messages by parameter group, where the run asks for other senders than the identifiers name.
fn groups(parts: &[FilePart], all: &[(usize, Draft)]) -> Result<Groups, DbcError> {
    let mut entries: Vec<(u32, u16, Senders)> = Vec::new();
    for (n, (part, m)) in all.iter().enumerate() {
        let part = &parts[*part];
        let id = CanFrame::data(m.id, 0, &[]);
        let split = Identifier::split(id.number()).filter(|_| id.is_extended() && part.senders != Senders::AsWritten);
        let Some(Identifier { pgn, .. }) = split else { continue };
        if let Some(e) = entries.iter().find(|e| e.0 == pgn) {
            let (_, other) = &all[usize::from(e.1)];
            let (message, other, other_line) = (m.name.clone(), other.name.clone(), other.at.line);
            let fault = DbcFault::DuplicateGroup { message, pgn, other, other_line };
            return Err(dbc::error(&part.file, m.at, fault));
        }
        entries.push((pgn, n as u16, part.senders.clone()));
    }
    Ok(Groups::new(entries))
}

/// One message on its way into the tables. The caller has checked that indices fit.
struct Compiler<'a> {
    db: &'a mut CanDatabase,
    draft: &'a Draft,
}

impl Compiler<'_> {
    fn message(&mut self) -> Message {
        let signals = &self.draft.signals;
        let needed = signals.iter().map(|s| s.place.bytes().1 + 1).max().unwrap_or(0);
        let first = self.index();
        let always = signals.iter().filter(|s| s.under.is_none()).collect::<Vec<_>>();
        always.iter().for_each(|s| self.signal(s));
        let end_of_always = self.index();
        let selectors = self.selectors(&always, first);
        let (id, length, needed) = (self.draft.id, self.draft.length, needed as u8);
        Message { id, length, needed, first, always: end_of_always, end: self.index(), selectors }
    }

    fn index(&self) -> u16 {
        self.db.signals.len() as u16
    }

    /// Those of a group's signals that select others; the group begins at reading `first`.
    fn selectors(&mut self, group: &[&Checked], first: u16) -> Vec<Selector> {
        let mut selectors = Vec::new();
        for (signal, s) in (first..).zip(group) {
            let ranges_of = |c: &Checked| c.under.clone().filter(|u| u.0 == s.short_name).map(|u| u.1);
            let mut sets: Vec<Vec<(u64, u64)>> = self.draft.signals.iter().filter_map(ranges_of).collect();
            sets.sort();
            sets.dedup();
            if sets.is_empty() {
                continue;
            }
            let (mut ranges, mut groups) = (Vec::new(), Vec::new());
            for (n, set) in (0u16..).zip(sets) {
                ranges.extend(set.iter().map(|(low, high)| (*low, *high, n)));
                let here = |c: &&Checked| c.under.as_ref().is_some_and(|u| u.0 == s.short_name && u.1 == set);
                let members: Vec<&Checked> = self.draft.signals.iter().filter(here).collect();
                let first = self.index();
                members.iter().for_each(|c| self.signal(c));
                let end = self.index();
                for c in first..end {
                    self.db.details[usize::from(c)].under = Some((signal, set.clone()));
                }
                groups.push(Group { first, end, inner: self.selectors(&members, first) });
            }
            ranges.sort_unstable();
            let disjoint = ranges.windows(2).all(|w| w[0].1 < w[1].0);
            selectors.push(Selector { signal, ranges, disjoint, groups });
        }
        selectors
    }

    fn signal(&mut self, s: &Checked) {
        let mut signal = Signal::new(s.place, s.signed, s.value.clone(), self.draft.length <= 8);
        signal.declare(s.codes.clone());
        self.db.signals.push(signal);
        let unit = Some(s.unit.clone()).filter(|u| !u.is_empty());
        self.db.readings.push(ReadingInfo { name: format!("{}.{}", self.draft.name, s.name), unit });
        let (name, words, doubt) = (s.name.clone(), s.words.clone(), s.doubt.clone());
        self.db.details.push(Detail { name, place: s.place, under: None, words, doubt });
    }
}
