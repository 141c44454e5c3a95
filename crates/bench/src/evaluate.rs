//! Snapshots: 16 channels, the derived quantities of a three-wheel pack, 24 limits.

use crate::cost::Stretch;
use crate::error::Error;
use crate::{Figures, Place, configs};
use assembly::load::Assembled;
use decode::can::CanFrame;
use pipeline::Core;
use std::hint::black_box;
use stream::{Batch, EntryBody, EventTime, LogEntry, Payload, RawRecord, RecordKind, SourceId, Span};

const SNAPSHOTS: u64 = 1_000_000;
const STEP: Span = Span::from_millis(100);
/// Different frames, one after the other.
const FRAMES: usize = 4096;

/// One record of 16 new values a snapshot, in memory before the time runs. Inside: all that the core does with it
/// (decoding, SI, quality, putting it in its grid slot, a sample each), closing the snapshot, derived quantities,
/// limits. Outside: whatever reads records or writes results.
pub(crate) fn with_records(place: &Place) -> Result<Figures, Error> {
    let plan = configs::pack(&place.out)?;
    let payloads = walks();
    run(&plan, |i| {
        let payload = payloads[i as usize % FRAMES].clone();
        let (source, sequence, event_time) = (SourceId(0), i, EventTime(0) + Span(STEP.0 * i as i64));
        EntryBody::Record(RawRecord { source, sequence, event_time, kind: RecordKind::CanFrame, payload })
    })
}

/// A tick a snapshot: every channel holds its last value, and the snapshot is closed, derived and judged all the same.
pub(crate) fn standing(place: &Place) -> Result<Figures, Error> {
    let mut plan = configs::pack(&place.out)?;
    let never = Span(i64::MAX);
    let inner = std::sync::Arc::get_mut(&mut plan.plan).ok_or_else(|| Error::Failed("the plan is shared".into()))?;
    for c in &mut inner.channels {
        let spec = channels::ChannelSpec { stale_after: never, ..c.channel.spec().clone() };
        c.channel = channels::Channel::new(spec).map_err(|e| Error::Failed(e.to_string()))?;
    }
    run(&plan, |i| match i {
        0 => EntryBody::Record(RawRecord {
            source: SourceId(0),
            sequence: 0,
            event_time: EventTime(0),
            kind: RecordKind::CanFrame,
            payload: walks()[0].clone(),
        }),
        _ => EntryBody::Tick,
    })
}

fn run(assembled: &Assembled, body: impl Fn(u64) -> EntryBody) -> Result<Figures, Error> {
    let plan = &assembled.plan;
    let derived = plan.pack.derived.len();
    let (mut core, mut batch) = (Core::new(plan.clone()), Batch::default());
    let stretch = Stretch::start();
    for i in 0..SNAPSHOTS {
        let logged_at = EventTime(0) + Span(STEP.0 * i as i64);
        core.push(&LogEntry { ordinal: i, logged_at, body: body(i) }, &mut batch);
        if batch.snapshots.len() >= FRAMES {
            black_box(&batch);
            batch.clear();
        }
    }
    let cost = stretch.stop();
    let counts = core.counts();
    if counts.sources.iter().any(|s| s.undecodable + s.unmapped + s.late > 0) {
        return Err(Error::Failed(format!("not every record was used: {counts:?}")));
    }
    let mut figures = cost.figures("ns_per_snapshot", counts.snapshots);
    figures.insert("snapshots".to_owned(), counts.snapshots.into());
    figures.insert("channels".to_owned(), plan.channels.len().into());
    figures.insert("derived".to_owned(), derived.into());
    figures.insert("limits".to_owned(), plan.limits.len().into());
    figures.insert("crossed".to_owned(), counts.limits.iter().map(|l| l.crossed).sum::<u64>().into());
    Ok(figures)
}

/// Frames whose values walk a little about the middle.
fn walks() -> Vec<Payload> {
    let mut seed = 0x9E37_79B9_7F4A_7C15_u64;
    let mut walk = [0i32; 16];
    let frame = |_| {
        let mut data = [0u8; 32];
        for ((w, bytes), (_, _, scale, offset, middle)) in
            walk.iter_mut().zip(data.as_chunks_mut::<2>().0).zip(configs::PACK)
        {
            // xorshift64: G. Marsaglia, Xorshift RNGs, Journal of Statistical Software 8 (2003).
            seed ^= seed << 13;
            seed ^= seed >> 7;
            seed ^= seed << 17;
            *w = (*w + (seed % 7) as i32 - 3).clamp(-200, 200);
            *bytes = ((((middle - offset) / scale) as i32 + *w) as u16).to_le_bytes();
        }
        CanFrame::data(configs::PACK_MESSAGE, CanFrame::FD, &data).payload()
    };
    (0..FRAMES).map(frame).collect()
}
