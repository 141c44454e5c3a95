//! The one list of plugins. Adding a plugin is one line here.

use plugin_api::{CapturePlugin, SinkPlugin, SourcePlugin};

/// Live sources.
pub static SOURCES: &[&SourcePlugin] = &[&source_serial::PLUGIN, &source_net::PLUGIN, &source_can::PLUGIN];

/// Captures.
pub static CAPTURES: &[&CapturePlugin] = &[&source_replay::CANDUMP, &source_replay::TABLE, &source_replay::RECORDING];

/// Sinks.
pub static SINKS: &[&SinkPlugin] = &[&sink_parquet::PLUGIN, &sink_prometheus::PLUGIN];

/// A kind of source in a run file.
#[derive(Clone, Copy)]
pub enum SourceKind {
    /// Live.
    Live(&'static SourcePlugin),
    /// From files.
    Capture(&'static CapturePlugin),
}

/// The source or capture of this kind.
pub fn source_kind(kind: &str) -> Option<SourceKind> {
    let live = SOURCES.iter().find(|p| p.kind == kind).map(|p| SourceKind::Live(p));
    live.or_else(|| CAPTURES.iter().find(|p| p.kind == kind).map(|p| SourceKind::Capture(p)))
}

/// Every kind a run file may name, for messages.
pub fn source_kinds() -> Vec<&'static str> {
    SOURCES.iter().map(|p| p.kind).chain(CAPTURES.iter().map(|p| p.kind)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugin_api::conformance;

    #[test]
    fn every_plugin_describes_itself_and_no_kind_is_twice() {
        let mut wrong: Vec<String> = SOURCES.iter().flat_map(|p| conformance::source_description(p)).collect();
        wrong.extend(CAPTURES.iter().flat_map(|p| conformance::capture_description(p)));
        wrong.extend(SINKS.iter().flat_map(|p| conformance::sink_description(p)));
        assert!(wrong.is_empty(), "{wrong:#?}");
        let mut kinds = source_kinds();
        kinds.sort_unstable();
        kinds.dedup();
        assert_eq!(kinds.len(), SOURCES.len() + CAPTURES.len());
    }
}
