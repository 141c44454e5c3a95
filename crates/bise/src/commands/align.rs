//! `bise align`

use crate::args::{AlignArgs, Format};
use crate::exit::Exit;
use assembly::Error;
use assembly::align::{Ask, align};
use serde_json::json;

pub(crate) fn run(args: &AlignArgs) -> Result<Exit, Error> {
    let AlignArgs { run, reference, channel, paths, format } = args;
    let p = align(&Ask { run, captures: paths, reference, channel })?;
    let (offset, u_offset) = p.offset_s;
    if *format == Format::Json {
        let (fixed, moved, pairs) = p.counts;
        say!(
            "{:#}",
            json!({
                "source": p.source, "reference": p.reference, "offset_s": offset, "u_offset_s": u_offset,
                "drift_ppm": p.drift_ppm.map(|d| d.0), "u_drift_ppm": p.drift_ppm.map(|d| d.1),
                "since_ns": p.since.0, "edges_reference": fixed, "edges": moved, "pairs": pairs,
                "found": p.found, "toml": p.toml,
            })
        );
        return Ok(Exit::Done);
    }
    let (fixed, moved, pairs) = p.counts;
    say!(
        "{} against the clock of {}: {pairs} shared edges ({reference} has {fixed}, {channel} {moved})",
        p.source,
        p.reference
    );
    say!("offset {offset:+.6} s, standard uncertainty {u_offset:.6} s, at {} of its own clock", p.since);
    match p.drift_ppm {
        Some((drift, u)) => say!("drift {drift:+.3} ppm, standard uncertainty {u:.3} ppm"),
        None => say!("drift: one edge tells none"),
    }
    say!("delays of filters and slow sensors are in the offset; nothing is applied. For the run file, beneath the");
    say!("other keys of {}:\n\n{}", p.source, p.toml.trim_end());
    Ok(Exit::Done)
}
