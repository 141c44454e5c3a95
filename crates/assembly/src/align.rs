//! The clocks of two recorders against each other, by events that both saw: a proposal, which nothing applies by
//! itself.
//!
//! Both channels are looked through for edges: passages through the middle of what they cover, from below a quarter of
//! it to above three quarters or the other way ([`edges`]). Edges of the same direction that fit one offset belong to
//! each other ([`fit`]). One pair gives the offset; two or more give the drift, too. What filters and slow sensors
//! delay is in the offset: no method can tell it from a clock. Channels that follow at once should be chosen.

mod edges;
mod fit;

use crate::assign;
use crate::error::Error;
use crate::files::Files;
use crate::load::{Assembled, CaptureFiles, SourceSpec, load};
use crate::merge::{Merge, event_time};
use edges::{Edge, MOST, edges};
use fit::{Fitted, fit};
use pipeline::{Core, Sequencer};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use stream::{Batch, EventTime, Origin};

/// What is asked.
pub struct Ask<'a> {
    /// The run file.
    pub run: &'a Path,
    /// Captures, where they are not those that the run file names.
    pub captures: &'a [PathBuf],
    /// The channel of the recorder whose clock counts.
    pub reference: &'a str,
    /// The channel of the other.
    pub channel: &'a str,
}

/// What was found.
#[derive(Clone, Debug)]
pub struct Proposal {
    /// The source whose clock is another.
    pub source: String,
    /// The source whose clock counts.
    pub reference: String,
    /// Edges in the reference channel, in the other, and pairs of them.
    pub counts: (usize, usize, usize),
    /// Added to the times of the source, s, with its standard uncertainty, at `since`.
    pub offset_s: (f64, f64),
    /// What is added further in parts per million with its standard uncertainty; `None` for a single pair.
    pub drift_ppm: Option<(f64, f64)>,
    /// Where the offset holds, on the source's own clock.
    pub since: EventTime,
    /// The lines for the run file.
    pub toml: String,
    /// How it was found, in a sentence.
    pub found: String,
}

/// Compares two channels of two captures.
///
/// # Errors
/// Channels that are not there or of one source, and channels without events that fit each other.
pub fn align(ask: &Ask<'_>) -> Result<Proposal, Error> {
    let files = match ask.captures {
        [] => CaptureFiles::default(),
        paths => assign::assign(ask.run, paths)?,
    };
    let assembled = load(&Files::disk(), ask.run, &files)?;
    let (reference, other) = (find(&assembled, ask.reference)?, find(&assembled, ask.channel)?);
    if reference.1 == other.1 {
        let text = format!(
            "{} and {} are of one source ({}): there is one clock",
            ask.reference,
            ask.channel,
            source(&assembled, other.1)
        );
        return Err(Error::Refused(text));
    }
    let (fixed, moved) = (values(&assembled, reference)?, values(&assembled, other)?);
    let columns = &assembled.plan.layout.columns;
    // Of one quantity a passage through one level is one event; of two, each has its own middle.
    let common = columns[reference.0].unit == columns[other.0].unit;
    let level = common.then(|| edges::common(&fixed, &moved)).flatten();
    let at = |name: &str, values: &[(EventTime, f64)]| -> Result<Vec<Edge>, Error> {
        let found = edges(values, level).map_err(|why| Error::Refused(format!("{name}: {why}")))?;
        if found.len() > MOST {
            let text =
                format!("{name} has {} edges, more than {MOST}: choose a channel that changes seldom", found.len());
            return Err(Error::Refused(text));
        }
        Ok(found)
    };
    let (fixed, moved) = (at(ask.reference, &fixed)?, at(ask.channel, &moved)?);
    let fitted = fit(&fixed, &moved).map_err(|why| {
        let list = |edges: &[Edge]| edges.iter().take(5).map(ToString::to_string).collect::<Vec<_>>().join(", ");
        Error::Refused(format!(
            "no event that both saw: {why}; {} has {} edges ({}), {} has {} ({})",
            ask.reference,
            fixed.len(),
            list(&fixed),
            ask.channel,
            moved.len(),
            list(&moved)
        ))
    })?;
    Ok(proposal(ask, &assembled, (reference.1, other.1), (fixed.len(), moved.len()), &fitted))
}

fn source(a: &Assembled, i: usize) -> &str {
    a.plan.layout.sources.get(i).map_or("", |s| s.name.as_str())
}

/// Column and source of a channel.
fn find(a: &Assembled, name: &str) -> Result<(usize, usize), Error> {
    let columns = &a.plan.layout.columns;
    let found = columns.iter().position(|c| c.name == name).and_then(|i| match columns[i].origin {
        Origin::Channel(s) => Some((i, usize::from(s.0))),
        Origin::Derived => None,
    });
    found.ok_or_else(|| {
        let known = columns.iter().filter(|c| matches!(c.origin, Origin::Channel(_))).map(|c| c.name.as_str());
        Error::Refused(format!("there is no channel {name:?}; there are: {}", crate::nearest::list(name, known)))
    })
}

/// The values of a channel with the times of its own recorder: nothing that the run file says of the clock counts here.
fn values(a: &Assembled, (column, source): (usize, usize)) -> Result<Vec<(EventTime, f64)>, Error> {
    let Some(SourceSpec::Capture { plugin, setup, .. }) = a.sources.get(source) else {
        return Err(Error::Refused(format!("{} is a live source: name captures", self::source(a, source))));
    };
    let raw = SourceSpec::Capture { plugin, setup: setup.clone(), clock: None };
    let mut merge = Merge::open(&[raw])?;
    let (mut core, mut sequencer) = (Core::new(Arc::clone(&a.plan)), Sequencer::new(a.plan.layout.grid));
    let (mut batch, mut all, mut last) = (Batch::default(), Vec::new(), EventTime(i64::MIN));
    while let Some(entry) = merge.next_entry()? {
        last = last.max(event_time(&entry));
        core.push(&sequencer.push(entry, last), &mut batch);
        for s in batch.samples.drain(..).filter(|s| usize::from(s.channel.0) == column) {
            all.extend(s.reading.number().map(|x| (s.time, x)));
        }
        batch.clear();
    }
    all.sort_by_key(|v| v.0);
    Ok(all)
}

fn proposal(
    ask: &Ask<'_>,
    a: &Assembled,
    (reference, other): (usize, usize),
    (fixed, moved): (usize, usize),
    f: &Fitted,
) -> Proposal {
    let pairs = f.pairs;
    let edges = if pairs == 1 { "1 edge".to_owned() } else { format!("{pairs} edges") };
    let mut found = format!("bise align: {edges} of {} at those of {}", ask.channel, ask.reference);
    let _ = write!(found, "; u(offset) {:.2} ms", f.u_offset * 1e3);
    let mut toml = "[source.clock]\n".to_owned();
    let _ = writeln!(toml, "offset = \"{:+.6}s\"", f.offset);
    match f.drift {
        Some((drift, u)) if drift.abs() > 2.0 * u => {
            let _ = write!(found, ", u(drift) {:.2} ppm", u * 1e6);
            let _ = writeln!(toml, "drift_ppm = {:.3}\nsince = \"{}\"", drift * 1e6, f.since);
        }
        Some((drift, u)) => {
            let (drift, u) = (drift * 1e6, u * 1e6);
            let _ = write!(found, "; a drift of {drift:+.2} ppm with u {u:.2} ppm is not told from none");
        }
        None => found += "; one edge tells no drift",
    }
    let _ = writeln!(toml, "found = \"{found}\"");
    Proposal {
        source: source(a, other).to_owned(),
        reference: source(a, reference).to_owned(),
        counts: (fixed, moved, pairs),
        offset_s: (f.offset, f.u_offset),
        drift_ppm: f.drift.map(|(d, u)| (d * 1e6, u * 1e6)),
        since: f.since,
        toml,
        found,
    }
}
