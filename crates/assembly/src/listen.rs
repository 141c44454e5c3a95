//! Listening: every word on the lines of a run, whether a channel is mapped to it or not, live or from what was
//! recorded. The same entries go the same way in both; nothing is written.

mod live;

pub use live::{Live, LiveEnd};

use crate::error::Error;
use crate::files::Files;
use crate::load::{Assembled, CaptureFiles, SourceSpec, load};
use crate::merge::{Merge, Unused, event_time};
use crate::nearest::list;
use crate::problem::{Problem, Problems};
use crate::replay::{not_named, refuse_unfinished, ticks};
use crate::salvage::stored_plan;
use decode::seen::{AfterMarks, Followed, MarkOptions, Seen, SeenOptions, WordId, after_marks, can_word, follow};
use pipeline::{Core, Plan, Sequencer, SourcePlan};
use recording::{Disk, Stored, WholeLog};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{Batch, EntryBody, EventTime, LogEntry, OperatorContent, RawRecord, SourceId, Span};

/// Values of a channel kept; twice as far apart when so many are there.
const KEPT: usize = 4096;
/// Frames of an identifier in which it is looked for a mapped signal: with a multiplexer not every frame has one.
const LOOKED: u64 = 64;
/// The run file for frames of which nothing is known.
const BARE: &str = "[run]\nname = \"listen\"\nchannels = []\n\n[[source]]\nname = \"bus\"\nkind = \"candump\"\n";

/// What has been heard so far.
pub struct Listening {
    plan: Arc<Plan>,
    seen: Seen,
    channel: Option<Channel>,
    /// CAN identifiers, and whether a channel takes anything of them.
    mapped: BTreeMap<WordId, (u64, bool)>,
    marks_refused: u64,
}

/// The channel that words are compared with.
struct Channel {
    column: usize,
    core: Core,
    batch: Batch,
    values: Vec<(EventTime, f64)>,
    /// Of so many snapshots one is kept.
    every: u64,
    snapshots: u64,
}

/// What the words have to do with marks and channel.
#[derive(Clone, Debug, Default)]
pub struct Findings {
    /// For each action that was marked: its words, and what moved.
    pub actions: Vec<(String, AfterMarks)>,
    /// What goes with the channel.
    pub followed: Option<Followed>,
}

/// What was heard after the fact.
pub struct Heard {
    /// What was listened to, for a person.
    pub what: String,
    /// What was heard.
    pub listening: Listening,
    /// What of captures was not used.
    pub unused: Unused,
    /// What a person should know.
    pub notes: Vec<String>,
}

impl Listening {
    /// Nothing heard yet; `with` is a column of the run: a channel or a derived quantity.
    ///
    /// # Errors
    /// Where there is no such column.
    pub fn new(plan: &Arc<Plan>, with: Option<&str>) -> Result<Listening, Error> {
        let channel = with.map(|name| Channel::new(plan, name)).transpose()?;
        let of = |(i, s): (u16, &SourcePlan)| {
            s.decoder
                .selectors()
                .into_iter()
                .map(move |(device, byte)| ((SourceId(i), device), byte))
                .collect::<Vec<_>>()
        };
        let selectors = (0..).zip(&plan.sources).flat_map(of).collect();
        let seen = Seen::new(SeenOptions { selectors, ..SeenOptions::default() });
        let plan = Arc::clone(plan);
        Ok(Listening { plan, seen, channel, mapped: BTreeMap::new(), marks_refused: 0 })
    }

    /// Takes the next entry.
    pub fn push(&mut self, entry: &LogEntry) {
        match &entry.body {
            EntryBody::Record(r) => {
                self.look(r);
                self.seen.take(r);
            }
            EntryBody::Operator(a) => {
                if let OperatorContent::Note(text) = &a.content
                    && let Some(what) = marked(text)
                {
                    self.mark(a.pressed_at, what);
                }
            }
            _ => {}
        }
        if let Some(c) = &mut self.channel {
            c.push(entry);
        }
    }

    /// Something was done.
    pub fn mark(&mut self, at: EventTime, what: &str) {
        self.marks_refused += u64::from(!self.seen.mark(at, what));
    }

    /// Something was done so long after the first message.
    pub fn mark_after(&mut self, since_first: Span) {
        if let Some((first, _)) = self.seen.span() {
            self.mark(first + since_first, "");
        }
    }

    /// The words.
    pub fn seen(&self) -> &Seen {
        &self.seen
    }

    /// The plan of the run listened to.
    pub fn plan(&self) -> &Arc<Plan> {
        &self.plan
    }

    /// Marks that there was no room for.
    pub fn marks_refused(&self) -> u64 {
        self.marks_refused
    }

    /// Whether a channel takes anything of a word; `None` where that is not looked for: anything but CAN frames.
    pub fn is_mapped(&self, word: &WordId) -> Option<bool> {
        self.mapped.get(word).map(|m| m.1)
    }

    /// Distance of the channel's values.
    pub fn step(&self) -> Span {
        let every = self.channel.as_ref().map_or(1, |c| c.every);
        Span(self.plan.layout.grid.0.saturating_mul(i64::try_from(every).unwrap_or(i64::MAX)))
    }

    /// The column that words are compared with: its name and unit.
    pub fn with(&self) -> Option<(&str, &str)> {
        let column = self.plan.layout.columns.get(self.channel.as_ref()?.column)?;
        Some((&column.name, &column.unit))
    }

    /// What moved at the marks; quick enough for every second.
    pub fn actions(&self, options: MarkOptions) -> Vec<(String, AfterMarks)> {
        let of = |a: &str| (a.to_owned(), after_marks(&self.seen, a, options));
        self.seen.actions().into_iter().map(of).collect()
    }

    /// Everything that is found.
    pub fn findings(&self, options: MarkOptions) -> Findings {
        let followed = self.channel.as_ref().map(|c| follow(&self.seen, &c.values));
        Findings { actions: self.actions(options), followed }
    }

    /// Looks whether a channel takes anything of a CAN frame.
    fn look(&mut self, record: &RawRecord) {
        let Some(id) = can_word(record) else { return };
        if self.mapped.len() >= 2 * SeenOptions::default().most_words && !self.mapped.contains_key(&id) {
            return;
        }
        let (looked, mapped) = self.mapped.entry(id).or_default();
        if *mapped || *looked >= LOOKED {
            return;
        }
        *looked += 1;
        let Some(source) = self.plan.sources.get(usize::from(record.source.0)) else { return };
        // A frame that does not decode has nothing that is mapped.
        let _ = source.decoder.decode(record, &mut |reading, _| {
            *mapped |= source.targets.get(usize::from(reading)).is_some_and(|t| !t.is_empty());
        });
    }
}

impl Channel {
    fn new(plan: &Arc<Plan>, name: &str) -> Result<Channel, Error> {
        let columns = &plan.layout.columns;
        let Some(column) = columns.iter().position(|c| c.name == name) else {
            let message = format!("this run has no channel {name:?}");
            let help = list(name, columns.iter().map(|c| c.name.as_str()));
            return Err(Error::Config(Problems::from(Problem::bare(message, help))));
        };
        let core = Core::new(Arc::clone(plan));
        Ok(Channel { column, core, batch: Batch::default(), values: Vec::new(), every: 1, snapshots: 0 })
    }

    fn push(&mut self, entry: &LogEntry) {
        self.core.push(entry, &mut self.batch);
        for s in &self.batch.snapshots {
            self.snapshots += 1;
            let number = s.readings.get(self.column).and_then(|r| r.number());
            if let Some(x) = number.filter(|_| self.snapshots.is_multiple_of(self.every)) {
                self.values.push((s.time, x));
            }
        }
        self.batch.clear();
        if self.values.len() >= KEPT {
            self.every *= 2;
            let mut place = 0;
            self.values.retain(|_| {
                place += 1;
                place % 2 == 0
            });
        }
    }
}

/// What a note marks: the words behind `mark`, which may be none. Any other note marks nothing.
pub fn marked(note: &str) -> Option<&str> {
    let (word, rest) = note.trim().split_once(char::is_whitespace).unwrap_or((note.trim(), ""));
    let word = word.strip_suffix(':').unwrap_or(word);
    word.eq_ignore_ascii_case("mark").then(|| rest.trim())
}

/// Listens to a recording.
///
/// # Errors
/// Where it cannot be read, is not whole, or its configuration does not load.
pub fn recording(
    disk: &Arc<dyn Disk>,
    folder: &Path,
    with: Option<&str>,
    progress: &mut dyn FnMut(f64),
) -> Result<Heard, Error> {
    let stored = Stored::open(disk.as_ref(), folder)?;
    refuse_unfinished(&stored)?;
    let notes = stored.check(disk.as_ref())?.iter().map(|t| format!("{t}; nothing is read from it")).collect();
    if let Some(c) = stored.manifest.captures.first() {
        let what = folder.display();
        let text = format!("{what} keeps results, not messages: it was made from {}; listen to that", c.path);
        return Err(Error::Refused(text));
    }
    let mut listening = Listening::new(&stored_plan(&stored.manifest)?, with)?;
    let mut log = WholeLog::as_told(disk, folder, &stored.manifest)?;
    let mut n = 0u32;
    while let Some(entry) = log.next_entry()? {
        listening.push(&entry);
        n = n.wrapping_add(1);
        if n.is_multiple_of(4096) {
            progress(log.progress());
        }
    }
    Ok(Heard { what: folder.display().to_string(), listening, unused: Unused::default(), notes })
}

/// Listens to captures: through a run file, or, where they are CAN frames as text, without any.
///
/// # Errors
/// Where the run file or a capture cannot be read.
pub fn captures(
    run: Option<&Path>,
    paths: &[PathBuf],
    with: Option<&str>,
    progress: &mut dyn FnMut(f64),
) -> Result<Heard, Error> {
    let mut assembled = match run {
        Some(run) => {
            let files = crate::assign::assign(run, paths)?;
            let mut a = load(&Files::disk(), run, &files)?;
            a.notes.extend(not_named(&a.sources, &files));
            a
        }
        None => bare(paths)?,
    };
    let named: Vec<String> =
        run.into_iter().chain(paths.iter().map(PathBuf::as_path)).map(|p| p.display().to_string()).collect();
    let notes = std::mem::take(&mut assembled.notes);
    let mut listening = Listening::new(&assembled.plan, with)?;
    let unused = through(&assembled, &mut listening, progress)?;
    Ok(Heard { what: named.join(", "), listening, unused, notes })
}

/// Frames of which nothing is known need no run file.
fn bare(paths: &[PathBuf]) -> Result<Assembled, Error> {
    let files = Files::embedded_with([("runs/listen.toml".to_owned(), BARE.to_owned())]);
    let by_source = vec![("bus".to_owned(), paths.to_vec())];
    let mut assembled = load(&files, Path::new("runs/listen.toml"), &CaptureFiles { by_source })?;
    assembled.notes.clear();
    Ok(assembled)
}

/// Captures, merged; time is event time.
fn through(assembled: &Assembled, listening: &mut Listening, progress: &mut dyn FnMut(f64)) -> Result<Unused, Error> {
    let mut merge = Merge::open(&assembled.sources)?;
    let plan = &assembled.plan;
    let mut sequencer = Sequencer::new(plan.layout.grid);
    let mut last = None;
    let mut n = 0u32;
    while let Some(entry) = merge.next_entry()? {
        let at = event_time(&entry);
        let now = last.map_or(at, |l: EventTime| l.max(at));
        for t in ticks(last.unwrap_or(now), now, plan.layout.grid) {
            listening.push(&sequencer.push(EntryBody::Tick, t));
        }
        last = Some(now);
        listening.push(&sequencer.push(entry, now));
        n = n.wrapping_add(1);
        if n.is_multiple_of(4096) {
            progress(merge.progress());
        }
    }
    listening.push(&sequencer.push(EntryBody::End, last.unwrap_or_default() + plan.lateness));
    Ok(merge.unused())
}

/// Whether a run file's sources are live ones; mixed ones cannot be listened to together.
///
/// # Errors
/// A run without sources, or with both kinds.
pub fn is_live(assembled: &Assembled) -> Result<bool, Error> {
    let live = assembled.sources.iter().filter(|s| matches!(s, SourceSpec::Live { .. })).count();
    match live {
        0 => Ok(false),
        n if n == assembled.sources.len() => Ok(true),
        _ => Err(Error::Refused("this run file names live sources and captures; listen to one kind".to_owned())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_word_mark_marks() {
        for (note, what) in [
            ("mark", Some("")),
            (" Mark  move the door ", Some("move the door")),
            ("mark: door", Some("door")),
            ("marked the pipe", None),
            ("the door moved", None),
            ("", None),
        ] {
            assert_eq!(marked(note), what, "{note}");
        }
    }
}
